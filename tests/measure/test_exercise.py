"""Exercises: what a pupil is told, and that the answer is never told first."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.measure.exercise import Exercise
from workbench.measure.reading import Reading

HINTS = ["Look at the top.", "Half of both together."]


@given(expected=st.floats(0.5, 500), share=st.floats(-0.99, 0.99))
def test_a_number_within_reach_is_right(expected, share):
    task = Exercise(expected, within=0.1, hints=HINTS)
    assert task.right(expected + 0.1 * share)
    assert task.tell(expected + 0.1 * share).endswith("right.")


@given(expected=st.floats(0.5, 500), off=st.floats(0.11, 1000), up=st.booleans())
def test_a_wrong_number_gets_a_hint_without_the_answer(expected, off, up):
    task = Exercise(round(expected, 3), within=0.1, hints=HINTS)
    mine = task.expected + (off if up else -off)
    told = task.tell(mine)
    assert "not yet" in told
    assert f"{task.expected:g} " not in told.partition("not yet")[2]


def test_each_new_wrong_number_brings_the_next_hint_and_the_last_one_stays():
    task = Exercise(33, 0.1, HINTS)
    assert [
        HINTS.index(task.tell(wrong).partition("not yet. ")[2]) for wrong in (20, 20, 21, 22)
    ] == [0, 0, 1, 1]


@pytest.mark.parametrize(
    ("mine", "words"),
    [
        (350, "Ten times too large?"),
        (3.5, "Ten times too small?"),
        (-35, "sign"),
        (35 / 25.4, "inches"),
        (66, "Halve it."),
        ("1 1/4 in", HINTS[0]),
    ],
)
def test_known_slips_are_named(mine, words):
    assert words in Exercise(35, 0.1, HINTS, slips=[(66, "Halve it.")]).tell(mine)


@pytest.mark.parametrize("mine", ["35", "35,0 mm", "3.5 cm", 35, Reading([35.02, 34.98])])
def test_a_length_is_taken_as_a_person_writes_it(mine):
    assert Exercise(35, 0.05, HINTS).tell(mine).endswith("right.")


@pytest.mark.parametrize(
    ("mine", "unit", "words"),
    [
        (None, "mm", "in place of None"),
        ("wide", "mm", "wide"),
        ([1, 2], "", "one number"),
        ((9, 5), "mm", "9, 5 as two numbers"),
        ((9, 5), "", "two numbers"),
        (10**400, "", "one number"),
        ("x" * 400, "mm", "xxx ..."),
        (True, "", "one number"),
        (float("nan"), "layers", "one number"),
    ],
)
def test_what_is_no_number_is_told_in_words(mine, unit, words):
    assert words in Exercise(35, 0.1, HINTS, unit=unit).tell(mine)


def test_an_exercise_without_hints_or_a_number_is_refused(refused):
    with refused("needs hints"):
        Exercise(35, 0.1, [])
    with refused("within above 0"):
        Exercise(35, 0, HINTS)
    with refused("give numbers"):
        Exercise(float("nan"), 0.1, HINTS)


@pytest.mark.parametrize("mine", ["70", "70,0", "70 layers", " 70 ", 70])
def test_a_count_is_taken_with_its_unit_behind_it(mine):
    assert Exercise(70, 0.6, HINTS, unit="layers").tell(mine) == "70 layers: right."
