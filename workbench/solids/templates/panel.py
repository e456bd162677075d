"""A panel: flat and upright, with any outline of straight sides and arcs."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline
from workbench.solids.parameters import Corners, Size, checked
from workbench.solids.shapes.profile import Profile, prism, profile_of
from workbench.words import _, sized, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: As wide or high as beds of home printers go, in mm.
LARGEST = 400


@checked
def panel(
    outline: Annotated[tuple, Corners(measure="corners in order round it, seen from the front")] = (
        (0.0, 0.0),
        (46.0, 0.0),
        (37.0, 44.0),
        (12.0, 44.0),
        (-7.0, 22.0),
    ),
    thickness: Annotated[float, Size(0.2, LARGEST, 0.05, measure="through the panel")] = 2.0,
) -> Solid:
    """An upright panel of even thickness with an outline that was traced, solved or typed in.

    The outline's x runs to the right and its y up, from the place where the panel stands; the
    thickness runs from front to back, centred.
    """
    return prism(profile_within(outline), thickness)


def profile_within(outline: tuple) -> Profile:
    """The profile of an outline, or RepairError where it is larger than any bed."""
    shape = Outline(outline)
    width, height = shape.size
    if max(width, height) > LARGEST:
        raise RepairError(
            _("outline is {width} by {height}; give at most {most} either way").format(
                width=sized(width), height=with_unit(height), most=with_unit(LARGEST)
            )
        )
    return profile_of(shape)
