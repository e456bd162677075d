"""The places of the chosen step on the bench: edges, patterns, rounds and what sizes follow."""

from __future__ import annotations

import pytest

from workbench.jupyter.bench import Bench
from workbench.solids.building.seating import DIRECTIONS, face_frame
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Ring, Row
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import FACES, Seat, edges_of, ways_of


@pytest.fixture
def bench():
    repair = Repair("bracket").add("box", name="base", width=40, depth=30, height=4)
    repair.add("box", Seat("top of base"), "upright", width=20, depth=4, height=20)
    shown = Bench(repair)
    shown.choose("upright")
    return shown


def upright(bench):
    return bench.repair.step("upright")


def test_the_nine_places_are_pressed_and_named(bench):
    buttons = bench.place.nine.buttons
    assert [button.description for button in buttons].count("●") == 1
    assert "now" in buttons[4].tooltip
    back_right = next(b for b in buttons if "right and the back" in b.tooltip)
    assert buttons.index(back_right) == 2
    back_right.click()
    assert set(upright(bench).place.edges) == {"right", "back"}
    assert back_right.description == "●"
    buttons[3].click()
    assert upright(bench).place.edge == "left"
    buttons[4].click()
    assert upright(bench).place == Seat("top of base")


@pytest.mark.parametrize("face", FACES)
def test_the_picture_of_a_face_lies_as_the_face_does(face):
    """From outside: along to the right, across up, as the frame of the face has it."""
    from build123d import Box

    right, left, up, down = ways_of(face)
    assert {right, left, up, down} == set(edges_of(face))
    frame = face_frame(Box(3, 4, 5), face)
    assert frame[:3, 0] @ DIRECTIONS[right] == pytest.approx(1)
    assert frame[:3, 1] @ DIRECTIONS[up] == pytest.approx(1)


def test_an_inset_is_a_number_of_the_place(bench):
    bench.place.nine.buttons[5].click()
    bench.place.field("inset").box.value = "2,5"
    assert upright(bench).place == Seat("top of base", edge="right", inset=2.5)
    bench.place.field("lean").box.value = "10"
    assert upright(bench).place.lean == 10
    bench.place.within.value = True
    assert upright(bench).place.within


def test_each_edge_of_a_corner_has_a_number_of_its_own(bench):
    bench.place.nine.buttons[2].click()
    bench.place.field("inset_right").box.value = "7"
    bench.place.field("inset_back").box.value = "13"
    assert dict(zip(upright(bench).place.edges, upright(bench).place.insets, strict=True)) == {
        "right": 7,
        "back": 13,
    }


def test_a_sum_is_typed_where_a_number_stands(bench):
    box = bench.sizes.of(upright(bench)).fields["width"].box
    box.value = "base.width - 4"
    assert upright(bench).follows == {"width": Same("base.width - 4")}
    assert box.value == "36"
    bench.place.field("along").box.value = "(base.width - upright.width)/2"
    assert upright(bench).place.along == 2
    assert "follows (base.width" in bench.place.field("along").note.value
    box.value = "base.wide + 1"
    field = bench.sizes.of(upright(bench)).fields["width"]
    assert "there is no size base.wide" in field.refusal and upright(bench).values["width"] == 36
    box.value = "base.width -"
    assert "cannot be worked out" in field.refusal
    box.value = "20"
    assert upright(bench).values["width"] == 20 and "width" not in upright(bench).follows


def test_another_face_keeps_the_edge_where_it_has_it(bench):
    bench.place.nine.buttons[5].click()
    bench.place.face.value = "front"
    assert upright(bench).place == Seat("front of base", edge="right")
    bench.place.face.value = "left"
    assert upright(bench).place == Seat("left of base")


def test_which_way_numbers_lead_is_said_for_each_face(bench):
    assert "Along runs to the right, across to the back" in bench.place.ways.value
    bench.place.face.value = "left"
    assert "Along runs to the front, across to the top" in bench.place.ways.value


def test_patterns_and_pairs(bench):
    bench.edit(lambda repair: repair.change("upright", width=4))
    pattern = bench.place.pattern
    pattern.stands.value = "row"
    assert upright(bench).repeat == Row(2, 20)
    pattern.way.value = "across"
    assert upright(bench).repeat == Row(2, 20, "across")
    pattern.stands.value = "ring"
    assert upright(bench).repeat == Ring(3, 10)
    pattern.mirror.value = "front-back"
    assert upright(bench).mirror == "front-back"
    pattern.stands.value = "once"
    assert upright(bench).repeat is None


def test_edges_are_eased_and_taken_back(bench):
    eases = bench.place.eases
    assert "between upright and base" in eases.where.options
    eases.where.value, eases.size.value = "top of upright", "1"
    eases.button.click()
    assert [ease.where for ease in bench.repair.eases] == ["top of upright"]
    eases.where.value = "top of lid"
    eases.button.click()
    assert "top of lid" in eases.note.value
    eases.rows.children[0].children[1].click()
    assert bench.repair.eases == ()


def test_a_size_follows_and_says_so(bench):
    follow = bench.sizes.follow
    follow.size.value = "width"
    assert "base.width" in follow.text.options
    follow.text.value = "base.width - 4"
    assert upright(bench).follows == {"width": Same("base.width - 4")}
    note = bench.sizes.of(upright(bench)).fields["width"].note
    assert "follows base.width - 4" in note.value
    follow.text.value = "base.wide"
    assert "there is no size base.wide" in follow.note.value
    follow.text.value = ""
    assert upright(bench).follows == {}
    assert upright(bench).values["width"] == 36
