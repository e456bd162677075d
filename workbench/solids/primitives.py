"""The plain shapes that a sketch is split into."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.solids.parameters import Size

if TYPE_CHECKING:
    from build123d import Part


def box(
    width: Annotated[float, Size(0.1, 400, 0.1, measure="from left to right")] = 20.0,
    depth: Annotated[float, Size(0.1, 400, 0.1, measure="from front to back")] = 10.0,
    height: Annotated[float, Size(0.1, 400, 0.1, measure="from bottom to top")] = 5.0,
) -> Part:
    """A box that stands on its bottom, centred left to right and front to back."""
    from build123d import Align, Box

    return Box(width, depth, height, align=(Align.CENTER, Align.CENTER, Align.MIN))
