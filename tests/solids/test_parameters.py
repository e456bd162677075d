"""What a template asks for, and what happens to what it is given."""

from __future__ import annotations

import math
from typing import Annotated

import pytest
from hypothesis import given
from strategies import whole_range

from workbench.errors import RepairError
from workbench.measure.outlines.outline import trapezoid
from workbench.measure.reading import Reading
from workbench.solids import catalogue
from workbench.solids.parameters import Choice, Corners, Count, Flag, Size, template_of

WIDTH = Size(1, 80, 0.1, measure="across the foot")
ANGLE = Size(10, 75, 1, unit="°", measure="from the upright")


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        (20, 20.0),
        (1, 1.0),
        (80, 80.0),
        ("34.9", 34.9),
        ("34,9 mm", 34.9),
        ("1 3/8 in", 34.925),
        (Reading([45.9, 46.1]), 46.0),
    ],
)
def test_a_size_takes_numbers_text_and_readings(value, expected):
    assert WIDTH.check("foot: width", value) == pytest.approx(expected)


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (-3, "-3 mm"),
        (0, "0 mm"),
        (0.01, "0.01 mm"),
        (1e-9, "1e-09 mm"),
        (10_000, "10000 mm"),
        (math.nan, "nan"),
        (math.inf, "inf"),
        (-math.inf, "-inf"),
        (None, "None"),
        (True, "True"),
        ([20], "[20]"),
    ],
)
def test_a_size_refuses_what_it_cannot_be(value, shown, refused):
    with refused("foot: width is ", shown, "1 to 80 mm"):
        WIDTH.check("foot: width", value)


@pytest.mark.parametrize("text", ["wide", "", "3 4", "12 ells", "--3"])
def test_a_size_refuses_text_that_is_no_length(text, refused):
    with refused("foot: width", repr(text), "mm"):
        WIDTH.check("foot: width", text)


def test_an_angle_is_read_without_a_unit_of_length(refused):
    assert ANGLE.check("clip: lead_in_angle", "30°") == 30
    with refused("clip: lead_in_angle", "'steep'", "45"):
        ANGLE.check("clip: lead_in_angle", "steep")
    with refused("clip: lead_in_angle is 80°", "10 to 75°"):
        ANGLE.check("clip: lead_in_angle", 80)


@pytest.mark.parametrize("value", [2.5, -1, 25, "many", math.nan, True, None])
def test_a_count_is_whole_and_in_range(value, refused):
    assert Count(0, 24).check("plate: holes", 3.0) == 3
    with refused("plate: holes is ", "0 to 24"):
        Count(0, 24).check("plate: holes", value)


def test_a_choice_is_one_of_its_words(refused):
    assert Choice(("round", "D")).check("peg: section", "D") == "D"
    with refused("peg: section is 'oval'", "round, D"):
        Choice(("round", "D")).check("peg: section", "oval")


@pytest.mark.parametrize(
    ("value", "expected"), [(True, True), (0, False), ("Yes", True), ("no", False)]
)
def test_a_flag_is_yes_or_no(value, expected):
    assert Flag().check("plate: countersink", value) is expected


@pytest.mark.parametrize("value", ["maybe", 2, None, []])
def test_a_flag_refuses_anything_else(value, refused):
    with refused("plate: countersink is ", "yes or no"):
        Flag().check("plate: countersink", value)


def test_corners_are_an_outline(refused):
    outline = trapezoid(46, 37, 71, -7)
    assert Corners().check("sheet: corners", outline) == tuple(map(tuple, outline.points))
    with refused("sheet: corners", "crosses itself"):
        Corners().check("sheet: corners", [(0, 0), (4, 4), (4, 0), (0, 3)])
    with refused("sheet: corners", "pairs of numbers"):
        Corners().check("sheet: corners", 7)


@pytest.mark.parametrize("name", catalogue.SHIPPED)
def test_defaults_are_complete_and_within_their_ranges(name):
    template = catalogue.find(name)
    complete = template.complete({})
    assert list(complete) == [parameter.name for parameter in template.parameters]
    assert complete == {p.name: p.default for p in template.parameters}


@pytest.mark.parametrize("kind", [WIDTH, Count(0, 24), Choice(("a", "b")), Flag(), Corners()])
def test_everything_in_the_range_is_taken(kind):
    @given(value=whole_range(kind))
    def taken(value):
        kept = kind.check("field", value)
        # Sizes are kept to ten decimals; everything else as it is.
        assert kept == (pytest.approx(value, abs=1e-9) if isinstance(kind, Size) else value)

    taken()


def test_an_unknown_field_names_those_there_are(refused):
    with refused("tab has no 'widht'", "width, length, thickness"):
        catalogue.find("tab").complete({"widht": 3})


def test_reading_a_label():
    assert catalogue.find("clip").parameter("root_thickness").label == "root thickness"


def test_a_template_is_read_once_from_annotations_written_as_text():
    def foot(width: Annotated[float, Size(2, 80, 0.1, measure="across the foot")] = 20):
        """A foot. It has more to say."""

    template = template_of(foot)
    assert template.summary == "A foot. It has more to say"
    assert template.parameter("width").default == 20.0
    assert template_of(foot) is template


def bare(width=20.0):
    """No annotation."""


def without_default(width: Annotated[float, WIDTH]):
    """No default."""


def outside(width: Annotated[float, WIDTH] = 200.0):
    """A default beyond the range."""


def reserved(name: Annotated[str, Choice(("a", "b"))] = "a"):
    """A parameter that steps use themselves."""


def unknown_word(width: Annotated[float, Szie(1, 2)] = 1.0):  # noqa: F821
    """An annotation that cannot be read."""


def open_ended(*widths: Annotated[float, WIDTH]):
    """Any number of values."""


@pytest.mark.parametrize(
    ("function", "words"),
    [
        (bare, ("bare", "width", "annotate")),
        (without_default, ("without_default", "width")),
        (outside, ("outside: default of width is 200 mm", "1 to 80 mm")),
        (reserved, ("reserved", "'name'", "something else")),
        (unknown_word, ("unknown_word cannot be read", "Szie")),
        (open_ended, ("open_ended", "widths")),
    ],
)
def test_templates_that_say_too_little(function, words, refused):
    with refused(*words):
        template_of(function)


@pytest.mark.parametrize(
    ("low", "high", "step"), [(5, 5, 1), (9, 1, 1), (0, math.inf, 1), (0, 1, 0)]
)
def test_a_size_needs_a_range(low, high, step):
    with pytest.raises(RepairError):
        Size(low, high, step)
