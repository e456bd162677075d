"""The shelf's hinge as it is printed, and its two leaves as repairs judged against each other."""

from __future__ import annotations

import pytest
from pairs import hinge, leaves

from workbench import At, Repair, Slide, Turn, check
from workbench.solids.building.build import build

RULES = ("runs into", "least gap", "way in", "one piece")


def found(repair: Repair) -> dict:
    return {one.rule: one for one in check(repair).findings if one.rule in RULES}


def test_it_comes_off_the_bed_loose_and_folds_shut() -> None:
    told = found(hinge())
    assert set(told) == {"least gap", "way in"}
    assert told["way in"].passed and told["least gap"].passed
    drawn = hinge().step("gap").number("depth")
    assert 0.2 <= told["least gap"].number < drawn, "what the printer adds to both is taken off"


def test_a_gap_that_the_printer_closes_is_told_with_what_is_missing() -> None:
    finding = found(hinge(gap_depth=0.2))["least gap"]
    assert finding.severity == "warning" and finding.number < 0.2 == finding.limit


def test_leaves_thicker_than_the_barrel_is_high_catch_before_they_lie_on_each_other() -> None:
    assert found(hinge(leaves_thickness=3.4))["way in"].passed
    caught = found(hinge(leaves_thickness=3.7))["way in"]
    assert caught.severity == "warning" and "of 180°" in caught.text


def test_pivots_longer_than_their_sockets_join_the_leaves_and_it_is_a_stop() -> None:
    finding = found(hinge(sockets_height=0.5))["one piece"]
    assert finding.severity == "stop" and "knuckle" in finding.text


# -- the leaves apart --------------------------------------------------------------------------


def test_the_two_leaves_are_the_hinge() -> None:
    volumes = [build(leaf).volume for leaf in leaves()]
    assert sum(volumes) == pytest.approx(build(hinge()).volume, rel=1e-9)


SWING = Turn("y", 180)


def test_the_knuckle_turns_between_the_ends() -> None:
    first, second = leaves()
    told = found(second.against(first, motion=SWING, gap=0.2))
    assert told["way in"].passed and told["least gap"].passed


@pytest.mark.parametrize("off", [{"y": 0.8}, {"x": 1.0}, {"z": 1.0}], ids=["along", "aside", "up"])
def test_the_pivots_hold_it_and_the_way_out_is_told(off: dict[str, float]) -> None:
    first, second = leaves()
    finding = found(second.against(first, at=At(**off), motion=SWING, gap=0.2))["runs into"]
    assert finding.severity == "stop" and finding.number > 0
    assert "move it" in finding.remedy


def test_it_cannot_be_lifted_out_of_its_sockets() -> None:
    first, second = leaves()
    caught = found(second.against(first, motion=Slide("down", 20), gap=0.2))["way in"]
    assert caught.severity == "warning"
