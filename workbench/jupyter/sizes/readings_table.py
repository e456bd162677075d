"""The table of readings: what the calipers said, line by line, and the sketch that it makes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from workbench import units
from workbench.errors import RepairError
from workbench.measure.reading import RESOLUTION, UNITS
from workbench.measure.sketches.corners import said_place
from workbench.measure.sketches.sketch import Sketch
from workbench.measure.sketches.table_row import KINDS, STATEMENTS
from workbench.words import _

#: How often one size can be read in the table.
REPEATS = 3

#: Kinds that the table offers; those of circles only where the sketch has some.
_OF_CIRCLES = ("distance", "diameter")

Line = dict[str, Any]


def line(
    kind: str,
    where: str = "",
    values: Iterable[str] = (),
    instrument: str = "calipers",
    unit: str | None = None,
) -> Line:
    """One line of the table, its values as they were typed; in the user's unit unless given."""
    typed = [str(value) for value in values][:REPEATS]
    return {
        "kind": kind,
        "where": said_place(where),
        "values": typed + [""] * (REPEATS - len(typed)),
        "instrument": instrument,
        "unit": unit or units.chosen().name,
    }


@dataclass(frozen=True)
class Entered:
    """What the table comes to.

    sketch : the corners with every line that is filled in and makes sense
    names : for each line the name of its reading, "" where it has none
    faults : by line, why it is left out
    """

    sketch: Sketch
    names: tuple[str, ...]
    faults: Mapping[int, str]


def entered(corners: Sketch, lines: Sequence[Line]) -> Entered:
    """The sketch that the lines make with these corners; a bad line spoils no other."""
    sketch = Sketch(corners.corners, corners.setting, corners.trace)
    sketch.circles, sketch.bows = dict(corners.circles), dict(corners.bows)
    names, faults = [], {}
    for count, given in enumerate(lines):
        names.append("")
        typed = [str(value).strip() for value in given["values"] if str(value).strip()]
        says = given["kind"] in STATEMENTS
        if not (typed or says) or (not str(given["where"]).strip() and says):
            continue
        known = len(sketch.rows)
        try:
            if says:
                sketch.read(given["kind"], given["where"])
            else:
                sketch.read(
                    given["kind"],
                    given["where"],
                    typed,
                    instrument=given["instrument"],
                    unit=given["unit"],
                )
        except RepairError as error:
            faults[count] = str(error)
        else:
            names[-1] = sketch.rows[known].name
    return Entered(sketch, tuple(names), faults)


class Readings(anywidget.AnyWidget):
    """The table itself: ``lines`` as typed, and ``marks`` beside them, one for each line.

    A mark has ``off``, the residual in words; ``flag``, "suspect", "fault", "next" or ""; and
    ``title``, a sentence. Enter goes down to the next size, so that calipers that type fill one
    line after the other; Tab goes to the repeats, and then to the next line.
    """

    _esm = (Path(__file__).parent / "readings_table.js").read_text(encoding="utf-8")

    lines = traitlets.List(traitlets.Dict()).tag(sync=True)
    marks = traitlets.List(traitlets.Dict()).tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    def __init__(self, changed: Callable[[], object]) -> None:
        super().__init__(words=_table_words())
        self.add_class("wb-table")
        self._told = changed
        self.observe(lambda _change: self._told(), "lines")

    def fill(self, lines: Iterable[Line]) -> None:
        """Put other lines in, and tell of it once."""
        with self.hold_trait_notifications():
            self.marks = []
            self.lines = list(lines)

    def suit(self) -> None:
        """The lines that nothing was typed into yet are to be typed in the user's unit."""
        unit = units.chosen().name
        self.lines = [one if any(one["values"]) else one | {"unit": unit} for one in self.lines]


def _table_words() -> dict[str, Any]:
    kinds = [kind for kind in KINDS if kind not in _OF_CIRCLES]
    return {
        "caption": _("Readings: what was measured, between which corners, and how often"),
        "columns": [
            _("What"),
            _("Between"),
            _("1st"),
            _("2nd"),
            _("3rd"),
            _("With"),
            _("Unit"),
            _("Off by"),
        ],
        "kinds": [[kind, _(kind)] for kind in kinds],
        "examples": {kind: said_place(example) for kind, (_counts, example) in KINDS.items()},
        "statements": list(STATEMENTS),
        "degrees": ["angle"],
        "instruments": [[name, _(name)] for name in RESOLUTION],
        "units": list(UNITS),
        "line": _("{column}, line {number}"),
        "remove": _("Remove line {number}"),
        "add": _("Add a line"),
        "holds": _("holds exactly, no value"),
    }
