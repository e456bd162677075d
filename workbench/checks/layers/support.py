"""Support: columns below what hangs, straight down to the bed or to the part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.overhang_chains import NEAR
from workbench.checks.layers.sections import NOTHING, STRAIGHT, grown, union
from workbench.checks.layers.slices import Slices

if TYPE_CHECKING:
    from manifold3d import CrossSection


@dataclass(frozen=True, eq=False)
class Support:
    """The support of a laid part.

    columns : its section in each layer, as pieces that do not overlap
    areas : (n,) its area in each layer, in mm²
    on_part : area of the part on which it stands, in mm²
    """

    columns: tuple[tuple[CrossSection, ...], ...]
    areas: np.ndarray
    on_part: float


def support(slices: Slices, hangs: Sequence[CrossSection | None]) -> Support:
    """Columns below what hangs, layer by layer downwards, until they land.

    A column is kept as pieces that do not overlap; they are joined only where the part may be
    in their way.

    Parameters
    ----------
    slices : the laid part
    hangs : for each layer what of it needs support, or None
    """
    count = len(slices)
    columns: list[tuple[CrossSection, ...]] = [()] * count
    areas = np.zeros(count)
    landed = 0.0
    pieces: tuple[CrossSection, ...] = ()
    for i in range(count - 2, -1, -1):
        new = hangs[i + 1]
        if new is not None:
            pieces = (*pieces, new)
        if not pieces:
            continue
        if not (slices.repeats[i + 1] or _widens(slices, i, new)):
            stood = sum(piece.area() for piece in pieces)
            left = (_joined(pieces) - slices.section(i)).simplify(STRAIGHT)
            landed += max(0.0, stood - left.area())
            pieces = (left,) if left.area() > NOTHING else ()
        columns[i] = pieces
        areas[i] = sum(piece.area() for piece in pieces)
    return Support(tuple(columns), areas, float(landed))


def _joined(pieces: Sequence[CrossSection]) -> CrossSection:
    """Pieces that lie edge to edge as one, a thousandth wider, so that no crack is left."""
    first, *others = pieces
    return union([first, *(grown(piece, NEAR / 20) for piece in others)])


def _widens(slices: Slices, i: int, new: CrossSection | None) -> bool:
    """Whether layer ``i`` lies wholly below the next, which hangs over all round by ``new``; then
    the support cannot meet it."""
    more = slices.section(i + 1).area() - slices.section(i).area()
    return new is not None and abs(new.area() - more) < NOTHING
