"""A cable guide: a block with channels that cables are pressed into."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.parameters import Choice, Count, Size, checked
from workbench.solids.shapes.drilling import drilled, hole_under, refuse_heads
from workbench.solids.shapes.profile import Bend, Point, prism
from workbench.solids.shapes.screws import CLEARANCE
from workbench.words import _, lengths, sized

if TYPE_CHECKING:
    from build123d import Solid


@facts(duty="cable", quick=lambda values: values["ear"])
@checked
def guide(
    cable: Annotated[float, Size(1, 60, 0.05, measure="across the cable")] = 6.2,
    cables: Annotated[int, Count(1, 8, measure="cables side by side")] = 2,
    mouth: Annotated[
        float, Size(0.5, 60, 0.05, measure="across the opening that the cable is pressed through")
    ] = 5.2,
    wall: Annotated[float, Size(0.4, 20, 0.05, measure="beside and between the cables")] = 2.4,
    floor: Annotated[
        float, Size(0.4, 20, 0.05, measure="of the base under the cables, and of the ears")
    ] = 3.0,
    depth: Annotated[float, Size(2, 200, measure="along the cables")] = 12.0,
    ear: Annotated[
        float, Size(0, 60, measure="how far each ear stands out at the sides; 0 for none")
    ] = 10.0,
    screw: Annotated[str, Choice(tuple(CLEARANCE), measure="the screw's thread")] = "M4",
    head: Annotated[float, Size(1, 40, measure="across the screw's head")] = 8.0,
) -> Solid:
    """A block with open channels that cables are pressed into, and an ear with a screw each side.

    Seen from the front::

                 mouth
              .-.     .-.     .-.
              |(       )(      )|
              | \\     /  \\    / |   cable
         .----'  '---'    '--'  '----.
         |                           |   floor
         '---------------------------'
          ear    wall between cables

    Raises RepairError when the mouth is wider than the cable or less than half of it, or an ear has
    no room for the screw's head.
    """
    if not cable / 2 <= mouth <= cable:
        raise RepairError(
            _(
                "mouth is {mouth} for a cable of {cable}; give {low} to {high}, so that it goes in and stays in"
            ).format(low=sized(cable / 2), **lengths(mouth=mouth, cable=cable, high=cable))
        )
    across = hole_under(screw, head) if ear else 0.0
    refuse_heads(int(bool(ear)), head, ear, depth, _("use a smaller screw or a longer ear"))
    top, half = floor + cable, (cables * (cable + wall) + wall) / 2
    channels: list[Point | Bend] = []
    for index in reversed(range(cables)):
        channels += _channel((index - (cables - 1) / 2) * (cable + wall), floor, cable, mouth)
    right: list[Point] = [(half + ear, 0), (half + ear, floor), (half, floor)]
    left: list[Point] = [(-x, z) for x, z in reversed(right)]
    if not ear:
        right, left = [(half, 0)], [(-half, 0)]
    block = prism([*right, (half, top), *channels, (-half, top), *left], depth)
    centre = half + ear / 2
    return drilled(block, [(-centre, 0), (centre, 0)] if ear else [], across, floor)


def _channel(middle: float, floor: float, cable: float, mouth: float) -> list[Point | Bend]:
    """One channel's edge from right to left: down its mouth, round the cable, and up again."""
    radius, half = cable / 2, mouth / 2
    neck = floor + radius + math.sqrt(max(radius**2 - half**2, 0.0))
    top = floor + cable
    return [
        (middle + half, top),
        (middle + half, neck),
        Bend((middle, floor), (middle - half, neck)),
        (middle - half, top),
    ]
