"""A fin: a thin upright blade, leaning or not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.measure.outline import trapezoid
from workbench.solids.parameters import Size

if TYPE_CHECKING:
    from build123d import Part


def fin(
    bottom: Annotated[float, Size(1, 300, 0.1, measure="across the bottom edge")] = 35.0,
    top: Annotated[float, Size(1, 300, 0.1, measure="across the top edge")] = 26.0,
    height: Annotated[float, Size(1, 300, 0.1, measure="square up from the bottom edge")] = 71.0,
    inset: Annotated[
        float, Size(-300, 300, 0.1, measure="from the bottom's left end to the top's left end")
    ] = -5.0,
    thickness: Annotated[float, Size(0.4, 60, 0.05, measure="through the blade")] = 1.6,
) -> Part:
    """A leaning blade: a trapezoid of even thickness that stands on its bottom edge."""
    from build123d import Plane, Polygon, extrude

    outline = trapezoid(bottom, top, height, inset)
    face = Plane.XZ * Polygon(*map(tuple, outline.points), align=None)
    return extrude(face, thickness / 2, both=True)
