"""A clip: a springing arm with a hook."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.parameters import Size, checked
from workbench.solids.shapes.profile import Bend, Point, prism
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Solid


@facts(springs=True)
@checked
def clip(
    length: Annotated[float, Size(2, 100, measure="of the arm, from its root to the catch")] = 15.0,
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
        float, Size(0, 10, measure="radius where the arm meets the body; 0 for none")
    ] = 1.0,
) -> Solid:
    """A cantilever hook that stands on its root and catches to its right.

    Seen from the front. The face that bears the hook is upright; the back leans in where the
    tip is thinner than the root. ::

             tip_thickness
              .--.
              |   \\       lead_in_angle from the upright
              |    \\
              |     >     hook_depth
              |    /      return_angle from the upright
             |   |            --
             |   |            |  length, to where the catch
             |   |            |  meets the arm
           _/     \\_          --
            root_thickness, between the fillets

    Raises RepairError when the tip is thicker than the root, the hook is deeper than the arm is
    long, or the fillet is too large for the arm.
    """
    _refuse(length, root_thickness, tip_thickness, hook_depth, root_fillet)
    face = root_thickness / 2
    back = face - tip_thickness
    nose = length + hook_depth / math.tan(math.radians(return_angle))
    end = nose + hook_depth / math.tan(math.radians(lead_in_angle))
    return prism(
        [
            *_root((face, 0), (face, length), root_fillet),
            (face, length),
            (face + hook_depth, nose),
            (face, end),
            (back, end),
            (back, length),
            *_root((-face, 0), (back, length), root_fillet, left=True),
        ],
        width,
    )


def _root(foot: Point, top: Point, radius: float, left: bool = False) -> list[Point | Bend]:
    """Where a side of the arm meets the body: the foot itself, or a fillet that flares out.

    The fillet touches the body's level face and the side. It runs upwards on the right side
    of the arm and downwards on the left one.
    """
    if not radius:
        return [foot]
    outward = -1 if left else 1
    rise, run = top[1] - foot[1], (top[0] - foot[0]) * outward
    along = math.hypot(rise, run)
    # Half the angle between the level face, outwards, and the side, upwards.
    reach = radius / math.tan(math.atan2(rise, run) / 2)
    level = (foot[0] + outward * reach, 0.0)
    upright = (foot[0] + outward * reach * run / along, reach * rise / along)
    centre = (level[0], radius)
    gap = math.dist(centre, foot)
    through = (
        centre[0] + (foot[0] - centre[0]) * radius / gap,
        centre[1] + (foot[1] - centre[1]) * radius / gap,
    )
    return [upright, Bend(through, level)] if left else [level, Bend(through, upright)]


def _refuse(
    length: float, root_thickness: float, tip_thickness: float, hook_depth: float, fillet: float
) -> None:
    if tip_thickness > root_thickness:
        raise RepairError(
            _(
                "tip_thickness is {tip} and root_thickness {root}; an arm is thickest at its root, so give a tip of at most {root}"
            ).format(tip=with_unit(tip_thickness), root=with_unit(root_thickness))
        )
    if hook_depth >= length:
        raise RepairError(
            _(
                "hook_depth is {hook}, deeper than its arm of {length} is long; give less than {length} or make the arm longer"
            ).format(hook=with_unit(hook_depth), length=with_unit(length))
        )
    if fillet > length / 2:
        raise RepairError(
            _("root_fillet is {fillet}; give at most {most}, half the length of the arm").format(
                fillet=with_unit(fillet), most=with_unit(length / 2)
            )
        )
