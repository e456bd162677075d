"""Profiles of lines and arcs, and what stands on them."""

from __future__ import annotations

import math

import pytest

from workbench.solids.shapes.profile import SHORTEST, Bend, Opening, prism, turned

RECTANGLE = [(0.0, 0.0), (4.0, 0.0), (4.0, 3.0), (0.0, 3.0)]
#: A rectangle with a half-round end.
TONGUE = [(0.0, 0.0), (4.0, 0.0), Bend((5.5, 1.5), (4.0, 3.0)), (0.0, 3.0)]


@pytest.mark.parametrize(
    ("along", "low", "high"),
    [("y", (0, -1, 0), (4, 1, 3)), ("x", (-1, 0, 0), (1, 4, 3)), ("z", (0, 0, 0), (4, 3, 2))],
)
def test_the_thickness_runs_along_an_axis(along, low, high):
    box = prism(RECTANGLE, 2, along).bounding_box()
    assert tuple(box.min) == pytest.approx(low)
    assert tuple(box.max) == pytest.approx(high)


@pytest.mark.parametrize("along", ["x", "y", "z"])
@pytest.mark.parametrize("clockwise", [False, True])
def test_either_way_round_makes_the_same_solid(along, clockwise):
    half = math.pi * 1.5**2 / 2
    back = [(0.0, 3.0), (4.0, 3.0), Bend((5.5, 1.5), (4.0, 0.0)), (0.0, 0.0)]
    solid = prism(back if clockwise else TONGUE, 2, along, [Opening(1, (2, 1.5))])
    assert solid.is_valid
    assert solid.volume == pytest.approx(2 * (12 + half - math.pi / 4))


def test_an_opening_may_have_any_outline():
    hole = [(1.0, 1.0), (2.0, 1.0), (1.0, 2.0)]
    for opening in (hole, hole[::-1]):
        solid = prism(RECTANGLE, 2, "z", [opening])
        assert solid.is_valid
        assert solid.volume == pytest.approx(2 * (12 - 0.5))


def test_sides_too_short_to_matter_are_left_out():
    near = [*RECTANGLE[:2], (4.0, SHORTEST / 2), *RECTANGLE[2:]]
    assert len(prism(near, 2).faces()) == 6


def test_a_turned_profile_is_a_ring():
    solid = turned([(3, 0), (4, 0), (4, 2), (3, 2)])
    assert solid.is_valid
    # Pappus: area times the way of its middle.
    assert solid.volume == pytest.approx(2 * 2 * math.pi * 3.5)
