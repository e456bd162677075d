"""The pieces of an outline become steps of a repair."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import shapely

from workbench.errors import RepairError
from workbench.measure.outlines.piece import BOX, Piece
from workbench.solids.building.flat_union import STRAIGHT, united
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At
from workbench.solids.shapes.primitives import SMALLEST
from workbench.words import _


@dataclass(frozen=True)
class Placed:
    """A piece as a template, its values and where it stands."""

    template: str
    values: dict[str, Any]
    place: At
    cuts: bool = False


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


def placed_together(pieces: Sequence[Piece], thickness: float) -> list[Placed]:
    """Every piece as a step, slivers with the neighbour that they lie along.

    No plain shape is thinner than 0.2 mm; a piece that is, and that a hand would not make by
    itself, becomes one panel with its neighbour.
    """
    caps = [_cap(piece, thickness) for piece in pieces if piece.arc is not None]
    pieces = [piece for piece in pieces if piece.arc is None]
    groups = [[piece] for piece in pieces]
    shapes = [shapely.Polygon(piece.points) for piece in pieces]
    for i in sorted(range(len(pieces)), key=lambda i: _thinness(pieces[i])):
        if _thinness(pieces[i]) >= SMALLEST or len(groups) == 1:
            continue
        own = next(k for k, group in enumerate(groups) if pieces[i] in group)
        beside = _beside(own, shapes)
        if beside is not None:
            groups[beside] += groups[own]
            shapes[beside] = _one(shapes[beside], shapes[own])
            del groups[own], shapes[own]
    straight = [
        placed(group[0], thickness)
        if len(group) == 1 and _thinness(group[0]) >= SMALLEST
        else _panel(shape, thickness)
        for group, shape in zip(groups, shapes, strict=True)
    ]
    return [*straight, *caps]


def add_pieces(
    repair: Repair, pieces: Iterable[Piece], thickness: float, name: str = "piece"
) -> Repair:
    """Add the pieces to the repair, a step each; together they are the outline's prism.

    pieces : as :func:`workbench.decompose` gives them; those below 0 are cut
    thickness : of the part, in mm, centred about the sketch's plane
    name : the steps are called "piece 1", "piece 2" and so on

    Raises RepairError when there is no piece, a name is taken, or a size is out of range; the
    repair is then as it was before.
    """
    before = repair.steps
    listed = list(pieces)
    if not listed:
        raise RepairError(_("there are no pieces to add; split an outline first"))
    try:
        for count, one in enumerate(placed_together(listed, thickness), 1):
            put = repair.cut if one.cuts else repair.add
            put(one.template, seat=one.place, name=f"{name} {count}", **one.values)
    except RepairError:
        repair.steps = before
        raise
    return repair


def _thinness(piece: Piece) -> float:
    return min(piece.base, piece.height)


def _beside(own: int, shapes: Sequence[shapely.Polygon]) -> int | None:
    """The shape that shares the longest stretch of border with one of them."""
    border = shapes[own].exterior
    near = [shape.buffer(STRAIGHT, join_style="mitre") for shape in shapes]
    shared = [
        border.intersection(other).length if k != own else 0.0 for k, other in enumerate(near)
    ]
    best = max(range(len(shapes)), key=shared.__getitem__)
    joins = shared[best] > 0 and isinstance(_one(shapes[best], shapes[own]), shapely.Polygon)
    return best if joins else None


def _one(a: shapely.Polygon, b: shapely.Polygon) -> shapely.Geometry:
    return united([a, b]).simplify(2 * STRAIGHT)


def _cap(piece: Piece, thickness: float) -> Placed:
    """A circular segment: a panel between its arc and its chord."""
    (a, b), (c, d), (u, v) = piece.points.tolist()
    values = {"outline": ((a, b, 0.0, u, v), (c, d)), "thickness": thickness}
    return Placed("panel", values, At(), cuts=piece.area < 0)


def _panel(shape: shapely.Polygon, thickness: float) -> Placed:
    corners = tuple((float(x), float(y)) for x, y in shape.exterior.coords[:-1])
    return Placed("panel", {"outline": corners, "thickness": thickness}, At())
