"""Other shapes that the same readings allow: corners folded over a line between two others."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import shapely

from workbench.measure.adjust import Adjusted, adjust
from workbench.measure.outliers import ODDS

#: How many folded sketches are tried.
_TRIED = 8


def others(adjusted: Adjusted) -> list[Adjusted]:
    """Outlines, other than the one found, that fit the readings about as well.

    Each run of corners between two others is folded over the line between those two, the most
    promising folds are fitted again, and what fits within odds of 20 to 1 is kept.
    """
    equations = adjusted.equations
    if equations.sketch.trace is not None:
        return []
    found: list[Adjusted] = []
    for start in _folded(adjusted):
        other = adjust(equations, start)
        fits = other.chi_square <= adjusted.chi_square + ODDS
        holds = not np.abs(other.misfit[equations.exact]).max(initial=0.0) > 1e-6
        if not (fits and holds) or other.movable.shape[1] or not _simple(other):
            continue
        if all(_differ(other, known) for known in (adjusted, *found)):
            found.append(other)
    return found


def _folded(adjusted: Adjusted) -> list[np.ndarray]:
    """(p,) starts: the best fitting of all runs of corners folded over."""
    equations = adjusted.equations
    count = len(equations.sketch.corners)
    base = {list(equations.sketch.corners).index(name) for name in equations.sketch.base}
    scores: list[tuple[float, int, np.ndarray]] = []
    for a, b in combinations(range(count), 2):
        inner = list(range(a + 1, b))
        outer = [i for i in range(count) if i < a or i > b]
        run = outer if base & set(inner) else inner
        if not run or base & set(run):
            continue
        folded = _fold(adjusted.x, count, a, b, run)
        if folded is not None:
            fitted, _slopes = equations.evaluate(folded)
            misfit = equations.misfit(fitted) / equations.sigma
            scores.append((float(misfit @ misfit), len(scores), folded))
    scores.sort(key=lambda score: score[:2])
    return [folded for _misfit, _order, folded in scores[:_TRIED]]


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
