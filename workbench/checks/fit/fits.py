"""Fits: how much room a printed size leaves to its counterpart, and which size to set.

The *clearance* is the counterpart less our size where ours enters (a tab in a slot, a peg in a
hole), and ours less the counterpart where ours goes round it (a hole round a screw, a hook over
a ledge). A fit is right while the clearance lies in the fit's window.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from workbench import gate
from workbench.checks.fit.bias import ENTERING
from workbench.checks.fit.iso286 import tolerance
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids.recipe.service import FITS, OUTCOMES
from workbench.words import _, lengths, number, with_unit

if TYPE_CHECKING:
    from workbench.checks.fit.bias import Bias

#: Least clearance of a clearance fit, and least grip of an interference fit, in mm; common
#: practice of material extrusion, no source.
ROOM, GRIP = 0.10, 0.05

#: Grade of ISO 286-1 whose tolerance a fit may vary by, and the size in mm below which it does
#: not get finer, as lines do not either. Common practice of material extrusion, no source.
GRADE, SMALL = 13, 6.0

#: How far below the window a part still enters with force, and how far above it still stays
#: in, in mm; common practice, no source.
FORCED, KEPT = 0.10, 0.15

#: Standard uncertainties in mm, common practice, no source: of where hands draw the line
#: between two outcomes; of how squarely caliper jaws sit in a worn slot; of a printed size.
HAND, JAWS, PRINTED = 0.03, 0.03, 0.02

#: Share of outcomes that are noted wrongly, whatever the clearance: spread over all five.
#: Our choice.
SLIP = 0.02

#: Sizes are proposed to this, in mm. Our choice.
STEP = 0.01

#: Cells of the grid. The noise's three are those of Gauss-Hermite quadrature, in standard
#: deviations of its logarithm.
_BIAS_CELLS, _MATING_CELLS = 51, 11
_NOISES = np.array([-math.sqrt(3), 0.0, math.sqrt(3)])
_NOISE_WEIGHTS = np.array([1 / 6, 2 / 3, 1 / 6])


@dataclass(frozen=True)
class Window:
    """The clearances in mm, from ``low`` to ``high``, at which a fit is right."""

    low: float
    high: float

    @property
    def edges(self) -> np.ndarray:
        """The six edges (6,) in mm that part the five outcomes, in the order of OUTCOMES."""
        inner = (self.low - FORCED, self.low, self.high, self.high + KEPT)
        return np.array([-np.inf, *inner, np.inf])


def window(kind: str, size: float) -> Window:
    """The window of a fit by its ISO 286-1 word, at a size in mm.

    A clearance fit always leaves room, an interference fit always grips, a transition fit may do
    either. The window widens with the size as the standard tolerances do.

    >>> window("clearance", 5.0), window("transition", 5.0)
    (Window(low=0.1, high=0.28), Window(low=-0.09, high=0.09))
    """
    gate.choice("fit", kind, FITS)
    width = tolerance(max(size, SMALL), GRADE)
    low = {"clearance": ROOM, "transition": -width / 2, "interference": -GRIP - width}[kind]
    return Window(round(low, 4), round(low + width, 4))


def chances(edges: np.ndarray, clearance: np.ndarray, spread: np.ndarray | float) -> np.ndarray:
    """How likely each outcome is, (..., 5) in the order of OUTCOMES.

    edges : (6,) of the window; clearance, spread : (...) mean and standard deviation in mm
    """
    from workbench.measure.chances import ndtr

    scaled = (edges - np.asarray(clearance)[..., None]) / np.asarray(spread)[..., None]
    return (1 - SLIP) * np.diff(ndtr(scaled), axis=-1) + SLIP / len(OUTCOMES)


@dataclass(frozen=True)
class Mating:
    """The counterpart as it was read: its size and its standard uncertainty, in mm."""

    size: float
    uncertainty: float = 0.0

    @classmethod
    def of(cls, reading: Reading | str | float) -> Mating:
        """The counterpart of a reading, or RepairError where it is no size."""
        read = reading if isinstance(reading, Reading) else Reading(reading)
        if read.value <= 0:
            raise RepairError(
                _("the slot, hole or shaft reads {value}; give more than 0").format(
                    value=with_unit(read.value)
                )
            )
        return cls(read.value, read.uncertainty)


@dataclass(frozen=True)
class Tried:
    """One print in place: the size that was set, how it went, and its printed size if measured."""

    size: float
    outcome: str | None = None
    measured: float | None = None


class Belief:
    """What is believed about one fit: a grid over bias, the reading's error, and noise.

    Each print in place says something about the difference of the printer's bias and the error
    of the counterpart's reading, each measured print about the bias alone. The grid takes both
    as they are, with no need for a bell-shaped answer. Its arrays have the shape (n, m, k).
    """

    def __init__(self, kind: str, mating: Mating, feature: str, bias: Bias, at_bed: bool = False):
        self.window = window(kind, mating.size)
        self.mating = mating.size
        self.entering = feature in ENTERING
        mean, spread = bias.of(feature, mating.size, at_bed)
        error = math.hypot(mating.uncertainty, JAWS)
        steps = np.linspace(-4, 4, _BIAS_CELLS)[:, None, None]
        errors = np.linspace(-3, 3, _MATING_CELLS)[None, :, None]
        self.bias = mean + spread * steps
        self.error = error * errors
        self.noise = bias.noise * np.exp(bias.noise_spread * _NOISES)[None, None, :]
        weights = np.exp(-0.5 * (steps**2 + errors**2)) * _NOISE_WEIGHTS
        self.weights = weights / weights.sum()

    def learn(self, tried: Tried) -> None:
        """Take one print into account; the weights sum to one again."""
        printed = tried.size + self.bias + 0 * self.weights
        variance = self.noise**2
        likelihood = np.ones_like(self.weights)
        if tried.measured is not None:
            total = variance + PRINTED**2
            likelihood *= np.exp(-0.5 * (tried.measured - printed) ** 2 / total) / np.sqrt(total)
            share = variance / total
            printed = printed + share * (tried.measured - printed)
            variance = variance * (1 - share)
        if tried.outcome is not None:
            spread = np.sqrt(variance + HAND**2) + 0 * self.weights
            each = chances(self.window.edges, self._clearance(printed), spread)
            likelihood = likelihood * each[..., OUTCOMES.index(tried.outcome)]
        weights = self.weights * np.maximum(likelihood, 1e-300)
        self.weights = weights / weights.sum()

    def expect(self, size: float) -> np.ndarray:
        """How likely each outcome is (5,) at a size in mm, in the order of OUTCOMES."""
        spread = np.hypot(self.noise, HAND) + 0 * self.weights
        each = chances(self.window.edges, self._clearance(size + self.bias), spread)
        return np.einsum("ijk,ijkl->l", self.weights, each)

    def clearance(self, size: float) -> tuple[float, float]:
        """Expected clearance at a size in mm, and its standard deviation with the noise."""
        each = self._clearance(size + self.bias)
        mean = float((self.weights * each).sum())
        variance = float((self.weights * ((each - mean) ** 2 + self.noise**2)).sum())
        return mean, math.sqrt(variance)

    def printer_bias(self) -> tuple[float, float]:
        """Mean and variance of the printer's bias, in mm and mm²."""
        over = self.weights.sum(axis=(1, 2))
        values = self.bias[:, 0, 0]
        mean = float(over @ values)
        return mean, float(over @ (values - mean) ** 2)

    def best(self, low: float, high: float) -> tuple[float, np.ndarray]:
        """The size in mm from ``low`` to ``high`` that is likeliest right, and the outcomes' chances."""
        middle = (self.window.low + self.window.high) / 2
        at_zero, spread = self.clearance(0.0)
        aim = at_zero - middle if self.entering else middle - at_zero
        size, reach = aim, max(3 * spread, STEP)
        for step in (4 * STEP, STEP):
            sizes = np.clip(np.arange(size - reach, size + reach, step), low, high)
            sizes = np.unique(np.round(sizes / STEP) * STEP)
            right = np.einsum("ijk,sijk->s", self.weights, self._right(sizes))
            size, reach = float(sizes[int(right.argmax())]), step
        return round(size, 4), self.expect(size)

    def any_right(self, sizes: Sequence[float]) -> float:
        """How likely it is that one or more prints of these sizes in mm are right."""
        none = np.prod(1 - self._right(np.asarray(sizes, dtype=float)), axis=0)
        return 1 - float((self.weights * none).sum())

    def _right(self, sizes: np.ndarray) -> np.ndarray:
        """How likely each of the sizes (s,) is right in each cell, (s, n, m, k)."""
        from workbench.measure.chances import ndtr

        clearance = self._clearance(sizes[:, None, None, None] + self.bias)
        spread = np.hypot(self.noise, HAND)
        inside = ndtr((self.window.high - clearance) / spread)
        inside -= ndtr((self.window.low - clearance) / spread)
        return inside

    def _clearance(self, printed: np.ndarray) -> np.ndarray:
        ours = printed + 0 * self.error
        theirs = self.mating + self.error
        return theirs - ours if self.entering else ours - theirs


@dataclass(frozen=True)
class Proposal:
    """A size to set next.

    size : in mm
    probability : that it is right when printed
    reason : in words
    chances : the probability of each outcome by its word
    clearance : that is expected, in mm
    """

    size: float
    probability: float
    reason: str
    chances: dict[str, float]
    clearance: float


def propose(belief: Belief, size: float, each: np.ndarray, because: Sequence[str]) -> Proposal:
    """The proposal of a size, its reasons put together in one sentence or two."""
    right = float(each[OUTCOMES.index("right")])
    verdict = _("{size} is {percent} % likely to be right").format(
        size=with_unit(size), percent=number(100 * right, 0)
    )
    return Proposal(
        size,
        right,
        ". ".join(_capital(sentence) for sentence in (*because, verdict)) + ".",
        dict(zip(OUTCOMES, map(float, each), strict=True)),
        belief.clearance(size)[0],
    )


def told_window(kind: str, belief: Belief) -> str:
    """What a fit asks for at this counterpart, in words."""
    sentence = {
        "clearance": _("at {mating} a clearance fit leaves {low} to {high} of room"),
        "transition": _("at {mating} a transition fit is between {low} of grip and {high} of room"),
        "interference": _("at {mating} an interference fit grips by {high} to {low}"),
    }[kind]
    return sentence.format(
        **lengths(mating=belief.mating, low=abs(belief.window.low), high=abs(belief.window.high))
    )


def _capital(sentence: str) -> str:
    return sentence[:1].upper() + sentence[1:]
