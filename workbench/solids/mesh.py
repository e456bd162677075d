"""A solid becomes one welded, watertight triangle mesh."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from workbench.errors import RepairError
from workbench.solids import kernel
from workbench.solids.cache import Kept
from workbench.words import _

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
    if not len(faces):
        return False
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).astype(np.int64)
    base = int(faces.max()) + 1
    ahead = np.sort(edges[:, 0] * base + edges[:, 1])
    back = np.sort(edges[:, 1] * base + edges[:, 0])
    return bool((ahead[1:] != ahead[:-1]).all() and np.array_equal(ahead, back))


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
    # Triangles of another fineness may be left on faces that this solid shares: start afresh.
    BRepTools.Clean_s(solid.wrapped)
    welded = _weld(*_triangulated(solid, deviation, angle, Kept(0)))
    if not usual:
        BRepTools.Clean_s(solid.wrapped)
    if not closes(welded[1]):
        raise RepairError(_("the surface does not close; change a size by 0.1 mm and try again"))
    return _sealed(welded)


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
