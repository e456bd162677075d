"""A plate with a raised number, as on a house or a locker."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Annotated

import numpy as np

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import kernel, quick
from workbench.solids.parameters import Count, Flag, Size, checked
from workbench.solids.shapes.lettering import Piece, passed
from workbench.solids.shapes.profile import prism, pushed
from workbench.solids.templates.letters import outlines
from workbench.solids.templates.plate import plate
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Shape, Solid

#: How far the digits reach into the plate, in mm, so that both are one.
_SUNK = 0.2


@facts(one_hand=True, quick=lambda _values: True, read=("digits",))
@checked
def number_plate(
    figure: Annotated[int, Count(0, 99999, measure="the number that it shows")] = 27,
    digits: Annotated[float, Size(5, 200, 0.5, measure="height of the digits")] = 40.0,
    raised: Annotated[float, Size(0.4, 20, 0.1, measure="of the digits over the plate")] = 2.0,
    width: Annotated[float, Size(10, 400, 0.5, measure="of the plate, from left to right")] = 90.0,
    height: Annotated[float, Size(8, 400, 0.5, measure="of the plate, from front to back")] = 60.0,
    thickness: Annotated[float, Size(0.8, 20, 0.1, measure="of the plate")] = 3.0,
    corner_radius: Annotated[float, Size(0, 100, measure="of the plate's corners")] = 6.0,
    mirrored: Annotated[bool, Flag(measure="whether it is a stamp, read in its print")] = False,
) -> Shape:
    """A plate that lies flat, its number raised on it, read from the front.

    Raises RepairError when the number is wider or higher than the plate.
    """
    from build123d import Compound

    found = outlines(str(figure), digits, mirrored)
    wide, high = np.ptp([corner for each in found for corner in passed(each.outline)], axis=0)
    if wide + 2 > width or high + 2 > height:
        raise RepairError(
            _(
                "digits of {digits} make a number of {wide} by {high}, more than the plate; give at most {most} or a larger width and height"
            ).format(
                digits=with_unit(digits),
                wide=with_unit(wide, 1),
                high=with_unit(high, 1),
                most=with_unit(
                    int(10 * digits * min((width - 2) / wide, (height - 2) / high)) / 10
                ),
            )
        )
    body, depth = plate(width, height, thickness, corner_radius), raised + _SUNK
    if quick.wanted():
        figures = [_block(wide, high, depth, found)]
    else:
        figures = [prism(each.outline, depth, "z", each.openings) for each in found]
    up = np.eye(4)
    up[2, 3] = thickness - _SUNK
    several = [body, *(kernel.solid_moved(each, up) for each in figures)]
    if quick.wanted():
        return Compound(children=several)
    (joined,) = kernel.union(several)
    return joined


def _block(wide: float, high: float, depth: float, digits: Sequence[Piece]) -> Solid:
    """The box round some digits, with their triangles."""
    x, y = wide / 2, high / 2
    box = prism([(-x, -y), (x, -y), (x, y), (-x, y)], depth, "z")
    rings = [ring for each in digits for ring in (each.outline, *each.openings)]
    return quick.known(box, pushed(rings[0], depth, "z", rings[1:]))
