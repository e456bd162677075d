"""What a part has to do: the loads that it bears, what it has to fit, and how trials went."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids.parameters import Count
from workbench.words import _, with_unit

#: The three kinds of fit, in the words of ISO 286-1.
FITS = ("clearance", "transition", "interference")

#: How a trial print went.
OUTCOMES = ("would not enter", "too tight", "right", "loose", "fell out")


@gate.asked
@dataclass(frozen=True)
class Load:
    """A hand load on a step: ``force`` newtons along ``direction`` as the repair stands.

    ``repeats`` says that it comes again and again, not once.
    """

    step: str
    force: float
    direction: tuple[float, float, float] = (0.0, 0.0, -1.0)
    repeats: bool = True

    def __post_init__(self) -> None:
        gate.name(_("step that bears the load"), self.step)
        gate.needed(self.repeats, bool, "repeats", "True")
        plain = isinstance(self.force, (int, float)) and not isinstance(self.force, bool)
        if not (plain and math.isfinite(self.force) and self.force > 0):
            raise RepairError(
                _("load on {step}: force is {force!r} N; give a number above 0 N").format(
                    step=self.step, force=self.force
                )
            )
        what = _("load on {step}: direction").format(step=self.step)
        object.__setattr__(self, "direction", direction_of(what, self.direction))


@gate.asked
@dataclass(frozen=True)
class Fit:
    """How a size of a step is to fit its counterpart, which was read.

    ``mating`` is the reading of the counterpart: the slot that a tab enters, the hole for a peg,
    the screw through a hole.
    """

    step: str
    field: str
    mating: Reading
    kind: str = "clearance"

    def __post_init__(self) -> None:
        _refuse_odd_size(self.step, self.field)
        field = _(self.field.replace("_", " "))
        gate.choice(
            _("{step}: fit of {field}").format(step=self.step, field=field), self.kind, FITS
        )
        if not isinstance(self.mating, Reading):
            object.__setattr__(self, "mating", Reading(self.mating))
        if self.mating.value <= 0:
            raise RepairError(
                _("{step}: what {field} fits reads {value}; give more than 0").format(
                    step=self.step, field=field, value=with_unit(self.mating.value)
                )
            )

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        return {**vars(self), "mating": self.mating.to_dict()}

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Fit:
        """Read back what :meth:`to_dict` wrote."""
        return cls(row["step"], row["field"], Reading.from_dict(row["mating"]), row["kind"])


@gate.asked
@dataclass(frozen=True)
class Trial:
    """One print of a revision, tried in place: which size mattered and how it went."""

    revision: int
    step: str
    field: str
    outcome: str
    set_to: float
    measured: float | None = None
    note: str = ""
    date: str = ""

    def __post_init__(self) -> None:
        Count(0, 1_000_000).check("revision", self.revision)
        _refuse_odd_size(self.step, self.field)
        gate.positive("set_to", self.set_to)
        if self.measured is not None:
            gate.positive("measured", self.measured)
        gate.note("note", self.note)
        gate.note("date", self.date)
        gate.choice("outcome", self.outcome, OUTCOMES)

    def __str__(self) -> str:
        told = _("Revision {revision}: {outcome}, set to {size}.")
        if self.measured is not None:
            told = _("Revision {revision}: {outcome}, set to {size}, read {measured}.")
        return told.format(
            revision=self.revision,
            outcome=_(self.outcome, "outcome"),
            size=with_unit(self.set_to),
            measured=with_unit(self.measured or 0.0),
        )


def _refuse_odd_size(step: Any, field: Any) -> None:
    gate.name("step", step)
    gate.name("field", field)


def direction_of(what: str, given: Any) -> tuple[float, float, float]:
    """Three finite numbers, not all 0, or RepairError naming ``what``."""
    try:
        x, y, z = (float(value) for value in given)
    except (TypeError, ValueError):
        x = y = z = math.nan
    if not math.isfinite(x + y + z) or not (x or y or z):
        raise RepairError(
            _("{what} is {given!r}, which points nowhere; give x, y, z such as (0, 0, -1)").format(
                what=what, given=gate.short(given)
            )
        )
    return x, y, z
