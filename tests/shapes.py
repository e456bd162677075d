"""Outlines that several tests share."""

from __future__ import annotations

import math

import shapely
from hypothesis import strategies as st

from workbench.measure.outlines.outline import Outline

ELL = Outline([(0, 0), (20, 0), (20, 5), (10, 5), (10, 20), (0, 20)])
COMB = Outline(
    [(0, 0), (50, 0), (50, 20), (40, 20), (40, 6), (30, 6), (30, 20), (20, 20), (20, 6), (0, 6)]
)
ARROW = Outline([(0, 0), (20, 10), (40, 0), (20, 30)])
FLAT_CORNERS = Outline([(0, 0), (10, 0), (20, 0), (30, 0), (30, 10), (15, 20), (0, 10), (0, 5)])
HOUSE = Outline([(0, 0), (40, 0), (40, 30), (20, 45), (0, 30)])
NEEDLE = Outline([(0, 0), (100, 0.02), (100, 0.05), (50, 0.04)])


@st.composite
def star_outlines(draw: st.DrawFn, most: int = 9) -> Outline:
    """Outlines with random corners round a middle: convex or not."""
    count = draw(st.integers(3, most))
    cuts = draw(st.lists(st.floats(0.3, 1.0), min_size=count, max_size=count))
    turn = draw(st.floats(0, 2 * math.pi))
    reach = draw(st.lists(st.floats(4, 40), min_size=count, max_size=count))
    angles, total = [], 0.0
    for cut in cuts:
        angles.append(turn + 2 * math.pi * total / sum(cuts))
        total += cut
    return Outline([(r * math.cos(a), r * math.sin(a)) for r, a in zip(reach, angles, strict=True)])


@st.composite
def walked_outlines(draw: st.DrawFn, most: int = 8) -> Outline:
    """Outlines through random points on a coarse grid, crossings undone: with long arms,
    corners in line, level and upright sides."""
    count = draw(st.integers(4, most))
    spot = st.tuples(st.integers(0, 8), st.integers(0, 8))
    points = draw(st.lists(spot, min_size=count, max_size=count, unique=True))
    for _ in range(200):
        crossing = _first_crossing(points)
        if crossing is None:
            break
        i, j = crossing
        points[i + 1 : j + 1] = points[i + 1 : j + 1][::-1]
    ring = [(5.0 * x, 5.0 * y) for x, y in points]
    polygon = shapely.Polygon(ring)
    if not polygon.is_valid or polygon.area == 0:
        return ELL
    return Outline(ring)


def _first_crossing(points: list[tuple[int, int]]) -> tuple[int, int] | None:
    count = len(points)
    for i in range(count):
        for j in range(i + 2, count):
            if i == 0 and j == count - 1:
                continue
            one = shapely.LineString([points[i], points[i + 1]])
            two = shapely.LineString([points[j], points[(j + 1) % count]])
            if one.crosses(two) or one.overlaps(two):
                return i, j
    return None


def outlines(most: int = 9) -> st.SearchStrategy[Outline]:
    """Simple polygons of every sort."""
    return st.one_of(star_outlines(most), walked_outlines(most))
