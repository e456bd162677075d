"""A fin: a thin upright blade, leaning or not."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.measure.outline import trapezoid
from workbench.solids.parameters import Choice, Size
from workbench.solids.profile import prism

if TYPE_CHECKING:
    from build123d import Solid

EDGES = ("square", "rounded", "tapered")


def fin(
    bottom: Annotated[float, Size(1, 300, measure="across the bottom edge")] = 35.0,
    top: Annotated[float, Size(1, 300, measure="across the top edge")] = 26.0,
    height: Annotated[float, Size(1, 300, measure="square up from the bottom edge")] = 71.0,
    inset: Annotated[
        float, Size(-300, 300, measure="from the bottom's left end to the top's left end")
    ] = -5.0,
    thickness: Annotated[float, Size(0.4, 60, 0.05, measure="through the blade")] = 1.6,
    edge: Annotated[str, Choice(EDGES, measure="how the top edge ends")] = "square",
    edge_thickness: Annotated[
        float, Size(0.2, 60, 0.05, measure="through the top edge, where it is tapered")
    ] = 0.8,
    edge_height: Annotated[
        float, Size(0.2, 300, measure="from the top edge down to where the taper begins")
    ] = 10.0,
) -> Solid:
    """A leaning blade: a trapezoid that stands on its bottom edge."""
    return prism([(x, z) for x, z in trapezoid(bottom, top, height, inset).points], thickness)
