"""Flat profiles of lines and arcs, and the prisms that stand on them."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from workbench.solids.geometry import quick
from workbench.solids.meshes.swept import arc, extruded, revolved

if TYPE_CHECKING:
    from build123d import Solid
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.gp import gp_Pnt
    from OCP.TopoDS import TopoDS_Wire

    from workbench.measure.outlines.outline import Outline

T = TypeVar("T")
Point = tuple[float, float]

#: A straight side shorter than this, in mm, is left out of a profile: twice what a mesh welds.
SHORTEST = 2e-6

#: Templates refuse to leave less than this, in mm, between a hole or slot and an edge: half a
#: line of the common nozzle. Whether a wall can be printed well is for the checks to say.
LEAST_WALL = 0.2


@dataclass(frozen=True)
class Bend:
    """A circular arc from the corner before it, through a point, to the corner ``to``; in mm."""

    through: Point
    to: Point


Profile = Sequence[Point | Bend]

#: Where a profile looks whose thickness runs along an axis, as it is drawn.
_FACING = {"x": (1, 0, 0), "y": (0, -1, 0), "z": (0, 0, 1)}


@dataclass(frozen=True)
class Opening:
    """A round hole through a profile: its diameter and its centre, in mm."""

    diameter: float
    centre: Point = (0.0, 0.0)


def prism(
    profile: Profile, thickness: float, along: str = "y", openings: Sequence[Opening | Profile] = ()
) -> Solid:
    """The solid of even thickness on a profile, centred about the profile's plane.

    profile : corners in mm, in order, either way round; a :class:`Bend` where an arc leads to
        the next corner. The last corner joins the first, by an arc where the first is a Bend.
    thickness : in mm
    along : the axis that the thickness runs along. "y": the profile is (x, z), as seen from
        the front; "x": it is (y, z), as seen from the right; "z": it is (x, y), from above,
        and the solid stands on z = 0 instead
    openings : holes inside the profile, clear of each other, that go right through
    """
    from build123d import Solid
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec

    start = 0.0 if along == "z" else -thickness / 2
    maker = _face(profile, along, start)
    for opening in openings:
        maker.Add(
            _ring(opening, along, start)
            if isinstance(opening, Opening)
            else _wire(_reversed(_counter_clockwise(opening)), along, start)
        )
    push = {"x": (thickness, 0, 0), "y": (0, thickness, 0), "z": (0, 0, thickness)}[along]
    return quick.known(
        Solid(BRepPrimAPI_MakePrism(maker.Face(), gp_Vec(*push)).Shape()),
        pushed(profile, thickness, along, openings),
    )


def pushed(
    profile: Profile, thickness: float, along: str, openings: Sequence[Opening | Profile] = ()
) -> quick.Triangles:
    """What gives the triangles of a :func:`prism` without the kernel."""
    start = 0.0 if along == "z" else -thickness / 2
    rings = [profile, *openings]
    return lambda *near: extruded(
        [_points(r, *near) for r in rings], start, start + thickness, along
    )


def _points(ring: Opening | Profile, deviation: float, angle: float) -> np.ndarray:
    """(n, 2) corners of a ring, in mm, with chords for its arcs."""
    if isinstance(ring, Opening):
        (x, y), r = ring.centre, ring.diameter / 2
        ring = [Bend((x, y + r), (x - r, y)), Bend((x, y - r), (x + r, y))]
    return np.concatenate(
        [
            arc(_end(before), corner.through, corner.to, deviation, angle)
            if isinstance(corner, Bend)
            else np.array([corner])
            for before, corner in _pairs(ring)
        ]
    )


def turned(profile: Profile) -> Solid:
    """The solid that a profile of (radius, z) sweeps in one turn about the z axis."""
    from build123d import Solid
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    face = _face(profile, "y", 0.0).Face()
    axis = gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1))
    return quick.known(
        Solid(BRepPrimAPI_MakeRevol(face, axis, 2 * math.pi).Shape()),
        lambda *near: revolved(_points(profile, *near), *near),
    )


def profile_of(outline: Outline) -> Profile:
    """An outline as a profile, arcs as arcs."""
    return [
        _pair(stretch.end)
        if stretch.through is None
        else Bend(_pair(stretch.through), _pair(stretch.end))
        for stretch in outline.path
    ]


def mapped(profile: Profile, put: Callable[[Point], Point]) -> Profile:
    """A profile with each of its points put elsewhere, arcs staying arcs."""
    return [
        Bend(put(one.through), put(one.to)) if isinstance(one, Bend) else put(one)
        for one in profile
    ]


def _pair(spot: np.ndarray) -> Point:
    x, y = spot.tolist()
    return x, y


def _end(corner: Point | Bend) -> Point:
    return corner.to if isinstance(corner, Bend) else corner


def _counter_clockwise(profile: Profile) -> Profile:
    """The profile counter-clockwise, without its shortest sides."""
    kept = [
        corner
        for before, corner in _pairs(profile)
        if isinstance(corner, Bend) or math.dist(_end(before), corner) > SHORTEST
    ]
    passed = [p for c in kept for p in ([c.through, c.to] if isinstance(c, Bend) else [c])]
    twice_area = sum(a[0] * b[1] - b[0] * a[1] for a, b in _pairs(passed))
    return kept if twice_area > 0 else _reversed(kept)


def _reversed(profile: Profile) -> Profile:
    back = [
        Bend(corner.through, _end(before)) if isinstance(corner, Bend) else _end(before)
        for before, corner in _pairs(profile)
    ]
    return back[::-1]


def _pairs(ring: Sequence[T]) -> list[tuple[T, T]]:
    """Each item with the one before it, round the ring."""
    return list(zip([*ring[-1:], *ring[:-1]], ring, strict=True))


def _face(profile: Profile, along: str, level: float) -> BRepBuilderAPI_MakeFace:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.gp import gp_Dir, gp_Pln

    # The plane is given: fitted to a long thin wire, it would lean by a little.
    (middle,) = _placed([(0.0, 0.0)], along, level)
    plane = gp_Pln(middle, gp_Dir(*_FACING[along]))
    return BRepBuilderAPI_MakeFace(plane, _wire(_counter_clockwise(profile), along, level), True)


def _ring(opening: Opening, along: str, level: float) -> TopoDS_Wire:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
    from OCP.gp import gp_Ax2, gp_Circ, gp_Dir

    # Clockwise within the profile, as the edge of a hole runs.
    (centre,) = _placed([opening.centre], along, level)
    axis = gp_Ax2(centre, gp_Dir(*_FACING[along]).Reversed())
    edge = BRepBuilderAPI_MakeEdge(gp_Circ(axis, opening.diameter / 2)).Edge()
    return BRepBuilderAPI_MakeWire(edge).Wire()


def _wire(profile: Profile, along: str, level: float) -> TopoDS_Wire:
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
    from OCP.GC import GC_MakeArcOfCircle

    ends = _placed([_end(corner) for corner in profile], along, level)
    bends = [corner.through for corner in profile if isinstance(corner, Bend)]
    through = iter(_placed(bends, along, level))
    maker = BRepBuilderAPI_MakeWire()
    for index, corner in enumerate(profile):
        start, end = ends[index - 1], ends[index]
        if isinstance(corner, Bend):
            arc = GC_MakeArcOfCircle(start, next(through), end).Value()
            maker.Add(BRepBuilderAPI_MakeEdge(arc).Edge())
        else:
            maker.Add(BRepBuilderAPI_MakeEdge(start, end).Edge())
    return maker.Wire()


def _placed(corners: Sequence[Point], along: str, level: float) -> list[gp_Pnt]:
    """Corners in the profile's plane, for the kernel."""
    from OCP.gp import gp_Pnt

    if along == "y":
        return [gp_Pnt(a, level, b) for a, b in corners]
    if along == "x":
        return [gp_Pnt(level, a, b) for a, b in corners]
    return [gp_Pnt(a, b, level) for a, b in corners]
