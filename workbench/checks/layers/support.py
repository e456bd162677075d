"""Support: columns below what hangs, straight down to the bed or to the part."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
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

    A column is kept as pieces that do not overlap; those are joined in whose way the part may be:
    where a face looks up below them.

    slices : the laid part
    hangs : for each layer what of it needs support, or None
    """
    count = len(slices)
    columns: list[tuple[CrossSection, ...]] = [()] * count
    areas = np.zeros(count)
    landed = 0.0
    pieces: list[_Piece] = []
    for i in range(count - 2, -1, -1):
        if pieces and not slices.repeats[i + 1]:
            met = slices.begins_below(i, np.array([piece.frame for piece in pieces])).tolist()
            below = [piece for piece, meets in zip(pieces, met, strict=True) if meets]
            # Round what stands apart the frames are closer.
            apart = np.array([frame for piece in below for frame in piece.apart])
            closer = len(apart) > len(below)
            lands = bool(below) and (not closer or slices.begins_below(i, apart).any())
            if lands or len(below) > 1:
                pieces = [piece for piece, meets in zip(pieces, met, strict=True) if not meets]
                joined = _joined(below) - slices.section(i) if lands else _joined(below)
                joined, stood = joined.simplify(STRAIGHT), sum(piece.area for piece in below)
                left = _Piece(joined, missed=stood < joined.area() + NOTHING)
                landed += max(0.0, stood - left.area)
                pieces += [left] if left.area > NOTHING else []
        # What hangs lies beside the layer below it.
        new = hangs[i + 1]
        if new is not None:
            pieces.append(_Piece(new))
        columns[i] = tuple(piece.section for piece in pieces)
        areas[i] = sum(piece.area for piece in pieces)
    return Support(tuple(columns), areas, float(landed))


@dataclass(frozen=True, eq=False)
class _Piece:
    """A piece of a column, and whether it was joined and cut in vain the last time."""

    section: CrossSection
    missed: bool = False

    @cached_property
    def area(self) -> float:
        """In mm²."""
        return self.section.area()

    @cached_property
    def frame(self) -> tuple[float, float, float, float]:
        """Least x and y and greatest x and y."""
        return self.section.bounds()

    @cached_property
    def apart(self) -> list[tuple[float, float, float, float]]:
        """The same, of each part that stands apart in it where it was cut in vain."""
        parts = self.section.decompose() if self.missed else [self.section]
        return [part.bounds() for part in parts]


def _joined(pieces: Sequence[_Piece]) -> CrossSection:
    """Pieces that lie edge to edge as one, a thousandth wider, so that no crack is left."""
    first, *others = (piece.section for piece in pieces)
    return union([first, *(grown(piece, NEAR / 20) for piece in others)])
