"""A tab: a tongue that enters a slot."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.solids.parameters import Size

if TYPE_CHECKING:
    from build123d import Part


def tab(
    width: Annotated[float, Size(1, 200, 0.1, measure="along the slot")] = 20.0,
    length: Annotated[float, Size(0.5, 100, 0.1, measure="how far it goes in")] = 5.0,
    thickness: Annotated[float, Size(0.4, 60, 0.05, measure="across the slot")] = 2.0,
) -> Part:
    """A tongue that stands on its root and enters a slot with its tip."""
    from build123d import Align, Box

    return Box(width, thickness, length, align=(Align.CENTER, Align.CENTER, Align.MIN))
