"""Which size of a step runs from one of its faces to the one across."""

from __future__ import annotations

import pytest

from workbench.solids import catalogue
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import FACES, At, Seat
from workbench.solids.size_across import size_across


def through(template, face, place=None, **values):
    whole = catalogue.find(template).complete(values)
    return size_across(template, whole, place or At(), face)


@pytest.mark.parametrize(
    ("face", "size"),
    zip(FACES, ("height", "height", "width", "width", "depth", "depth"), strict=True),
)
def test_sides_of_a_box_as_wide_as_deep(face, size):
    assert through("box", face, width=30, depth=30, height=30) == size


def test_a_turned_box_shows_another_side():
    assert through("box", "left", At(turn=90), width=30, depth=30) == "depth"
    assert through("box", "left", At(turn=45), width=30, depth=30) is None
    on_side = Seat("right of base", turn=0)
    assert through("box", "right", on_side, width=8, depth=9, height=10) == "height"


def test_rounds_and_slopes_have_none():
    assert through("cylinder", "left") is None
    assert through("cylinder", "top") == "height"
    assert through("sphere", "top") is None
    assert through("plate", "top", holes=2) == "thickness"


def test_a_step_that_follows_still_has_it():
    part = Repair("part").add("box", name="base", height=7)
    step = part.step("base")
    assert size_across(step.template, dict(step.values), step.place, "bottom") == "height"
