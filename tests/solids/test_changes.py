"""Two states of a repair: what differs, in words, and both hands' changes laid together."""

from __future__ import annotations

import json
from random import Random

import pytest
from edits import edit, random_repair
from hypothesis import given
from hypothesis import strategies as st

from workbench.solids.recipe.changes import differences, edit_in_words, same
from workbench.solids.recipe.merge import merged, row_of
from workbench.solids.recipe.patch import patch, patched
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat

SEEDS = st.integers(0, 2**32)


def divider() -> Repair:
    return (
        Repair("tray divider")
        .add("fin", name="blade", bottom=37, top=28, height=66, thickness=1.6)
        .add("tab", seat="bottom of blade", name="foot", width=29, length=4.2, thickness=2.4)
    )


def with_(repair: Repair, *calls) -> Repair:
    other = repair.copy()
    for call in calls:
        call(other)
    return other


def width(value):
    return lambda repair: repair.change("foot", width=value)


def height(value):
    return lambda repair: repair.change("blade", height=value)


# -- a patch --------------------------------------------------------------------------------

PLAIN = st.recursive(
    st.none() | st.booleans() | st.integers(-9, 9) | st.floats(-9, 9) | st.text(max_size=4),
    lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.text(max_size=3), inner),
    max_leaves=12,
)


@given(PLAIN, PLAIN)
def test_a_patch_leads_there_and_back(a, b):
    changes = json.loads(json.dumps(patch(a, b)))
    assert patched(a, changes) == b and patched(b, changes, back=True) == a


@given(SEEDS)
def test_a_patch_of_one_edit_is_small_and_exact(seed):
    rng = Random(seed)
    repair = random_repair(rng, rng.randint(3, 8))
    before = row_of(repair)
    edit(rng, repair)
    changes = patch(before, row_of(repair))
    assert patched(before, changes) == row_of(repair)
    assert patched(row_of(repair), changes, back=True) == before
    assert len(json.dumps(changes)) < 0.6 * len(json.dumps(before))


def test_a_patch_of_other_data_is_refused_not_forced():
    changes = patch({"a": [1, 2, 3]}, {"a": [1, 3]})
    with pytest.raises(ValueError):
        patched({"a": [4, 5, 6]}, changes)


# -- words ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (width(31), "width of foot"),
        (lambda r: r.add("box", name="rib"), "add rib"),
        (lambda r: r.remove("foot"), "remove foot"),
        (lambda r: r.rename("foot", "grip"), "rename foot"),
        (lambda r: r.move("foot", -1), "order of the steps"),
        (lambda r: r.change("foot", width=31, length=5), "sizes of foot"),
        (lambda r: r.change("foot", place=Seat("top of blade")), "place of foot"),
        (lambda r: setattr(r, "material", "PETG"), "material"),
        (lambda r: r.fit("foot", "thickness", "2.6 mm"), "fit of thickness of foot"),
        (lambda r: (r.change("foot", width=31), setattr(r, "material", "ABS")), "2 values"),
    ],
)
def test_an_edit_is_named_as_a_person_would(change, words):
    before = divider()
    assert edit_in_words(row_of(before), row_of(with_(before, change))) == words


@given(SEEDS)
def test_no_difference_means_the_same_and_every_edit_is_one(seed):
    rng = Random(seed)
    repair = random_repair(rng, 4)
    before = row_of(repair)
    assert differences(before, before) == []
    edit(rng, repair)
    assert differences(before, row_of(repair))


def test_what_no_caliper_can_tell_is_the_same_and_what_it_can_is_not():
    assert same({"a": [34.9, 2]}, {"a": [34.9 + 1e-10, 2]})
    assert not same(34.9, 34.9 + 1e-8)


# -- both hands -----------------------------------------------------------------------------


def test_what_changed_on_one_side_only_is_taken_from_there():
    base = divider()
    both = merged(base, with_(base, width(31)), with_(base, height(70)))
    assert both.lines == ()
    assert both.repair.step("foot").values["width"] == 31
    assert both.repair.step("blade").values["height"] == 70


def test_what_changed_on_both_is_the_cells_and_a_line_says_which_value_gave_way():
    base = divider()
    both = merged(base, with_(base, width(31)), with_(base, width(33), height(70)))
    assert both.repair.step("foot").values["width"] == 31
    assert both.repair.step("blade").values["height"] == 70
    (line,) = both.lines
    assert "width of foot" in line and "31" in line and "33" in line


def test_a_step_added_on_each_side_is_there_after_its_predecessor():
    base = divider()
    cells = with_(base, lambda r: r.add("box", name="rib"))
    bench = with_(base, lambda r: r.add("box", name="nub"), lambda r: r.move("nub", -1))
    both = merged(base, cells, bench)
    assert [s.name for s in both.repair.steps] == ["blade", "nub", "foot", "rib"]
    assert both.lines == ()


def test_a_step_that_one_side_took_out_and_the_other_changed():
    base = divider()
    out = with_(base, lambda r: r.remove("foot"))
    changed = with_(base, width(31))
    gone, stays = merged(base, out, changed), merged(base, changed, out)
    assert len(gone.repair.steps) == 1 and "foot" in gone.lines[0]
    assert stays.repair == changed and "foot" in stays.lines[0]


def test_a_step_set_on_one_that_the_other_side_took_out():
    base = divider().add("box", seat="top of foot", name="rib")
    out = with_(base, lambda r: r.remove("rib"))
    more = with_(base, lambda r: r.add("box", seat="top of rib", name="nub"))
    on_bench, in_cells = merged(base, out, more), merged(base, more, out)
    assert [s.name for s in on_bench.repair.steps] == ["blade", "foot"] and on_bench.lines
    assert [s.name for s in in_cells.repair.steps] == ["blade", "foot", "rib", "nub"]
    assert in_cells.lines


def test_a_renamed_step_is_the_same_step_to_the_other_side():
    base = divider().fit("foot", "thickness", "2.6 mm")
    bench = with_(base, lambda r: r.rename("foot", "grip"))
    for one, other in ((bench, with_(base, width(31))), (with_(base, width(31)), bench)):
        both = merged(base, one, other)
        assert [s.name for s in both.repair.steps] == ["blade", "grip"] and not both.lines
        assert both.repair.step("grip").values["width"] == 31
        assert both.repair.fits[0].step == "grip"


def test_a_seat_moved_in_two_directions_is_moved_in_both():
    base = divider()
    along = with_(base, lambda r: r.change("foot", place=Seat("bottom of blade", along=3)))
    across = with_(base, lambda r: r.change("foot", place=Seat("bottom of blade", across=1)))
    both = merged(base, along, across)
    assert both.repair.step("foot").place == Seat("bottom of blade", along=3, across=1)
    assert both.lines == ()


def test_a_reading_goes_with_its_size():
    from workbench.measure.reading import Reading

    base = divider()
    bench = with_(base, lambda r: r.change("foot", width=Reading([33, 33.2])))
    both = merged(base, with_(base, width(31)), bench)
    assert both.repair.readings == {} and len(both.lines) == 1


@given(SEEDS)
def test_one_side_alone_is_taken_exactly(seed):
    rng = Random(seed)
    base = random_repair(rng, rng.randint(2, 7))
    other = base.copy()
    for _n in range(rng.randint(1, 5)):
        edit(rng, other)
    assert merged(base, base, other).repair == other
    assert merged(base, other, base).repair == other
    assert merged(base, other, other).repair == other


@given(SEEDS)
def test_no_edit_is_dropped_without_a_line(seed):
    rng = Random(seed)
    base = random_repair(rng, rng.randint(2, 7))
    cells, bench = base.copy(), base.copy()
    for side in (cells, bench):
        for _n in range(rng.randint(1, 3)):
            edit(rng, side)
    both = merged(base, cells, bench)
    row, a, c, b = map(row_of, (both.repair, base, cells, bench))
    from workbench.solids.recipe.changes import values_of

    got, was, cell, hand = map(values_of, (row, a, c, b))
    for where in differences(a, c):
        if len(where) > 3 and where in got and where in cell:
            assert same(got[where], cell[where]), where
    lost = [
        where
        for where in differences(a, b)
        if len(where) > 3 and where in hand and not same(got.get(where), hand[where])
    ]
    assert not lost or both.lines, (lost, was)


def test_an_edit_of_several_steps_names_the_first_two():
    before = Repair("part").add("box", name="base")
    after = before.copy().add("box", name="rib").add("box", name="post")
    assert edit_in_words(row_of(before), row_of(after)) == "add rib, post"
    more = after.copy().add("box", name="cap")
    assert edit_in_words(row_of(before), row_of(more)) == "add rib, post, …"
    assert edit_in_words(row_of(more), row_of(before)) == "remove rib, post, …"
