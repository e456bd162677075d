"""A peg: round or D-shaped, that enters a hole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.solids.parameters import Choice, Size
from workbench.solids.primitives import cylinder

if TYPE_CHECKING:
    from build123d import Solid

SECTIONS = ("round", "D")


def peg(
    section: Annotated[str, Choice(SECTIONS, measure="looking at the peg's end")] = "round",
    diameter: Annotated[float, Size(1, 60, 0.05, measure="across the round")] = 5.0,
    across_flat: Annotated[
        float, Size(0.5, 60, 0.05, measure="from the flat to the far side, for a D")
    ] = 4.2,
    length: Annotated[float, Size(1, 200, measure="how far it goes in")] = 10.0,
    chamfer: Annotated[float, Size(0, 10, 0.05, measure="off the tip's edge; 0 for none")] = 0.5,
    collar: Annotated[float, Size(0, 80, measure="across the collar; 0 for none")] = 0.0,
    collar_thickness: Annotated[float, Size(0.4, 40, 0.05, measure="through the collar")] = 2.0,
    slot: Annotated[
        float, Size(0, 20, 0.05, measure="across the slot that splits it; 0 for none")
    ] = 0.0,
    slot_depth: Annotated[float, Size(0.2, 200, measure="from the tip down the slot")] = 6.0,
) -> Solid:
    """A peg that stands on its root, or on its collar, and enters a hole with its tip."""
    return cylinder(diameter, length)
