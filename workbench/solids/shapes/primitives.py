"""The plain shapes that a sketch is split into, and that odd parts are put together from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.parameters import Size, checked
from workbench.solids.shapes.profile import LEAST_WALL, SHORTEST, Bend, prism, turned
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: Sizes of plain shapes, in mm: from half a thin wall to as wide as beds of home printers go.
SMALLEST, LARGEST = 0.2, 400

#: A cone may be this many times as high as it is wide: beyond, it takes ten thousands of
#: triangles and could not be printed.
NEEDLE = 200


@checked
def box(
    width: Annotated[float, Size(SMALLEST, LARGEST, measure="from left to right")] = 20.0,
    depth: Annotated[float, Size(SMALLEST, LARGEST, measure="from front to back")] = 10.0,
    height: Annotated[float, Size(SMALLEST, LARGEST, measure="from bottom to top")] = 5.0,
) -> Solid:
    """A box that stands on its bottom, centred left to right and front to back."""
    x = width / 2
    return prism([(-x, 0), (x, 0), (x, height), (-x, height)], depth)


@checked
def wedge(
    width: Annotated[float, Size(SMALLEST, LARGEST, measure="along the slope's foot")] = 20.0,
    depth: Annotated[float, Size(SMALLEST, LARGEST, measure="from front to back")] = 10.0,
    height: Annotated[float, Size(SMALLEST, LARGEST, measure="at the high end")] = 5.0,
) -> Solid:
    """A ramp: upright at its left end, sloping down to nothing at its right end.

    ::

        |\\
        |  \\      height
        |____\\
         width
    """
    x = width / 2
    return prism([(-x, 0), (x, 0), (-x, height)], depth)


@checked
def triangular_prism(
    base: Annotated[float, Size(SMALLEST, LARGEST, measure="along the bottom edge")] = 20.0,
    height: Annotated[float, Size(SMALLEST, LARGEST, measure="square up to the apex")] = 15.0,
    apex: Annotated[
        float,
        Size(-LARGEST, LARGEST, measure="along the base, from its left end to below the apex"),
    ] = 0.0,
    thickness: Annotated[float, Size(SMALLEST, LARGEST, 0.05, measure="through the plate")] = 2.0,
) -> Solid:
    """A triangle of even thickness that stands on its base.

    Its corners are (0, 0), (base, 0) and (apex, height), seen from the front; the apex may lie
    beyond either end of the base.

    ::

              apex, height
              /\\
            /    \\
          /________\\
        0, 0    base, 0
    """
    return prism([(0, 0), (base, 0), (apex, height)], thickness)


@checked
def cylinder(
    diameter: Annotated[float, Size(SMALLEST, LARGEST, measure="across the round")] = 10.0,
    height: Annotated[float, Size(SMALLEST, LARGEST, measure="from end to end")] = 10.0,
) -> Solid:
    """A round bar that stands on its end."""
    radius = diameter / 2
    return turned([(0, 0), (radius, 0), (radius, height), (0, height)])


@checked
def tube(
    outside: Annotated[float, Size(SMALLEST, LARGEST, measure="across the outside")] = 12.0,
    inside: Annotated[float, Size(SMALLEST, LARGEST, measure="across the bore")] = 8.0,
    height: Annotated[float, Size(SMALLEST, LARGEST, measure="from end to end")] = 10.0,
) -> Solid:
    """A round bar with a bore through it, standing on its end."""
    most = outside - 2 * LEAST_WALL
    if inside > most:
        raise RepairError(
            _(
                "inside is {inside} and outside {outside}; give an inside of at most {most} or a larger outside"
            ).format(inside=with_unit(inside), outside=with_unit(outside), most=with_unit(most))
        )
    outer, bore = outside / 2, inside / 2
    return turned([(bore, 0), (outer, 0), (outer, height), (bore, height)])


@checked
def cone(
    bottom: Annotated[float, Size(SMALLEST, LARGEST, measure="across the bottom")] = 10.0,
    top: Annotated[float, Size(0, LARGEST, measure="across the top; 0 for a point")] = 4.0,
    height: Annotated[float, Size(SMALLEST, LARGEST, measure="square up from the bottom")] = 10.0,
) -> Solid:
    """A round shape that narrows or widens evenly to its top."""
    from build123d import Solid

    most = NEEDLE * max(bottom, top)
    if height > most:
        raise RepairError(
            _(
                "height is {height} on {across} across, a needle that would break; give at most {most} or make an end wider"
            ).format(
                height=with_unit(height), across=with_unit(max(bottom, top)), most=with_unit(most)
            )
        )
    wide, narrow = bottom / 2, top / 2
    if narrow < SHORTEST:
        # The kernel cannot turn a long thin profile that ends in a point on the axis.
        return Solid.make_cone(wide, 0, height)
    return turned([(0, 0), (wide, 0), (narrow, height), (0, height)])


@checked
def sphere(
    diameter: Annotated[float, Size(SMALLEST, LARGEST, measure="across the ball")] = 10.0,
) -> Solid:
    """A ball that rests on its lowest point."""
    radius = diameter / 2
    return turned([(0, 0), Bend((radius, radius), (0, diameter))])
