"""Printers with a hidden bias and noise, and hands that try their prints."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from workbench.checks.fit.bias import ENTERING
from workbench.checks.fit.fits import window
from workbench.checks.fit.printed_size import Printed, size_of, with_size
from workbench.checks.fit.printer_profile import Profile
from workbench.checks.fit.trials import log_trial, next_size
from workbench.measure.reading import Reading
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import OUTCOMES

#: How far reading a counterpart misses it, and measuring a print, as standard deviations in mm.
MISREAD, MISMEASURED = 0.03, 0.02

#: No case goes on for longer.
MOST_PRINTS = 12


@dataclass(frozen=True)
class Case:
    """A fit to be found: its kind, the true counterpart in mm, and the feature of our size."""

    kind: str
    mating: float
    feature: str

    def repair(self, reading: float) -> Repair:
        """A repair with one step, whose size is to fit what was read."""
        if self.feature in ENTERING:
            made = Repair("simulated").add("box", name="part", width=reading)
        else:
            made = Repair("simulated").add("box", name="block", width=60, depth=60, height=8)
            made.cut("cylinder", name="part", diameter=reading, height=20)
        return made.fit("part", self.field, Reading(reading), self.kind)

    @property
    def field(self) -> str:
        """The field that holds the size."""
        return "width" if self.feature in ENTERING else "diameter"


@dataclass(frozen=True)
class Workshop:
    """A printer and a hand: bias and noise in mm, and how the hand's edges differ from ours."""

    bias: float
    noise: float
    edge: float = 0.0

    def print(self, size: float, random: np.random.Generator) -> float:
        """The size in mm that comes off the bed."""
        return size + self.bias + random.normal(0, self.noise)

    def outcome(self, case: Case, printed: float) -> str:
        """How a print goes in place."""
        ours, theirs = printed, case.mating
        clearance = theirs - ours if case.feature in ENTERING else ours - theirs
        edges = window(case.kind, case.mating).edges[1:-1] + self.edge
        return OUTCOMES[int(np.searchsorted(edges, clearance))]


def proposing(repair: Repair, field: str, outcome: str, size: float, measured: float | None):
    """The size that the tool proposes after a print."""
    log_trial(repair, 1, "part", field, outcome, measured, revisions=[1])
    return _proposed(repair, field)


def ladder(repair: Repair, field: str, outcome: str, size: float, measured: float | None):
    """One rung of 0.1 mm, the plain way."""
    tighter = OUTCOMES.index(outcome) > OUTCOMES.index("right")
    entering = not repair.step("part").cuts
    return size + (0.1 if tighter == entering else -0.1)


def further_prints(
    case: Case,
    workshop: Workshop,
    method: Callable[..., float],
    random: np.random.Generator,
    measuring: bool = False,
) -> int:
    """How many prints it takes after the first one until one is right.

    Both ways start from the size that the tool proposes for a printer it does not know.
    """
    repair = case.repair(round(case.mating + random.normal(0, MISREAD), 2))
    size = _proposed(repair, case.field)
    for count in range(MOST_PRINTS):
        repair.change("part", **with_size(repair.step("part"), case.field, size))
        printed = workshop.print(size_of(repair.step("part"), case.field), random)
        outcome = workshop.outcome(case, printed)
        if outcome == "right":
            return count
        measured = round(printed + random.normal(0, MISMEASURED), 2) if measuring else None
        size = method(repair, case.field, outcome, size, measured)
    return MOST_PRINTS


def _proposed(repair: Repair, field: str) -> float:
    feature = "hole" if repair.step("part").cuts else "outside"
    return next_size(repair, "part", field, Profile(), Printed(feature, False)).size
