"""How calipers take a size: with the outside jaws, the inside jaws or the depth rod.

What decides is how the surfaces at both ends of the size look. They look away from one another
on a thickness, at one another across a slot, and the same way on a step or the bottom of a hole.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.output.drawing.dimension_kinds import SAME, Circle, Dimension, Length

if TYPE_CHECKING:
    from build123d import Shape

#: The parts of calipers, as their standard calls them: ISO 13385-1, from memory.
OUTSIDE, INSIDE, DEPTH = "outside", "inside", "depth"

#: A surface that looks along an axis by more than this, as a cosine, is square to it; one by less
#: than the other runs along it.
SQUARE, ALONG = 1 - 1e-6, 0.05


def jaws(dimension: Dimension, solid: Shape) -> str:
    """What takes a dimension of the solid: one of the above, or nothing where that is open.

    >>> from workbench.solids.shapes.primitives import box
    >>> left, right = np.array([[-10.0, 0, 2]]), np.array([[10.0, 0, 2]])
    >>> jaws(Length("20", left, right, np.array([1.0, 0, 0])), box(width=20))
    'outside'
    """
    if isinstance(dimension, Circle):
        return "" if "R" in dimension.text else INSIDE
    if not isinstance(dimension, Length):
        return ""
    starts, ends = (
        list(_looks(solid, points, dimension.axis)) for points in (dimension.start, dimension.end)
    )
    if "⌀" in dimension.text:  # a flat or a gap may have taken one end
        return INSIDE if any(look > 0 for look in starts) else OUTSIDE
    squares = [[look for look in looks if abs(look) > SQUARE] for looks in (starts, ends)]
    best = [square or looks for square, looks in zip(squares, (starts, ends), strict=True)]
    ways = [{look > 0 for look in looks} for looks in best]
    if any(len(way) != 1 for way in ways):
        return ""
    start, end = (way.pop() for way in ways)
    if start != end:
        return INSIDE if start else OUTSIDE
    return DEPTH if all(squares) else ""


def _looks(solid: Shape, points: np.ndarray, axis: np.ndarray) -> Iterator[float]:
    """How each surface at a group of points looks: 1 along the axis, -1 against it, or between.

    Surfaces that run along the axis are left out.
    """
    for face in solid.faces():
        box = face.bounding_box()
        low, high = np.array([*box.min]) - SAME, np.array([*box.max]) + SAME
        for point in points[((points >= low) & (points <= high)).all(axis=1)]:
            along = float(_outward(face, point) @ axis)
            if abs(along) > ALONG:
                yield along


def _outward(face: Any, point: np.ndarray) -> np.ndarray:
    """The outward normal (3,) of a flat or round face at a point of it, else zeros."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    surface = BRepAdaptor_Surface(face.wrapped)
    flat = surface.GetType() == GeomAbs_SurfaceType.GeomAbs_Plane
    if not flat and surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Cylinder:
        return np.zeros(3)
    form = surface.Plane() if flat else surface.Cylinder()
    way, out = _xyz(form.Axis().Direction()), point - _xyz(form.Location())
    radial = out - way * (out @ way)
    off = abs(float(out @ way)) if flat else abs(float(np.linalg.norm(radial)) - form.Radius())
    if off > SAME:
        return np.zeros(3)
    away = way if flat else radial / form.Radius()
    turned = face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
    return away if turned != form.Position().Direct() else -away


def _xyz(place: Any) -> np.ndarray:
    return np.array([place.X(), place.Y(), place.Z()])
