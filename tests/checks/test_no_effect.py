"""A step that changes nothing, or is mostly gone in the end, is told with those that see to that."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from turns import turn

from workbench.checks.no_effect import comes_out_nowhere, no_effect, rounds_nothing
from workbench.checks.strength.duties import duties
from workbench.checks.subject import Subject
from workbench.output.notebook import shelf
from workbench.output.notebook.template_notebook import read_template
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat

BLOCK = {"width": 20.0, "depth": 10.0, "height": 5.0}


def found(x: float, z: float = -1.0):
    repair = Repair("block").add("box", **BLOCK)
    repair.cut("cylinder", name="hole", seat=At(x=x, z=z), diameter=4, height=10)
    return list(no_effect(Subject.of(repair)))


@settings(max_examples=10, deadline=None)
@given(away=st.floats(0.05, 80))
def test_a_cut_beside_the_part_is_told_with_its_distance(away):
    # The block ends at x = 10, the cylinder's wall is 2 mm from its middle.
    (told,) = found(12 + away)
    assert told.severity == "warning" and told.where == "hole"
    assert told.number == pytest.approx(away, abs=1e-6)
    assert "takes nothing away" in told.text


@pytest.mark.parametrize(("x", "z"), [(0, -1), (11.9, -1), (0, 4.9), (0, -9.9)])
def test_a_cut_that_meets_the_part_is_not_told(x, z):
    assert found(x, z) == []


def test_a_cut_that_only_touches_takes_nothing_away():
    (told,) = found(0, 5.0)
    assert told.number == pytest.approx(0, abs=1e-9)


def told(repair):
    return [(f.rule, f.where, f.severity, f.text) for f in no_effect(Subject.of(repair))]


def block(**sizes):
    return Repair("block").add("box", name="body", **(BLOCK | sizes))


def test_a_step_inside_another_adds_nothing_whichever_stands_first():
    inner = {"name": "inner", "width": 4, "depth": 4, "height": 5}
    said = "inner adds nothing: it lies inside body."
    assert told(block().add("box", **inner)) == [("adds nothing", "inner", "warning", said)]
    assert told(block().add("box", **inner).move("inner", -1))[0][3] == said
    # A tenth of a millimetre out of the top, it adds 1.6 mm³.
    assert told(block().add("box", **(inner | {"height": 5.1}))) == []


def test_of_two_equal_steps_the_second_adds_nothing():
    ((rule, where, _severity, text),) = told(block().duplicate("body", "again"))
    assert (rule, where) == ("adds nothing", "again") and "inside body" in text


def test_round_steps_in_one_place_add_nothing_though_their_triangles_differ():
    repair = Repair("r").add("cylinder", name="one", diameter=8, height=9)
    repair.add("cylinder", name="other", seat=At(turn=7), diameter=8, height=9)
    assert [said[:2] for said in told(repair)] == [("adds nothing", "other")]


@pytest.mark.parametrize(("width", "found"), [(9.9, []), (10.1, ["note"]), (19, ["note"])])
def test_a_step_is_cut_away_when_more_than_half_of_it_is(width, found):
    repair = Repair("r").add("box", name="base", width=60, depth=30, height=4)
    repair.add("box", name="tower", seat=At(z=3), **BLOCK)
    repair.cut("box", name="room", seat=At(z=3), width=width, depth=10, height=9)
    assert [said[2] for said in told(repair)] == found
    if found:
        left = round(100 * (1 - width / 20))
        assert told(repair)[0][3] == f"tower is cut away: {left} % of it is left after room."


def test_a_room_or_a_bore_that_hollows_a_step_is_meant():
    """What is left looks whole from two of three sides, to 2 % of its outline."""
    repair = Repair("r").add("box", name="cover", **BLOCK)
    repair.cut("box", name="room", seat=At(z=1), width=18, depth=8, height=9)
    assert told(repair) == []
    repair.add("cylinder", "bottom of cover", "spout", diameter=6, height=4)
    repair.cut("cylinder", At(z=-4), "bore", diameter=5, height=10)
    assert told(repair) == []


@pytest.mark.parametrize(("slit", "found"), [(0.38, []), (0.42, ["cover"])])
def test_a_step_of_which_an_outline_goes_too_is_cut_away(slit, found):
    """A room down to the floor, and a slit through both its long walls: 2 % of 20 mm are 0.4."""
    repair = Repair("r").add("box", name="floor", width=30, depth=20, height=2)
    repair.add("box", At(z=2), "cover", **BLOCK)
    repair.cut("box", At(z=2), "room", width=18, depth=8, height=9)
    repair.cut("box", At(z=2), "slit", width=slit, depth=12, height=9)
    assert [said[1] for said in told(repair)] == found


def test_a_cut_seated_on_what_it_takes_most_of_is_meant():
    repair = Repair("r").add("box", name="floor", width=30, depth=20, height=2)
    repair.add("box", At(z=2), "tower", **BLOCK).cut("box", At(z=2), "room", width=12, depth=10)
    assert [said[1] for said in told(repair)] == ["tower"]
    assert told(repair.change("room", place=Seat("top of tower", sink=5))) == []


def test_a_loose_pin_in_its_bore_fills_nothing():
    repair = block(height=12.0).cut("cylinder", At(z=1), "bore", diameter=8, height=20)
    repair.add("cylinder", At(z=1), "pin", diameter=7.6, height=11)
    assert told(repair) == []


def test_a_step_that_is_gone_is_cut_away():
    repair = Repair("r").add("box", name="base", width=60, depth=30, height=4)
    repair.add("box", name="tower", seat=At(z=4), **BLOCK)
    repair.cut("box", name="room", seat=At(z=4), width=30, depth=20, height=9)
    text = "tower is cut away: nothing of it is left after room."
    assert told(repair) == [("is cut away", "tower", "warning", text)]
    assert told(repair.move("room", -1))[0][:2] == ("cut takes nothing away", "room")
    assert "it stands above tower in the list" in told(repair)[0][3]


def test_a_cut_that_is_filled_again_takes_nothing_away():
    repair = block().cut("box", name="room", seat=At(z=1), width=16, depth=6, height=8)
    plug = {"name": "plug", "seat": At(z=1), "depth": 6, "height": 4}
    assert told(repair.copy().add("box", **plug, width=7.9)) == []
    ((rule, where, severity, text),) = told(repair.copy().add("box", **plug, width=8.1))
    assert (rule, where, severity) == ("cut takes nothing away", "room", "note")
    assert text == "51 % of what room takes away is filled again by plug."
    ((_rule, where, severity, text),) = told(repair.copy().add("box", **plug, width=16))
    assert (where, severity) == ("room", "warning") and "filled again by plug" in text


def closed(repair):
    return [(f.where, f.severity, f.text) for f in comes_out_nowhere(Subject.of(repair))]


@pytest.mark.parametrize(
    ("sink", "is_closed"), [(6.0, False), (6.1, True), (9.9, True), (10.0, False)]
)
def test_a_cut_that_comes_out_nowhere_is_told(sink, is_closed):
    repair = Repair("r").add("box", name="base", width=30, depth=30, height=10)
    repair.cut("cylinder", Seat("top of base", along=10, sink=3), "bore", diameter=4, height=3)
    repair.cut("cylinder", Seat("top of base", sink=sink), "hole", diameter=8, height=6)
    text = "hole comes out nowhere: it leaves a closed hollow inside."
    assert closed(repair) == ([("hole", "warning", text)] if is_closed else [])


def test_a_room_for_what_is_loose_may_be_closed():
    repair = Repair("rattle").add("box", name="base", width=30, depth=30, height=14)
    repair.cut("sphere", At(z=2), "room", diameter=10)
    assert [where for where, *_rest in closed(repair)] == ["room"]
    repair.add("sphere", At(z=3), "ball", diameter=8).let_loose("ball", gap=1)
    assert closed(repair) == []


def test_a_cut_into_what_another_took_takes_nothing_away():
    repair = block().cut("cylinder", name="bore", diameter=6, height=9)
    repair.cut("cylinder", name="hole", seat=At(turn=5), diameter=6, height=9)
    ((_rule, where, _severity, text),) = told(repair)
    assert where == "hole" and "bore took all of it first" in text
    repair.change("hole", diameter=6.2)
    assert [said[1] for said in told(repair)] == ["bore"]


def test_a_slit_on_a_round_side_that_stays_outside_is_told():
    repair = Repair("r").add("cylinder", name="bar", diameter=20, height=30)
    repair.cut("box", name="slit", seat="right of bar", width=2, depth=8, height=3)
    ((_rule, where, _severity, text),) = told(repair)
    assert where == "slit" and "it only touches the part." in text
    moved = repair.copy().change("slit", place=Seat("right of bar", sink=-0.01))
    assert "misses the part by 0.01 mm" in told(moved)[0][3]
    assert told(repair.change("slit", place=Seat("right of bar", sink=1))) == []


def test_a_thin_shaving_is_something():
    """It is less than the triangles are off a round, and the kernel says that it is there."""
    repair = Repair("r").add("cylinder", name="bar", diameter=20, height=30)
    repair.cut("box", name="flat", seat=At(x=14.95), width=10, depth=10, height=40)
    assert told(repair) == []
    assert told(repair.change("flat", place=At(x=15.05)))[0][1] == "flat"


def test_what_holds_others_together_does_something():
    repair = Repair("r").add("box", name="left", seat=At(x=-6), width=10)
    repair.add("box", name="right", seat=At(x=6), width=10)
    repair.add("box", name="web", width=2.02, depth=0.2, height=0.2)
    assert told(repair) == []


@pytest.mark.parametrize("path", turn(shelf.paths(), 1, of=2), ids=lambda path: path.stem)
def test_every_step_on_the_shelf_does_something(path):
    assert list(no_effect(Subject.of(read_template(path)))) == []


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
