"""A solid hollowed out, with walls of even thickness that follow its outside."""

from __future__ import annotations

from typing import TYPE_CHECKING

from workbench.errors import RepairError
from workbench.solids.geometry import kernel
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Shape, Solid
    from OCP.TopoDS import TopoDS_Face

#: What may be open, and which way its flat face looks.
SIDES = {
    "top": (0, 0, 1),
    "bottom": (0, 0, -1),
    "front": (0, -1, 0),
    "back": (0, 1, 0),
    "left": (-1, 0, 0),
    "right": (1, 0, 0),
}

#: Directions nearer than this, as a sine, are parallel; planes nearer than this, in mm, are one.
_SAME = 1e-6

#: How many walls are tried to find the thickest that leaves room.
_TRIES = 8


def hollowed(solid: Shape, wall: float, side: str) -> Solid:
    """The solid with walls of that thickness, open on one flat side.

    wall : in mm, square to the outside everywhere
    side : "top", "bottom", "front", "back", "left" or "right"

    Raises RepairError when the side has no flat face, or the wall is too thick for the shape or its
    rounds.
    """
    faces = _faces(solid, side)
    if not faces:
        raise RepairError(
            _(
                "open is {side}, where nothing flat is left to open behind a wall of {wall}; name a side that is flat"
            ).format(side=_(side), wall=with_unit(wall))
        )
    made = _thin(solid, wall, faces)
    if made is not None:
        return made
    low, high = 0.0, wall
    for _try in range(_TRIES):
        middle = (low + high) / 2
        low, high = (low, middle) if _thin(solid, middle, faces) is None else (middle, high)
    if not low:
        raise RepairError(
            _("wall is {wall} and this shape cannot be hollowed; open another side").format(
                wall=with_unit(wall)
            )
        )
    raise RepairError(
        _("wall is {wall}, too thick for this shape or its rounds; give at most {most}").format(
            wall=with_unit(wall), most=with_unit(int(low * 100) / 100)
        )
    )


def _faces(solid: Shape, side: str) -> list[TopoDS_Face]:
    """The flat faces of a solid that are its outermost on a side."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    way = SIDES[side]
    low, high = kernel.extent([solid.wrapped])
    outermost = max(float(low @ way), float(high @ way))
    found = []
    for face in kernel.faces_in(solid.wrapped):
        surface = BRepAdaptor_Surface(face)
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane:
            continue
        plane = surface.Plane()
        normal = plane.Axis().Direction().Coord()
        facing = sum(a * b for a, b in zip(normal, way, strict=True))
        facing *= -1 if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED else 1
        level = sum(a * b for a, b in zip(plane.Location().Coord(), way, strict=True))
        if facing > 1 - _SAME and abs(level - outermost) < _SAME:
            found.append(face)
    return found


def _thin(solid: Shape, wall: float, faces: list[TopoDS_Face]) -> Solid | None:
    """The hollowed solid; None where the kernel finds none."""
    from build123d import Compound
    from OCP.BRepOffset import BRepOffset_Mode
    from OCP.BRepOffsetAPI import BRepOffsetAPI_MakeThickSolid
    from OCP.collections import List_TopoDS_Shape
    from OCP.GeomAbs import GeomAbs_JoinType

    opened = List_TopoDS_Shape()
    for face in faces:
        opened.Append(face)
    maker = BRepOffsetAPI_MakeThickSolid()
    try:
        maker.MakeThickSolidByJoin(
            solid.wrapped,
            opened,
            -wall,
            1e-5,
            BRepOffset_Mode.BRepOffset_Skin,
            False,
            False,
            GeomAbs_JoinType.GeomAbs_Intersection,
        )
        if not maker.IsDone():
            return None
        made = list(kernel.solids_of(Compound(maker.Shape())))
    except Exception:  # the kernel raises types of its own where a wall has no room
        return None
    if len(made) != 1 or not kernel.sound(made[0]):
        return None
    return made[0] if 0 < made[0].volume < solid.volume else None
