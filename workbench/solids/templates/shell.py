"""A shell: a hollow body with walls of even thickness, open on one side."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.solids.parameters import Choice, Corners, Size, checked
from workbench.solids.shapes.hollow import SIDES, hollowed
from workbench.solids.shapes.profile import prism
from workbench.solids.templates.panel import LARGEST, profile_within

if TYPE_CHECKING:
    from build123d import Solid


@checked
def shell(
    outline: Annotated[tuple, Corners(measure="corners in order round it, seen from above")] = (
        (-25.0, -15.0, 4.0),
        (25.0, -15.0, 4.0),
        (25.0, 15.0, 4.0),
        (-25.0, 15.0, 4.0),
    ),
    height: Annotated[float, Size(1, LARGEST, measure="outside, from bottom to top")] = 18.0,
    wall: Annotated[float, Size(0.4, 50, 0.05, measure="of sides and floor")] = 1.6,
    open: Annotated[str, Choice(tuple(SIDES), measure="the side without a wall")] = "top",
) -> Solid:
    """A hollow body on an outline, such as a box, a cap or a cover, with one side left open.

    The outline's x runs to the right and its y to the back; the body stands on it. The inside
    keeps the same distance from the outside everywhere, round corners included.

    ::

         .----------------.
        |  .------------.  |
        |  |            |  |   wall all round
        |  '------------'  |
         '----------------'
    """
    return hollowed(prism(profile_within(outline), height, "z"), wall, open)
