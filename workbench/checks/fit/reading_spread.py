"""Whether the readings behind each size can be of one size."""

from __future__ import annotations

from collections.abc import Iterator

from workbench.checks.report import PRACTICE, Finding
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.measure.repeated_readings import doubt, most_apart, spread
from workbench.solids.recipe.repair import Repair
from workbench.words import _


def readings_agree(subject: Subject) -> Iterator[Finding]:
    """A warning for each size whose readings lie too far apart."""
    for step, field, reading in readings_of(subject.repair):
        why = doubt(reading)
        if why:
            yield Finding(
                severity="warning",
                rule="readings agree",
                where=step,
                text=_("{step}: {field}: {why}").format(step=step, field=field, why=why),
                number=spread(reading),
                limit=most_apart(reading),
                unit="mm",
                remedy=_("type the readings again; until then their mean is used"),
                source=PRACTICE,
            )


def readings_of(repair: Repair) -> Iterator[tuple[str, str, Reading]]:
    """Each size that was read, and what it has to fit: the step, the size in words, its reading."""
    for where, reading in repair.readings.items():
        step, _dot, field = where.partition(".")
        yield step, _said(repair, step, field), reading
    for fit in repair.fits:
        told = _("what {size} fits").format(size=_said(repair, fit.step, fit.field))
        yield fit.step, told, fit.mating


def _said(repair: Repair, step: str, field: str) -> str:
    try:
        return repair.step(step).said(field)
    except RepairError:  # what a file says of a step that is no more
        return field
