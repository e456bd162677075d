"""An outline split into triangles, or into the pieces that a print is built from."""

from __future__ import annotations

import math

import numpy as np
import shapely

from workbench import gate
from workbench.measure.outlines.caps import cap_piece, chorded
from workbench.measure.outlines.outline import Outline
from workbench.measure.outlines.path import signed_area
from workbench.measure.outlines.piece import BOX, Piece, box_piece, is_right, triangle_piece
from workbench.measure.outlines.trapezoids import boxes_and_right_triangles, split_at_height

#: The ways to split an outline.
WAYS = ("triangles", "right triangles", "boxes and right triangles")

__all__ = ["BOX", "WAYS", "Piece", "decompose"]


@gate.asked
def decompose(outline: Outline, into: str = "triangles") -> list[Piece]:
    """Split an outline into pieces that cover it without gap or overlap.

    outline : in mm, convex or not. Each arc gives one or more circular segments more, between
        it and its chord: one that bulges into the outline is taken away, its area below 0
    into :
        ``"triangles"``, the fewest there can be, n - 2 for n corners, as fat as they can be:
        of all ways to split, the one whose smallest angle is largest;
        ``"right triangles"``, each of those cut at the foot of the height on its longest side,
        unless it is right already;
        ``"boxes and right triangles"``, boxes along x, or along the outline's own sides where
        that takes fewer, with right triangles where a side leans

    The pieces come from the bottom up and from left to right.

    Raises RepairError when ``into`` is none of the ways.

    >>> from workbench.measure.outlines.outline import trapezoid
    >>> for piece in decompose(trapezoid(71, 62, 30), "boxes and right triangles"):
    ...     print(piece.kind, "-", piece.steps[0])
    box - 71.0 across minus 9.0 lean leaves 62.0
    right triangle - 71.0 across minus 62.0 leaves 9.0 of lean, over 30.0 up
    """
    gate.choice("into", into, WAYS)
    shape = outline if isinstance(outline, Outline) else Outline(outline)
    size = shape.box
    points, arcs = chorded(shape)
    if into == "triangles":
        pieces = [triangle_piece(corners, size) for corners in triangles(points)]
    elif into == "right triangles":
        whole = triangles(points)
        cuts = [
            cut for corners in whole if not is_right(corners) for cut in split_at_height(corners)
        ]
        pieces = [triangle_piece(cut.corners, size, cut.steps, True, cut.figures) for cut in cuts]
        pieces += [
            triangle_piece(corners, size, right=True) for corners in whole if is_right(corners)
        ]
    else:
        pieces = [
            box_piece(cut.corners, size, cut.steps, cut.figures)
            if len(cut.corners) == 4
            else triangle_piece(cut.corners, size, cut.steps, True, cut.figures)
            for cut in boxes_and_right_triangles(points)
        ]
    caps = [cap_piece(arc, size) for arc in arcs]
    return [*sorted(pieces, key=_reading_order), *sorted(caps, key=_taken_last)]


def triangles(points: np.ndarray) -> list[np.ndarray]:
    """The n - 2 triangles, each (3, 2) and counter-clockwise, of (n, 2) corners.

    A constrained Delaunay triangulation: no other one has a larger smallest angle.
    """
    found = shapely.constrained_delaunay_triangles(shapely.Polygon(points))
    listed = [np.array(shape.exterior.coords)[:3] for shape in found.geoms]
    return [t if signed_area(t) > 0 else t[::-1].copy() for t in listed]


def _taken_last(cap: Piece) -> tuple[bool, float, float]:
    return cap.area < 0, *_reading_order(cap)


def _reading_order(piece: Piece) -> tuple[float, float]:
    low = piece.points.min(axis=0)
    middle = piece.points.mean(axis=0)
    scale = 10.0 ** math.floor(math.log10(piece.base)) if piece.base > 0 else 1.0
    return round(float(low[1]) / scale, 3), float(middle[0])
