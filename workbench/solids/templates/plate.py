"""A plate: flat, with rounded corners and screw holes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.parameters import Choice, Count, Flag, Size
from workbench.solids.profile import Bend, Point, prism, turned
from workbench.solids.screws import CLEARANCE, SERIES, clearance_hole
from workbench.words import _, number

if TYPE_CHECKING:
    from build123d import Solid

#: Choice of ``screw`` for a hole of any other size, which is then measured.
OTHER = "other"


def plate(
    width: Annotated[float, Size(2, 400, measure="from left to right")] = 60.0,
    height: Annotated[float, Size(2, 400, measure="from front to back")] = 20.0,
    thickness: Annotated[float, Size(0.4, 60, 0.05, measure="through the plate")] = 3.0,
    corner_radius: Annotated[float, Size(0, 200, measure="of the rounded corners")] = 3.0,
    holes: Annotated[int, Count(0, 24, measure="holes in a row, left to right")] = 2,
    rows: Annotated[int, Count(1, 24, measure="rows of holes, front to back")] = 1,
    spacing: Annotated[float, Size(1, 400, measure="from hole centre to hole centre")] = 40.0,
    row_spacing: Annotated[float, Size(1, 400, measure="from row centre to row centre")] = 10.0,
    screw: Annotated[str, Choice((*CLEARANCE, OTHER), measure="the screw's thread")] = "M4",
    fit: Annotated[str, Choice(SERIES, measure="how freely the screw passes")] = "medium",
    hole: Annotated[float, Size(0.5, 200, measure='across the hole, for screw "other"')] = 4.5,
    countersink: Annotated[bool, Flag(measure="a flat-headed screw")] = False,
    head: Annotated[float, Size(1, 60, measure="across the screw's head, if countersunk")] = 8.0,
) -> Solid:
    """A flat plate with rounded corners and rows of screw holes, lying on its back.

    ::

         .-------------------------.
        |                           |
        |     o               o     |  height
        |                           |
         '-------------------------'
               |-- spacing --|
                   width
    """
    solid = prism(_outline(width, height, corner_radius), thickness, along="z")
    if not holes:
        return solid
    across = hole if screw == OTHER else clearance_hole(screw, fit)
    tool = _countersunk(across, head, thickness) if countersink else _round(across, thickness)
    centres = _grid(holes, rows, spacing, row_spacing)
    from build123d import Location

    return solid.cut(*(tool.moved(Location((x, y, 0))) for x, y in centres))


def _outline(width: float, height: float, radius: float) -> list[Point | Bend]:
    if 2 * radius > min(width, height):
        raise RepairError(
            _("corner_radius is {radius} mm; give at most {most} mm, half the shorter side").format(
                radius=number(radius), most=number(min(width, height) / 2)
            )
        )
    x, y = width / 2, height / 2
    return [(-x, -y), (x, -y), (x, y), (-x, y)]


def _grid(holes: int, rows: int, spacing: float, row_spacing: float) -> list[Point]:
    return [
        ((i - (holes - 1) / 2) * spacing, (j - (rows - 1) / 2) * row_spacing)
        for j in range(rows)
        for i in range(holes)
    ]


def _round(across: float, thickness: float) -> Solid:
    r = across / 2
    return turned([(0, 0), (r, 0), (r, thickness), (0, thickness)])


def _countersunk(across: float, head: float, thickness: float) -> Solid:
    r, big = across / 2, head / 2
    return turned([(0, 0), (r, 0), (r, thickness - (big - r)), (big, thickness), (0, thickness)])
