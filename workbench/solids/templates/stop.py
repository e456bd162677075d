"""A drawer stop: an upright on a base that is screwed down."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.parameters import Choice, Count, Size, checked
from workbench.solids.shapes.drilling import drilled, hole_under, refuse_heads, row
from workbench.solids.shapes.profile import LEAST_WALL, prism
from workbench.solids.shapes.screws import CLEARANCE
from workbench.words import _, lengths, with_unit

if TYPE_CHECKING:
    from build123d import Solid


@facts(duty="stops", quick=lambda values: values["holes"])
@checked
def stop(
    width: Annotated[float, Size(3, 200, measure="from left to right")] = 16.0,
    length: Annotated[float, Size(4, 200, measure="of the base, from front to back")] = 28.0,
    base: Annotated[float, Size(0.8, 40, 0.05, measure="through the base")] = 4.0,
    height: Annotated[float, Size(2, 150, measure="from the floor up to the top")] = 16.0,
    thickness: Annotated[float, Size(0.8, 60, 0.05, measure="through the upright")] = 5.0,
    gusset: Annotated[
        float, Size(0, 100, measure="up and along the slope in the corner; 0 for none")
    ] = 6.0,
    holes: Annotated[int, Count(0, 4, measure="screws through the base, left to right")] = 1,
    screw: Annotated[str, Choice(tuple(CLEARANCE), measure="the screw's thread")] = "M4",
    head: Annotated[float, Size(1, 40, measure="across the screw's head")] = 8.0,
) -> Solid:
    """An upright that a drawer or a door runs against, on a base with screw holes.

    The upright stands at the back. Seen from the right::

                        .---.
                        |   |
                        |   |  height
                       /|   |
             screw   /  |   |  gusset
         .----: :---'   |   |  --
         |    : :           |  base
         '------------------'  --
                        thickness
               length

    Raises RepairError when base, gusset and upright do not fit together, or screw heads find no
    room in front of them.
    """
    _refuse(length, base, height, thickness, gusset)
    front, back = -length / 2, length / 2
    face = back - thickness
    foot = face - gusset
    across = hole_under(screw, head) if holes else 0.0
    refuse_heads(holes, head, width, foot - front, _("use a smaller screw or a longer base"))
    slope = [(face, base + gusset), (foot, base)] if gusset else [(face, base)]
    side = prism(
        [(front, 0), (back, 0), (back, height), (face, height), *slope, (front, base)],
        width,
        along="x",
    )
    places = row(holes, -width / 2, width / 2)
    return drilled(side, [(x, (front + foot) / 2) for x in places], across, base)


def _refuse(length: float, base: float, height: float, thickness: float, gusset: float) -> None:
    if height < base + LEAST_WALL:
        raise RepairError(
            _(
                "height is {height}, no higher than the base of {base}; give at least {least}"
            ).format(
                height=with_unit(height), base=with_unit(base), least=with_unit(base + LEAST_WALL)
            )
        )
    if thickness + LEAST_WALL > length:
        raise RepairError(
            _(
                "thickness of the upright is {thickness} on a length of {length}; give at most {most}"
            ).format(**lengths(thickness=thickness, length=length, most=length - LEAST_WALL))
        )
    most = min(height - base, length - thickness) - LEAST_WALL
    if gusset > max(most, 0):
        raise RepairError(
            _(
                "gusset is {gusset}, more than there is room for in the corner; give at most {most} or 0 for none"
            ).format(gusset=with_unit(gusset), most=with_unit(max(most, 0)))
        )
