"""A solid becomes one welded, watertight triangle mesh."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from workbench.errors import RepairError
from workbench.solids import kernel
from workbench.solids.cache import Kept
from workbench.words import _, sizes

if TYPE_CHECKING:
    from build123d import Shape
    from OCP.TopoDS import TopoDS_Face

#: Default distance between the mesh and the true surface, in mm, and angle, in degrees: well
#: below what a 0.4 mm nozzle can draw.
DEVIATION = 0.02
ANGLE = 12.0

#: Solids longer than 80 mm get a distance in proportion, this share of their longest side, so
#: that a large ball does not take seconds.
SHARE = 1 / 4000

#: Points nearer than this along each axis, in mm, are one point. The kernel's own is 1e-7.
WELD = 1e-6

#: Where the mesh of a solid does not close, it is tried again with these shares of the distance
#: and of the angle.
FINER = ((1, 1), (1, 2 / 3), (1, 1 / 2), (1 / 2, 1 / 2), (1 / 4, 1 / 3))

Mesh = tuple[np.ndarray, np.ndarray]

#: Meshes of whole solids and of single faces. A union leaves most faces as they were.
_MESHES, _FACES = Kept(32), Kept(4000)


def mesh(solid: Shape, deviation: float | None = None, angle: float = ANGLE) -> Mesh:
    """Triangles of a solid, welded along its edges.

    Parameters
    ----------
    solid : a build123d shape
    deviation : greatest distance from the true surface, in mm; by default 0.02, or 1/4000 of
        the longest side where that is more
    angle : greatest turn between neighbouring facets, in degrees

    Returns
    -------
    vertices : (n, 3) float64, in mm, not to be written to
    faces : (m, 3) int64 indices into vertices, counter-clockwise seen from outside

    Raises
    ------
    RepairError
        When the mesh does not close.
    """
    with kernel.LOCK:
        key = hash(solid.wrapped), deviation, angle
        # The solid is kept beside its mesh: the kernel may give a freed one's identity again.
        _solid, made = _MESHES.get(key, lambda: (solid, _mesh(solid, deviation, angle)))
        return made


def closes(faces: np.ndarray) -> bool:
    """Whether every edge is shared by exactly two triangles that run along it opposite ways.

    faces : (m, 3) indices of vertices
    """
    return bool(len(faces)) and not len(_odd_edges(faces)[0])


def volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Volume inside a closed mesh, in mm³, by the divergence theorem.

    vertices : (n, 3) in mm
    faces : (m, 3) indices, counter-clockwise seen from outside
    """
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def _mesh(solid: Shape, asked: float | None, angle: float) -> Mesh:
    from OCP.BRepTools import BRepTools

    longest = float(np.subtract(*reversed(kernel.extent([solid.wrapped]))).max())
    deviation = max(DEVIATION, longest * SHARE) if asked is None else asked
    usual = (deviation, angle) == (DEVIATION, ANGLE)
    if usual:
        welded = _weld(*_triangulated(solid, deviation, angle, _FACES))
        if closes(welded[1]):
            return _sealed(welded)
    for nearer, flatter in FINER:
        # Triangles of another fineness may be left on faces that this solid shares.
        BRepTools.Clean_s(solid.wrapped)
        welded = _weld(*_triangulated(solid, deviation * nearer, angle * flatter, Kept(0)))
        if closes(welded[1]):
            break
    else:
        raise _open(*welded)
    if not usual or (nearer, flatter) != FINER[0]:
        BRepTools.Clean_s(solid.wrapped)
    return _sealed(welded)


def _open(vertices: np.ndarray, faces: np.ndarray) -> RepairError:
    """The error for a mesh that does not close: where, and whether it touches itself there."""
    if not len(faces):
        return RepairError(_("the solid has no surface; make its sizes larger, in mm"))
    edges, pinched = _odd_edges(faces)
    place = sizes(vertices[edges[0]].mean(axis=0), 1)
    text = (
        _(
            "the solid touches itself along a line near ({place}) mm; sink a part there by 0.2 mm or move it"
        )
        if pinched
        else _(
            "the surface does not close near ({place}) mm; move a part there by 0.1 mm or change a size"
        )
    )
    return RepairError(text.format(place=place))


def _odd_edges(faces: np.ndarray) -> tuple[np.ndarray, bool]:
    """(n, 2) edges that are not between two triangles running along them opposite ways.

    The second value says whether as many run one way as the other along each of them: then
    the surface closes, and touches itself there.
    """
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).astype(np.int64)
    base = int(faces.max()) + 1
    ways = np.where(edges[:, 0] < edges[:, 1], 1, -1)
    low, high = edges.min(axis=1), edges.max(axis=1)
    keys, index, count = np.unique(low * base + high, return_inverse=True, return_counts=True)
    balance = np.bincount(index.reshape(-1), weights=ways, minlength=len(keys))
    odd = (count != 2) | (balance != 0)
    pinched = bool((balance == 0).all())
    return np.stack([keys[odd] // base, keys[odd] % base], axis=1), pinched


def _sealed(made: Mesh) -> Mesh:
    for array in made:
        array.setflags(write=False)
    return made


def _triangulated(solid: Shape, deviation: float, angle: float, known: Kept) -> Mesh:
    """Triangles face by face, not yet welded."""
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopoDS import TopoDS

    BRepMesh_IncrementalMesh(solid.wrapped, deviation, False, float(np.radians(angle)), True)
    vertices, faces, count = [np.empty((0, 3))], [np.empty((0, 3), np.int64)], 0
    for part in kernel.parts_of(solid.wrapped, TopAbs_ShapeEnum.TopAbs_FACE):
        face = TopoDS.Face(part)
        key = hash(face), face.Orientation()
        _face, (points, triangles) = known.get(key, partial(_with_its_triangles, face))
        vertices.append(points)
        faces.append(triangles + count)
        count += len(points)
    return np.concatenate(vertices), np.concatenate(faces)


def _with_its_triangles(face: TopoDS_Face) -> tuple[TopoDS_Face, Mesh]:
    return face, _read(face)


def _read(face: TopoDS_Face) -> Mesh:
    """The triangles that the kernel has put on a face, in place, counter-clockwise outside."""
    from OCP.BRep import BRep_Tool
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopLoc import TopLoc_Location

    place = TopLoc_Location()
    part = BRep_Tool.Triangulation_s(face, place)
    if part is None:
        return np.empty((0, 3)), np.empty((0, 3), np.int64)
    points = np.array([part.Node(i).Coord() for i in range(1, part.NbNodes() + 1)])
    triangles = np.array([part.Triangle(i).Get() for i in range(1, part.NbTriangles() + 1)]) - 1
    if not place.IsIdentity():
        move = place.Transformation()
        rows = np.array([[move.Value(i, j) for j in range(1, 5)] for i in range(1, 4)])
        points = points @ rows[:, :3].T + rows[:, 3]
    if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
        triangles = triangles[:, ::-1]
    return points, triangles


def _weld(vertices: np.ndarray, faces: np.ndarray) -> Mesh:
    """Points that coincide become one; triangles that this leaves without area go."""
    if not len(vertices):
        return vertices, faces
    cells = np.empty(vertices.shape, np.int64)
    for axis in range(3):
        # Runs of values nearer than the weld, so that no fixed grid can part two neighbours.
        order = np.argsort(vertices[:, axis], kind="stable")
        steps = np.diff(vertices[order, axis]) > WELD
        cells[order, axis] = np.concatenate([[0], np.cumsum(steps)])
    widest = cells.max(axis=0) + 1
    _cell, first, index = np.unique(
        (cells[:, 0] * widest[1] + cells[:, 1]) * widest[2] + cells[:, 2],
        return_index=True,
        return_inverse=True,
    )
    welded = index.reshape(-1)[faces]
    a, b, c = welded.T
    return vertices[first], welded[(a != b) & (b != c) & (c != a)]
