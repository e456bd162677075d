"""The shelf's box and its lid, each a repair of its own, judged against each other."""

from __future__ import annotations

import pytest

from workbench import At, Repair, Slide, check
from workbench.output.notebook.bundled import folders
from workbench.output.notebook.template_notebook import read_template

RULES = ("runs into", "least gap", "way in")
LID = ("lid", "lid rails", "ridge")

#: So far the lid lies off the groove's floor and its end, in mm.
CLEAR = 0.15


def halves(**lid_sizes: float) -> tuple[Repair, Repair, At]:
    """Box and lid with the sizes of the shelf, and where the box is when the lid is shut."""
    whole = read_template(folders().templates / "sliding-box.ipynb")
    box, lid = Repair("box"), Repair("lid")
    for step in whole.steps:
        one = lid if step.name in LID else box
        place = At() if step.name == "lid" else step.place
        values = {**step.values, **(lid_sizes if step.name == "lid rails" else {})}
        (one.cut if step.cuts else one.add)(
            step.template, place, step.name, mirror=step.mirror, **values
        )
    n = {step.name: step.number for step in whole.steps}
    low = n["box"]("height") - n["rails"]("height")
    shut = n["box"]("width") / 2 - n["rails"]("depth") + n["lid"]("width") / 2
    return box, lid, At(x=-shut - CLEAR, z=-low - CLEAR)


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
