"""Rectangles on beds: all of them, apart, inside, the same way in any order."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.output.files.packing import Rectangle, Spot, pack, used

SIDES = st.floats(2, 90).map(lambda side: round(side, 2))
MANY = st.lists(st.tuples(SIDES, SIDES), min_size=1, max_size=25).map(
    lambda sides: [Rectangle(f"part {i}", w, d) for i, (w, d) in enumerate(sides)]
)


def apart(one: Spot, other: Spot) -> bool:
    return (
        one.x + one.width <= other.x + 1e-6
        or other.x + other.width <= one.x + 1e-6
        or one.y + one.depth <= other.y + 1e-6
        or other.y + other.depth <= one.y + 1e-6
    )


@settings(max_examples=15)
@given(MANY)
def test_everything_lies_inside_and_apart(rectangles: list[Rectangle]) -> None:
    beds = pack(rectangles, 100, 120)
    assert sorted(spot.rectangle for bed in beds for spot in bed) == sorted(rectangles)
    for bed in beds:
        assert all(
            spot.x >= 0
            and spot.y >= 0
            and spot.x + spot.width <= 100 + 1e-6
            and spot.y + spot.depth <= 120 + 1e-6
            for spot in bed
        )
        assert all(apart(one, other) for one, other in combinations(bed, 2))


@settings(max_examples=8)
@given(MANY, st.randoms())
def test_the_order_does_not_matter(rectangles: list[Rectangle], chance) -> None:
    other = list(rectangles)
    chance.shuffle(other)
    assert pack(other, 100, 120) == pack(rectangles, 100, 120)


def test_squares_that_just_fit_fill_one_bed() -> None:
    (bed,) = pack([Rectangle(str(i), 25, 25) for i in range(16)], 100, 100)
    assert used(bed) == pytest.approx(100 * 100)


def test_one_that_fits_turned_only_is_turned() -> None:
    ((spot,),) = pack([Rectangle("rod", 10, 150)], 160, 20)
    assert spot.turned and (spot.width, spot.depth) == (150, 10)


def test_nothing_needs_no_bed() -> None:
    assert pack([], 100, 100) == [] and used([]) == 0


def test_one_that_is_too_large_is_told_with_its_sizes(refused) -> None:
    with refused("door", "150", "101", "100", "larger bed"):
        pack([Rectangle("door", 150, 101)], 100, 100)
