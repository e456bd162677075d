"""The points, circles and straight edges of a shape, read off in an order that stays."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from build123d import Shape

#: Points nearer than this lie together, in mm.
TOGETHER = 1e-5

#: An outermost point nearer than this to an arc's end, in radians, is left to that end.
WELL_WITHIN = 1e-2


@dataclass(frozen=True)
class Features:
    """The points, circles and straight edges of a shape, always in the same order.

    points : (n, 3) in mm: corners, then centres and outermost points of circles, arcs and balls
    centres, axes : (m, 3) of circles and arcs, in mm and as unit vectors
    radii : (m,) in mm
    middles : (m, 3) half way along each circle or arc, in mm
    full : (m,) whether it is a whole circle
    bore : (m,) whether it is the rim of a round hole
    edges : (k, 2, 3) ends of straight edges, in mm, without the seams of round faces
    """

    points: np.ndarray
    centres: np.ndarray
    axes: np.ndarray
    radii: np.ndarray
    middles: np.ndarray
    full: np.ndarray
    bore: np.ndarray
    edges: np.ndarray

    @cached_property
    def size(self) -> tuple[int, ...]:
        """How many there are of each."""
        return len(self.points), len(self.radii), len(self.edges)

    def moved(self, matrix: np.ndarray) -> Features:
        """The same features after a rigid motion, a (4, 4) matrix."""
        turn, shift = matrix[:3, :3], matrix[:3, 3]
        return Features(
            self.points @ turn.T + shift,
            self.centres @ turn.T + shift,
            self.axes @ turn.T,
            self.radii,
            self.middles @ turn.T + shift,
            self.full,
            self.bore,
            self.edges @ turn.T + shift,
        )


@dataclass(frozen=True)
class _Circle:
    centre: np.ndarray
    axis: np.ndarray
    radius: float
    middle: np.ndarray
    full: bool
    bore: bool = False
    half: float = math.pi

    def holds(self, point: np.ndarray) -> bool:
        """Whether a point of the whole circle lies on this arc, well within its ends."""
        if self.full:
            return True
        cosine = (point - self.centre) @ (self.middle - self.centre) / self.radius**2
        return math.acos(min(max(float(cosine), -1.0), 1.0)) < self.half - WELL_WITHIN


def features(shape: Shape) -> Features:
    """Read the points, circles and straight edges of a shape."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_CurveType

    balls, bores, seams = _curved_faces(shape)
    points = [(v.X, v.Y, v.Z) for v in shape.vertices()]
    circles: list[_Circle] = []
    edges = []
    for edge in shape.edges():
        curve = BRepAdaptor_Curve(edge.wrapped)
        first, last = curve.FirstParameter(), curve.LastParameter()
        if curve.GetType() == GeomAbs_CurveType.GeomAbs_Line:
            if edge not in seams:
                edges.append([_xyz(curve.Value(first)), _xyz(curve.Value(last))])
        elif curve.GetType() == GeomAbs_CurveType.GeomAbs_Circle:
            form = curve.Circle()
            centre, axis = _array(form.Location()), _array(form.Axis().Direction())
            full = last - first > 2 * math.pi - 1e-6
            middle = _array(curve.Value((first + last) / 2))
            circles.append(
                _Circle(
                    centre,
                    axis,
                    form.Radius(),
                    middle,
                    full,
                    full and edge in bores,
                    (last - first) / 2,
                )
            )
    for centre, radius in balls:
        circles += [_Circle(centre, way, radius, centre + radius * way, True) for way in np.eye(3)]
    for circle in circles:
        points.append(tuple(circle.centre))
        points.extend(
            point
            for point in _outermost(circle.centre, circle.axis, circle.radius)
            if circle.holds(np.array(point))
        )
    return Features(
        np.array(points).reshape(-1, 3),
        np.array([c.centre for c in circles]).reshape(-1, 3),
        np.array([c.axis for c in circles]).reshape(-1, 3),
        np.array([c.radius for c in circles], dtype=float),
        np.array([c.middle for c in circles]).reshape(-1, 3),
        np.array([c.full for c in circles], dtype=bool),
        np.array([c.bore for c in circles], dtype=bool),
        np.array(edges).reshape(-1, 2, 3),
    )


def _curved_faces(
    shape: Shape,
) -> tuple[list[tuple[np.ndarray, float]], set[Any], set[Any]]:
    """Balls as (centre, radius), edges of round holes and countersinks, and seam edges."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    balls: list[tuple[np.ndarray, float]] = []
    bores: set[Any] = set()
    seams: set[Any] = set()
    for face in shape.faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        kind = surface.GetType()
        if kind == GeomAbs_SurfaceType.GeomAbs_Plane:
            continue
        edges = face.edges()
        seams |= {edge for edge in edges if BRep_Tool.IsClosed_s(edge.wrapped, face.wrapped)}
        if kind == GeomAbs_SurfaceType.GeomAbs_Sphere:
            balls.append((_array(surface.Sphere().Location()), surface.Sphere().Radius()))
        elif kind in (GeomAbs_SurfaceType.GeomAbs_Cylinder, GeomAbs_SurfaceType.GeomAbs_Cone):
            cylinder = kind == GeomAbs_SurfaceType.GeomAbs_Cylinder
            form = surface.Cylinder() if cylinder else surface.Cone()
            reversed_ = face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
            if reversed_ == form.Position().Direct():
                bores |= set(edges)
    return balls, bores, seams


def _outermost(
    centre: np.ndarray, axis: np.ndarray, radius: float
) -> Iterator[tuple[float, float, float]]:
    """The points of a circle that lie furthest along x, y and z."""
    for way in np.eye(3):
        level = way - axis * (way @ axis)
        length = np.linalg.norm(level)
        if length > 1e-3:
            yield tuple(centre + radius * level / length)
            yield tuple(centre - radius * level / length)


def _array(point: Any) -> np.ndarray:
    return np.array(_xyz(point))


def _xyz(point: Any) -> tuple[float, float, float]:
    return point.X(), point.Y(), point.Z()
