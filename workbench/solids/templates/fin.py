"""A fin: a thin upright blade, leaning or not."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.measure.outlines.outline import trapezoid
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Choice, Size, checked
from workbench.solids.shapes.profile import Bend, Profile, prism
from workbench.words import _, lengths, sized, with_unit

if TYPE_CHECKING:
    from build123d import Solid

EDGES = ("square", "rounded", "tapered")

#: A side may lean this far from upright, in degrees: beyond it the blade ends in corners
#: sharper than 10 degrees, which can neither be printed nor measured.
FURTHEST_LEAN = 80


@facts(hangs=True)
@checked
def fin(
    bottom: Annotated[float, Size(1, 300, measure="across the bottom edge")] = 46.0,
    top: Annotated[float, Size(1, 300, measure="across the top edge")] = 37.0,
    height: Annotated[float, Size(1, 300, measure="square up from the bottom edge")] = 71.0,
    inset: Annotated[
        float,
        Size(-300, 300, measure="how far the top starts right (+) or left (-) of the bottom"),
    ] = -7.0,
    thickness: Annotated[float, Size(0.4, 60, 0.05, measure="through the blade")] = 1.6,
    edge: Annotated[str, Choice(EDGES, measure="how the top edge ends")] = "square",
    edge_thickness: Annotated[
        float, Size(0.2, 60, 0.05, measure="through the very top, where the edge is tapered")
    ] = 0.8,
    edge_height: Annotated[
        float, Size(0.2, 300, measure="from the top down to where the taper begins")
    ] = 8.0,
) -> Solid:
    """A blade of even thickness that stands on its bottom edge and may lean either way.

    Seen from the front, with its corners as in :func:`workbench.trapezoid`, and its top edge
    seen from the side::

           inset  top
         |-----|-------|          square  rounded  tapered
               .-------.           .--.     .-.      ..
              /         \\          |  |    |   |    /  \\
             /           \\         |  |    |   |   |    |
            '-------------'        |  |    |   |   |    |
                bottom

    Raises RepairError when a side would lean too far, or the edge does not fit the blade.
    """
    _refuse_lean(bottom, top, height, inset)
    corners = [(float(x), float(z)) for x, z in trapezoid(bottom, top, height, inset).points]
    blade = prism(corners, thickness)
    if edge == "square":
        return blade
    section = (
        _rounded(height, thickness)
        if edge == "rounded"
        else _tapered(height, thickness, edge_thickness, edge_height)
    )
    span = 2 * max(abs(x) for x, _z in corners) + 1
    return quick.common(blade, prism(section, span, along="x"))


def _rounded(height: float, thickness: float) -> Profile:
    half = thickness / 2
    if half >= height:
        raise RepairError(
            _(
                "edge is rounded to a radius of {radius} and the height is {height}; make the fin taller than that or its edge square"
            ).format(radius=with_unit(half), height=with_unit(height))
        )
    shoulder = height - half
    return [(-half, 0), (half, 0), (half, shoulder), Bend((0, height), (-half, shoulder))]


def _tapered(height: float, thickness: float, edge: float, taper: float) -> Profile:
    if edge >= thickness:
        raise RepairError(
            _(
                "edge_thickness is {edge}, no thinner than the thickness of {thickness}; make it thinner or the edge square"
            ).format(edge=with_unit(edge), thickness=with_unit(thickness))
        )
    if taper > height:
        raise RepairError(
            _("edge_height is {taper}; give at most the height, {height}").format(
                taper=with_unit(taper), height=with_unit(height)
            )
        )
    half, thin, shoulder = thickness / 2, edge / 2, height - taper
    return [
        (-half, 0),
        (half, 0),
        (half, shoulder),
        (thin, height),
        (-thin, height),
        (-half, shoulder),
    ]


def _refuse_lean(bottom: float, top: float, height: float, inset: float) -> None:
    reach = height * math.tan(math.radians(FURTHEST_LEAN))
    if abs(inset) > reach:
        raise RepairError(
            _(
                "inset is {inset}, so the left side would lean more than {lean}° at a height of {height}; give {low} to {high} or make the fin taller"
            ).format(
                lean=FURTHEST_LEAN,
                low=sized(-reach),
                **lengths(inset=inset, height=height, high=reach),
            )
        )
    right = inset + top - bottom
    if abs(right) > reach:
        wide = right > 0
        text = (
            _(
                "top is {top}, wider than it can be: the right side would lean more than {lean}° at a height of {height}; give at most {limit} or change the inset"
            )
            if wide
            else _(
                "top is {top}, narrower than it can be: the right side would lean more than {lean}° at a height of {height}; give at least {limit} or change the inset"
            )
        )
        limit = bottom - inset + (reach if wide else -reach)
        raise RepairError(
            text.format(lean=FURTHEST_LEAN, **lengths(top=top, height=height, limit=limit))
        )
