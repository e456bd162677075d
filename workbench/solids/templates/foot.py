"""A foot for a cabinet or an appliance."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.parameters import Choice, Size, checked
from workbench.solids.shapes.drilling import hole_under
from workbench.solids.shapes.profile import LEAST_WALL, Point, turned
from workbench.solids.shapes.screws import CLEARANCE
from workbench.words import _, lengths, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: The choice of ``screw`` for a foot that is glued on or grown from another step.
NONE = "none"


@facts(duty="stands")
@checked
def foot(
    diameter: Annotated[float, Size(4, 150, measure="across the end that is fixed")] = 24.0,
    tip: Annotated[float, Size(4, 150, measure="across the end on the floor")] = 20.0,
    height: Annotated[float, Size(2, 150, measure="from the floor to the cabinet")] = 12.0,
    screw: Annotated[str, Choice((*CLEARANCE, NONE), measure="the screw's thread")] = "M4",
    head: Annotated[float, Size(1, 60, measure="across the room for the screw's head")] = 9.0,
    head_depth: Annotated[
        float, Size(0.4, 100, measure="from the floor up to where the head sits")
    ] = 6.0,
) -> Solid:
    """A round cabinet foot that stands on its fixed end, floor end up.

    A screw goes through it; its head sits in a recess that opens to the floor. Cut open, seen
    from the front::

              tip
          .---.    .---.     --
          |   |head|   |     |  head_depth
         |    '.  .'    |    --
         |     |  |     |
         |     |  |     |    height
        '------'  '------'
             diameter

    Raises RepairError when the recess leaves no wall round the head or nothing under it.
    """
    base, end = diameter / 2, tip / 2
    if screw == NONE:
        return turned([(0, 0), (base, 0), (end, height), (0, height)])
    bore, room = hole_under(screw, head) / 2, head / 2
    seat = height - head_depth
    _refuse(diameter, tip, height, head, head_depth, bore)
    profile: list[Point] = [
        (bore, 0),
        (base, 0),
        (end, height),
        (room, height),
        (room, seat),
        (bore, seat),
    ]
    return turned(profile)


def _refuse(
    diameter: float, tip: float, height: float, head: float, head_depth: float, bore: float
) -> None:
    if head_depth + LEAST_WALL > height:
        raise RepairError(
            _(
                "head_depth is {depth} in a height of {height}, which leaves nothing to hold the head; give at most {most}"
            ).format(**lengths(depth=head_depth, height=height, most=height - LEAST_WALL))
        )
    # The slope is straight, so the recess is nearest to it at one of its ends.
    seat = tip + (diameter - tip) * head_depth / height
    least = min(tip, seat)
    if head + 2 * LEAST_WALL > least or 2 * bore + 2 * LEAST_WALL > diameter:
        raise RepairError(
            _(
                "head needs {head} of room and the foot is {least} across there; make diameter and tip larger or use a smaller screw"
            ).format(head=with_unit(head), least=with_unit(min(least, diameter)))
        )
