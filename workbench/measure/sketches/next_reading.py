"""Which reading to take next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from workbench.measure.sketches.adjust import Adjusted
from workbench.measure.sketches.equations import Equations
from workbench.measure.sketches.sketch import Sketch
from workbench.measure.sketches.table_row import Row, in_words

#: Standard uncertainty of a reading not taken yet: one setting of digital calipers, in mm.
USUAL = 0.02

#: A reading that is easier to reach is preferred if it tells at least this part of the best.
_TELLING = 0.3


@dataclass(frozen=True)
class Next:
    """A reading that is worth taking: its kind and the corners it is between."""

    kind: str
    where: tuple[str, ...]

    def __str__(self) -> str:
        return in_words(self.kind, self.where)


def possible(sketch: Sketch) -> list[Next]:
    """Every simple reading that has not been taken, the easiest to reach first."""
    taken = {(_sort(row.kind), frozenset(row.where)) for row in sketch.rows if not row.exact}
    names = list(sketch.corners)
    sides: list[Next] = []
    others: list[Next] = []
    for a, b in combinations([*names, *sketch.circles], 2):
        if a in names and b in names:
            near = b in sketch.neighbours(a)
            (sides if near else others).append(Next("side" if near else "diagonal", (a, b)))
        else:
            others.append(Next("distance", (a, b)))
    round_ones = [Next("diameter", (name,)) for name in sketch.circles]
    base = sketch.base
    heights = [
        Next(kind, (name, *base))
        for name in (*names, *sketch.circles)
        if name not in base
        for kind in ("height", "offset")
    ]
    return [
        reading
        for reading in (*round_ones, *sides, *others, *heights)
        if (_sort(reading.kind), frozenset(reading.where)) not in taken
    ]


def slopes_of(equations: Equations, readings: Sequence[Next], x: np.ndarray) -> np.ndarray:
    """(c, p) slopes of readings that might be taken, at unknowns x."""
    rows = [Row(str(r), r.kind, r.where, (1.0,), rim="centre") for r in readings]
    return equations.asking(rows).evaluate(x)[1]


def to_hold(adjusted: Adjusted) -> list[Next]:
    """The fewest readings that hold all that is free to move, the most telling first."""
    readings = possible(adjusted.equations.sketch)
    movable = adjusted.movable
    found: list[Next] = []
    while movable.shape[1] and readings:
        telling = slopes_of(adjusted.equations, readings, adjusted.x) @ movable
        strength = np.hypot.reduce(telling, axis=1)
        good = np.flatnonzero(strength >= _TELLING * strength.max())
        best = int(good[0])
        if strength[best] < 1e-6:
            break
        found.append(readings[best])
        _u, _s, rows = np.linalg.svd(telling[best : best + 1])
        movable = movable @ rows[1:].T
    return found


def to_tell_apart(adjusted: Adjusted, i: int, j: int) -> Next | None:
    """The reading after which the misfits of readings i and j would be least alike."""
    readings = possible(adjusted.equations.sketch)
    if not readings:
        return None
    slopes = slopes_of(adjusted.equations, readings, adjusted.x)
    likeness = adjusted.separation(i, j, slopes, USUAL)
    good = np.flatnonzero(likeness <= likeness.min() + 0.1)
    return readings[int(good[0])] if likeness.min() < 0.9 else None


def to_tell_shapes_apart(
    equations: Equations, one: np.ndarray, other: np.ndarray
) -> tuple[Next, float, float] | None:
    """The untaken reading that differs most between two solutions, and its value in each."""
    readings = possible(equations.sketch)
    if not readings:
        return None
    rows = [Row(str(r), r.kind, r.where, (1.0,), rim="centre") for r in readings]
    asked = equations.asking(rows)
    first, second = asked.evaluate(one)[0], asked.evaluate(other)[0]
    gap = np.abs(np.abs(first) - np.abs(second))
    best = int(np.flatnonzero(gap >= 0.8 * gap.max())[0])
    return readings[best], abs(float(first[best])), abs(float(second[best]))


def _sort(kind: str) -> str:
    return "distance" if kind in ("side", "diagonal") else kind
