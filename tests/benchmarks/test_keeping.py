"""What keeping the bench in the notebook costs the slider: CPU time with it and without, in turns."""

from __future__ import annotations

import json
import statistics
import time
from pathlib import Path
from typing import Any

import pytest

from workbench.jupyter import keeping as kept
from workbench.jupyter.bench import Bench
from workbench.output.notebook.template_notebook import as_notebook
from workbench.solids.recipe.repair import Repair

EDITS, ROUNDS = 20, 5


def part() -> Repair:
    repair = Repair("part").add("box", name="base", width=60, depth=40, height=8)
    for n in range(4):
        repair.add("tab", seat="top of base", name=f"tab {n}", width=8 + n, thickness=3)
    return repair


class Answers:
    """A page that does at once what it is asked."""

    reached, refused = True, False

    def __init__(self, keep: kept.Keeping) -> None:
        self._keep = keep

    def open(self) -> None:
        """There is a page already."""

    def say(self, content: dict[str, Any]) -> bool:
        json.dumps(content)
        if content["do"] == "write":
            self._keep._hear({"did": "write", "serial": content["serial"]})
        return True


def drag(bench: Bench, start: float) -> float:
    """CPU seconds of a drag, each step up to the new geometry."""
    slider = bench.fields("base")["width"].slider
    began = time.process_time()
    for n in range(EDITS):
        slider.value = start + n / 10
    return time.process_time() - began


@pytest.mark.filterwarnings("ignore")
def test_keeping_costs_the_slider_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    monkeypatch.setattr(Bench, "_look_closer", lambda self, made: iter(()))  # which has a pause
    path = tmp_path / "part.ipynb"
    path.write_bytes(as_notebook(part(), "part", image=b""))
    keep = kept.Keeping(path)
    keep.front = Answers(keep)  # type: ignore[assignment]
    keep._content = json.loads(path.read_text(encoding="utf-8"))
    with_it = Bench(part(), inline=True, kept=keep)
    without = Bench(part(), inline=True)
    ratios = []
    for n in range(ROUNDS + 1):
        # Each drag over sizes of its own, since what was built once is known.
        costs = [drag(bench, 30.0 + 4 * n + 2 * i) for i, bench in enumerate((without, with_it))]
        ratios.append(costs[1] / costs[0])
        keep.now()
    ratio = statistics.median(ratios[1:])  # the first warms up
    print(f"\nslider with keeping / without: {ratio:.3f} (rounds {[round(r, 3) for r in ratios]})")
    assert "base_width" in "".join(keep._content["cells"][1]["source"])
    with_it.close()
    without.close()
