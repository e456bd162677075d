"""A boss: a post with a hole for a screw that cuts its own thread, or for a heat-set insert."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.parameters import Size, checked
from workbench.solids.shapes.profile import SHORTEST, turned
from workbench.words import _, lengths, with_unit

if TYPE_CHECKING:
    from build123d import Solid


@checked
def boss(
    height: Annotated[float, Size(2, 100, 0.5, measure="from its root to its top")] = 10.0,
    hole: Annotated[
        float,
        Size(
            0.8,
            20,
            0.05,
            measure="for a screw, its core diameter; for an insert, what its maker states",
        ),
    ] = 3.2,
    depth: Annotated[
        float,
        Size(
            1,
            100,
            0.5,
            measure="of the hole: as deep as the screw or insert goes in, and a little more",
        ),
    ] = 8.0,
    wall: Annotated[float, Size(0.8, 20, 0.1, measure="round the hole")] = 2.0,
    lead: Annotated[
        float, Size(0, 3, 0.1, measure="bevel at the mouth of the hole, to start the screw")
    ] = 0.5,
) -> Solid:
    """A round post that stands on its root, with a blind hole from the top.

    A screw that cuts its own thread wants a hole as wide as its core, and a wall of half its
    diameter or more; an insert is pressed in warm.

    Raises RepairError when the hole goes through, or the bevel eats the wall.
    """
    floor = height - depth
    if floor < 0.6:
        raise RepairError(
            _("depth is {depth} and height {height}; give a depth of at most {most}").format(
                depth=with_unit(depth), height=with_unit(height), most=with_unit(height - 0.6)
            )
        )
    if lead > min(wall - 0.4, depth - 0.2) + SHORTEST:
        raise RepairError(
            _("lead is {lead} and wall {wall}; give a lead of at most {most}").format(
                **lengths(lead=lead, wall=wall, most=max(0.0, min(wall - 0.4, depth - 0.2)))
            )
        )
    bore, outside = hole / 2, hole / 2 + wall
    mouth = [(bore + lead, height), (bore, height - lead)] if lead else [(bore, height)]
    return turned([(0, 0), (outside, 0), (outside, height), *mouth, (bore, floor), (0, floor)])
