"""A tab: a tongue that enters a slot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.solids.parameters import Size
from workbench.solids.primitives import box

if TYPE_CHECKING:
    from build123d import Solid


def tab(
    width: Annotated[float, Size(1, 200, measure="along the slot")] = 20.0,
    length: Annotated[float, Size(0.5, 100, measure="how far it goes in")] = 5.0,
    thickness: Annotated[float, Size(0.4, 60, 0.05, measure="across the slot")] = 2.0,
    chamfer: Annotated[float, Size(0, 20, 0.05, measure="off the tip's edges; 0 for none")] = 0.4,
    barb: Annotated[float, Size(0, 5, 0.05, measure="how far the barb stands out; 0 for none")] = 0,
    barb_height: Annotated[float, Size(0, 100, measure="from the root up to the barb")] = 2.5,
) -> Solid:
    """A tongue that stands on its root and enters a slot with its tip."""
    return box(width, thickness, length)
