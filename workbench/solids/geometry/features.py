"""The points, circles and straight edges of a shape, read off in an order that stays."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.solids.geometry.cache import Kept

if TYPE_CHECKING:
    from build123d import Shape

#: Points nearer than this lie together, in mm.
TOGETHER = 1e-5

#: An outermost point nearer than this to an arc's end, in radians, is left to that end.
WELL_WITHIN = 1e-2

#: An arc of less than this to each side of its middle, in radians, rounds off a corner.
ROUNDS_OFF = math.radians(80)

#: What was read of shapes before. They are held on to, as the kernel may give a freed one's
#: identity to a new one.
_READ = Kept(100)


@dataclass(frozen=True)
class Features:
    """The points, circles and straight edges of a shape, always in the same order.

    points : (n, 3) in mm: corners, then centres and outermost points of circles, arcs and balls,
        and what is not there but is measured to: the corner that an arc rounds off, or what a
        flat took of its circle
    there : (n,) whether a point lies on the shape, or is a centre
    centres, axes : (m, 3) of circles and arcs, in mm and as unit vectors
    radii : (m,) in mm
    middles : (m, 3) half way along each circle or arc, in mm
    full : (m,) whether it is a whole circle
    round : (m,) whether it is more than half of one, as what is left of a round by a flat
    bore : (m,) whether it is the rim of a round hole
    edges : (k, 2, 3) ends of straight edges, in mm, without the seams of round faces
    """

    points: np.ndarray
    there: np.ndarray
    centres: np.ndarray
    axes: np.ndarray
    radii: np.ndarray
    middles: np.ndarray
    full: np.ndarray
    round: np.ndarray
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
            self.there,
            self.centres @ turn.T + shift,
            self.axes @ turn.T,
            self.radii,
            self.middles @ turn.T + shift,
            self.full,
            self.round,
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

    @property
    def round(self) -> bool:
        """Whether it is more than half of a circle."""
        return self.half > math.pi / 2 + WELL_WITHIN

    def holds(self, point: np.ndarray) -> bool:
        """Whether a point of the whole circle lies on this arc, well within its ends."""
        if self.full:
            return True
        cosine = (point - self.centre) @ (self.middle - self.centre) / self.radius**2
        return math.acos(min(max(float(cosine), -1.0), 1.0)) < self.half - WELL_WITHIN

    def marked(self) -> Iterator[tuple[np.ndarray, bool]]:
        """Points (3,) that a length can be taken from, and whether each is there."""
        yield self.centre, True
        for point in _outermost(self.centre, self.axis, self.radius):
            held = self.holds(point)
            if held or self.round:
                yield point, held
        if self.half < ROUNDS_OFF:
            yield self.centre + (self.middle - self.centre) / math.cos(self.half), False


def features(shape: Shape) -> Features:
    """The points, circles and straight edges of a shape."""
    return _READ.get(hash(shape.wrapped), lambda: (shape, _read(shape)))[1]


def _read(shape: Shape) -> Features:
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_CurveType

    balls, bores, seams, bottoms = _curved_faces(shape)
    corners = [np.array([v.X, v.Y, v.Z]) for v in shape.vertices()]
    points = [(point, True) for point in (*corners, *bottoms)]
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
        points.extend(circle.marked())
    return Features(
        np.array([point for point, _there in points]).reshape(-1, 3),
        np.array([there for _point, there in points], dtype=bool),
        np.array([c.centre for c in circles]).reshape(-1, 3),
        np.array([c.axis for c in circles]).reshape(-1, 3),
        np.array([c.radius for c in circles], dtype=float),
        np.array([c.middle for c in circles]).reshape(-1, 3),
        np.array([c.full for c in circles], dtype=bool),
        np.array([c.round for c in circles], dtype=bool),
        np.array([c.bore for c in circles], dtype=bool),
        np.array(edges).reshape(-1, 2, 3),
    )


def _curved_faces(
    shape: Shape,
) -> tuple[list[tuple[np.ndarray, float]], set[Any], set[Any], list[np.ndarray]]:
    """Balls, edges of round holes and countersinks, seam edges, and bottoms of round grooves.

    Balls are (centre, radius); a groove's bottoms are its outermost points (3,).
    """
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    balls: list[tuple[np.ndarray, float]] = []
    bores: set[Any] = set()
    seams: set[Any] = set()
    bottoms: list[np.ndarray] = []
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
                if cylinder:
                    bottoms += _bottoms(surface)
    return balls, bores, seams, bottoms


def _bottoms(surface: Any) -> Iterator[np.ndarray]:
    """The outermost points of a groove's round bottom, which ends in edges that are no arcs."""
    first, last = surface.FirstUParameter(), surface.LastUParameter()
    across = (surface.FirstVParameter() + surface.LastVParameter()) / 2
    form = surface.Cylinder()
    axis = _array(form.Axis().Direction())
    centre = _array(form.Location()) + across * axis
    middle = _array(surface.Value((first + last) / 2, across))
    groove = _Circle(centre, axis, form.Radius(), middle, False, half=(last - first) / 2)
    if groove.half < math.pi - WELL_WITHIN:
        yield from (p for p in _outermost(centre, axis, groove.radius) if groove.holds(p))


def _outermost(centre: np.ndarray, axis: np.ndarray, radius: float) -> Iterator[np.ndarray]:
    """The points (3,) of a circle that lie furthest along x, y and z."""
    for way in np.eye(3):
        level = way - axis * (way @ axis)
        length = np.linalg.norm(level)
        if length > 1e-3:
            yield centre + radius * level / length
            yield centre - radius * level / length


def _array(point: Any) -> np.ndarray:
    return np.array(_xyz(point))


def _xyz(point: Any) -> tuple[float, float, float]:
    return point.X(), point.Y(), point.Z()
