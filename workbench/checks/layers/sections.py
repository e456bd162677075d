"""Plane sections: their corners, middles and widths. A section is a manifold3d ``CrossSection``."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Corners that lie this near to a straight edge of a section are left out, in mm. Our choice.
STRAIGHT = 0.001

#: Areas below this are rounding, in mm².
NOTHING = 1e-3


def polygons(section: CrossSection) -> list[np.ndarray]:
    """The section's closed polygons, each (k, 2) in mm."""
    return [np.asarray(polygon) for polygon in section.to_polygons()]


@lru_cache(maxsize=64)
def segments(section: CrossSection, fine: float = 0.0) -> np.ndarray:
    """(k, 2, 2) edges of a section, each from corner to corner, in mm; without the corners that
    lie as near as ``fine`` to a straight edge."""
    return joined(polygons(section.simplify(fine) if fine else section))


def joined(rings: Sequence[np.ndarray]) -> np.ndarray:
    """(k, 2, 2) edges of closed rings, each (n, 2)."""
    if not rings:
        return np.empty((0, 2, 2))
    starts = np.concatenate(rings)
    ahead = np.arange(1, len(starts) + 1)
    last = np.cumsum([len(ring) for ring in rings]) - 1
    ahead[last] = [0, *(last[:-1] + 1)]
    return np.stack([starts, starts[ahead]], axis=1)


def perimeter(section: CrossSection) -> float:
    """Length of all edges of a section, in mm."""
    edges = segments(section)
    return float(np.hypot(*(edges[:, 1] - edges[:, 0]).T).sum())


def middle(section: CrossSection) -> tuple[float, float]:
    """Centre of area of a section, in mm; of its corners where it has no area."""
    return _middle(segments(section))


def _middle(edges: np.ndarray) -> tuple[float, float]:
    start, end = edges[:, 0], edges[:, 1]
    cross = start[:, 0] * end[:, 1] - end[:, 0] * start[:, 1]
    total = float(cross.sum())
    if abs(total) < 1e-12:
        x, y = start.mean(axis=0) if len(start) else (np.nan, np.nan)
    else:
        x, y = cross @ (start + end) / (3 * total)
    return float(x), float(y)


def inner_point(section: CrossSection) -> tuple[float, float]:
    """A point (x, y) well inside a section: its centre of area, or, where that lies outside, the
    middle of the longest stretch of a level line through its largest part."""
    edges = segments(section)
    x, y = _middle(edges)
    if np.isnan(x) or np.searchsorted(crossings(edges, y), x) % 2 == 1:
        return x, y
    largest = segments(max(section.decompose(), key=lambda part: part.area(), default=section))
    low, high = largest[..., 1].min(), largest[..., 1].max()
    best = (0.0, x, y)
    for row in low + (high - low) * (np.arange(7) + 0.5) / 7:
        ends = crossings(largest, row)
        for start, end in zip(ends[:-1:2], ends[1::2], strict=True):
            best = max(best, (end - start, (start + end) / 2, row))
    return float(best[1]), float(best[2])


def crossings(edges: np.ndarray, row: float) -> np.ndarray:
    """Sorted x at which the level line y = ``row`` crosses edges (k, 2, 2)."""
    y0, y1 = edges[:, 0, 1], edges[:, 1, 1]
    cross = (y0 <= row) != (y1 <= row)
    a, b = edges[cross, 0], edges[cross, 1]
    return np.sort(a[:, 0] + (row - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1]))


def narrowest(section: CrossSection) -> float:
    """Least width of a section's hull over all directions, in mm: how far apart two parallel
    rulers are that just hold it."""
    hull = polygons(section.hull().simplify(STRAIGHT * 5))
    if not hull:
        return 0.0
    points = hull[0]
    edges = np.roll(points, -1, axis=0) - points
    length = np.hypot(*edges.T)
    normals = np.stack([-edges[:, 1], edges[:, 0]], axis=1)[length > 0] / length[length > 0, None]
    across = points @ normals.T
    return float((across.max(axis=0) - across.min(axis=0)).min())


def grown(section: CrossSection, by: float, limit: float = 2.0) -> CrossSection:
    """The section with its edges moved out by ``by`` mm (in, if negative), corners kept sharp.

    Sharp corners: a reach or a wall is measured square to a face, also where two faces meet.
    ``limit`` cuts corners off beyond so many times ``by``.
    """
    from manifold3d import JoinType

    return section.offset(by, JoinType.Miter, limit)


def union(sections: Sequence[CrossSection]) -> CrossSection:
    """Sections as one."""
    from manifold3d import CrossSection, OpType

    if len(sections) == 1:
        return sections[0]
    return CrossSection.batch_boolean(list(sections), OpType.Add)
