"""A hook to hang things on, with a back that is screwed to a wall or sits on a part."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.parameters import Choice, Count, Size, checked
from workbench.solids.shapes.drilling import drilled, hole_under, refuse_heads, row
from workbench.solids.shapes.profile import LEAST_WALL, Bend, prism
from workbench.solids.shapes.screws import CLEARANCE
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Solid


@facts(duty="hangs", quick=lambda values: values["holes"])
@checked
def hook(
    opening: Annotated[
        float, Size(1, 100, measure="between back and lip, for what hangs in it")
    ] = 14.0,
    lip: Annotated[float, Size(0, 100, measure="how far the lip goes on past the bend")] = 6.0,
    back: Annotated[float, Size(1, 200, measure="how far the back goes on past the bend")] = 32.0,
    thickness: Annotated[float, Size(0.8, 40, 0.05, measure="through back, bend and lip")] = 4.0,
    width: Annotated[float, Size(2, 100, measure="from left to right")] = 14.0,
    holes: Annotated[int, Count(0, 3, measure="screws through the back, one above the other")] = 2,
    screw: Annotated[str, Choice(tuple(CLEARANCE), measure="the screw's thread")] = "M4",
    head: Annotated[float, Size(1, 40, measure="across the screw's head")] = 8.0,
) -> Solid:
    """A hook that lies on its back, its bend to the front and its lip above the back.

    What hangs in it pulls to the front. The screws sit beyond the lip, where a screwdriver
    reaches them. Seen from the left, the front at the left::

             .------.         --
           .'  .----'         |  thickness
          /   /   lip         --
         |   |        opening
          \\   \\
           '.  '----: :---: :---.
             '------: :---: :---'
                  back

    Raises RepairError when the lip is longer than the back, or screw heads find no room beyond the
    lip.
    """
    if lip + LEAST_WALL > back:
        raise RepairError(
            _(
                "lip is {lip} and the back {back}; give a back of at least {least}, longer than the lip"
            ).format(lip=with_unit(lip), back=with_unit(back), least=with_unit(lip + LEAST_WALL))
        )
    across = hole_under(screw, head) if holes else 0.0
    refuse_heads(
        holes, head, back - lip, width, _("use a smaller screw, or a longer or wider back")
    )
    outer, inner = opening / 2 + thickness, opening / 2
    # The round begins at y = 0 here, and is centred with the whole at the end.
    middle = (outer - back) / 2
    side = prism(
        [
            (middle + back, 0),
            (middle + back, thickness),
            (middle, thickness),
            Bend((middle - inner, outer), (middle, thickness + opening)),
            *([(middle + lip, thickness + opening)] if lip else []),
            (middle + lip, 2 * outer),
            *([(middle, 2 * outer)] if lip else []),
            Bend((middle - outer, outer), (middle, 0)),
        ],
        width,
        along="x",
    )
    places = row(holes, middle + lip, middle + back)
    return drilled(side, [(0.0, y) for y in places], across, thickness)
