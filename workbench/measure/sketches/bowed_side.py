"""A side of a sketch that is an arc: how far it reaches in a direction, as jaws across it find it."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

#: Step of the slopes, as a share of the chord.
_STEP = 1e-6


@dataclass(frozen=True, eq=False)
class Reach:
    """How far an arc reaches, and how that changes.

    reach : in mm along the direction asked for; touches : (2,) where
    columns : (4,) of its ends' coordinates among all; slopes : (4,) by them
    scalar : which unknown its size is, or None; by_scalar : the slope by that
    """

    reach: float
    touches: np.ndarray
    columns: list[int]
    slopes: np.ndarray
    scalar: int | None
    by_scalar: float


@dataclass(frozen=True)
class BowedSide:
    """A side that is an arc.

    start, end : its corners among all points
    bow : its rise over half its chord as drawn, above 0 to the right of the way from start to end
    round : whether its size is a radius; otherwise it is a rise
    scalar : which unknown its size is; None where the rise stays in proportion to its chord
    """

    start: int
    end: int
    bow: float
    round: bool
    scalar: int | None

    def reach(self, spots: np.ndarray, scalars: np.ndarray, way: np.ndarray) -> Reach | None:
        """The furthest along the unit vector ``way`` (2,); None where that is one of its ends."""
        ends = spots[[self.start, self.end]].ravel()
        size = self._size(ends) if self.scalar is None else float(scalars[self.scalar])
        middle, radius, right = self._circle(ends, size)
        touches = middle + radius * way
        if float((touches - (ends[:2] + ends[2:]) / 2) @ right) < 0:
            return None

        def furthest(given: np.ndarray) -> float:
            middle, radius, _right = self._circle(given[:4], float(given[4]))
            return float(middle @ way) + radius

        here = np.append(ends, size)
        step = _STEP * max(math.dist(ends[:2], ends[2:]), 1e-3)
        slopes = np.array(
            [(furthest(here + off) - furthest(here - off)) / (2 * step) for off in np.eye(5) * step]
        )
        if self.scalar is None:  # the size goes with the chord
            chord = ends[2:] - ends[:2]
            along = abs(self.bow) / 2 * chord / max(math.hypot(*chord), 1e-12)
            slopes[:4] += slopes[4] * np.r_[-along, along]
        columns = [2 * self.start, 2 * self.start + 1, 2 * self.end, 2 * self.end + 1]
        return Reach(
            float(touches @ way), touches, columns, slopes[:4], self.scalar, float(slopes[4])
        )

    def _size(self, ends: np.ndarray) -> float:
        return abs(self.bow) * math.dist(ends[:2], ends[2:]) / 2

    def _circle(self, ends: np.ndarray, size: float) -> tuple[np.ndarray, float, np.ndarray]:
        """Middle (2,), radius, and the unit vector (2,) to the side on which the arc lies."""
        chord = ends[2:] - ends[:2]
        length = max(math.hypot(*chord), 1e-12)
        right = math.copysign(1.0, self.bow) * np.array([chord[1], -chord[0]]) / length
        half = length / 2
        if self.round:
            radius = max(size, half)
            sag = math.sqrt(max(radius**2 - half**2, 0.0))
            rise = radius + sag if abs(self.bow) > 1 else radius - sag
        else:
            rise = max(abs(size), 1e-9 * half)
            radius = (half**2 + rise**2) / (2 * rise)
        return (ends[:2] + ends[2:]) / 2 + (rise - radius) * right, radius, right
