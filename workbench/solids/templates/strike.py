"""A latch strike: the plate on a door frame that a latch clicks into."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Choice, Flag, Size, checked
from workbench.solids.shapes.drilling import drilled, hole_under
from workbench.solids.shapes.profile import LEAST_WALL, Point, prism
from workbench.solids.shapes.screws import CLEARANCE
from workbench.words import _, lengths, sized, with_unit

if TYPE_CHECKING:
    from build123d import Solid


@facts(duty="shuts", quick=lambda _values: True)
@checked
def strike(
    width: Annotated[float, Size(6, 150, measure="from left to right")] = 26.0,
    height: Annotated[float, Size(10, 300, measure="along the frame, front to back here")] = 60.0,
    thickness: Annotated[float, Size(0.8, 20, 0.05, measure="through the plate")] = 3.0,
    opening_width: Annotated[
        float, Size(1, 120, 0.05, measure="of the opening for the latch, left to right")
    ] = 11.0,
    opening_height: Annotated[
        float, Size(1, 200, 0.05, measure="of the opening for the latch, along the frame")
    ] = 20.0,
    spacing: Annotated[float, Size(3, 290, measure="from screw centre to screw centre")] = 44.0,
    screw: Annotated[str, Choice(tuple(CLEARANCE), measure="the screw's thread")] = "M4",
    countersink: Annotated[bool, Flag(measure="whether the screw's head is flat")] = True,
    head: Annotated[float, Size(1, 40, measure="across the screw's head")] = 8.0,
    ramp: Annotated[float, Size(0, 60, measure="along the slope at the left; 0 for none")] = 6.0,
    edge: Annotated[
        float, Size(0.4, 19, 0.05, measure="through the plate at the slope's thin end")
    ] = 1.0,
) -> Solid:
    """A plate with an opening for a latch, a screw above and below, and a slope that leads in.

    It lies flat; the slope is at the left, where the latch arrives. Seen from the front, cut
    through the opening::

             ramp
              .---------.         .------.
          . '           |         |      |  thickness
         |              |         |      |
         '--------------'         '------'
        edge            opening_width
                     width

    Raises RepairError when opening, screws and slope run into each other or off the plate.
    """
    _refuse_slope(width, thickness, max(opening_width, head), ramp, edge)
    across = hole_under(screw, head)
    _refuse_screws(width, height, opening_width, opening_height, spacing, head)
    if countersink and (head - across) / 2 > thickness - LEAST_WALL:
        raise RepairError(
            _(
                "head of {head} needs a countersink {deep} deep and the thickness is {thickness}; make the plate thicker or use a smaller screw"
            ).format(**lengths(head=head, deep=(head - across) / 2, thickness=thickness))
        )
    x = width / 2
    slope: list[Point] = [(-x + ramp, thickness), (-x, edge)] if ramp else [(-x, thickness)]
    plate = prism([(-x, 0), (x, 0), (x, thickness), *slope], height)
    a, b = opening_width / 2, opening_height / 2
    opening = prism([(-a, -b), (a, -b), (a, b), (-a, b)], thickness, along="z")
    holed = quick.cut(plate, [opening])
    centres = [(0.0, -spacing / 2), (0.0, spacing / 2)]
    return drilled(holed, centres, across, thickness, head if countersink else 0.0)


def _refuse_slope(width: float, thickness: float, widest: float, ramp: float, edge: float) -> None:
    if widest + 2 * LEAST_WALL > width:
        raise RepairError(
            _(
                "width is {width} and opening_width or head takes {widest} of it; give at least {least}"
            ).format(**lengths(width=width, widest=widest, least=widest + 2 * LEAST_WALL))
        )
    most = (width - widest) / 2 - LEAST_WALL
    if ramp > most:
        raise RepairError(
            _(
                "ramp is {ramp} and runs into the opening or a screw's head; give at most {most} or a wider plate"
            ).format(ramp=with_unit(ramp), most=with_unit(most))
        )
    if ramp and edge > thickness - LEAST_WALL / 2:
        raise RepairError(
            _(
                "edge is {edge} and the thickness {thickness}; give a thinner edge, or a ramp of 0 for none"
            ).format(edge=with_unit(edge), thickness=with_unit(thickness))
        )


def _refuse_screws(
    width: float,
    height: float,
    opening_width: float,
    opening_height: float,
    spacing: float,
    head: float,
) -> None:
    least = opening_height + head + 2 * LEAST_WALL
    most = height - head - 2 * LEAST_WALL
    if not least <= spacing <= most:
        raise RepairError(
            _(
                "spacing is {spacing}; screws clear the opening and the plate's ends only from {least} to {most}; measure again or change opening_height or height"
            ).format(spacing=with_unit(spacing), least=sized(least), most=with_unit(most))
        )
