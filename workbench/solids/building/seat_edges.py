"""Where a seat's edges put a part: its own edge so far inside an edge of the face it sits on.

Everything is worked out in the plane of the seat's face, from its middle: x runs along it, y
across it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from workbench.errors import RepairError
from workbench.solids.building import patterns, seating
from workbench.solids.facts import facts_of
from workbench.solids.geometry.kernel import extent, moved, parts_of
from workbench.solids.recipe.repeats import WAYS, Ring, Row
from workbench.solids.recipe.seat import Seat, edges_of, runs
from workbench.solids.recipe.step import Step
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Shape
    from OCP.TopoDS import TopoDS_Edge, TopoDS_Shape

#: Two lengths nearer than this, in mm, are one.
_SAME = 1e-6

#: A straight side is an edge of the face where it looks within 60 degrees of it, and is
#: preferred if it looks nearly straight that way.
_FACING, _STRAIGHT = 0.5, 0.9


@dataclass(frozen=True)
class _Line:
    """A straight edge of a face: (2,) its direction outwards, and how far out it lies, in mm."""

    outward: np.ndarray
    far: float


def held(step: Step, under: Shape, seat: np.ndarray, part: Shape, own: np.ndarray) -> Seat:
    """A step's seat with the offsets that its edges come to.

    Parameters
    ----------
    step : whose place is a seat
    under, seat : the shape sat on, in place, and the frame of its face
    part, own : the shape that sits, before it is moved, and the frame of its own face

    Raises
    ------
    RepairError
        When the part reaches past an edge that it must stay within.
    """
    place = step.place
    assert isinstance(place, Seat)
    if not (place.edges or place.within or step.repeat):
        return place
    faces = [moved(face, np.linalg.inv(seat)) for face in seating.side_faces(under, place.face)]
    faces = faces or [moved(under.wrapped, np.linalg.inv(seat))]
    laid = _Laid.of(place, part, own)
    inward = 0.0
    if place.edges:
        inward = patterns.inward(step, seat)
        # The end of a thread or a gear is no circle, and yet round to whoever measures it.
        upright = abs(own[2, 2]) > 1 - _SAME and facts_of(step.template).axial
        middle = upright or isinstance(step.repeat, Ring)
        place = _shifted(place, seat, faces, laid, middle)
    if place.within:
        _refuse_over(step.name, place, seat, faces, laid)
    if step.repeat:
        _refuse_off(step, place, inward, seat, faces, laid)
    return place


def _shifted(
    place: Seat, seat: np.ndarray, faces: Sequence[TopoDS_Shape], laid: _Laid, middle: bool
) -> Seat:
    """Solve for both offsets: each edge gives one line, an offset that is given another."""
    rows, sums = [], []
    for edge, inset in zip(place.edges, place.insets, strict=True):
        line = _edge_line(faces, (seat[:3, :3].T @ seating.DIRECTIONS[edge])[:2])
        rows.append(line.outward)
        own = 0.0 if middle else laid.reach(line.outward)
        sums.append(line.far - inset - own)
    taken = {runs(place.face, edge) for edge in place.edges}
    for way, axis in (("along", (1.0, 0.0)), ("across", (0.0, 1.0))):
        if way not in taken:
            rows.append(np.array(axis))
            sums.append(getattr(place, way))
    along, across = np.linalg.solve(np.array(rows), np.array(sums))
    return replace(place, edge=None, inset=0.0, along=float(along), across=float(across))


def _refuse_over(
    name: str, place: Seat, seat: np.ndarray, faces: Sequence[TopoDS_Shape], laid: _Laid
) -> None:
    low, high = (corner[:2] for corner in extent(faces))
    shift = np.array([place.along, place.across])
    for axis in (0, 1):
        for sign, border in ((1.0, high[axis]), (-1.0, -low[axis])):
            outward = np.eye(2)[axis] * sign
            over = float(laid.extent(outward) + shift @ outward - border)
            if over > _SAME:
                raise RepairError(
                    _(
                        "{part} reaches {over} past the {edge} edge of the {face} of {step}; make it smaller, move it, or make {step} larger"
                    ).format(
                        part=name,
                        over=with_unit(over),
                        face=_(place.face),
                        step=place.step,
                        edge=_(_edge_towards(place.face, sign * seat[:3, axis])),
                    )
                )


def _refuse_off(
    step: Step,
    place: Seat,
    inward: float,
    seat: np.ndarray,
    faces: Sequence[TopoDS_Shape],
    laid: _Laid,
) -> None:
    """Refuse a row or a ring of which some would stand past an edge of the face."""
    low, high = (corner[:2] for corner in extent(faces))
    repeat, middle = step.repeat, np.array([place.along, place.across])
    assert repeat is not None
    if isinstance(repeat, Row) and repeat.direction == "out":
        return
    ways = [WAYS.index(repeat.direction)] if isinstance(repeat, Row) else [0, 1]
    moves = repeat.moves(inward)
    over, edge, fits = 0.0, "", 1.0  # and what share of a ring's radius has room
    for axis in ways:
        for sign, border in ((1.0, high[axis]), (-1.0, -low[axis])):
            outward = np.eye(2)[axis] * sign
            for move in _outermost(moves, outward):
                out = float(move[:2, 3] @ outward)
                own = float(laid.extent(move[:2, :2].T @ outward) + middle @ outward) - border
                if own + out > max(over, _SAME):
                    over, edge = own + out, _edge_towards(place.face, sign * seat[:3, axis])
                if own + out > _SAME:
                    fits = min(fits, -own / out) if out > 0 else 0.0
    if edge:
        raise RepairError(_off(step, place, _(edge), over, inward, fits))


def _outermost(moves: Sequence[np.ndarray], outward: np.ndarray) -> list[np.ndarray]:
    """The moves that may lead furthest in a direction: ends of a row; of a ring the far half."""
    far = [float(move[:2, 3] @ outward) for move in moves]
    turned = any(not np.allclose(move[:3, :3], np.eye(3)) for move in moves)
    least = (min(far) + max(far)) / 2 if turned else max(far) - _SAME
    return [move for move, one in zip(moves, far, strict=True) if one >= least]


def _off(step: Step, place: Seat, edge: str, over: float, inward: float, fits: float) -> str:
    repeat = step.repeat
    names = {"name": step.name, "over": with_unit(over), "edge": edge, "step": place.step}
    names["face"] = _(place.face)
    if isinstance(repeat, Ring):
        if (most := repeat.radius * fits) >= repeat.kinds["radius"].low:
            return _(
                "{name}: a ring of radius {radius} reaches {over} past the {edge} edge of the {face} of {step}; give a radius of at most {most}, or make {step} larger"
            ).format(radius=with_unit(repeat.radius), most=with_unit(most), **names)
    elif repeat is not None and repeat.n > 1:
        # What goes past one end may be taken off the whole length, or off both halves of it.
        room = (repeat.n - 1) * repeat.pitch - over * (1 if inward else 2)
        if room >= 0:
            return _(
                "{name}: {n} at a pitch of {pitch} reach {over} past the {edge} edge of the {face} of {step}; give at most {most}, or a pitch of at most {room}"
            ).format(
                n=repeat.n,
                pitch=with_unit(repeat.pitch),
                most=int(room / repeat.pitch + 1e-9) + 1,
                room=with_unit(room / (repeat.n - 1)),
                **names,
            )
    return _(
        "{name} reaches {over} past the {edge} edge of the {face} of {step} even by itself; make it smaller, move it, or make {step} larger"
    ).format(**names)


def _edge_towards(face: str, way: np.ndarray) -> str:
    """The name of the edge of a face that lies in a direction (3,)."""
    return max(edges_of(face), key=lambda edge: float(seating.DIRECTIONS[edge] @ way))


@dataclass(frozen=True)
class _Laid:
    """A part's own face as it will lie in the seat, its middle at the seat's.

    faces : kernel shapes in the seat's frame; the whole part where it has no plane face there
    flat : whether they are its own face
    """

    faces: tuple[TopoDS_Shape, ...]
    flat: bool

    @classmethod
    def of(cls, place: Seat, part: Shape, own: np.ndarray) -> _Laid:
        """The own face of a part that will be seated."""
        plain = replace(place, along=0.0, across=0.0, sink=0.0, edge=None, inset=0.0)
        move = seating.seated(plain, np.eye(4), own)
        found = seating.side_faces(part, place.by)
        shapes = [*found] if found else [part.wrapped]
        return cls(tuple(moved(shape, move) for shape in shapes), bool(found))

    def extent(self, outward: np.ndarray) -> float:
        """How far it reaches in a direction (2,), in mm."""
        return _extent(self.faces, outward)

    def reach(self, outward: np.ndarray) -> float:
        """How far out its own edge is in a direction (2,), or its middle where it is round there."""
        far = self.extent(outward)
        if not self.flat:
            return (
                far if _ends_flat(self.faces, outward, far) else (far - self.extent(-outward)) / 2
            )
        middle: float | None = None
        straight = False
        for edge in _edges(self.faces):
            if _is_line(edge):
                straight |= all(abs(end @ outward - far) < _SAME for end in _ends(edge))
            elif middle is None:
                middle = _arc_middle(edge, outward, far)
        return far if straight or middle is None else middle


def _extent(shapes: Sequence[TopoDS_Shape], outward: np.ndarray) -> float:
    x, y = outward
    turn = np.array([[x, y, 0, 0], [-y, x, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]], dtype=float)
    return float(extent([moved(shape, turn) for shape in shapes])[1][0])


def _edge_line(faces: Sequence[TopoDS_Shape], way: np.ndarray) -> _Line:
    """The edge of a face in a direction (2,): its outermost straight side that looks that way.

    Where the face is round there, it is the line that touches it.
    """
    way = way / math.hypot(*way)
    sides = [
        line for face in faces for line in _straight_sides(face) if line.outward @ way > _FACING
    ]
    straight = [line for line in sides if line.outward @ way > _STRAIGHT]
    if straight:
        return max(straight, key=lambda line: (round(line.far, 6), line.outward @ way))
    if sides:
        return max(sides, key=lambda line: (round(float(line.outward @ way), 6), line.far))
    return _Line(way, _extent(faces, way))


def _straight_sides(face: TopoDS_Shape) -> Iterator[_Line]:
    """The straight sides of a face's outer border, in the plane of x and y."""
    from OCP.BRepTools import BRepTools, BRepTools_WireExplorer
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopoDS import TopoDS

    if face.ShapeType() != TopAbs_ShapeEnum.TopAbs_FACE:
        return
    explorer = BRepTools_WireExplorer(BRepTools.OuterWire_s(TopoDS.Face(face)))
    border: list[tuple[TopoDS_Edge, np.ndarray]] = []
    while explorer.More():
        border.append((explorer.Current(), _passed(explorer.Current())))
        explorer.Next()
    points = np.concatenate([passed for _edge, passed in border])
    after = np.roll(points, -1, axis=0)
    way_round = math.copysign(
        1.0, float((points[:, 0] * after[:, 1] - points[:, 1] * after[:, 0]).sum())
    )
    for edge, passed in border:
        along = passed[-1] - passed[0]
        length = math.hypot(*along)
        if _is_line(edge) and length > _SAME:
            outward = way_round * np.array([along[1], -along[0]]) / length
            yield _Line(outward, float(passed[0] @ outward))


def _passed(edge: TopoDS_Edge) -> np.ndarray:
    """Points (n, 2) along an edge, in the order in which the border runs; of a line its two ends."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_CurveType
    from OCP.TopAbs import TopAbs_Orientation

    curve = BRepAdaptor_Curve(edge)
    low, high = curve.FirstParameter(), curve.LastParameter()
    straight = curve.GetType() == GeomAbs_CurveType.GeomAbs_Line
    at = (low, high) if straight else np.linspace(low, high, 9)
    points = np.array([curve.Value(t).Coord()[:2] for t in at])
    back = edge.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
    return points[::-1] if back else points


def _edges(faces: Sequence[TopoDS_Shape]) -> Iterator[TopoDS_Edge]:
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopoDS import TopoDS

    for face in faces:
        for edge in parts_of(face, TopAbs_ShapeEnum.TopAbs_EDGE):
            yield TopoDS.Edge(edge)


def _is_line(edge: TopoDS_Edge) -> bool:
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_CurveType

    return BRepAdaptor_Curve(edge).GetType() == GeomAbs_CurveType.GeomAbs_Line


def _ends(edge: TopoDS_Edge) -> np.ndarray:
    return _passed(edge)[[0, -1]]


def _arc_middle(edge: TopoDS_Edge, outward: np.ndarray, far: float) -> float | None:
    """How far out the middle of a circular edge is, if the edge is what reaches furthest."""
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.ElCLib import ElCLib
    from OCP.GeomAbs import GeomAbs_CurveType

    curve = BRepAdaptor_Curve(edge)
    if curve.GetType() != GeomAbs_CurveType.GeomAbs_Circle:
        return None
    circle = curve.Circle()
    centre = np.array(circle.Location().Coord())
    axis = np.array(circle.Axis().Direction().Coord())
    ahead = np.array([*outward, 0.0])
    level = ahead - axis * (axis @ ahead)
    length = float(np.linalg.norm(level))
    if length < _SAME or abs(centre @ ahead + circle.Radius() * length - far) > _SAME:
        return None
    from OCP.gp import gp_Pnt

    top = centre + level / length * circle.Radius()
    low, high = curve.FirstParameter(), curve.LastParameter()
    at = ElCLib.Parameter_s(circle, gp_Pnt(*top.tolist()))
    turns = {at + turn for turn in (-2 * math.pi, 0.0, 2 * math.pi)}
    on_it = any(low - _SAME <= turn <= high + _SAME for turn in turns)
    return float(centre @ ahead) if on_it else None


def _ends_flat(shapes: Sequence[TopoDS_Shape], outward: np.ndarray, far: float) -> bool:
    """Whether a plane face square to a direction is what reaches furthest."""
    for shape in shapes:
        for normal, point, _face in seating.plane_faces(shape):
            ahead = float(normal[:2] @ outward)
            if ahead > 1 - _SAME and abs(point[:2] @ outward - far) < _SAME:
                return True
    return False
