"""Which points lie inside a closed mesh.

A level line from each point to the left crosses the surface an odd number of times. A corner at the
point's own height counts as above it, so that no crossing is counted twice or left out.
"""

from __future__ import annotations

import numpy as np

#: More pairs of points and triangles than this are sought by a tree. Our choice.
_PAIRS = 200_000


def inside(vertices: np.ndarray, faces: np.ndarray, points: np.ndarray) -> np.ndarray:
    """(n,) whether points (n, 3) lie inside a mesh.

    vertices, faces : closed mesh, (k, 3) in mm and (m, 3)
    points : in mm; what lies exactly on the surface may count either way

    >>> ends = np.array([[0, 0, 0], [9, 0, 0], [0, 9, 0], [0, 0, 9.0]])
    >>> tetrahedron = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])
    >>> inside(ends, tetrahedron, np.array([[1, 1, 1], [5, 5, 5], [-1, 1, 1.0]])).tolist()
    [True, False, False]
    """
    at, cut = _cut(vertices[faces][..., 1:], points[:, 1:])
    corners, (x, y, level) = vertices[faces[cut]], points[at].T
    above = corners[..., 2] >= level[:, None]
    # The corner that is alone above the level or below it; from it run the two edges that cross.
    alone = np.where(above.sum(axis=1) == 1, above.argmax(axis=1), above.argmin(axis=1))
    row = np.arange(len(cut))
    own, one, other = (corners[row, (alone + turn) % 3].T for turn in range(3))
    up = above[row, alone]
    start, end = _passed(own, one, up, level), _passed(own, other, up, level)
    crosses = (start[1] <= y) != (end[1] <= y)
    (x0, y0), (x1, y1) = start[:, crosses], end[:, crosses]
    left = x0 + (y[crosses] - y0) * (x1 - x0) / (y1 - y0) < x[crosses]
    return np.bincount(at[crosses][left], minlength=len(points)) % 2 == 1


def _cut(corners: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Indices of points (n, 2) and of triangles (m, 3, 2) whose frames they lie in and whose
    corners do not all lie above or below them, pair by pair; y and z of each."""
    low, high = corners.min(axis=1), corners.max(axis=1)
    if len(points) * len(corners) <= _PAIRS:
        y, z = points.T[..., None]
        beside = (low[:, 0] <= y) & (y <= high[:, 0])
        at, cut = np.nonzero(beside & (low[:, 1] < z) & (z <= high[:, 1]))
        return at, cut
    import shapely

    tree = shapely.STRtree(shapely.box(low[:, 0], low[:, 1], high[:, 0], high[:, 1]))
    at, cut = tree.query(shapely.points(points))
    z = points[at, 1]
    cuts = (low[cut, 1] < z) & (z <= high[cut, 1])
    return at[cuts], cut[cuts]


def _passed(own: np.ndarray, other: np.ndarray, up: np.ndarray, level: np.ndarray) -> np.ndarray:
    """(2, n) x and y at which edges pass a level, alike from both triangles that share one."""
    low, high = np.where(up, other, own), np.where(up, own, other)
    share = (level - low[2]) / (high[2] - low[2])
    return np.asarray(low[:2] + share * (high[:2] - low[:2]))
