"""Letters of any text, to stand on a part or to be cut into it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.parameters import Flag, Size, Words, checked
from workbench.solids.shapes.lettering import Piece, pieces, scaled, thinnest
from workbench.solids.shapes.profile import prism
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Compound

#: A stroke thinner than this, in mm, is lost: two lines of the common nozzle of 0.4 mm.
STROKE = 0.8


@facts(pieces=True, one_hand=True, read=("height",))
@checked
def letters(
    text: Annotated[str, Words(measure="what it says")] = "Key",
    height: Annotated[float, Size(3, 200, 0.5, measure="of a capital letter")] = 8.0,
    depth: Annotated[float, Size(0.2, 20, 0.1, measure="how far they stand out, or go in")] = 0.8,
    mirrored: Annotated[bool, Flag(measure="whether it is a stamp, read in its print")] = False,
) -> Compound:
    """Bold letters that lie flat, read from above.

    As a step that adds they are raised, sunk a little into what they sit on; as one that cuts,
    sunk by their depth, they are engraved.

    Raises RepairError naming a letter that the font lacks, or whose strokes would be too thin to
    print.
    """
    from build123d import Compound

    letter, share = thinnest(text)
    if share * height < STROKE:
        raise RepairError(
            _(
                "height is {height}, which makes the strokes of {letter!r} only {stroke} thick; give at least {most}, or other letters"
            ).format(
                height=with_unit(height),
                letter=letter,
                stroke=with_unit(share * height),
                most=with_unit(math.ceil(10 * STROKE / share) / 10),
            )
        )
    found = outlines(text, height, mirrored)
    return Compound(children=[prism(each.outline, depth, "z", each.openings) for each in found])


def outlines(text: str, height: float, mirrored: bool) -> list[Piece]:
    """The letters' outlines, their box centred; mirrored left to right for a stamp."""
    found = pieces(text, height)
    return [scaled(piece, (0, 0), (-1, 1)) for piece in found] if mirrored else found
