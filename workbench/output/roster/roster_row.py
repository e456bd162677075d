"""A row of a roster becomes a repair, as plain data that any worker can build."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from workbench import __version__
from workbench.checks.fit.reading_spread import readings_of
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.measure.repeated_readings import readings_in, too_far_apart
from workbench.output.notebook import shelf
from workbench.output.notebook.beginning import takes_several
from workbench.output.notebook.repair_sizes import Place, parameter, set_sizes
from workbench.output.notebook.template_notebook import open_template, read_template
from workbench.output.roster.roster import INSTRUMENT, MATERIAL, PRINTER, PUPIL, TEMPLATE, UNIT, Row
from workbench.solids import catalogue
from workbench.solids.parameters import Corners
from workbench.solids.recipe.repair import WHOSE, Repair
from workbench.words import _, sized, with_unit

#: What a row comes to.
READY, AGAIN, STOPPED, ROW, LATER = (
    "ready",
    "measure again",
    "do not print",
    "put the row right",
    "not made yet",
)


STATES = (READY, AGAIN, STOPPED, ROW, LATER)


@dataclass(frozen=True)
class Job:
    """What a worker is to make: plain data only.

    row : its number in the roster
    name : of the part: the pupil's label and the template
    repair : as JSON
    label : of the pupil, to be raised on the part, or "" for nothing to be raised
    paper : "A4" or "Letter"
    folder : of the template, where the file of a part that it works with is sought
    """

    row: int
    name: str
    repair: str
    label: str = ""
    paper: str = "A4"
    folder: Path = Path()

    @property
    def key(self) -> str:
        """The same for the same work, whenever and wherever it is done."""
        raised = (self.label, self.row) if self.label else ()
        parts = (self.name, self.repair, raised, self.paper, __version__)
        return sha256(json.dumps(parts).encode()).hexdigest()


@dataclass(frozen=True)
class Refused:
    """A row that nothing can be made of: its state and why."""

    row: int
    state: str
    why: str


class Rows:
    """Turns rows into jobs; templates are read once, and rows that come twice are noticed."""

    def __init__(self, more: Sequence[Path] = (), labels: bool = False, paper: str = "A4"):
        self._more, self._labels, self._paper = more, labels, paper
        self._begun: dict[str, tuple[str, dict[str, Place], Path] | str] = {}
        self._seen: dict[str, tuple[int, str]] = {}

    def job(self, row: Row) -> Job | Refused:
        """What is to be made of a row, or why nothing can be."""
        if row.fault:
            return Refused(row.number, ROW, row.fault)
        try:
            return self._job(row)
        except Exception as error:  # one row is never to stop the others
            text = _("internal error ({reason}); write the row again, or leave it out")
            reason = f"{type(error).__name__}: {str(error)[:200]}"
            return Refused(row.number, ROW, text.format(reason=reason))

    def _job(self, row: Row) -> Job | Refused:
        try:
            repair, names, folder = self._start(row)
            repeated = self._repeated(row, repair.name)
        except RepairError as error:
            return Refused(row.number, ROW, str(error))
        if repeated:
            return Refused(row.number, ROW, repeated)
        try:
            _lay(repair, names, row)
        except _NoSize as error:
            return Refused(row.number, ROW, str(error))
        except RepairError as error:
            return Refused(row.number, AGAIN, str(error))
        label = row.get(PUPIL) if self._labels else ""
        return Job(row.number, repair.name, repair.to_json(), label, self._paper, folder)

    def _start(self, row: Row) -> tuple[Repair, dict[str, Place], Path]:
        wanted = row.get(TEMPLATE)
        if wanted not in self._begun:
            try:
                self._begun[wanted] = _begun(wanted, self._more)
            except RepairError as error:
                self._begun[wanted] = str(error)
        begun = self._begun[wanted]
        if isinstance(begun, str):
            raise RepairError(begun)
        stored, names, folder = begun
        data = json.loads(stored)
        data["name"] = f"{row.get(PUPIL)}{WHOSE}{data['name']}"
        data["material"] = row.get(MATERIAL) or data["material"]
        data["printer"] = row.get(PRINTER) or data["printer"]
        return Repair.from_json(json.dumps(data)), names, folder

    def _repeated(self, row: Row, name: str) -> str:
        content = sha256(json.dumps(dict(row.cells), sort_keys=True).encode()).hexdigest()
        first, held = self._seen.setdefault(name.casefold(), (row.number, content))
        if first == row.number:
            return ""
        if held == content:
            return _("it is the same as row {first}; take it out, or give it another label").format(
                first=first
            )
        return _(
            "{pupil} has a {template} in row {first} already; give this one another label, such "
            "as {pupil} 2"
        ).format(pupil=row.get(PUPIL), template=row.get(TEMPLATE), first=first)


class _NoSize(RepairError):
    """A column that the template has no size for."""


def doubts(repair: Repair) -> list[str]:
    """Of each size whose readings lie too far apart: which, and what to do."""
    text = _("{name}: readings from {low} to {high} are too far apart; take them again")
    return [
        text.format(
            name=f"{step}: {field}",
            low=sized(min(reading.values)),
            high=with_unit(max(reading.values)),
        )
        for step, field, reading in readings_of(repair)
        if too_far_apart(reading)
    ]


def _begun(wanted: str, more: Sequence[Path]) -> tuple[str, dict[str, Place], Path]:
    """The repair that a template begins with, as JSON, the places of its sizes, and its folder."""
    if wanted in catalogue.SHIPPED and wanted not in {path.stem for path in shelf.paths(*more)}:
        repair = Repair(wanted.replace("_", " ")).add(wanted)
        (step,) = repair.steps
        return repair.to_json(), {name: (step.name, name) for name in step.values}, Path()
    path = shelf.find(wanted, *more, also=catalogue.SHIPPED)
    repair = read_template(path)
    # The tries and the statements were about another part.
    repair.trials, repair.statements = (), {}
    return repair.to_json(), open_template(path).names, path.parent.absolute()


def _lay(repair: Repair, names: Mapping[str, Place], row: Row) -> None:
    values: dict[str, Any] = {}
    for name, text in row.sizes.items():
        if name not in names:
            raise _NoSize(
                _(
                    "{template} has no size {name}; leave the cell empty, or use one of {known}"
                ).format(template=row.get(TEMPLATE), name=name, known=", ".join(names))
            )
        values[name] = _value(repair, names[name], name, text, row)
    set_sizes(repair, names, values)


def _value(repair: Repair, place: Place, name: str, text: str, row: Row) -> Any:
    asked = parameter(repair, place)
    if isinstance(asked.kind, Corners):
        return [tuple(pair.split(",")) for pair in text.split()]
    if not takes_several(asked):
        return text
    try:
        unit = row.units.get(name) or row.get(UNIT) or "mm"
        return Reading(readings_in(text, unit), row.get(INSTRUMENT) or "calipers", unit)
    except RepairError as error:
        raise RepairError(f"{name}: {error}") from None
