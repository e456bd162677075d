"""Where level planes cut a closed mesh: every layer at once, as arrays.

Each edge of the mesh that passes through a plane gives one node, and each triangle joins two of
them, so that on every plane the nodes follow one another in closed contours with the material
to their left. A corner that lies exactly in a plane counts as above it; so no contour is ever
left open. Areas and lengths need no contours and come from the joints at once.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

import numpy as np

#: Less than this, as the sine of the angle, is no turn of a contour: rounding.
_STRAIGHT = 1e-9


@dataclass(frozen=True, eq=False)
class Contours:
    """The cuts of a closed mesh by level planes, lowest first.

    nodes : (N, 2) where edges pass through planes, in mm, plane by plane
    ahead : (N,) the node that follows each node on its contour
    starts : (n + 1,) the first node of each plane, and the end
    areas : (n,) area inside each plane's contours, in mm²
    lengths : (n,) length of each plane's contours, in mm
    """

    nodes: np.ndarray
    ahead: np.ndarray
    starts: np.ndarray
    areas: np.ndarray
    lengths: np.ndarray

    def rings(self, plane: int) -> list[np.ndarray]:
        """The closed contours (k, 2) of one plane: outer ones counter-clockwise, holes clockwise."""
        nodes, ends, first = self._in_turn
        kept = ends[first[plane] : first[plane + 1] + 1]
        return [nodes[start:end] for start, end in pairwise(kept)]

    @cached_property
    def _in_turn(self) -> tuple[np.ndarray, list[int], list[int]]:
        """(N, 2) nodes, contour by contour; where each contour begins, and the end; and the
        first contour of each plane, and their number."""
        here, ahead = np.arange(len(self.nodes)), self.ahead
        # Each round looks twice as far ahead as the one before.
        rounds = range(int(np.diff(self.starts).max(initial=1)).bit_length())
        lead = here
        for _round in rounds:
            lead, ahead = np.minimum(lead, lead[ahead]), ahead[ahead]
        leads = lead == here
        left, ahead = np.where(leads, 0, 1), np.where(leads, here, self.ahead)
        for _round in rounds:
            left, ahead = left + left[ahead], ahead[ahead]
        ends = np.cumsum(np.bincount(lead, minlength=len(here)))
        nodes = np.empty_like(self.nodes)
        nodes[ends[lead] - 1 - left] = self.nodes
        first = np.searchsorted(np.flatnonzero(leads), self.starts)
        return nodes, [0, *ends[leads].tolist()], first.tolist()


def contours(vertices: np.ndarray, faces: np.ndarray, planes: np.ndarray) -> Contours:
    """Cut a closed, consistently turned mesh with planes at the given heights.

    vertices : (n, 3) in mm
    faces : (m, 3) indices, counter-clockwise from outside; every edge shared by two triangles
    planes : (k,) heights in mm, rising
    """
    x, y, z = np.ascontiguousarray(vertices.T)
    level = np.searchsorted(planes, z, side="right")
    at = level[faces]
    rank = np.argsort(at, axis=1, kind="stable")
    low, mid, high = np.take_along_axis(at, rank, axis=1).T
    one, other, across = _edges(np.ascontiguousarray(faces, dtype=np.int64).tobytes())
    falls = level[one] > level[other]
    start, end = np.where(falls, other, one), np.where(falls, one, other)
    below, above = level[start], level[end]
    edge, at = spread(below, above)
    along = (planes[at] - z[start][edge]) / (z[end] - z[start])[edge]
    x = x[start][edge] + along * (x[end] - x[start])[edge]
    y = y[start][edge] + along * (y[end] - y[start])[edge]
    # Added to a plane, this gives the node of an edge in it: of the long edge of each triangle,
    # and of the two short ones above and below its middle corner.
    first = np.cumsum(above - below) - above
    on_upper, on_long, on_lower = first[np.take_along_axis(across, rank.T, axis=0)]
    triangle, plane = spread(low, high)
    long = on_long[triangle] + plane
    short = np.where(plane < mid[triangle], on_lower[triangle], on_upper[triangle]) + plane
    # Seen from outside, a contour runs from the edge that goes down to the one that goes up.
    up = ((rank[:, 2] - rank[:, 0]) % 3 == 1)[triangle]
    tail, head = np.where(up, short, long), np.where(up, long, short)
    x0, y0, x1, y1 = x[tail], y[tail], x[head], y[head]
    areas = np.bincount(plane, weights=x0 * y1 - x1 * y0, minlength=len(planes)) / 2
    lengths = np.bincount(plane, weights=np.hypot(x1 - x0, y1 - y0), minlength=len(planes))
    # From edge by edge to plane by plane; the heights of 16 bits sort in one pass.
    order = np.argsort(at.astype(np.int16), kind="stable")
    place = np.empty_like(order)
    place[order] = np.arange(len(order))
    ahead = np.empty_like(order)
    ahead[place[tail]] = place[head]
    nodes, at, ahead = _corners(np.stack([x[order], y[order]], axis=1), at[order], ahead)
    starts = np.concatenate([[0], np.cumsum(np.bincount(at, minlength=len(planes)))])
    return Contours(nodes, ahead, starts, areas, lengths)


@lru_cache(maxsize=4)
def _edges(faces: bytes) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The ends of each edge of a closed mesh, and (3, m) which of them lies across from each
    corner of its triangles: the same, whichever way up the mesh is laid."""
    corners = np.frombuffer(faces, dtype=np.int64).reshape(-1, 3).T
    one, other, count = corners[[1, 2, 0]], corners[[2, 0, 1]], corners.max() + 1
    keys = np.minimum(one, other) * count + np.maximum(one, other)
    edges, index = np.unique(keys, return_inverse=True)
    return edges // count, edges % count, index.reshape(3, -1)


def _corners(
    nodes: np.ndarray, at: np.ndarray, ahead: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Nodes, their planes and what follows each, without those that lie straight between two.

    Most lie on the diagonals of plane walls.
    """
    behind = np.empty_like(ahead)
    behind[ahead] = np.arange(len(ahead))
    x, y = np.ascontiguousarray(nodes.T)
    x, y = x[ahead] - x, y[ahead] - y
    before_x, before_y, length = x[behind], y[behind], np.hypot(x, y)
    turn = np.abs(before_x * y - before_y * x)
    corner = (turn > _STRAIGHT * length[behind] * length) | (before_x * x + before_y * y <= 0)
    while not (kept := corner[ahead])[corner].all():
        ahead = np.where(kept, ahead, ahead[ahead])
    place = np.cumsum(corner) - 1
    return nodes[corner], at[corner], place[ahead[corner]]


def spread(low: np.ndarray, high: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Each row once for every number from ``low`` up to ``high``: the row, and the number."""
    count = high - low
    row = np.repeat(np.arange(len(count)), count)
    return row, np.arange(len(row)) + (high - np.cumsum(count))[row]
