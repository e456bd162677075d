"""Sizes that follow others: plain arithmetic, worked out anew at each edit, circles refused."""

from __future__ import annotations

import ast
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids.building.build import build
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import LONGEST, Same
from workbench.solids.recipe.seat import At, Seat

WIDTH, THICK = 30.0, 2.5


def look(step, field):
    return {("base", "width"): WIDTH, ("front wall", "thickness"): THICK, ("a-b", "x"): 7.0}[
        step, field
    ]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("base.width", WIDTH),
        ("base.width - 2*front wall.thickness", WIDTH - 2 * THICK),
        ("(base.width - front wall.thickness) / 2", (WIDTH - THICK) / 2),
        ("-base.width + 3,5", 3.5 - WIDTH),
        ("base.width - front wall.thickness - 1", WIDTH - THICK - 1),
        ("base.width / 2 / 5", 3),
        ("2 × base.width ÷ 4 − 1", 14),
        ("- (base.width)*-2", 60),
        ("'a-b'.x * base.width", 210),
    ],
)
def test_plain_arithmetic(text, value):
    assert Same(text).value(look) == pytest.approx(value)


numbers = st.floats(0.1, 99).map(lambda x: f"{x:.3f}")
formulas = st.recursive(
    numbers | st.just("b.w"),
    lambda inner: (
        st.builds("{} {} {}".format, inner, st.sampled_from("+-*/"), inner)
        | st.builds("({})".format, inner)
        | st.builds("-{}".format, inner)
    ),
    max_leaves=8,
)


@given(formulas, st.floats(0.5, 50))
def test_it_agrees_with_python_itself(text, width):
    """Outside: the same text as Python reads it, with the size in place of its name."""
    if "b.w" not in text or len(text) > LONGEST:
        return
    code = ast.unparse(ast.parse(text.replace("b.w", f"({width!r})"), mode="eval"))
    try:
        expected = eval(code, {"__builtins__": {}})
    except ZeroDivisionError:
        expected = math.inf
    try:
        found = Same(text).value(lambda step, field: width)
    except RepairError:
        assert not math.isfinite(expected)
    else:
        assert found == pytest.approx(expected, rel=1e-12, abs=1e-12)


def test_plus_and_minus_keep_together_what_they_were_given():
    assert Same("base.width", minus="front wall.thickness + 1").value(look) == WIDTH - THICK - 1
    assert Same("base.width", plus=2, minus=0.5).value(look) == WIDTH + 1.5


@pytest.mark.parametrize(
    "text",
    ["", "  ", 5, None, "2 + 3", "base", "base.width +", "base.width 2", "2 base.width", "base.width)", "(base.width", "base.width ** 2", "base..width", "__import__('os').system('ls')", "base.width if 1 else 2", "base.width; 1", "1.2.3*base.width", "base.width" + " + 1" * 60],
)  # fmt: skip
def test_what_is_no_sum_of_sizes_is_refused(text):
    with pytest.raises(RepairError, match=r"base\.width"):
        Same(text)


@pytest.mark.parametrize("text", ["base.width / 0", "base.width / (base.width - base.width)"])
def test_a_quotient_by_nothing_is_refused(text, refused):
    with refused("divides by 0", text):
        Same(text).value(look)


def test_no_depth_of_brackets_breaks_it():
    deep = "(" * 90 + "base.width" + ")" * 90
    assert Same(deep).value(look) == WIDTH
    assert Same("-" * 150 + "base.width").value(look) == WIDTH


# -- in a repair -------------------------------------------------------------------------------


def bracket():
    repair = Repair("bracket").add("box", name="base", width=40, depth=30, height=4)
    return repair.add(
        "box",
        Seat("top of base", edge="back", inset=0),
        "upright",
        width=Same("base.width"),
        depth=Same("base.height"),
        height=20,
    )


def test_a_size_follows_at_every_edit():
    repair = bracket()
    assert build(repair).volume == pytest.approx(40 * 30 * 4 + 40 * 4 * 20)
    repair.change("base", width=50, height=5)
    assert repair.step("upright").values == {"width": 50, "depth": 5, "height": 20}
    assert build(repair).volume == pytest.approx(50 * 30 * 5 + 50 * 5 * 20)


def test_a_chain_is_followed_in_any_order():
    repair = bracket()
    repair.change("base", depth=Same("upright.height * 2"))
    repair.change("upright", height=Same("upright.width / 4"))
    assert repair.step("base").values["depth"] == 20


def test_a_plain_number_ends_it_and_a_reading_too():
    repair = bracket().change("upright", width=25)
    repair.change("base", width=60)
    assert repair.step("upright").values["width"] == 25
    assert "width" not in repair.step("upright").follows
    repair.change("upright", depth=Reading([3.0, 3.2]))
    assert repair.step("upright").follows == {}
    repair.change("upright", depth=Same("base.height"))
    assert "upright.depth" not in repair.readings


def test_a_record_reads_back_equal_and_goes_on_following():
    repair = bracket()
    repair.change("upright", place=Seat("top of base", along=Same("base.width / 8")))
    again = Repair.from_json(repair.to_json())
    assert again == repair
    again.change("base", width=80)
    assert (again.step("upright").values["width"], again.step("upright").place.along) == (80, 10)


def test_a_place_elsewhere_follows_no_more():
    repair = bracket().change("upright", place=Seat("top of base", along=Same("base.width / 8")))
    repair.change("upright", place=At(z=4))
    assert set(repair.step("upright").follows) == {"width", "depth"}


def test_a_count_follows_whole_numbers_only(refused):
    repair = Repair("r").add("plate", name="a", holes=2, width=60)
    repair.add("plate", At(y=30), "b", holes=Same("a.holes * 2"), width=80, spacing=15)
    assert repair.step("b").values["holes"] == 4
    with refused("b: holes, which follows a.holes / 4,", "whole number"):
        repair.change("b", holes=Same("a.holes / 4"))


def changed(repair, **values):
    before = repair.to_json()
    with pytest.raises(RepairError) as caught:
        repair.change("base", **values)
    assert repair.to_json() == before  # a refused edit changes nothing
    return str(caught.value)


def test_circles_are_refused_by_name():
    repair = bracket().change("upright", height=Same("upright.width + 1"))
    said = changed(repair, width=Same("upright.height"))
    assert "base.width → upright.height → upright.width → base.width" in said
    assert "base.width → base.width" in changed(repair, width=Same("base.width"))


def test_what_is_not_there_is_named_with_what_is():
    assert "no step for lid.width; steps: base, upright" in changed(
        bracket(), width=Same("lid.width")
    )
    said = changed(bracket(), width=Same("upright.wide"))
    assert "base.width follows upright.wide" in said
    assert "its step has width, depth, height, place.inset" in said


def test_out_of_its_range_it_says_what_it_follows():
    said = changed(bracket(), height=Same("base.width * 11"))
    assert "base: height, which follows base.width * 11, is 440 mm; give 0.2 to 400 mm" in said


def test_words_do_not_follow(refused):
    repair = Repair("r").add("plate", name="a")
    with refused("a: screw is not a number"):
        repair.change("a", screw=Same("a.width"))
    with refused("a.screw is not a number"):
        repair.change("a", width=Same("a.screw"))


def test_a_step_that_is_followed_stays(refused):
    repair = Repair("r").add("box", name="a").add("box", At(10), "b", width=Same("a.width"))
    with refused("b.width follows a"):
        repair.remove("a")
    repair.change("b", width=3).remove("a")


@pytest.mark.parametrize(("old", "new"), [("base", "Fuß links"), ("front wall", "2-te Wand")])
def test_a_renamed_step_is_followed_still(old, new):
    same = Same("base.width - 2*front wall.thickness").renamed(lambda n: new if n == old else n)
    assert new in [step for step, _field in same.sizes]
    assert same.value(lambda step, field: 30.0 if field == "width" else 2.5) == 25


def test_renaming_a_step_keeps_what_follows_it():
    repair = bracket().rename("base", "foot plate").rename("upright", "2-te Wand")
    repair.change("foot plate", width=44)
    assert repair.step("2-te Wand").values["width"] == 44
    assert Repair.from_json(repair.to_json()) == repair


def test_a_place_by_itself_follows_sizes_as_a_seat_does() -> None:
    part = Repair("x").add("box", name="base", width=30, depth=20, height=6)
    part.add("box", At(x=Same("base.width / 2"), z=Same("base.height - 0.5"), tilt=90), "arm")
    assert (part.step("arm").place.x, part.step("arm").place.z) == (15, 5.5)
    assert part.change("base", width=40).step("arm").place.x == 20
    assert Repair.from_json(part.to_json()) == part


@pytest.mark.parametrize(
    ("text", "more", "comes_to"),
    [
        ("base.width - 2 mm", {}, 28),
        ("base.width * .5", {}, 15),
        ("base.width", {"minus": 1e-5}, 29.99999),
        ("base.width", {"minus": Same("base.depth", plus=1)}, 9),
        ("base.width", {"plus": Reading(2.5)}, 32.5),
        ("base.width", {"minus": -3}, 33),
    ],
)
def test_what_is_added_may_be_written_in_any_way(text, more, comes_to) -> None:
    sizes = {"width": 30.0, "depth": 20.0}
    assert Same(text, **more).value(lambda _step, field: sizes[field]) == pytest.approx(comes_to)


@pytest.mark.parametrize("more", [{"minus": [1]}, {"plus": float("nan")}, {"plus": None}])
def test_what_cannot_be_added_is_told(more) -> None:
    with pytest.raises(RepairError, match="cannot be worked out"):
        Same("base.width", **more)


@pytest.mark.parametrize("given", [5, None, "", 3.2])
def test_what_is_no_size_is_shown_as_it_was_given(given) -> None:
    with pytest.raises(RepairError, match=f"size to follow is {given!r};"):
        Same(given)


def test_a_sum_that_is_too_long_is_told_how_long_it_may_be():
    assert Same("b.w" + " + b.w" * 32).sizes == (("b", "w"),)
    with pytest.raises(RepairError) as error:
        Same("b.w" + " + b.w" * 40)
    told = str(error.value)
    assert "243 characters" in told and f"at most {LONGEST}" in told and "\n" not in told
