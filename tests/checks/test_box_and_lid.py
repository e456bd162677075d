"""The shelf's box and its lid, each a repair of its own, judged against each other."""

from __future__ import annotations

import pytest
from pairs import halves

from workbench import At, Repair, Slide, check

RULES = ("runs into", "least gap", "way in")


def told(lid: Repair, box: Repair, place: At):
    lid.against(box, at=place, motion=Slide("left", 70), gap=0.05)
    return {found.rule: found for found in check(lid).findings if found.rule in RULES}


def test_the_lid_slides_into_its_box():
    box, lid, place = halves()
    found = told(lid, box, place)
    assert set(found) == {"least gap", "way in"} and found["way in"].passed


def test_a_lid_whose_rails_are_too_wide_runs_into_its_grooves():
    box, lid, place = halves(width=2.4)
    finding = told(lid, box, place)["runs into"]
    assert finding.severity == "stop" and finding.number > 50


@pytest.mark.parametrize("lift", [1.0, 1.5])
def test_a_lid_that_is_lifted_is_caught_by_the_grooves(lift: float):
    box, lid, place = halves()
    found = told(lid, box, At(x=place.x, z=place.z - lift))
    assert "runs into" in found, "the grooves narrow upwards"
