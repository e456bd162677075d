"""Parts of the shelf that need no rehearsal are known by their kind, and are quick."""

from __future__ import annotations

import os

import pytest
from shelf_marks import SHARE, SHELF, listed, takes
from turns import turn

from workbench.output.notebook.shelf import repair_at
from workbench.solids.building.build import _on_shelf, mark
from workbench.solids.geometry import bounded

QUICK = listed()


def test_the_list_is_that_of_the_shelf_as_it_is() -> None:
    assert {name: mark(repair_at(name)) for name in QUICK} == QUICK
    assert _on_shelf() == set(QUICK.values())
    assert 20 < len(QUICK) < len(SHELF), "some are not quick"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="copies the process by fork")
@pytest.mark.parametrize("name", turn(SHELF, 1, of=6))
def test_what_is_listed_is_quick_and_what_is_not_is_no_quicker(name) -> None:
    took = takes(name)
    assert took < 2 * SHARE * bounded.QUICK if name in QUICK else took > SHARE * bounded.QUICK / 2


def test_another_kind_has_another_mark() -> None:
    divider = repair_at("tray-divider")
    first = divider.steps[0]
    others = [
        divider.copy().change(first.name, height=3 * first.values["height"]),
        divider.copy().cut("cylinder", name="hole"),
        divider.copy().round(f"top of {first.name}", 0.5),
        divider.copy().round(0.5),
    ]
    assert len({mark(each) for each in (divider, *others)}) == 1 + len(others)


def test_names_and_small_changes_keep_the_mark() -> None:
    divider = repair_at("tray-divider")
    other = divider.copy().rename(divider.steps[0].name, "Wand")
    other.change("Wand", height=1.05 * other.steps[0].values["height"])
    assert mark(other) == mark(divider)
