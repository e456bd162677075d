"""The pieces of an outline become steps of a repair."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from workbench.errors import RepairError
from workbench.measure.piece import BOX, Piece
from workbench.solids.repair import At, Repair
from workbench.words import _


@dataclass(frozen=True)
class Placed:
    """A piece as a template, its values and where it stands."""

    template: str
    values: dict[str, Any]
    place: At


def placed(piece: Piece, thickness: float) -> Placed:
    """A piece, made ``thickness`` mm thick, standing where it lies in the outline.

    The outline's (x, y) becomes (x, z) of the repair, and the thickness runs along y, centred.
    """
    start, end = piece.points[0], piece.points[1]
    if piece.kind == BOX:
        middle = (start + end) / 2
        values = {"width": piece.base, "depth": thickness, "height": piece.height}
        return Placed("box", values, At(float(middle[0]), 0.0, float(middle[1]), tilt=piece.tilt))
    values = {
        "base": piece.base,
        "height": piece.height,
        "apex": piece.apex,
        "thickness": thickness,
    }
    return Placed(
        "triangular_prism", values, At(float(start[0]), 0.0, float(start[1]), tilt=piece.tilt)
    )


def add_pieces(
    repair: Repair, pieces: Iterable[Piece], thickness: float, name: str = "piece"
) -> Repair:
    """Add every piece to the repair as a step of its own; together they are the outline's prism.

    Parameters
    ----------
    pieces : as :func:`workbench.decompose` gives them
    thickness : of the part, in mm, centred about the sketch's plane
    name : the steps are called "piece 1", "piece 2" and so on

    Raises
    ------
    RepairError
        When there is no piece, a name is taken, or a size is out of range; the repair is then
        as it was before.
    """
    before = repair.steps
    listed = list(pieces)
    if not listed:
        raise RepairError(_("there are no pieces to add; split an outline first"))
    try:
        for count, piece in enumerate(listed, 1):
            one = placed(piece, thickness)
            repair.add(one.template, seat=one.place, name=f"{name} {count}", **one.values)
    except RepairError:
        repair.steps = before
        raise
    return repair
