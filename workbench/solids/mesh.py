"""A solid becomes one welded, watertight triangle mesh."""

from __future__ import annotations

from typing import Any

import numpy as np

from workbench.errors import RepairError
from workbench.words import _

#: Default distance between the mesh and the true surface, in mm, and angle, in degrees.
DEVIATION = 0.02
ANGLE = 12.0


def mesh(
    solid: Any, deviation: float = DEVIATION, angle: float = ANGLE
) -> tuple[np.ndarray, np.ndarray]:
    """Triangles of a solid, welded along its edges.

    Parameters
    ----------
    solid : a build123d shape
    deviation : greatest distance from the true surface, in mm
    angle : greatest turn between neighbouring facets, in degrees

    Returns
    -------
    vertices : (n, 3) float64, in mm
    faces : (m, 3) int64 indices into vertices, counter-clockwise seen from outside

    Raises
    ------
    RepairError
        When the mesh does not close.
    """
    vertices, faces = _weld(*_triangulate(solid, deviation, np.radians(angle)))
    if not closes(faces):
        raise RepairError(_("the surface does not close; change a size by 0.1 mm and try again"))
    return vertices, faces


def closes(faces: np.ndarray) -> bool:
    """Whether every edge is shared by exactly two triangles that run along it opposite ways."""
    if not len(faces):
        return False
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]).astype(np.int64)
    base = int(faces.max()) + 1
    ahead = np.sort(edges[:, 0] * base + edges[:, 1])
    back = np.sort(edges[:, 1] * base + edges[:, 0])
    return bool((ahead[1:] != ahead[:-1]).all() and np.array_equal(ahead, back))


def volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Volume inside a closed mesh, in mm³, by the divergence theorem."""
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    return float(np.einsum("ij,ij->i", a, np.cross(b, c)).sum() / 6)


def _triangulate(solid: Any, deviation: float, angle: float) -> tuple[np.ndarray, np.ndarray]:
    from OCP.BRep import BRep_Tool
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopLoc import TopLoc_Location

    BRepMesh_IncrementalMesh(solid.wrapped, deviation, False, angle, True)
    vertices: list[tuple[float, float, float]] = []
    triangles: list[tuple[int, int, int]] = []
    for face in solid.faces():
        where = TopLoc_Location()
        part = BRep_Tool.Triangulation_s(face.wrapped, where)
        if part is None:
            continue
        start = len(vertices) - 1
        move = where.Transformation()
        for i in range(1, part.NbNodes() + 1):
            point = part.Node(i).Transformed(move)
            vertices.append((point.X(), point.Y(), point.Z()))
        flip = face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
        for i in range(1, part.NbTriangles() + 1):
            a, b, c = part.Triangle(i).Get()
            triangles.append(
                (start + a, start + c, start + b) if flip else (start + a, start + b, start + c)
            )
    return np.array(vertices).reshape(-1, 3), np.array(triangles, dtype=np.int64).reshape(-1, 3)


def _weld(vertices: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Points that coincide to a millionth of a millimetre become one; slivers go."""
    if not len(vertices):
        return vertices, faces
    _cells, first, index = np.unique(
        np.round(vertices, 6) + 0.0, axis=0, return_index=True, return_inverse=True
    )
    welded = index.reshape(-1)[faces]
    a, b, c = welded.T
    return vertices[first], welded[(a != b) & (b != c) & (c != a)]
