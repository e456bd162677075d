"""Sizes between points, many at a time, with their slopes by the points' coordinates.

Each function adds to ``values`` (t,) in mm or degrees and to ``slopes`` (t, 2 n) for points
``spots`` (n, 2). ``at`` holds columns of indices: first the row of each size, then its points.
"""

from __future__ import annotations

import numpy as np

Places = tuple[np.ndarray, ...]

#: Turns a line to the one square to it, counter-clockwise.
SQUARE = np.array([[0.0, -1.0], [1.0, 0.0]])


def add_distances(at: Places, spots: np.ndarray, values: np.ndarray, slopes: np.ndarray) -> None:
    """From p to q."""
    rows, p, q = at
    if not len(rows):
        return
    gap = spots[q] - spots[p]
    length = np.maximum(np.hypot(gap[:, 0], gap[:, 1]), 1e-12)
    unit = gap / length[:, None]
    values[rows] += length
    _spread(slopes, rows, q, unit)
    _spread(slopes, rows, p, -unit)


def add_spans(at: Places, spots: np.ndarray, values: np.ndarray, slopes: np.ndarray) -> None:
    """From p to q along the line a b, or square to it where the last column is 1."""
    rows, p, q, a, b, square = at
    if not len(rows):
        return
    edge, gap = spots[b] - spots[a], spots[q] - spots[p]
    length = np.maximum(np.hypot(edge[:, 0], edge[:, 1]), 1e-12)[:, None]
    unit = edge / length
    upright = square[:, None] > 0
    across = np.where(upright, unit @ SQUARE.T, unit)
    span = (gap * across).sum(axis=1)
    by_edge = (np.where(upright, -gap @ SQUARE.T, gap) - span[:, None] * unit) / length
    values[rows] += span
    _spread(slopes, rows, q, across)
    _spread(slopes, rows, p, -across)
    _spread(slopes, rows, b, by_edge)
    _spread(slopes, rows, a, -by_edge)


def add_turns(at: Places, spots: np.ndarray, values: np.ndarray, slopes: np.ndarray) -> None:
    """From the line a b to the line c d, in degrees, -180 to 180, counter-clockwise."""
    rows, a, b, c, d = at
    if not len(rows):
        return
    one, other = spots[b] - spots[a], spots[d] - spots[c]
    square_one = one @ SQUARE.T
    values[rows] += np.degrees(
        np.arctan2((square_one * other).sum(axis=1), (one * other).sum(axis=1))
    )
    by_one = np.degrees(square_one / np.maximum((one**2).sum(axis=1), 1e-12)[:, None])
    by_other = np.degrees(other @ SQUARE.T / np.maximum((other**2).sum(axis=1), 1e-12)[:, None])
    _spread(slopes, rows, d, by_other)
    _spread(slopes, rows, c, -by_other)
    _spread(slopes, rows, b, -by_one)
    _spread(slopes, rows, a, by_one)


def _spread(slopes: np.ndarray, rows: np.ndarray, points: np.ndarray, by: np.ndarray) -> None:
    slopes.reshape(len(slopes), -1, 2)[rows, points] += by
