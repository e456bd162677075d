"""Limits between sizes: kept, or refused in a sentence with both numbers."""

from __future__ import annotations

import pytest

from workbench.solids.building.build import build
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat


def plate():
    repair = Repair("plate").add("box", name="plate", width=60, depth=20, height=3)
    repair.add("box", Seat("bottom of plate", edge="front", sink=0.4), "lip", width=40, depth=3)
    return repair.limit("lip.depth", at_most="plate.depth / 2 - 5")


@pytest.mark.parametrize(("depth", "fine"), [(5, True), (5.01, False)])
def test_at_most(depth, fine, refused):
    repair = plate().change("lip", depth=depth)
    if fine:
        build(repair)
    else:
        with refused("lip.depth is 5.01 mm and must be at most plate.depth / 2 - 5, which is 5 mm"):
            build(repair)


@pytest.mark.parametrize(("width", "fine"), [(30, True), (29.9, False)])
def test_at_least(width, fine, refused):
    repair = plate().limit("lip.width - 10", at_least="plate.depth").change("lip", width=width)
    if fine:
        build(repair)
    else:
        with refused("lip.width - 10 is 19.9 mm and must be at least plate.depth, which is 20 mm"):
            build(repair)


def test_sizes_changed_together_are_judged_together():
    repair = plate().change_all({"plate": {"depth": 12}, "lip": {"depth": 1}})
    assert build(repair).volume == pytest.approx(60 * 12 * 3 + 40 * 1 * 4.6)


def test_a_limit_goes_with_its_record_its_names_and_its_steps():
    repair = plate().rename("lip", "front lip").rename("plate", "2-te Platte")
    assert Repair.from_json(repair.to_json()) == repair
    assert repair.limits[0].steps == {"front lip", "2-te Platte"}
    assert repair.remove("front lip").limits == ()
    assert "limits" not in repair.to_json()


def test_a_limit_says_something_of_sizes_that_are_there(refused):
    with refused("limit on lip.depth is empty"):
        plate().limit("lip.depth")
    with refused("no step 'lid'"):
        plate().limit("lid.depth", at_most="lip.depth")
    with refused("box has no 'wide'"):
        plate().limit("lip.wide", at_most="lip.depth")


@pytest.mark.parametrize(("height", "fine"), [(2, True), (1.99, False), (9.01, False)])
def test_a_limit_may_be_a_number(height, fine, refused):
    repair = plate().limit("lip.height", at_least=2, at_most=9).change("lip", height=height)
    assert Repair.from_json(repair.to_json()) == repair
    if fine:
        build(repair)
    elif height < 2:
        with refused("lip.height is 1.99 mm; it must be at least 2 mm"):
            build(repair)
    else:
        with refused("lip.height is 9.01 mm; it must be at most 9 mm"):
            build(repair)


def test_a_limit_on_a_count_has_no_unit(refused):
    repair = Repair("r").add("plate", name="p", rows=2, height=40).limit("p.rows", at_most=1)
    with refused("p.rows is 2; it must be at most 1"):
        build(repair)
    with refused("p.screw is not a number"):
        repair.limit("p.screw", at_most=1)
