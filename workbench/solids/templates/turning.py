"""A turning: what a profile sweeps about an upright axis, solid or hollow."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline
from workbench.solids.parameters import Choice, Corners, Size, checked
from workbench.solids.shapes.hollow import hollowed
from workbench.solids.shapes.profile import profile_of, turned
from workbench.solids.templates.panel import LARGEST
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: The choice of ``open`` for a solid body.
SOLID = "solid"

#: A profile may reach this far over the axis, in mm: rounding.
_OVER = 1e-6


@checked
def turning(
    outline: Annotated[
        tuple, Corners(measure="half of its section, from the axis out and from the bottom up")
    ] = ((0.0, 0.0), (14.0, 0.0), (14.0, 3.0, 1.0), (6.0, 8.0, 4.0), (6.0, 16.0, 1.5), (0.0, 16.0)),
    open: Annotated[
        str, Choice((SOLID, "top", "bottom"), measure="which end a hollow part is open at")
    ] = SOLID,
    wall: Annotated[float, Size(0.4, 50, 0.05, measure="of a hollow part")] = 1.6,
) -> Solid:
    """A turned body: a profile that goes once round an upright axis.

    The outline's x is the distance from the axis, half the diameter that calipers read, and
    its y is the height. What keeps off the axis leaves a bore.

    ::

        axis
         |--.  radius of the neck
         |  |
         |   '--.
         |______|
         |- radius -|
    """
    shape = Outline(outline)
    (left, low), (right, high) = shape.box
    if left < -_OVER:
        raise RepairError(
            _(
                "outline reaches {over} past the axis; give distances from the axis, 0 or more"
            ).format(over=with_unit(-left, 4))
        )
    if max(2 * right, high - low) > LARGEST:
        raise RepairError(
            _("the turning is {across} across and {high} high; give at most {most}").format(
                across=with_unit(2 * right), high=with_unit(high - low), most=with_unit(LARGEST)
            )
        )
    solid = turned(profile_of(shape))
    return solid if open == SOLID else hollowed(solid, wall, open)
