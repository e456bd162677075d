"""Laying a part on the bed: a true rotation, the same every time, with the chosen side down."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from workbench.solids.lay import laid, rotation, unit

part = st.floats(-1, 1)
directions = st.tuples(part, part, part)


@given(directions)
def test_rotation_turns_down_to_the_bed_and_nothing_else(down):
    assume(np.linalg.norm(down) > 1e-3)
    turn = rotation(down)
    assert np.allclose(turn @ turn.T, np.eye(3), rtol=0, atol=1e-12)
    assert np.isclose(np.linalg.det(turn), 1.0)
    assert np.allclose(turn @ unit(down), (0, 0, -1), rtol=0, atol=1e-12)


@pytest.mark.parametrize(
    "down", [(0, 0, 1), (0, 0, -1), (1, 0, 0), (0, 1, 0), (0, -1, 0), (-1, 0, 0), (0.6, 0, 0.8)]
)
def test_rounding_in_the_direction_does_not_turn_the_part_about(down):
    nudged = np.array(down) + np.array([3e-13, -2e-13, 1e-13])
    assert np.allclose(rotation(nudged), rotation(down), rtol=0, atol=1e-9)


def test_standing_as_built_changes_nothing():
    assert np.array_equal(rotation((0, 0, -1)), np.eye(3))


def test_on_its_back_the_top_points_to_the_back_of_the_bed():
    assert rotation((0, 1, 0)) @ (0, 0, 1) == pytest.approx((0, 1, 0))


@given(directions, st.lists(directions, min_size=2, max_size=12))
def test_laid_rests_on_the_bed_and_is_centred(down, points):
    assume(np.linalg.norm(down) > 1e-3)
    vertices = 40 * np.array(points)
    placed = laid(vertices, down)
    low, high = placed.min(axis=0), placed.max(axis=0)
    assert low[2] == pytest.approx(0, abs=1e-9)
    assert low[:2] + high[:2] == pytest.approx((0, 0), abs=1e-9)
    gaps = np.linalg.norm(vertices[:, None] - vertices, axis=2)
    assert np.allclose(np.linalg.norm(placed[:, None] - placed, axis=2), gaps, atol=1e-9)


@pytest.mark.parametrize(
    "down", [(0, 0, 0), (np.nan, 0, 1), (np.inf, 0, 0), (1, 0), "down", (1, "x", 0)]
)
def test_a_direction_that_points_nowhere_is_refused(down, refused):
    with refused("down", "direction"):
        unit(down)
