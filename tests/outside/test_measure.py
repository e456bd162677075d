"""Readings, outlines and pieces against published figures."""

from __future__ import annotations

import math

import pytest

from workbench.measure.outlines.outline import Outline, trapezoid
from workbench.measure.outlines.triangles import decompose
from workbench.measure.reading import Reading


def test_rectangular_distribution():
    # Eurachem/CITAC guide, appendix E.1: half-width 1.5 gives 0.87; the same rule is in
    # JCGM 100:2008, 4.3.7 (from memory).
    assert round(1.5 / math.sqrt(3), 2) == 0.87
    # A ruler with 1 mm marks has half-width 0.5.
    assert Reading(20, "ruler").uncertainty_by(0) == pytest.approx(0.5 / math.sqrt(3))


def test_digital_step():
    # JCGM 100:2008, F.2.2.1: a display that steps by d has u = d / sqrt(12) = 0.29 d.
    assert Reading(34.9).uncertainty_by(0) == pytest.approx(0.002887, abs=5e-7)
    assert round(Reading(34.9).uncertainty_by(0) / 0.01, 2) == 0.29


def test_standard_deviation_of_the_mean():
    # JCGM 100:2008, 4.4.3 (from memory): twenty temperatures, mean 100.145, experimental
    # standard deviation 1.489, of the mean 0.333.
    observed = [96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07]
    observed += [100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72]
    reading = Reading(observed)
    assert reading.value == pytest.approx(100.145, abs=5e-4)
    assert reading.scatter == pytest.approx(0.333, abs=5e-4)


def test_scatter_and_step_combine_as_root_sum_of_squares():
    # JCGM 100:2008, 5.1.2, for independent contributions.
    reading = Reading([20.0, 21.0, 22.0], "ruler")
    assert reading.uncertainty_by(0) == pytest.approx(math.sqrt(1 / 3 + 1 / 12))


def test_inch():
    # The international inch is 25.4 mm exactly (1959 agreement; from memory).
    assert Reading("1 3/8 in").value == pytest.approx(34.925, abs=1e-12)


@pytest.mark.parametrize(
    ("corners", "area"),
    [
        # Heron: sides 13, 14, 15 have area 84.
        ([(0, 0), (14, 0), (5, 12)], 84),
        # Trapezoid with bases 25, 11 and legs 13, 15: height 12, area 216.
        ([(0, 0), (25, 0), (16, 12), (5, 12)], 216),
        # Bretschneider, worked from the corners: 711.
        ([(0, 0), (40, 0), (35, 22), (4, 18)], 711),
    ],
)
def test_handbook_areas(corners, area):
    outline = Outline(corners)
    assert outline.area == pytest.approx(area)
    for way in ("triangles", "right triangles", "boxes and right triangles"):
        pieces = decompose(outline, way)
        assert sum(p.area for p in pieces) == pytest.approx(area)
        for piece in pieces:
            assert _heron(piece.points) == pytest.approx(piece.area) or piece.kind == "box"


def test_a_leaning_fin():
    # Common practice, no source: a leaning fin with a 35 base leaning out by 5 spans 40, and
    # with its mark 9 in leaves 31.
    outline = trapezoid(35, 31, 71, -5)
    assert outline.size[0] == pytest.approx(40)
    left, box, right = decompose(outline, "boxes and right triangles")
    assert (left.base, right.base) == pytest.approx((5, 9))
    assert box.base + left.base == pytest.approx(31)
    top = decompose(outline)[0]
    assert "26.0 across plus 5.0 makes 31.0 for the base" in top.steps


def test_polygon_angles():
    # Euclid I.32 and its corollary: the inside angles of n corners make 180 (n - 2) degrees.
    regular = [(math.cos(math.tau * i / 5), math.sin(math.tau * i / 5)) for i in range(5)]
    assert Outline(regular).angles == pytest.approx([108] * 5)


def _heron(points):
    sides = [math.dist(points[i], points[i - 1]) for i in range(len(points))]
    if len(sides) != 3:
        return None
    half = sum(sides) / 2
    return math.sqrt(half * math.prod(half - side for side in sides))
