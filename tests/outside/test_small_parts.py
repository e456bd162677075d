"""The small-parts cylinder of 16 CFR 1501.4 against bodies whose answer is known.

1.25 in across, 1.00 to 2.25 in deep with a slanted floor (rule seen, sizes from a copy; the
shallow side from memory). Inches govern.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.spatial.transform import Rotation

from workbench.checks.cautions.small_parts import (
    DEEP,
    DIAMETER,
    DOUBT,
    RADIUS,
    SHALLOW,
    protrusion,
    small_parts,
    spread,
)

LONGEST = float(np.hypot(DIAMETER, DEEP))


def tumbled(points: np.ndarray, seed: int = 3) -> np.ndarray:
    """Points turned and moved away at random: no body comes lying as it fits."""
    rng = np.random.default_rng(seed)
    return points @ Rotation.random(random_state=seed).as_matrix().T + rng.normal(size=3) * 40


def ball(diameter: float, count: int = 900) -> np.ndarray:
    s = np.arange(count) + 0.5
    z, a = 1 - 2 * s / count, np.pi * (1 + 5**0.5) * s
    ring = np.sqrt(1 - z**2)
    return diameter / 2 * np.stack([ring * np.cos(a), ring * np.sin(a), z], axis=1)


def rod(diameter: float, length: float) -> np.ndarray:
    a = np.arange(72) * 2 * np.pi / 72
    ring = diameter / 2 * np.stack([np.cos(a), np.sin(a), 0 * a], axis=1)
    return np.concatenate([ring, ring + np.array([0, 0, length])])


def brick(*sizes: float) -> np.ndarray:
    signs = np.array(np.meshgrid([-1, 1], [-1, 1], [-1, 1])).reshape(3, -1).T
    return signs * np.array(sizes) / 2


def truncated_cylinder(scale: float = 1.0) -> np.ndarray:
    """The inside of the cylinder itself, as the corners of a fine prism."""
    a = np.arange(72) * 2 * np.pi / 72
    x, y = RADIUS * np.cos(a), RADIUS * np.sin(a)
    top = np.stack([x, y, 0 * a], axis=1)
    floor = np.stack([x, y, -(SHALLOW + RADIUS + x)], axis=1)
    return scale * np.concatenate([top, floor])


def test_sizes_are_the_rule_s():
    assert (DIAMETER, SHALLOW, DEEP) == pytest.approx((31.75, 25.4, 57.15))
    assert DEEP - SHALLOW == pytest.approx(DIAMETER)  # so the floor slants by 45 degrees


@pytest.mark.parametrize(
    ("name", "points", "fits"),
    [
        ("a ball just under 1.25 in", ball(31.7), True),
        ("a ball just over", ball(31.85), False),
        ("a coin of 1.2 in", rod(30.5, 2), True),
        ("a coin of 1.3 in, which is flat but wide", rod(33.0, 2), False),
        # Upright, a full rod reaches the floor's high side first: 1.00 in deep.
        ("a full rod, 0.99 in long", rod(31.74, 0.99 * 25.4), True),
        ("a full rod, 1.01 in long", rod(31.74, 1.01 * 25.4), False),
        # A needle lies along the longest chord, from the rim to the floor's low side.
        ("a needle just under the chord", rod(0.1, LONGEST - 0.4), True),
        ("a needle just over the chord", rod(0.1, LONGEST + 0.3), False),
        # A strip stands on edge along the same chord of the section at y = 6 mm: 63.2 mm.
        ("a strip of 12 x 63 mm", brick(12, 0.1, 63), True),
        ("a strip whose diagonal is over the chord", brick(12, 0.1, 64.5), False),
        ("a dice", brick(16, 16, 16), True),
        ("a cube of 25 mm: the narrowest round hole for it is 35 mm", brick(25, 25, 25), False),
        ("a large plate", brick(60, 20, 3), False),
        ("the inside itself, a hair smaller", truncated_cylinder(0.999), True),
        ("the inside itself, a hair larger", truncated_cylinder(1.005), False),
    ],
)
def test_bodies_with_a_known_answer(name, points, fits):
    found = small_parts(tumbled(points))
    assert found.fits is fits, name


def test_a_square_bar_goes_in_up_to_the_deepest_place_that_its_section_allows():
    """A bar of side s stands with a flat to the low side at x = sqrt(R² - (s/2)²), where the
    far edge meets the floor: it can be SHALLOW + R + x - s long, closed form."""
    side = 8.0
    length = SHALLOW + RADIUS + np.sqrt(RADIUS**2 - (side / 2) ** 2) - side
    assert small_parts(tumbled(brick(side, side, length - 0.1))).fits


def test_the_answer_can_be_checked_by_hand():
    """The placement that is returned shows what it says."""
    points = tumbled(brick(20, 20, 40))
    found = small_parts(points)
    placed = points @ found.turn.T + found.shift
    assert protrusion(placed) == pytest.approx(found.protrusion, abs=1e-9)
    assert found.turn @ found.turn.T == pytest.approx(np.eye(3), abs=1e-9)
    assert np.linalg.det(found.turn) == pytest.approx(1)
    assert not found.fits


@given(seed=st.integers(0, 10_000), count=st.integers(4, 14), turn=st.integers(0, 10_000))
def test_whatever_was_cut_to_touch_the_inside_is_found_to_fit(seed, count, turn):
    """Random bodies with all corners on the wall, floor or rim: the tightest fits there are."""
    rng = np.random.default_rng(seed)
    middle = np.array([3.0, 0.0, -18.0])
    directions = rng.normal(size=(count, 3))
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    low, high = np.zeros(count), np.full(count, 80.0)
    for _halving in range(60):  # pushed out to the surface
        half = (low + high) / 2
        inside = np.array(
            [protrusion((middle + d * h)[None]) <= 0 for d, h in zip(directions, half, strict=True)]
        )
        low, high = np.where(inside, half, low), np.where(inside, high, half)
    points = middle + directions * low[:, None]
    assert protrusion(points) <= 1e-9
    assert small_parts(tumbled(points, turn)).protrusion <= DOUBT


@given(seed=st.integers(0, 10_000))
def test_nothing_is_said_to_fit_that_is_longer_than_the_longest_chord(seed):
    rng = np.random.default_rng(seed)
    points = rng.normal(size=(8, 3)) * 4
    points[1] = points[0] + np.array([0, 0, LONGEST + 0.1])
    assert not small_parts(tumbled(points, seed)).fits


def test_orientations_are_spread_evenly():
    """No orientation is farther than 20 degrees from one of those tried."""
    tried = spread(2000)
    asked = Rotation.random(400, random_state=5).as_matrix()
    trace = np.einsum("nij,mij->nm", asked, tried).max(axis=1)
    away = np.degrees(np.arccos(np.clip((trace - 1) / 2, -1, 1)))
    assert away.max() < 20
