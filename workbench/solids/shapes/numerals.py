"""Figures of plain strokes, wide enough for a nozzle to draw and for a finger to feel."""

from __future__ import annotations

from shapely import LinearRing, box, union_all

from workbench.errors import RepairError
from workbench.words import _

Ring = list[tuple[float, float]]

#: The strokes of each figure on a grid two wide and four high, as (from, to) corners; strokes
#: run along the grid's lines.
#:
#: ::
#:
#:     (0,4)---(2,4)
#:       |       |
#:     (0,2)---(2,2)
#:       |       |
#:     (0,0)---(2,0)
_STROKES = {
    "0": [(0, 0, 0, 4), (2, 0, 2, 4), (0, 0, 2, 0), (0, 4, 2, 4)],
    "1": [(1, 0, 1, 4), (0, 0, 2, 0), (0, 4, 1, 4)],
    "2": [(0, 4, 2, 4), (2, 2, 2, 4), (0, 2, 2, 2), (0, 0, 0, 2), (0, 0, 2, 0)],
    "3": [(2, 0, 2, 4), (0, 0, 2, 0), (0, 2, 2, 2), (0, 4, 2, 4)],
    "4": [(0, 2, 0, 4), (0, 2, 2, 2), (2, 0, 2, 4)],
    "5": [(0, 4, 2, 4), (0, 2, 0, 4), (0, 2, 2, 2), (2, 0, 2, 2), (0, 0, 2, 0)],
    "6": [(0, 0, 0, 4), (0, 4, 2, 4), (0, 2, 2, 2), (2, 0, 2, 2), (0, 0, 2, 0)],
    "7": [(0, 4, 2, 4), (2, 0, 2, 4)],
    "8": [(0, 0, 0, 4), (2, 0, 2, 4), (0, 0, 2, 0), (0, 2, 2, 2), (0, 4, 2, 4)],
    "9": [(2, 0, 2, 4), (0, 0, 2, 0), (0, 2, 2, 2), (0, 4, 2, 4), (0, 2, 0, 4)],
    ".": [(0, 0, 0, 0)],
}


def outlines(text: str, height: float, stroke: float) -> list[tuple[Ring, list[Ring]]]:
    """Each figure as an outline with its openings, corners (x, y) in mm, from (0, 0) on.

    text : figures and points, such as "2.35"
    height : of a figure, in mm, from the bottom of its lowest stroke to the top of its highest
    stroke : width of the strokes, in mm

    >>> [len(openings) for _outer, openings in outlines("8.6", 5.0, 1.0)]
    [2, 0, 1]
    """
    unit = (height - stroke) / 4
    listed: list[tuple[Ring, list[Ring]]] = []
    left = 0.0
    for figure in text:
        if figure not in _STROKES:
            raise RepairError(
                _("{text!r} is not made of figures; give a number such as 2.35").format(text=text)
            )
        strokes = [
            box(left + x0 * unit, y0 * unit, left + x1 * unit + stroke, y1 * unit + stroke)
            for x0, y0, x1, y1 in _STROKES[figure]
        ]
        shape = union_all(strokes).simplify(0)
        listed.append((_ring(shape.exterior), [_ring(inner) for inner in shape.interiors]))
        left += _advance(figure, unit, stroke)
    return listed


def width(text: str, height: float, stroke: float) -> float:
    """How wide a number comes out, in mm.

    >>> width("1", 5.0, 1.0)
    3.0
    """
    unit = (height - stroke) / 4
    return sum(_advance(figure, unit, stroke) for figure in text) - stroke if text else 0.0


def _ring(ring: LinearRing) -> Ring:
    return [(float(x), float(y)) for x, y in ring.coords[:-1]]


def _advance(figure: str, unit: float, stroke: float) -> float:
    """From the left edge of one figure to that of the next: one stroke's width lies between."""
    return (0.0 if figure == "." else 2 * unit) + 2 * stroke
