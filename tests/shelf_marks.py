"""Which parts of the shelf need no rehearsal: ``python tests/shelf_marks.py --write``.

What a bench first asks the kernel for is tried in a copy of the process, as it may hang. A part of
the shelf is known not to; so are those of its kind, whose sizes are as large to a factor of two. After
a change of the shelf, or of what templates are made of, write the list anew.
"""

from __future__ import annotations

import pickle
import sys
from pathlib import Path

from workbench import data, fork
from workbench.jupyter.bench import first_look
from workbench.output.notebook.shelf import repair_at
from workbench.solids.building.build import mark
from workbench.solids.geometry import bounded

PLACE = data.HERE / "shelf_marks.txt"
SHELF = sorted(path.stem for path in (Path(__file__).parents[1] / "templates").glob("*.ipynb"))

#: Of what is quick, the share that a part of the shelf takes at most: other machines are slower.
SHARE = 0.4


def takes(name: str) -> float:
    """Seconds of computing of what takes longest at a first look at a part of the shelf."""
    import build123d  # noqa: F401  # a copy would load it for itself

    look = fork.in_copy(lambda: bounded._noted(lambda: first_look(repair_at(name))))
    return max(pickle.loads(look).values())


def listed() -> dict[str, str]:
    """The mark of each part that is taken to be quick, by its name."""
    lines = PLACE.read_text(encoding="utf-8").splitlines()
    return {name: known for known, name in map(str.split, lines)}


if __name__ == "__main__":
    quick = []
    for each in SHELF:
        took = takes(each)
        print(f"{took:.2f} s {each}", flush=True)
        if took < SHARE * bounded.QUICK:
            quick.append(f"{mark(repair_at(each))} {each}\n")
    if "--write" in sys.argv:
        PLACE.write_text("".join(quick), encoding="utf-8")
