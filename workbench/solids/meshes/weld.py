"""Triangles of single faces become one surface: points that coincide become one.

After a local change only the triangles of other faces are welded anew; the rest stays. A plane with
many holes takes the kernel longer than all else: it is left open, and then filled from its border.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from workbench.solids.geometry.faces import Faces

#: Points nearer than this along each axis, in mm, are one point. The kernel's own is 1e-7.
WELD = 1e-6

#: Points nearer than this to a plane, in mm, lie on it.
ON = 1e-5

#: Points (n, 3) and triangles (m, 3) of one face.
Triangles = tuple[np.ndarray, np.ndarray]

#: Outward normal (3,) and how far out it is along that in mm, for faces that are left open.
Planes = Mapping[int, np.ndarray]

Read = Callable[[Sequence[int]], tuple[Sequence[Triangles], Planes]]


@dataclass(frozen=True)
class Welded:
    """A surface of triangles, one face after another.

    vertices : (n, 3) in mm
    faces : (m, 3) indices into vertices
    ids : (k,) what tells the faces of the solid from others
    counts : (k,) how many triangles each has
    """

    vertices: np.ndarray
    faces: np.ndarray
    ids: np.ndarray
    counts: np.ndarray

    @classmethod
    def of(cls, ids: np.ndarray, read: Sequence[Triangles], planes: Planes) -> Welded:
        """The triangles of faces welded, and those that are left open filled.

        read : of each face; planes : by the number of each that is left open
        """
        points, triangles, owner = _strung(read)
        if not len(points):
            return cls(points, triangles, ids, np.zeros(len(ids), dtype=np.int64))
        first, index = _coincident(points)
        triangles, owner = _with_area(index[triangles], owner)
        points = points[first]
        filling = _border(triangles)[:, ::-1]
        return cls(points, *_by_face(ids, triangles, owner, *_filled(points, filling, planes)))

    def changed(self, faces: Faces, read: Read) -> Welded | None:
        """The surface of a solid that this one became; None where the new faces do not fill the gap.

        read : gives the triangles of faces by their numbers, and the planes of those left open
        """
        stays = np.isin(self.ids, faces.ids)
        new = np.flatnonzero(~np.isin(faces.ids, self.ids))
        if stays.all() and not len(new):
            return self
        left = np.repeat(stays, self.counts)
        gone = self.faces[~left]
        rim = np.unique(gone)
        read_now, planes = read(new.tolist())
        points, triangles, owner = _strung(read_now)
        first, index = _coincident(np.concatenate([self.vertices[rim], points]))
        # A point of the rim keeps its number; any other gets a number after all there are.
        fresh = first >= len(rim)
        number = np.empty(len(first), dtype=np.int64)
        number[~fresh] = rim[first[~fresh]]
        number[fresh] = len(self.vertices) + np.arange(int(fresh.sum()))
        made, owner = _with_area(number[index[len(rim) + triangles]], owner)
        vertices = np.concatenate([self.vertices, points[first[fresh] - len(rim)]])
        gap = _border(gone)
        spared = self._spared(gone, left, made, vertices, planes)
        for more, more_owner in (spared, _with_area(gone[:0], gone[:0, 0])):
            # Once more with nothing spared, where what is left between does not come to rings.
            tried, tried_owner = np.concatenate([made, more]), np.concatenate([owner, more_owner])
            filling = _border(np.concatenate([gap, _border(tried)[:, ::-1]]))
            filled = _filled(vertices, filling, planes)
            tried, ids, counts = _by_face(faces.ids[new], tried, tried_owner, *filled)
            if np.array_equal(gap, _border(tried)):
                break
        else:
            return None
        made = tried
        together = np.concatenate([self.faces[left], made])
        used = np.zeros(len(vertices), dtype=bool)
        used[together] = True
        return Welded(
            vertices[used],
            (np.cumsum(used) - 1)[together],
            np.concatenate([self.ids[stays], ids]),
            np.concatenate([self.counts[stays], counts]),
        )

    def _spared(
        self,
        gone: np.ndarray,
        left: np.ndarray,
        made: np.ndarray,
        vertices: np.ndarray,
        planes: Planes,
    ) -> tuple[np.ndarray, np.ndarray]:
        """Triangles on the planes left open that are away from what changed, and whose they become."""
        if not planes:
            return gone[:0], gone[:0, 0]
        stays = np.zeros(len(vertices), dtype=bool)
        stays[self.faces[left]] = True
        moved = np.setdiff1d(
            np.concatenate([gone.reshape(-1), made.reshape(-1)]), np.flatnonzero(stays)
        )
        low, high = vertices[moved].min(axis=0) - ON, vertices[moved].max(axis=0) + ON
        corners = vertices[gone]
        away = np.any((corners.max(axis=1) < low) | (corners.min(axis=1) > high), axis=1)
        across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        owner = np.full(len(gone), -1)
        for number, (*normal, out) in planes.items():
            on = np.abs(corners @ normal - out).max(axis=1) < ON
            owner[away & on & (across @ normal > 0)] = number
        return gone[owner >= 0], owner[owner >= 0]


def _strung(read: Sequence[Triangles]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """All points, all triangles, and for each triangle the number of its face."""
    if not read:
        return np.empty((0, 3)), np.empty((0, 3), np.int64), np.empty(0, np.int64)
    starts = np.cumsum([0, *(len(points) for points, _triangles in read)])
    owner = np.repeat(np.arange(len(read)), [len(triangles) for _points, triangles in read])
    triangles = np.concatenate([triangles for _points, triangles in read])
    return np.concatenate([points for points, _ in read]), triangles + starts[owner, None], owner


def _coincident(points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(k,) the first of each group of points that coincide, and (n,) the group of each point."""
    cells = np.empty(points.shape, np.int64)
    for axis in range(3):
        # Runs of values nearer than the weld, so that no fixed grid can part two neighbours.
        order = np.argsort(points[:, axis], kind="stable")
        steps = np.diff(points[order, axis]) > WELD
        cells[order, axis] = np.concatenate([[0], np.cumsum(steps)])
    widest = cells.max(axis=0) + 1
    _cell, first, index = np.unique(
        (cells[:, 0] * widest[1] + cells[:, 1]) * widest[2] + cells[:, 2],
        return_index=True,
        return_inverse=True,
    )
    return first, index.reshape(-1)


def _with_area(faces: np.ndarray, owner: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Triangles with three corners, and the face of each."""
    a, b, c = faces.T
    kept = (a != b) & (b != c) & (c != a)
    return faces[kept], owner[kept]


def _by_face(
    ids: np.ndarray,
    triangles: np.ndarray,
    owner: np.ndarray,
    filled: np.ndarray,
    filled_owner: np.ndarray,
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """The triangles of one face after another, the identities of the faces, how many each has."""
    owner = np.concatenate([owner, filled_owner])
    order = np.argsort(owner, kind="stable")
    together = np.concatenate([triangles, filled])[order]
    return together, ids, np.bincount(owner, minlength=len(ids))


def _border(ends: np.ndarray) -> np.ndarray:
    """(k, 2) edges that no other runs back along, sorted; of triangles (m, 3), or of edges (m, 2)."""
    if ends.shape[1] == 2:
        start, end = ends.T
    else:
        start, end = ends.reshape(-1), np.roll(ends, -1, axis=1).reshape(-1)
    if not len(start):
        return np.empty((0, 2), dtype=np.int64)
    most = int(max(start.max(), end.max())) + 1
    there, back = np.sort(start * most + end), np.sort(end * most + start)
    place = np.searchsorted(back, there).clip(max=len(back) - 1)
    alone = there[back[place] != there]
    return np.stack([alone // most, alone % most], axis=1)


def _filled(
    points: np.ndarray, border: np.ndarray, planes: Planes
) -> tuple[np.ndarray, np.ndarray]:
    """Triangles within a border, and the number of the face that each is of.

    Nothing where there is no telling which part of the border is of which face.
    """
    from manifold3d import triangulate

    none = np.empty((0, 3), dtype=np.int64), np.empty(0, dtype=np.int64)
    rings = _rings(border) if planes else None
    if not rings:
        return none
    rings_of: dict[int, list[np.ndarray]] = {number: [] for number in planes}
    for ring in rings:
        on = [
            n
            for n, (*normal, out) in planes.items()
            if np.abs(points[ring] @ normal - out).max() < ON
        ]
        if len(on) != 1:
            return none
        rings_of[on[0]].append(ring)
    made, owner = [none[0]], [none[1]]
    for number, found in rings_of.items():
        if found:
            level = _level(planes[number][:3])
            corners = np.concatenate(found)
            inside = triangulate([points[ring] @ level.T for ring in found])
            made.append(corners[np.asarray(inside, dtype=np.int64)])
            owner.append(np.full(len(inside), number))
    return np.concatenate(made), np.concatenate(owner)


def _rings(border: np.ndarray) -> list[np.ndarray] | None:
    """Edges (k, 2) strung into closed rings of points; None where they branch or end."""
    following = dict(border.tolist())
    if len(following) != len(border):
        return None
    rings = []
    while following:
        start, at = following.popitem()
        ring = [start]
        while at != start:
            ring.append(at)
            if at not in following:
                return None
            at = following.pop(at)
        rings.append(np.array(ring))
    return rings


def _level(normal: np.ndarray) -> np.ndarray:
    """(2, 3) two directions in a plane, which with its normal are right-handed."""
    least = np.eye(3)[np.abs(normal).argmin()]
    one = np.cross(normal, least)
    one /= np.linalg.norm(one)
    return np.array([one, np.cross(normal, one)])
