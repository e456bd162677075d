"""A hinge pin: a shank with a head, that may be printed lying down."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Size, checked
from workbench.solids.shapes.profile import LEAST_WALL, Point, turned
from workbench.solids.templates.peg import beyond_flat, d_prism
from workbench.words import _, lengths, sized, with_unit

if TYPE_CHECKING:
    from build123d import Shape


@facts(duty="hinge", quick=lambda values: values["flat"])
@checked
def pin(
    diameter: Annotated[float, Size(1.5, 40, 0.05, measure="across the shank")] = 4.0,
    length: Annotated[float, Size(3, 250, measure="from under the head to the tip")] = 30.0,
    head: Annotated[float, Size(0, 60, measure="across the head; 0 for none")] = 7.0,
    head_thickness: Annotated[float, Size(0.4, 20, 0.05, measure="through the head")] = 1.6,
    chamfer: Annotated[
        float, Size(0, 10, 0.05, measure="off the edge of the tip; 0 for none")
    ] = 0.6,
    flat: Annotated[
        float, Size(0, 10, 0.05, measure="taken off the front, to print it lying; 0 for none")
    ] = 0.6,
    groove: Annotated[
        float, Size(0, 40, 0.05, measure="across the bottom of a groove for a clip; 0 for none")
    ] = 0.0,
    groove_width: Annotated[float, Size(0.4, 10, 0.05, measure="along the groove")] = 1.0,
    groove_height: Annotated[
        float, Size(0.4, 250, measure="from under the head to the groove's near side")
    ] = 26.0,
) -> Shape:
    """A hinge pin that stands on its head.

    Its flat runs along head and shank and looks to the front. A pin printed lying on its flat has its layers along it, and so does not snap across them.
    Seen from the left, the front at the left::

             .--.       chamfer
            |    |
             |  |       groove_width
            |    |      --
            |    |      |  groove_height
            |    |      |
            |    '-.    --
            |      |    head_thickness
            '------'
          flat   head

    Raises RepairError when the head is no wider than the shank, or the chamfer, the flat or the
    groove leave too little of it.
    """
    _refuse(diameter, length, head, chamfer, flat)
    if groove:
        _refuse_groove(diameter, length - chamfer, groove, groove_width, groove_height)
    under = head_thickness if head else 0.0
    radius, tip = diameter / 2, under + length
    shank: list[Point] = [(0, 0), (radius, 0)]
    if head:
        shank = [(0, 0), (head / 2, 0), (head / 2, under), (radius, under)]
    if groove:
        low, high, bottom = under + groove_height, under + groove_height + groove_width, groove / 2
        shank += [(radius, low), (bottom, low), (bottom, high), (radius, high)]
    solid = turned([*shank, (radius, tip - chamfer), (radius - chamfer, tip), (0, tip)])
    if not flat:
        return solid
    tool = beyond_flat(diameter + head, radius - flat, 0.0, tip, chamfer)
    if quick.wanted():
        # Ds whose plane ends and flat are those of the pin.
        under, back = (tip - chamfer if chamfer else tip / 2), radius - flat
        low = d_prism((head or diameter) / 2, back, 0.0, under)
        high = d_prism(radius - chamfer, back - chamfer, under, tip)
        return quick.instead(quick.less(solid, [tool]), low, high)
    return quick.cut(solid, [tool])


def _refuse(diameter: float, length: float, head: float, chamfer: float, flat: float) -> None:
    if head and head < diameter + LEAST_WALL:
        raise RepairError(
            _(
                "head is {head} across and the shank's diameter {diameter}; give a head of at least {least}, or 0 for none"
            ).format(**lengths(head=head, diameter=diameter, least=diameter + LEAST_WALL))
        )
    if flat > diameter / 4:
        raise RepairError(
            _(
                "flat takes {flat} off a diameter of {diameter}; give at most {most}, a quarter of it"
            ).format(
                flat=with_unit(flat), diameter=with_unit(diameter), most=with_unit(diameter / 4)
            )
        )
    most = min((diameter - flat - LEAST_WALL) / 2, length - LEAST_WALL)
    if chamfer > most:
        raise RepairError(
            _(
                "chamfer is {chamfer} and would take the tip away; give at most {most} or a thicker or longer pin"
            ).format(chamfer=with_unit(chamfer), most=with_unit(most))
        )


def _refuse_groove(
    diameter: float, straight: float, groove: float, width: float, height: float
) -> None:
    if not diameter / 2 <= groove <= diameter - LEAST_WALL:
        raise RepairError(
            _(
                "groove is {groove} across its bottom on a diameter of {diameter}; give {low} to {high}, or 0 for none"
            ).format(
                low=sized(diameter / 2),
                **lengths(groove=groove, diameter=diameter, high=diameter - LEAST_WALL),
            )
        )
    if height + width + LEAST_WALL > straight:
        raise RepairError(
            _(
                "groove_height is {height}, so the groove ends at {end} of {straight} up to the chamfer; bring it down or make the pin longer"
            ).format(**lengths(height=height, end=height + width, straight=straight))
        )
