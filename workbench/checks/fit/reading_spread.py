"""Whether the readings behind each size can be of one size."""

from __future__ import annotations

from collections.abc import Iterator

from workbench.checks.report import PRACTICE, Finding
from workbench.checks.subject import Subject
from workbench.measure.reading import Reading
from workbench.measure.repeated_readings import doubt, most_apart, spread
from workbench.solids.recipe.repair import Repair
from workbench.words import _


def readings_agree(subject: Subject) -> Iterator[Finding]:
    """A warning for each size whose readings lie too far apart."""
    for step, field, reading in _read(subject.repair):
        why = doubt(reading)
        if why:
            yield Finding(
                severity="warning",
                rule="readings agree",
                where=step,
                text=_("{step}: {field}: {why}").format(
                    step=step, field=_(field.replace("_", " ")), why=why
                ),
                number=spread(reading),
                limit=most_apart(reading),
                unit="mm",
                remedy=_("type the readings again; until then their mean is used"),
                source=PRACTICE,
            )


def _read(repair: Repair) -> Iterator[tuple[str, str, Reading]]:
    for where, reading in repair.readings.items():
        step, _dot, field = where.partition(".")
        yield step, field, reading
    for fit in repair.fits:
        yield (
            fit.step,
            _("what {size} fits").format(size=_(fit.field.replace("_", " "))),
            fit.mating,
        )
