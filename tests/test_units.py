"""Lengths in the unit that the user reads: one way to write them, one to read them, mm in between."""

from __future__ import annotations

import math
import os
import re
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench import units
from workbench.cli import main
from workbench.measure.derived import plus_minus
from workbench.measure.reading import Reading, parse_length
from workbench.output.files.paths import write_over
from workbench.output.notebook.template_notebook import read_template, save_template
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.units import INCH, MM
from workbench.words import (
    area_with_unit,
    measured_with_unit,
    named_in,
    on_the_piece,
    quantity,
    setting,
    sized,
    sizes,
    sizes_with_unit,
    with_unit,
)

LENGTHS = st.floats(-4000, 4000, allow_nan=False)

#: How a person may write three inches and more, and what it is in mm.
SPELLINGS = {
    "34.9": 34.9 * 25.4,
    "34,9": 34.9 * 25.4,
    "34,9 mm": 34.9,
    "35 mm": 35.0,
    "3.5 cm": 35.0,
    "1 3/8": 34.925,
    "1 3/8 in": 34.925,
    "1⅜ in": 34.925,
    '1.375"': 34.925,
    "1.375": 34.925,
    "1,375 Zoll": 34.925,
}


@pytest.fixture
def inches(monkeypatch):
    monkeypatch.setenv("WORKBENCH_UNIT", "in")


@pytest.fixture
def free(monkeypatch, tmp_path):
    """No unit is said, and a data folder of the test's own."""
    monkeypatch.delenv("WORKBENCH_UNIT")
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    return tmp_path / "data"


# -- one length ----------------------------------------------------------------------------------


@given(LENGTHS)
def test_what_is_shown_can_be_typed_again(value):
    with units.using(INCH):
        for places, step in ((2, 0.0005), (3, 0.00005)):
            again = parse_length(sized(value, places), "in")
            assert abs(again - value) <= step * 25.4 / 2 + 1e-6
            assert parse_length(sized(again, places), "in") == pytest.approx(again, abs=1e-9)


@given(st.integers(-64 * 40, 64 * 40))
def test_a_64th_is_shown_as_that_fraction_and_is_kept(parts):
    value = parts / 64 * 25.4
    shown = INCH.spelled(value, 2)
    assert "." not in shown
    assert sum(map(Fraction, shown.lstrip("-").split())) == abs(Fraction(parts, 64))
    assert abs(parse_length(shown, "in") - value) < 1e-9


@given(LENGTHS)
def test_nothing_is_rounded_to_a_fraction(value):
    if abs(value / 25.4 * 64 - round(value / 25.4 * 64)) > 64e-6:
        assert "/" not in INCH.spelled(value, 3)


@given(st.floats(0.001, 50))
def test_a_slider_moves_in_a_round_step_near_its_own(step):
    found = INCH.step(step)
    mantissa = found / 10.0 ** math.floor(math.log10(found) + 1e-9)
    assert min(abs(mantissa - digit) for digit in (1, 2, 5, 10)) < 1e-6
    assert 0.5 < found * 25.4 / step < 2


@pytest.mark.parametrize("typed", SPELLINGS)
def test_every_spelling_is_read_whichever_unit_is_shown(typed):
    assert parse_length(typed, "in") == pytest.approx(SPELLINGS[typed])


def test_a_limit_typed_as_it_is_shown_is_met(inches):
    size = Size(0.4, 60)
    for limit in (size.low, size.high):
        assert abs(size.check("width", sized(limit), INCH) - limit) < INCH.slack
    with pytest.raises(ValueError, match=r"width is 2 3/8 in; give 0.0155 to 2.362 in"):
        size.check("width", "2.375", INCH)


# -- sentences -----------------------------------------------------------------------------------


def test_a_length_an_area_and_a_reading_carry_their_unit(inches):
    assert (with_unit(12.7), with_unit(-34.9)) == ("1/2 in", "-1.374 in")
    assert area_with_unit(645.16) == "1 in²"
    assert measured_with_unit(71) == "2.7955 in"
    assert sizes_with_unit((34.925, 3.175), between=" x ") == "1 3/8 x 1/8 in"
    with units.using(MM):
        assert area_with_unit(645.16) == "645.16 mm²"
        assert sizes_with_unit((34.925, 3.175), between=" x ") == "34.92 x 3.17 mm"


def test_a_sentence_says_only_what_it_is_given(inches):
    """Two mm in words of another language, or typed by somebody, are not put into inches."""
    text = "de 2 a {high}, {typed!r}; capa de {layer} mm"
    assert text.format(high=with_unit(50.8), typed="3 mm", layer=setting(0.2)) == (
        "de 2 a 2 in, '3 mm'; capa de 0.2 mm"
    )
    assert on_the_piece(2.54) == "2.54 = 0.1 in"


def test_angles_and_counts_stay_as_they_are(inches):
    assert (quantity(12.7, "°"), quantity(12.7, "mm"), quantity(3, "")) == ("12.7°", "1/2 in", "3")


def test_readings_and_their_doubt_are_in_one_unit(inches):
    assert str(Reading(["1.375 in", "1.376 in"])) == "1.3755 ± 0.001 in"
    assert plus_minus(52.7031, 0.0995) == "2.075 ± 0.004 in"
    assert plus_minus(63.46, 0.14, "°") == "63.46 ± 0.14°"
    assert sizes((25.4, 12.7)) == "1, 1/2"


def test_a_control_is_named_in_words_that_can_be_spoken(inches):
    assert named_in("bottom") == "bottom, inches"
    assert named_in("turn", "°") == "turn in °"
    with units.using(MM):
        assert named_in("bottom") == "bottom in mm"


def test_the_decimal_mark_is_that_of_the_language(inches, monkeypatch):
    monkeypatch.setenv("WORKBENCH_LANGUAGE", "de")
    assert sized(34.9) == "1,374"
    assert parse_length(sized(34.9), "in") == pytest.approx(34.9, abs=0.01)
    assert with_unit(34.9) == "1,374 in"


# -- the choice ----------------------------------------------------------------------------------


def test_mm_unless_somebody_chose(free):
    assert units.chosen() is MM
    assert not units.is_fixed()
    assert with_unit(34.9) == "34.9 mm"


def test_a_choice_holds_at_once_and_lasts(free, monkeypatch):
    write_over(units.choose(INCH), units.content(INCH))
    assert with_unit(34.925) == "1 3/8 in"
    monkeypatch.setenv("WORKBENCH_DATA", f"{free}{os.pathsep}")  # read anew, as another session
    assert units.chosen() is INCH


def test_the_variable_goes_before_the_choice(free, monkeypatch):
    units.choose(INCH)
    monkeypatch.setenv("WORKBENCH_UNIT", "mm")
    assert units.chosen() is MM and units.is_fixed()
    monkeypatch.setenv("WORKBENCH_UNIT", "Inches")
    assert units.chosen() is INCH


def test_a_shared_folder_says_it_for_those_who_did_not_choose(free, tmp_path, monkeypatch):
    shared = tmp_path / "shared"
    shared.mkdir()
    (shared / units.FILE).write_bytes(units.content(INCH))
    monkeypatch.setenv("WORKBENCH_DATA", os.pathsep.join([str(free), str(shared)]))
    assert units.chosen() is INCH


@pytest.mark.parametrize("text", ["unit = 'furlong'", "unit", "\xff", ""])
def test_a_damaged_choice_is_none(text, tmp_path, monkeypatch):
    monkeypatch.delenv("WORKBENCH_UNIT")
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path))
    (tmp_path / units.FILE).write_text(text, encoding="latin-1")
    assert units.chosen() is MM


# -- what is kept, and the command ---------------------------------------------------------------


def test_a_notebook_keeps_mm_and_says_so(inches, tmp_path):
    repair = Repair("tray divider").add("fin", name="blade", bottom=Reading(["45.9", "46.0"]))
    path = save_template(repair, tmp_path)
    text = path.read_text(encoding="utf-8")
    assert "blade_bottom = 45.95  # mm, across the bottom edge" in text
    assert "45.95 mm" in text
    assert not re.search(r"\d in\b", text)
    assert read_template(path).step("blade").values["bottom"] == pytest.approx(45.95)


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path


def test_the_command_takes_and_tells_inches(inches, here, capsys):
    made = main(
        ["new", "plate", "--width", "1", "3/8", "--height", "1.25", "--thickness", "3", "mm"]
    )
    assert made == 0
    step = read_template(here / "plate.ipynb").steps[0]
    assert step.values["width"] == pytest.approx(34.925)
    assert step.values["height"] == pytest.approx(31.75)
    assert step.values["thickness"] == 3.0
    capsys.readouterr()
    main(["check", "plate.ipynb"])
    assert "size 1 3/8 x 1 1/4 x 0.118 in" in capsys.readouterr().out
    assert main(["new", "plate", "--width", "40"]) == 2
    assert "width is 40 in; give " in capsys.readouterr().err
    with pytest.raises(SystemExit):
        main(["new", "plate", "--help"])
    told = capsys.readouterr().out
    assert "sizes, in inches" in told and not re.search(r"\d mm\b", told)
