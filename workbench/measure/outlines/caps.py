"""An outline with arcs as a polygon and the caps between each arc and its chord."""

from __future__ import annotations

import math

import numpy as np
import shapely

from workbench.measure.outlines.outline import Outline
from workbench.measure.outlines.piece import SEGMENT, Piece, where_in
from workbench.measure.outlines.stretch import Stretch
from workbench.words import (
    _,
    area_figure,
    area_of_sum,
    measured,
    number,
    rounded,
    shown,
    shown_area,
)

#: Arcs are split this often, at most, until their chords cross nothing.
_HALVINGS = 6

#: Areas that differ by less than this share of the outline's own are equal.
_SAME = 1e-6


def chorded(outline: Outline) -> tuple[np.ndarray, list[Stretch]]:
    """(n, 2) corners of a polygon, and the arcs whose caps it has too much or too little.

    An arc turns through at most a quarter of a circle, and is halved as long as its chord
    crosses something: then the outline is the polygon, with each cap that bulges out added and
    each that bulges in taken away.
    """
    path = [part for stretch in outline.path for part in _quarters(stretch)]
    for _turn in range(_HALVINGS):
        if _stands(path, outline):
            break
        path = [
            half
            for stretch in path
            for half in (
                [stretch]
                if stretch.through is None
                else [stretch.part(0, 0.5), stretch.part(0.5, 1)]
            )
        ]
    corners = np.array([stretch.start for stretch in path])
    return corners, [stretch for stretch in path if stretch.through is not None]


def cap_piece(arc: Stretch, size: np.ndarray) -> Piece:
    """The cap of an arc as a piece; one that bulges in counts below 0.

    size : (2, 2) lower left and upper right of the whole outline, in mm
    """
    assert arc.through is not None
    points = np.array([arc.start, arc.end, arc.at(0.5)])
    points.setflags(write=False)
    bare = Piece(points, SEGMENT, "", (), arc)
    degrees = math.degrees(abs(arc.sweep))
    # From here on with the figures shown, so that a pocket calculator agrees.
    degrees, radius = rounded(degrees), shown(arc.radius)
    sine = rounded(math.sin(math.radians(degrees)), 4)
    sector = shown_area(radius**2 * 3.1416 * degrees / 360)
    corner = shown_area(radius**2 * sine / 2)
    area = shown_area(sector - corner)
    steps = (
        _(
            "{degrees}° of a circle of radius {radius}: {radius} times {radius} times 3.1416 times {degrees} over 360 is {area}"
        ).format(degrees=number(degrees), radius=measured(radius), area=area_of_sum(sector)),
        _(
            "its triangle to the middle: half of {radius} times {radius} times the sine of {degrees}°, {sine}, is {area}"
        ).format(
            degrees=number(degrees),
            radius=measured(radius),
            sine=number(sine, 4),
            area=area_of_sum(corner),
        ),
        (
            _("{sector} minus {corner} leaves {area}")
            if bare.area > 0
            else _("{sector} minus {corner} leaves {area}, to be taken away")
        ).format(sector=area_figure(sector), corner=area_figure(corner), area=area_of_sum(area)),
    )
    reckoned = math.copysign(area, bare.area)
    return Piece(points, SEGMENT, where_in(bare, size), steps, arc, reckoned)


def _quarters(stretch: Stretch) -> list[Stretch]:
    count = max(1, math.ceil(abs(stretch.sweep) / (math.pi / 2) - 1e-9))
    if count == 1:
        return [stretch]
    return [stretch.part(k / count, (k + 1) / count) for k in range(count)]


def _stands(path: list[Stretch], outline: Outline) -> bool:
    """Whether the polygon of chords, its caps added and taken away, is the outline."""
    polygon = shapely.Polygon([stretch.start for stretch in path])
    if not polygon.is_valid:
        return False
    slack = _SAME * outline.area
    for stretch in path:
        if stretch.through is None:
            continue
        cap = shapely.Polygon([*stretch.points(), stretch.end])
        inside = cap.intersection(polygon).area
        if (inside if stretch.cap > 0 else cap.area - inside) > slack + 1e-9:
            return False
    return True
