"""Other shapes that the same readings allow: corners folded over, and others that fit by chance."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from itertools import combinations, permutations

import numpy as np
import shapely

from workbench.measure.sketches.adjust import Adjusted, adjust
from workbench.measure.sketches.equations import Equations

#: Odds of 20 to 1 between two shapes, as a difference of chi-squares: 2 ln 20.
ODDS = 2 * math.log(20.0)

#: How many folded sketches are tried, as many with a corner moved along a line, and how many that
#: are thrown about, where next to nothing checks the readings.
_TRIED, _THROWN = 8, 10

#: With more corners than this none are thrown about: it would take too long to look.
_FEW = 8


def others(adjusted: Adjusted) -> list[Adjusted]:
    """Outlines, other than the one found, that fit the readings about as well.

    Each run of corners between two others is folded over the line between those two; each corner is
    moved along a line to another, to where it is as far from a third as before, as with two sides
    and an angle that is not between them; the most promising are fitted again, and what fits
    within odds of 20 to 1 is kept. Where few readings are to spare, corners are thrown about, too.
    """
    equations = adjusted.equations
    if equations.sketch.trace is not None:
        return []
    found: list[Adjusted] = []
    starts = [*_best(adjusted, _folded(adjusted)), *_best(adjusted, _slid(adjusted))]
    if adjusted.spare <= 1 and len(equations.sketch.corners) <= _FEW:
        starts += _thrown(adjusted)
    for start in starts:
        other = adjust(equations, start, adjusted.active)
        fits = other.chi_square <= adjusted.chi_square + ODDS
        holds = not np.abs(other.misfit[equations.exact]).max(initial=0.0) > 1e-6
        if not (fits and holds) or other.movable.shape[1] or not _simple(other):
            continue
        if all(_differ(other, known) for known in (adjusted, *found)):
            found.append(other)
    return found


def _best(adjusted: Adjusted, starts: Iterable[np.ndarray]) -> list[np.ndarray]:
    """The (p,) starts that fit best as they are."""
    equations = adjusted.equations
    scores: list[tuple[float, int, np.ndarray]] = []
    for start in starts:
        misfit = equations.misfit(equations.evaluate(start)[0]) / equations.sigma * adjusted.active
        scores.append((float(misfit @ misfit), len(scores), start))
    scores.sort(key=lambda score: score[:2])
    return [start for _misfit, _order, start in scores[:_TRIED]]


def _slid(adjusted: Adjusted) -> Iterator[np.ndarray]:
    """(p,) starts with one corner moved along a line to another, as far from a third as before."""
    equations = adjusted.equations
    count = len(equations.sketch.corners)
    names = list(equations.sketch.corners)
    left, right = (names.index(name) for name in equations.sketch.base)
    for corner, end, third in permutations(range(count), 3):
        # The base's left end stays where it is, and its right end level with it.
        if corner == right and end != left:
            continue
        moved = adjusted.x.copy()
        spots = moved[: 2 * count].reshape(-1, 2)
        way = spots[corner] - spots[end]
        length = float(way @ way)
        if length < 1e-12:
            continue
        foot = spots[end] + way * float((spots[third] - spots[end]) @ way) / length
        spots[corner] = 2 * foot - spots[corner]
        if corner == left:
            if end != right:
                continue
            spots -= spots[left].copy()
        yield moved


def _thrown(adjusted: Adjusted) -> list[np.ndarray]:
    """(p,) starts with every corner moved by up to half of the sketch's size, always alike."""
    equations: Equations = adjusted.equations
    rng = np.random.default_rng(0)
    starts = []
    for _turn in range(_THROWN):
        start = adjusted.x.copy()
        free = equations.free[equations.free < 2 * len(equations.sketch.corners)]
        start[free] += rng.uniform(-0.5, 0.5, len(free)) * equations.reach
        starts.append(start)
    return starts


def _folded(adjusted: Adjusted) -> Iterator[np.ndarray]:
    """(p,) starts: all runs of corners folded over."""
    equations = adjusted.equations
    count = len(equations.sketch.corners)
    base = {list(equations.sketch.corners).index(name) for name in equations.sketch.base}
    for a, b in combinations(range(count), 2):
        inner = list(range(a + 1, b))
        outer = [i for i in range(count) if i < a or i > b]
        run = outer if base & set(inner) else inner
        if not run or base & set(run):
            continue
        folded = _fold(adjusted.x, count, a, b, run)
        if folded is not None:
            yield folded


def _fold(x: np.ndarray, count: int, a: int, b: int, run: list[int]) -> np.ndarray | None:
    folded = x.copy()
    spots = folded[: 2 * count].reshape(-1, 2)
    edge = spots[b] - spots[a]
    length = float(edge @ edge)
    if length < 1e-12:
        return None
    rest = spots[run] - spots[a]
    along = np.outer(rest @ edge / length, edge)
    spots[run] = spots[a] + 2 * along - rest
    return folded


def _simple(adjusted: Adjusted) -> bool:
    return bool(shapely.Polygon(_ring(adjusted)).is_valid)


def _differ(one: Adjusted, other: Adjusted) -> bool:
    """Whether they are two shapes, and not one seen from the front and from behind."""
    gap = np.abs(_distances(_ring(one)) - _distances(_ring(other))).max()
    return bool(gap > 0.01 * one.equations.reach)


def _distances(ring: np.ndarray) -> np.ndarray:
    between = ring[:, None] - ring[None]
    return np.hypot(between[..., 0], between[..., 1])


def _ring(adjusted: Adjusted) -> np.ndarray:
    return adjusted.x[: 2 * len(adjusted.equations.sketch.corners)].reshape(-1, 2)
