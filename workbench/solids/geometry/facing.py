"""Which way the faces of a shape look: out into the open, or at each other across a hollow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.solids.geometry.features import TOGETHER

if TYPE_CHECKING:
    from build123d import Shape

#: A face that slopes by less than this, as a cosine, looks neither up nor down an axis; one that
#: slopes by more than that is square to it.
SLOPES, SQUARE = 0.1, 1 - 1e-6


def looks(shape: Shape, axis: int, at: float, points: np.ndarray, least: float = SLOPES) -> int:
    """Which way the plane faces look, along an axis, that reach one of the points at a height.

    axis : 0, 1 or 2; at : along it, in mm
    points : (n, 3) in mm
    least : how much a face must look along the axis to count, as a cosine

    Returns 1 up the axis, -1 down it, 0 where there is none or they do not agree.
    """
    ways = set()
    for face in shape.faces():
        normal = _normal(face)
        if normal is None or abs(normal[axis]) < least:
            continue
        corners = np.array([(v.X, v.Y, v.Z) for v in face.vertices()]).reshape(-1, 3)
        if not (np.abs(corners[:, axis] - at) < TOGETHER).any():
            continue
        away = np.linalg.norm(corners[:, None] - points[None], axis=2)
        if (away < 10 * TOGETHER).any():
            ways.add(int(np.sign(normal[axis])))
    return ways.pop() if len(ways) == 1 else 0


def is_hollow(shape: Shape, centre: np.ndarray, radius: float) -> bool:
    """Whether the round face about a circle's centre is that of a hole."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    for face in shape.faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Cylinder:
            continue
        form = surface.Cylinder()
        if abs(form.Radius() - radius) > TOGETHER:
            continue
        place, axis = form.Location(), form.Axis().Direction()
        way = np.array([axis.X(), axis.Y(), axis.Z()])
        apart = centre - np.array([place.X(), place.Y(), place.Z()])
        if np.linalg.norm(apart - (apart @ way) * way) < TOGETHER:
            backwards = face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
            return bool(backwards == form.Position().Direct())
    return False


def _normal(face: Any) -> np.ndarray | None:
    """The outward normal (3,) of a plane face; None where it is not plane."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    surface = BRepAdaptor_Surface(face.wrapped)
    if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane:
        return None
    position = surface.Plane().Position()
    way = position.Direction()
    out = np.array([way.X(), way.Y(), way.Z()])
    if not position.Direct():
        out = -out
    return -out if face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else out
