"""Shipped templates and the user's own are found the same way."""

from __future__ import annotations

from typing import Annotated

import pytest

from workbench.solids import catalogue
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.templates.tab import tab


@pytest.fixture
def own():
    @catalogue.register
    def doorstop(height: Annotated[float, Size(5, 60, 0.5, measure="under the door")] = 20.0):
        """A wedge for under a door."""
        from build123d import Box

        return Box(40, 25, height)

    yield doorstop
    catalogue._own.pop("doorstop", None)


def test_every_shipped_name_is_found():
    for name in catalogue.SHIPPED:
        assert catalogue.find(name).name == name
    assert catalogue.find(tab) is catalogue.find("tab")


def test_a_function_of_ones_own_is_found_by_name(own):
    assert "doorstop" in catalogue.names()
    assert catalogue.find("doorstop").function is own
    assert catalogue.find("doorstop").summary == "A wedge for under a door"


def test_a_function_not_seen_before_is_registered_when_it_is_used(own):
    repair = Repair("stop").add(own, height=30)
    assert repair.step("doorstop").values == {"height": 30.0}
    assert Repair.from_json(repair.to_json()) == repair


def test_a_later_function_of_the_same_name_takes_over(own):
    def doorstop(height: Annotated[float, Size(5, 60)] = 25.0):
        """Another."""

    assert catalogue.find(doorstop).function is doorstop
    assert catalogue.find("doorstop").function is doorstop


def test_shipped_names_are_taken(refused):
    def fin(height: Annotated[float, Size(5, 60)] = 20.0):
        """Not the shipped one."""

    with refused("fin is a shipped template", "another name"):
        catalogue.register(fin)


def test_an_unknown_name_lists_those_there_are(refused):
    with refused("'finn'", "did you mean fin?", "foot, gear, guide"):
        catalogue.find("finn")
