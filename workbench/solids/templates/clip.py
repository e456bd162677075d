"""A clip: a springing arm with a hook."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.solids.parameters import Size
from workbench.solids.profile import prism

if TYPE_CHECKING:
    from build123d import Solid


def clip(
    length: Annotated[float, Size(2, 100, measure="of the arm, from root to catch")] = 15.0,
    root_thickness: Annotated[float, Size(0.4, 20, 0.05, measure="of the arm at its root")] = 2.0,
    tip_thickness: Annotated[float, Size(0.4, 20, 0.05, measure="of the arm at its tip")] = 1.2,
    width: Annotated[float, Size(1, 100, measure="across the arm")] = 6.0,
    hook_depth: Annotated[
        float, Size(0.2, 20, 0.05, measure="how far the hook stands out from the arm")
    ] = 1.2,
    lead_in_angle: Annotated[
        float, Size(10, 75, 1, unit="°", measure="between the arm and the hook's leading slope")
    ] = 30.0,
    return_angle: Annotated[
        float, Size(20, 90, 1, unit="°", measure="between the arm and the catch; 90 holds for good")
    ] = 80.0,
    root_fillet: Annotated[
        float, Size(0, 10, 0.1, measure="radius where the arm meets the body")
    ] = 1.0,
) -> Solid:
    """A cantilever hook that stands on its root and catches to the right."""
    face = root_thickness / 2
    back = face - tip_thickness
    nose = length + hook_depth / math.tan(math.radians(return_angle))
    tip = nose + hook_depth / math.tan(math.radians(lead_in_angle))
    return prism(
        [
            (-face, 0),
            (face, 0),
            (face, length),
            (face + hook_depth, nose),
            (face, tip),
            (back, tip),
            (back, length),
        ],
        width,
    )
