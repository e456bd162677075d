"""Flat profiles of lines and arcs, and the prisms that stand on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from build123d import Solid
    from OCP.gp import gp_Pnt

Point = tuple[float, float]


@dataclass(frozen=True)
class Bend:
    """A circular arc from the corner before it, through a point, to the corner ``to``; in mm."""

    through: Point
    to: Point


def prism(profile: Sequence[Point | Bend], thickness: float, along: str = "y") -> Solid:
    """The solid of even thickness on a profile, centred about the profile's plane.

    Parameters
    ----------
    profile : corners in mm, in order, either way round; a :class:`Bend` where an arc leads to
        the next corner. The last corner joins the first, by an arc where the first is a Bend.
    thickness : in mm
    along : the axis that the thickness runs along. "y": the profile is (x, z), as seen from
        the front; "x": it is (y, z), as seen from the right; "z": it is (x, y), from above,
        and the solid stands on z = 0 instead
    """
    from build123d import Solid
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Vec

    start = 0.0 if along == "z" else -thickness / 2
    face = BRepBuilderAPI_MakeFace(_wire(profile, along, start), True).Face()
    push = {"x": (thickness, 0, 0), "y": (0, thickness, 0), "z": (0, 0, thickness)}[along]
    return Solid(BRepPrimAPI_MakePrism(face, gp_Vec(*push)).Shape())


def turned(profile: Sequence[Point | Bend]) -> Solid:
    """The solid that a profile of (radius, z) sweeps in one turn about the z axis."""
    from build123d import Solid
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeRevol
    from OCP.gp import gp_Ax1, gp_Dir, gp_Pnt

    face = BRepBuilderAPI_MakeFace(_wire(profile, "y", 0.0), True).Face()
    axis = gp_Ax1(gp_Pnt(0, 0, 0), gp_Dir(0, 0, 1))
    return Solid(BRepPrimAPI_MakeRevol(face, axis, 2 * math.pi).Shape())


def _wire(profile: Sequence[Point | Bend], along: str, level: float):
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge, BRepBuilderAPI_MakeWire
    from OCP.GC import GC_MakeArcOfCircle

    corners = [corner.to if isinstance(corner, Bend) else corner for corner in profile]
    points = [_point(corner, along, level) for corner in corners]
    maker = BRepBuilderAPI_MakeWire()
    for index, corner in enumerate(profile):
        start, end = points[index - 1], points[index]
        if isinstance(corner, Bend):
            arc = GC_MakeArcOfCircle(start, _point(corner.through, along, level), end).Value()
            maker.Add(BRepBuilderAPI_MakeEdge(arc).Edge())
        else:
            maker.Add(BRepBuilderAPI_MakeEdge(start, end).Edge())
    return maker.Wire()


def _point(corner: Point, along: str, level: float) -> gp_Pnt:
    from OCP.gp import gp_Pnt

    a, b = corner
    if along == "y":
        return gp_Pnt(a, level, b)
    return gp_Pnt(level, a, b) if along == "x" else gp_Pnt(a, b, level)
