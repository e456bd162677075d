"""Where a template's values are on its shape: which corners each value holds apart.

Nobody writes down, for each template, what its width is the width of. Instead a value is
changed by a hair and the shape built again: two corners that lie as far apart as the value says,
and that part by the same hair, are what it measures. So a function of the user's own gets a
dimensioned drawing as a shipped one does.
"""

from __future__ import annotations

import math
from collections import OrderedDict
from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.solids.parameters import Choice, Count, Flag, Parameter, Size, Template

if TYPE_CHECKING:
    from build123d import Shape

#: The hair by which a value is changed, in its unit, and how closely a corner must follow.
_HAIR = 1e-3
_FOLLOWS = 0.02

#: Corners nearer than this lie together, in mm.
_TOGETHER = 1e-5


@dataclass(frozen=True)
class Span:
    """A value that holds two groups of points apart, along an axis of the part.

    start, end : indices of points; ``end`` lies further along the axis
    """

    field: str
    axis: int
    start: tuple[int, ...]
    end: tuple[int, ...]


@dataclass(frozen=True)
class Round:
    """A value that is a diameter, or a radius, of circles of the part, given by their indices."""

    field: str
    circles: tuple[int, ...]
    radius: bool


@dataclass(frozen=True)
class Turn:
    """A value that is the angle between a straight edge and an axis of the part.

    edge : index of the edge; its ``start`` end is where the angle is drawn
    """

    field: str
    edge: int
    axis: int


Mark = Span | Round | Turn


@dataclass(frozen=True)
class Features:
    """The points, circles and straight edges of a shape, always in the same order.

    points : (n, 3) in mm: corners, then centres and outermost points of circles and balls
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
            bore = full and any(_rims(bore, centre, form.Radius()) for bore in bores)
            circles.append(_Circle(centre, axis, form.Radius(), middle, full, bore))
    for centre, radius in balls:
        circles += [_Circle(centre, way, radius, centre + radius * way, True) for way in np.eye(3)]
    for circle in circles:
        points.append(tuple(circle.centre))
        if circle.full:
            points.extend(_outermost(circle.centre, circle.axis, circle.radius))
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


_Bore = tuple[np.ndarray, np.ndarray, float]


def _curved_faces(
    shape: Shape,
) -> tuple[list[tuple[np.ndarray, float]], list[_Bore], set[Any]]:
    """Balls as (centre, radius), round holes as (point, axis, radius), and seam edges."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    balls, bores, seams = [], [], set()
    for face in shape.faces():
        surface = BRepAdaptor_Surface(face.wrapped)
        kind = surface.GetType()
        if kind == GeomAbs_SurfaceType.GeomAbs_Plane:
            continue
        seams |= {edge for edge in face.edges() if BRep_Tool.IsClosed_s(edge.wrapped, face.wrapped)}
        if kind == GeomAbs_SurfaceType.GeomAbs_Sphere:
            balls.append((_array(surface.Sphere().Location()), surface.Sphere().Radius()))
        elif kind == GeomAbs_SurfaceType.GeomAbs_Cylinder:
            form = surface.Cylinder()
            inward = face.wrapped.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
            if inward == form.Position().Direct():
                axis = form.Axis()
                bores.append((_array(axis.Location()), _array(axis.Direction()), form.Radius()))
    return balls, bores, seams


def _rims(bore: _Bore, centre: np.ndarray, radius: float) -> bool:
    point, axis, across = bore
    off = np.linalg.norm(np.cross(centre - point, axis))
    return bool(abs(radius - across) < _TOGETHER and off < _TOGETHER)


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


@dataclass(frozen=True)
class Meaning:
    """What the values of a template are on its shape.

    marks : those that measure something
    idle : names of those that change nothing as the others stand
    """

    marks: tuple[Mark, ...]
    idle: frozenset[str]


_known: OrderedDict[Hashable, Meaning] = OrderedDict()
_MOST_KNOWN = 128


def meaning(template: Template, values: Mapping[str, Any], found: Features) -> Meaning:
    """What each value of a template measures on its shape, where that can be told.

    Parameters
    ----------
    template : with its parameters
    values : all of its values
    found : the features of the shape that they make, on its own origin

    What was found out once is used again while the shape keeps its form and the sizes still
    agree, so that a slider does not pay for it.
    """
    lengths = {p.name for p in template.parameters if isinstance(p.kind, Size)}
    key = (
        template.function,
        tuple(sorted((k, v if k not in lengths else bool(v)) for k, v in values.items())),
        found.size,
    )
    known = _known.get(key)
    if known is None or not all(_agrees(m, values[m.field], found) for m in known.marks):
        known = _find_out(template, values, found)
        _known[key] = known
        while len(_known) > _MOST_KNOWN:
            _known.popitem(last=False)
    return known


def _find_out(template: Template, values: Mapping[str, Any], found: Features) -> Meaning:
    found_marks: list[Mark] = []
    idle = set()
    for parameter in template.parameters:
        field, value = parameter.name, values[parameter.name]
        matters = tried = False
        for changed in _changes(parameter, value):
            other = _features_with(template, values, field, changed)
            if other is None:
                continue
            tried = True
            matters = matters or not _same(found, other)
            if isinstance(parameter.kind, Size) and value and other.size == found.size:
                mark = _mark(parameter, value, found, other, changed - value)
                if mark is not None:
                    found_marks.append(mark)
                    break
            if matters and not isinstance(parameter.kind, Size):
                break
        if tried and not matters:
            idle.add(field)
    return Meaning(tuple(found_marks), frozenset(idle))


def _changes(parameter: Parameter, value: Any) -> list[Any]:
    """Values next to a value: a hair more or less, one more or less, or the other choices."""
    kind = parameter.kind
    if isinstance(kind, Size):
        return [value + _HAIR, value - _HAIR]
    if isinstance(kind, Count):
        return [other for other in (value + 1, value - 1) if kind.low <= other <= kind.high]
    if isinstance(kind, Flag):
        return [not value]
    if isinstance(kind, Choice):
        return [option for option in kind.options if option != value]
    return []


def _features_with(
    template: Template, values: Mapping[str, Any], field: str, value: Any
) -> Features | None:
    """The features of the shape with one value changed, if it can be built."""
    try:
        return features(template.function(**{**values, field: value}))
    except Exception:  # refused, or one of the geometry kernel's own errors
        return None


def _same(one: Features, other: Features) -> bool:
    return one.size == other.size and bool(
        np.allclose(one.points, other.points, rtol=0, atol=_HAIR / 100)
        and np.allclose(one.edges, other.edges, rtol=0, atol=_HAIR / 100)
        and np.allclose(one.radii, other.radii, rtol=0, atol=_HAIR / 100)
    )


def _mark(
    parameter: Parameter, value: float, found: Features, other: Features, hair: float
) -> Mark | None:
    name = parameter.name
    if isinstance(parameter.kind, Size) and parameter.kind.unit == "mm":
        return _round(name, value, found, other, hair) or _span(name, value, found, other, hair)
    return _turn(name, value, found, other, hair)


def _round(field: str, value: float, found: Features, other: Features, hair: float) -> Mark | None:
    """Circles of that diameter, else of that radius."""
    rates = (other.radii - found.radii) / hair
    for radius in (False, True):
        share = 1.0 if radius else 0.5
        fits = np.isclose(found.radii, share * value, rtol=0, atol=_TOGETHER)
        fits &= np.isclose(rates, share, rtol=0, atol=_FOLLOWS)
        if not radius:
            fits &= found.full
        if fits.any():
            return Round(field, tuple(map(int, np.flatnonzero(fits))), radius)
    return None


def _span(field: str, value: float, found: Features, other: Features, hair: float) -> Mark | None:
    """The two groups of points, along one axis, that the value holds apart."""
    rates = (other.points - found.points) / hair
    best: tuple[tuple[float, ...], Span] | None = None
    for axis in range(3):
        groups = _groups(found.points[:, axis], rates[:, axis])
        for at, rate, members in groups:
            for end_at, end_rate, end_members in groups:
                if abs(end_at - at - value) > _TOGETHER or abs(end_rate - rate - 1) > _FOLLOWS:
                    continue
                near = found.points[list(members)][:, None] - found.points[list(end_members)]
                near[..., axis] = 0
                rank = (
                    float(np.round(np.linalg.norm(near, axis=2).min(), 3)),
                    float(np.round(abs(at + end_at), 3)),
                )
                span = Span(field, axis, members, end_members)
                if value < 0:
                    span = Span(field, axis, end_members, members)
                if best is None or rank < best[0]:
                    best = rank, span
    return best[1] if best else None


def _groups(at: np.ndarray, rate: np.ndarray) -> list[tuple[float, float, tuple[int, ...]]]:
    """Points that lie level along an axis and move alike, as (place, rate, indices)."""
    together: dict[tuple[float, float], list[int]] = {}
    for index, (place, speed) in enumerate(zip(at.tolist(), rate.tolist(), strict=True)):
        together.setdefault((round(place, 4), round(speed, 2)), []).append(index)
    return [
        (float(at[members[0]]), float(rate[members[0]]), tuple(members))
        for members in together.values()
    ]


def _turn(field: str, value: float, found: Features, other: Features, hair: float) -> Mark | None:
    """The straight edge that stands at that angle to an axis of the part."""
    best: tuple[float, Turn] | None = None
    for index, (edge, changed) in enumerate(zip(found.edges, other.edges, strict=True)):
        before, after = _angles(edge), _angles(changed)
        for axis in range(3):
            if (
                abs(before[axis] - value) < 1e-4
                and abs((after[axis] - before[axis]) / hair - 1) < _FOLLOWS
            ):
                length = float(np.linalg.norm(edge[1] - edge[0]))
                if best is None or length > best[0] + _TOGETHER:
                    best = length, Turn(field, index, axis)
    return best[1] if best else None


def _angles(edge: np.ndarray) -> np.ndarray:
    """Angles (3,) of an edge to the three axes, 0 to 90 degrees."""
    way = edge[1] - edge[0]
    return np.degrees(np.arccos(np.clip(np.abs(way) / np.linalg.norm(way), 0, 1)))


def _agrees(mark: Mark, value: float, found: Features) -> bool:
    """Whether a mark found earlier still measures the value on this shape."""
    if isinstance(mark, Span):
        start = found.points[list(mark.start), mark.axis]
        end = found.points[list(mark.end), mark.axis]
        return (
            float(np.ptp(start)) < _TOGETHER
            and float(np.ptp(end)) < _TOGETHER
            and abs(end[0] - start[0] - abs(value)) < _TOGETHER
        )
    if isinstance(mark, Round):
        share = 1.0 if mark.radius else 0.5
        radii = found.radii[list(mark.circles)]
        return bool(np.allclose(radii, share * value, rtol=0, atol=_TOGETHER))
    return bool(abs(_angles(found.edges[mark.edge])[mark.axis] - value) < 1e-4)
