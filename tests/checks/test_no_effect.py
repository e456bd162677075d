"""A cut that takes nothing away is told, with how far off it is."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.checks.no_effect import misses, rounds_nothing
from workbench.checks.report import Subject
from workbench.checks.strength.duties import duties
from workbench.output.notebook.shelf import folders
from workbench.output.notebook.template_notebook import read_template
from workbench.solids.repair import Repair
from workbench.solids.seat import At

BLOCK = {"width": 20.0, "depth": 10.0, "height": 5.0}


def found(x: float, z: float = -1.0):
    repair = Repair("block").add("box", **BLOCK)
    repair.cut("cylinder", name="hole", seat=At(x=x, z=z), diameter=4, height=10)
    return list(misses(Subject.of(repair)))


@settings(max_examples=10, deadline=None)
@given(away=st.floats(0.05, 80))
def test_a_cut_beside_the_part_is_told_with_its_distance(away):
    # The block ends at x = 10, the cylinder's wall is 2 mm from its middle.
    (told,) = found(12 + away)
    assert told.severity == "warning" and told.where == "hole"
    assert told.number == pytest.approx(away, abs=1e-6)
    assert "cuts nothing away" in told.text


@pytest.mark.parametrize(("x", "z"), [(0, -1), (11.9, -1), (0, 4.9), (0, -9.9)])
def test_a_cut_that_meets_the_part_is_not_told(x, z):
    assert found(x, z) == []


def test_a_cut_that_only_touches_takes_nothing_away():
    (told,) = found(0, 5.0)
    assert told.number == pytest.approx(0, abs=1e-9)


@pytest.mark.parametrize("path", sorted(folders().templates.glob("*.ipynb")), ids=lambda p: p.stem)
def test_nothing_on_the_shelf_cuts_past_itself(path):
    assert list(misses(Subject.of(read_template(path)))) == []


TRUSTED = ("hook", "knob", "pin", "stop", "guide", "foot", "strike", "spacer")


@pytest.mark.parametrize("template", TRUSTED)
def test_what_people_trust_with_something_has_its_caution(template):
    (told,) = duties(Subject.of(Repair("part").add(template, name="mine")))
    assert told.severity == "note" and told.where == "mine" and told.remedy


def test_a_shape_is_cautioned_once_and_a_cut_not_at_all():
    repair = Repair("two").add("box", **BLOCK).add("hook", name="one").add("hook", name="other")
    repair.cut("pin", name="hole", length=20)
    assert [told.where for told in duties(Subject.of(repair))] == ["one"]


def test_a_rounding_that_finds_only_a_box_s_edges_says_so():
    box = Repair("block").add("box", **BLOCK)
    (told,) = rounds_nothing(Subject.of(box.copy().round(1.0)))
    assert "1 mm rounds nothing" in told.text and told.severity == "note"
    assert list(rounds_nothing(Subject.of(box))) == []
    wedge = Repair("ramp").add("wedge", width=40, height=6).round(0.5)
    assert list(rounds_nothing(Subject.of(wedge))) == []
