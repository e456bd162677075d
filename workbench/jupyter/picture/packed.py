"""Meshes as few bytes: on a fine grid, and after the first one only what changed.

The browser keeps a table of points and a list of triangles with their owners, those too that are
not shown any more or not yet. A change names the places of the triangles that go or come back, and
adds points and triangles at the end of both lists.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

#: Grids of the packed points, in mm: the finest that reaches far enough is taken.
GRIDS = (0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0)

#: How many steps of the grid a point can lie from the origin.
REACH = 32_767

#: Points and triangles are begun anew when no more than this share of them is shown.
_SHOWN = 0.2

#: Gives the owner (k,) of each of some triangles, told by their numbers (k,) in the mesh.
Owners = Callable[[np.ndarray], np.ndarray]

_NOBODY = np.zeros(0, dtype=np.int64)

Message = tuple[dict[str, Any], list[bytes]]


def grid_for(vertices: np.ndarray) -> float:
    """The finest grid, in mm, that reaches all of the vertices (n, 3).

    >>> grid_for(np.array([[0, 0, 60.0]])), grid_for(np.array([[-300, 0, 60.0]]))
    (0.002, 0.01)
    """
    most = float(np.abs(vertices).max(initial=0.0))
    return next((grid for grid in GRIDS if most <= REACH * grid), most / REACH)


class Packed:
    """What the browser holds of one mesh, and the messages that bring it up to date."""

    def __init__(self) -> None:
        self.version = 0
        self._grid = 0.0
        self._points = np.zeros((0, 3), dtype=np.int16)
        self._triangles = np.zeros((0, 3), dtype=np.int64)
        self._owners = np.zeros(0, dtype=np.int64)
        self._shown = np.zeros(0, dtype=bool)

    @property
    def mesh(self) -> tuple[np.ndarray, np.ndarray]:
        """What the browser draws: points (n, 3) in mm, some of them in no triangle, and (m, 3)."""
        return self._points * self._grid, self._triangles[self._shown]

    @property
    def owners(self) -> np.ndarray:
        """(m,) the owner of each triangle."""
        return self._owners[self._shown]

    def whole(self) -> Message:
        """Everything, for a browser that holds nothing yet."""
        return self._message(-1, ~self._shown, 0, 0)

    def update(
        self, vertices: np.ndarray, faces: np.ndarray, owners: Owners, anew: bool = False
    ) -> Message:
        """Take in another mesh, and return what the browser has to be told.

        vertices, faces : (n, 3) in mm, and (m, 3)
        owners : called with the triangles that are shown from now on
        anew : whether no owner that is known holds any more
        """
        grid = grid_for(vertices)
        points = np.round(np.asarray(vertices) / grid).astype(np.int16)
        base = self.version
        self.version += 1
        if anew or grid != self._grid or not (len(faces) and len(self._triangles)):
            return self._begin(grid, points, faces, owners)
        slots, added = self._slots(points)
        new = _turned(slots[faces])
        keys, first, index = np.unique(_keys(new), return_index=True, return_inverse=True)
        at, kept = _found(keys, _keys(self._triangles))
        known = np.zeros(len(keys), dtype=bool)
        known[at[kept]] = True
        fresh = np.flatnonzero(~known[index.reshape(-1)])
        much = (len(self._points) + len(added), len(self._triangles) + len(fresh))
        if len(points) < _SHOWN * much[0] - 64 or len(faces) < _SHOWN * much[1] - 64:
            return self._begin(grid, points, faces, owners)
        # Those that come back are owned by whoever owns them now.
        back = kept & ~self._shown
        told = np.asarray(owners(np.concatenate([fresh, first[at[back]]])))
        self._owners[back] = told[len(fresh) :]
        changed = kept != self._shown
        self._shown = kept
        return self._add(base, added, new[fresh], told[: len(fresh)], changed, back)

    def ahead(self, vertices: np.ndarray, faces: np.ndarray, owners: Owners) -> Message | None:
        """Tell the browser beforehand of a mesh that may be shown next; None where it knows it.

        Parameters are as of :meth:`update`.
        """
        if grid_for(vertices) != self._grid:
            return None
        slots, added = self._slots(np.round(np.asarray(vertices) / self._grid).astype(np.int16))
        new = _turned(slots[faces])
        fresh = np.flatnonzero(~_found(np.sort(_keys(self._triangles)), _keys(new))[1])
        if not len(fresh):
            return None
        base = self.version
        self.version += 1
        none = np.zeros(len(self._shown), dtype=bool)
        return self._add(base, added, new[fresh], np.asarray(owners(fresh)), none, none, show=False)

    def _add(
        self,
        base: int,
        points: np.ndarray,
        triangles: np.ndarray,
        owners: np.ndarray,
        changed: np.ndarray,
        back: np.ndarray,
        show: bool = True,
    ) -> Message:
        known = len(self._points), len(self._triangles)
        self._points = np.concatenate([self._points, points])
        self._triangles = np.concatenate([self._triangles, triangles])
        self._owners = np.concatenate([self._owners, owners])
        self._shown = np.append(self._shown, np.full(len(triangles), show))
        return self._message(base, changed, *known, self._owners[: len(back)][back], show)

    def _begin(self, grid: float, points: np.ndarray, faces: np.ndarray, owners: Owners) -> Message:
        self._grid = grid
        self._points, slots = np.unique(points, axis=0, return_inverse=True)
        self._triangles = _turned(slots.reshape(-1)[faces])
        self._owners = np.array(owners(np.arange(len(faces))))
        self._shown = np.ones(len(faces), dtype=bool)
        return self.whole()

    def _slots(self, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Where each point (n, 3) stands in the table, and the points that it lacks."""
        known = _keys(self._points.astype(np.int64) + REACH + 1)
        keys = _keys(points.astype(np.int64) + REACH + 1)
        order = np.argsort(known, kind="stable")
        at, there = _found(known[order], keys)
        found, missing = order[at], ~there
        _key, first, index = np.unique(keys[missing], return_index=True, return_inverse=True)
        slots = found.copy()
        slots[missing] = len(known) + index.reshape(-1)
        return slots, points[missing][first]

    def _message(
        self,
        base: int,
        changed: np.ndarray,
        points: int,
        triangles: int,
        back: np.ndarray = _NOBODY,
        show: bool = True,
    ) -> Message:
        wide = len(self._points) > 65_535
        # Where a stretch of triangles that go or come back begins, and where it ends.
        turns = np.flatnonzero(np.diff(changed, prepend=False, append=False))
        far = bool(len(turns)) and int(turns[-1]) > 65_535
        header = {
            "base": base,
            "version": self.version,
            "grid": self._grid,
            "wide": wide,
            "far": far,
            "show": show,
        }
        return header, [
            np.diff(turns, prepend=0).astype("<u4" if far else "<u2").tobytes(),
            self._points[points:].astype("<i2").tobytes(),
            self._triangles[triangles:].astype("<u4" if wide else "<u2").tobytes(),
            _runs(self._owners[triangles:]),
            _runs(back),
        ]


def _runs(owners: np.ndarray) -> bytes:
    """Owners as runs of (owner, count), each a uint16."""
    if not len(owners):
        return b""
    starts = np.flatnonzero(np.diff(owners, prepend=owners[0] - 1))
    counts = np.diff(np.append(starts, len(owners)))
    rows = [
        (int(owners[start]), min(65_535, int(count) - done))
        for start, count in zip(starts, counts, strict=True)
        for done in range(0, int(count), 65_535)
    ]
    return np.array(rows, dtype="<u2").tobytes()


def _turned(triangles: np.ndarray) -> np.ndarray:
    """Each triangle (m, 3) begun at its least corner, so that equal ones look equal."""
    start = triangles.argmin(axis=1)
    return np.take_along_axis(triangles, (start[:, None] + np.arange(3)) % 3, axis=1)


def _found(keys: np.ndarray, wanted: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Where each number stands among keys that rise, and whether it is there."""
    at = np.minimum(np.searchsorted(keys, wanted), len(keys) - 1)
    return at, keys[at] == wanted


def _keys(rows: np.ndarray) -> np.ndarray:
    """One number for each row (n, 3) of numbers from 0 to 2^21."""
    a, b, c = rows.astype(np.int64).T
    return (a << 42) | (b << 21) | c
