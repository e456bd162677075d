"""Readings of one size that cannot be of one size are pointed out."""

from __future__ import annotations

import pytest

from workbench.checks.fit.reading_spread import readings_agree
from workbench.checks.subject import Subject
from workbench.measure.reading import Reading
from workbench.measure.repeated_readings import doubt
from workbench.solids.recipe.repair import Repair


def box(**sizes: Reading) -> Repair:
    return Repair("box").add("box", name="block", **sizes)


def test_a_slip_among_readings_is_a_warning_that_names_it():
    repair = box(width=Reading([36.0, 36.1, 63.1]), depth=Reading([20.0, 20.1]))
    (found,) = readings_agree(Subject.of(repair))
    assert (found.severity, found.where) == ("warning", "block")
    assert found.text.startswith("block: width: 63.1 mm is far from the others")
    assert found.number == pytest.approx(27.1)
    assert found.limit == pytest.approx(0.32)
    assert found.remedy


def test_the_readings_of_a_counterpart_are_held_against_each_other_too():
    repair = box(width=Reading([20.0, 20.0])).fit("block", "width", Reading([20.4, 21.4]))
    (found,) = readings_agree(Subject.of(repair))
    assert "what width fits" in found.text and "from 20.4 to 21.4 mm" in found.text


@pytest.mark.parametrize(
    ("values", "instrument", "said"),
    [
        ([36.0], "calipers", ""),
        ([36.0, 36.3], "calipers", ""),
        ([36.0, 38.2], "ruler", ""),
        ([36.0, 36.1, 38.4], "ruler", "38.4 mm is far from the others"),
        ([10.0, 20.0, 30.0], "calipers", "from 10 to 30 mm"),
    ],
)
def test_what_is_doubted_depends_on_how_many_there_are_and_on_the_instrument(
    values: list[float], instrument: str, said: str
):
    told = doubt(Reading(values, instrument))
    assert (said in told) if said else told == ""


@pytest.mark.parametrize(
    ("values", "unit", "hint"),
    [
        ([14.2, 12.4, 12.4], "mm", "two digits swapped, 12.4?"),
        ([1.375, 1.735, 1.375], "in", "two digits swapped, 1.375?"),
        ([12.4, 12.4, 12.8], "mm", ""),  # 12.08 is as far off as 12.8
    ],
)
def test_a_repeat_with_two_digits_changed_over_is_asked_about(
    values: list[float], unit: str, hint: str
):
    told = doubt(Reading(values, unit=unit))
    assert "is far from the others" in told
    assert (f"({hint})" in told) if hint else "swapped" not in told
