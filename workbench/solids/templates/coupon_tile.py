"""The tile that carries one piece of a coupon and tells which one it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.parameters import Count, Size, checked
from workbench.solids.shapes import numerals
from workbench.solids.shapes.profile import Point, prism
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: In mm: width and depth of a notch, margin round the figures, height of the figures, how far
#: they stand up, and the web's width and thickness: thick enough to print, and to be snapped.
NOTCH, MARGIN, FIGURES, RAISED = 1.2, 0.8, 4.6, 0.6
WEB_WIDTH, WEB_THICKNESS = 2.0, 0.8

#: Broadest stroke that leaves the figures open, and shortest web, in mm.
STROKE, SHORTEST_WEB = 1.2, 0.2

#: From the front edge to behind the figures, in mm.
MARKED = NOTCH + FIGURES + 2 * MARGIN


@facts(marks=True)
@checked
def coupon_tile(
    size: Annotated[float, Size(0.01, 999, 0.01, measure="the size that its piece has")] = 2.35,
    places: Annotated[int, Count(0, 2, measure="figures after the point")] = 2,
    notches: Annotated[int, Count(0, 12, measure="at the edge, to tell which piece it is")] = 1,
    width: Annotated[float, Size(2, 400, measure="from left to right")] = 16.0,
    depth: Annotated[float, Size(2, 100, measure="from front to back")] = 12.0,
    thickness: Annotated[float, Size(0.6, 20, 0.05, measure="through the tile")] = 1.6,
    stroke: Annotated[
        float, Size(0.4, STROKE, 0.05, measure="of the figures: two lines of the nozzle")
    ] = 0.9,
    web: Annotated[float, Size(0, 20, measure="to the next tile, at the right; 0 for none")] = 0.0,
) -> Solid:
    """A tile with its piece's size in raised figures and its number in notches.

    It lies on its back. Notches are cut into the front edge and the figures stand behind them;
    the rest is for the piece. A thin web at the right, to be snapped, leads to the next tile::

         .---------------.
        |   (the piece)   |
        |                 |===  web
        |    2 . 3 5      |
        '--|_|---|_|------'   notches

    Raises RepairError when the notches or the figures do not find room on the tile, or the web is
    too short.
    """
    text = f"{size:.{places}f}"
    across = numerals.width(text, FIGURES, stroke)
    _refuse_narrow(width, max(across + 2 * MARGIN, least_width(notches)))
    if depth < MARKED:
        raise RepairError(
            _("depth is {depth}; give at least {least}, to leave room for figures").format(
                depth=with_unit(depth), least=with_unit(MARKED)
            )
        )
    if 0 < web < SHORTEST_WEB:
        raise RepairError(
            _("web is {web}; give 0 for none, or at least {least}").format(
                web=with_unit(web, 4), least=with_unit(SHORTEST_WEB)
            )
        )
    front = -depth / 2
    tile = prism(_outline(width, depth, notches), thickness, along="z")
    raised = _figures(text, stroke, (-across / 2, front + NOTCH + MARGIN, thickness))
    if web:
        start, half = width / 2, WEB_WIDTH / 2
        strip: list[Point] = [
            (start, -half),
            (start + web, -half),
            (start + web, half),
            (start, half),
        ]
        raised.append(prism(strip, min(WEB_THICKNESS, thickness), along="z"))
    return tile.fuse(*raised).solid()


def least_width(notches: int) -> float:
    """Width in mm that a tile needs for its notches."""
    return (2 * notches + 1) * NOTCH


def _refuse_narrow(width: float, least: float) -> None:
    if width < least:
        raise RepairError(
            _("width is {width}; give at least {least}, to leave room for its marks").format(
                width=with_unit(width), least=with_unit(least)
            )
        )


def _outline(width: float, depth: float, notches: int) -> list[Point]:
    """The tile from above, with its notches in the front edge, the first one at the left."""
    x, y = width / 2, depth / 2
    edge: list[Point] = []
    for count in range(notches):
        left = -x + (2 * count + 1) * NOTCH
        right = left + NOTCH
        edge += [(left, -y), (left, -y + NOTCH), (right, -y + NOTCH), (right, -y)]
    return [(-x, -y), *edge, (x, -y), (x, y), (-x, y)]


def _figures(text: str, stroke: float, start: tuple[float, float, float]) -> list[Solid]:
    """The figures as solids, from ``start`` on: the lower left end of the text, in mm."""
    from build123d import Location

    return [
        prism(outer, RAISED, along="z", openings=openings).moved(Location(start))
        for outer, openings in numerals.outlines(text, FIGURES, stroke)
    ]
