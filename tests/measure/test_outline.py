"""Outlines: areas, angles and what is refused."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapes import outlines

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline, trapezoid
from workbench.measure.reading import Reading


@given(outlines())
@settings(max_examples=40, deadline=None)
def test_area_and_perimeter_are_those_of_shapely(outline):
    polygon = shapely.Polygon(outline.points)
    assert outline.area == pytest.approx(polygon.area, rel=1e-12)
    assert outline.sides.sum() == pytest.approx(polygon.length, rel=1e-12)
    assert polygon.exterior.is_ccw


@given(outlines())
@settings(max_examples=40, deadline=None)
def test_inside_angles_add_up(outline):
    assert outline.angles.sum() == pytest.approx(180 * (len(outline) - 2))
    assert ((outline.angles > 0) & (outline.angles < 360)).all()


@given(outlines())
@settings(max_examples=30, deadline=None)
def test_either_way_round_and_closed_or_open_is_one_outline(outline):
    ring = outline.points
    assert Outline(ring[::-1]).area == pytest.approx(outline.area)
    assert Outline([*ring, ring[0]]) == outline
    assert hash(Outline(ring)) == hash(outline)


@given(outlines(), st.floats(-500, 500), st.floats(-500, 500))
@settings(max_examples=30, deadline=None)
def test_moving_changes_neither_sides_nor_angles(outline, x, y):
    moved = outline.moved(x, y)
    assert moved.sides == pytest.approx(outline.sides, abs=1e-9)
    assert moved.angles == pytest.approx(outline.angles, abs=1e-6)
    assert moved.size == pytest.approx(outline.size)


@given(
    bottom=st.floats(1, 200),
    top=st.floats(1, 200),
    height=st.floats(1, 200),
    inset=st.floats(-150, 150),
)
def test_a_trapezoid_is_mean_width_times_height(bottom, top, height, inset):
    outline = trapezoid(bottom, top, height, inset)
    assert outline.area == pytest.approx((bottom + top) / 2 * height)
    expected = [(0, 0), (bottom, 0), (inset + top, height), (inset, height)]
    assert outline.points == pytest.approx(np.array(expected))


def test_a_trapezoid_takes_what_the_calipers_said():
    outline = trapezoid(Reading(["35.0", "35.1", "34.9"]), "1 in", "71,0", -5)
    assert outline.points[2] == pytest.approx((20.4, 71))


def test_points_cannot_be_changed():
    outline = trapezoid(35, 26, 71)
    with pytest.raises(ValueError, match="read-only"):
        outline.points[0, 0] = 1
    given_points = np.array([(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)])
    kept = Outline(given_points)
    given_points[0] = 99
    assert kept.points[0] == pytest.approx((0, 0))


@pytest.mark.parametrize(
    ("points", "told"),
    [
        ([(0, 0), (1, 0)], "2 corners; give at least 3"),
        ([], "must be pairs"),
        ("abc", "must be pairs"),
        ([(0, 0), (1, 0), (1,)], "must be pairs"),
        ([(0, 0, 0, 0, 0, 0), (1, 0), (1, 1)], "must be pairs"),
        ([(0, 0), (1, 0), (math.nan, 1)], "corner 3 is not finite"),
        ([(0, 0), (math.inf, 0), (1, 1)], "corner 2 is not finite"),
        ([(0, 0), (1, 0), (1, 0), (0, 1)], "corners 2 and 3 are the same"),
        ([(0, 0), (1, 1), (2, 2)], "no area"),
        ([(0, 0), (10, 10), (10, 0), (0, 10)], "crosses itself near"),
        ([(0, 0), (10, 0), (10, 10), (5, -3)], "crosses itself near"),
        ([(0, 0), (10, 0), (10, 10), (5, 0), (0, 10)], "crosses itself near"),
        ([(0, 0), (20_000, 0), (0, 5)], "20000 mm across; give corners in mm, at most 10000"),
        ([(0, 0), (1e308, 0), (-1e308, 5)], "inf mm across"),
    ],
)
def test_what_is_no_outline_is_told_in_words(points, told):
    with pytest.raises(RepairError, match=told):
        Outline(points)


@pytest.mark.parametrize(
    ("sizes", "told"),
    [
        ((0, 26, 71), "bottom is 0 mm; give a number above 0"),
        ((46, -37, 71), "top is -37 mm; give a number above 0"),
        ((46, 37, math.nan), "height: reading nan is not a length"),
        ((46, 37, 71, math.inf), "inset: reading inf is not a length"),
        ((46, "wide", 71), "top: reading 'wide' is not a length"),
        ((46, None, 71), "top: reading None is not a length"),
    ],
)
def test_a_bad_size_is_named(sizes, told):
    with pytest.raises(RepairError, match=told):
        trapezoid(*sizes)
