"""Readings: what people write, and how far it can be trusted."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.measure.reading import LIMIT, RESOLUTION, SETTING, UNITS, Reading, parse_length
from workbench.measure.repeated_readings import hand_of
from workbench.measure.sketches.table_row import Row


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("34.9", 34.9),
        (" 34,9 mm ", 34.9),
        ("34,850", 34.85),
        (".5", 0.5),
        ("12.", 12.0),
        ("3 cm", 30.0),
        ("1 3/8 in", 34.925),
        ("1-3/8 in", 34.925),
        ("1 - 3/8 in", 34.925),
        ('5/16"', 7.9375),
        ("2 ⅜″", 60.325),
        ("1½ inches", 38.1),
        ("-1 1/2 in", -38.1),
        ("−2.5", -2.5),
        ("–2.5", -2.5),
        ("1–3⁄8”", 34.925),
        ("5''", 127.0),
        ("+7 MM", 7.0),
        (7, 7.0),
        (np.float32(2.5), 2.5),
        (np.int64(3), 3.0),
        (Fraction(7, 2), 3.5),
    ],
)
def test_what_people_write(text, mm):
    assert parse_length(text) == pytest.approx(mm, abs=1e-12)


@given(
    whole=st.integers(0, 40), under=st.sampled_from([2, 4, 8, 16, 32, 64]), top=st.integers(1, 63)
)
def test_inch_fractions_are_exact_to_rounding(whole, under, top):
    expected = float(Fraction(127, 5) * (whole + Fraction(top, under)))
    assert parse_length(f"{whole} {top}/{under} in") == pytest.approx(expected, rel=1e-15)
    assert parse_length(f"{whole} {top}/{under}", "in") == pytest.approx(expected, rel=1e-15)


@given(st.floats(-1e4, 1e4), st.sampled_from(sorted(UNITS)))
def test_comma_and_point_read_alike(value, unit):
    text = f"{value:.4f}"
    assert parse_length(text.replace(".", ","), unit) == parse_length(text, unit)
    assert parse_length(f"{text} {unit}") == pytest.approx(float(text) * UNITS[unit])


@pytest.mark.parametrize(
    "text",
    [
        "",
        "abc",
        "12 34",
        "1 -3/8 in",
        "1/0 in",
        "1,2,3",
        "12.5 kg",
        "1e3",
        "nan",
        None,
        True,
        b"12",
        math.inf,
    ],
)
def test_what_is_no_length_is_told_in_words(text):
    with pytest.raises(RepairError, match="not a length; write a number such as"):
        parse_length(text)


def test_a_fraction_without_a_unit_asks_for_it():
    with pytest.raises(RepairError, match=r"fraction without a unit; write 1 3/8 in$"):
        parse_length("1 3/8")


def test_unknown_unit_and_instrument_name_the_known_ones():
    with pytest.raises(RepairError, match="'furlong'; give one of mm, cm, in"):
        parse_length("1", "furlong")
    with pytest.raises(RepairError, match="'laser'; give one of calipers, dial calipers, ruler"):
        Reading(3, "laser")


def test_no_value_is_refused():
    with pytest.raises(RepairError, match="no values"):
        Reading([])


@pytest.mark.parametrize("instrument", RESOLUTION)
def test_one_value_is_as_sure_as_the_instrument_and_the_hand(instrument):
    reading = Reading("36.4", instrument)
    step, limit = RESOLUTION[instrument] / math.sqrt(12), LIMIT[instrument] / math.sqrt(3)
    assert reading.scatter == 0
    assert reading.uncertainty == pytest.approx(math.hypot(step, limit, SETTING))
    assert reading.uncertainty_by(0.05) == pytest.approx(math.hypot(step, limit, 0.05))
    assert reading.uncertainty_by(0) == pytest.approx(step)


@pytest.mark.parametrize("instrument", RESOLUTION)
def test_repeats_bring_it_down_to_the_instrument_and_no_further(instrument):
    step, limit = RESOLUTION[instrument] / math.sqrt(12), LIMIT[instrument] / math.sqrt(3)
    own = [Reading([36.4] * n, instrument).uncertainty for n in (1, 2, 4, 100, 10_000)]
    assert own == sorted(own, reverse=True)
    assert own[2] == pytest.approx(math.hypot(step, limit, SETTING / 2))
    assert own[-1] == pytest.approx(math.hypot(step, limit), rel=1e-2)


def test_two_repeats_tell_their_scatter_worse_than_ten():
    # The variance of Student's t with n + 1 degrees of freedom is (n + 1)/(n - 1), any handbook.
    two, ten = Reading([36.0, 37.0]), Reading([36.0, 37.0] * 5)
    assert two.uncertainty / two.scatter == pytest.approx(math.sqrt(3), rel=1e-2)
    assert ten.uncertainty / ten.scatter == pytest.approx(math.sqrt(11 / 9), rel=1e-2)


@pytest.mark.parametrize(("scatter", "counts"), [(0.02, (1, 2, 3)), (0.05, (2, 3, 5, 10))])
def test_the_interval_covers_the_size_as_often_as_it_says(scatter, counts):
    """Hands that scatter, and calipers that are off by up to their limit."""
    rng = np.random.default_rng(7)
    for count in counts:
        true = rng.uniform(5, 90, 2000)
        off = rng.uniform(-0.02, 0.02, (2000, 1))
        read = np.round(true[:, None] + off + rng.normal(0, scatter, (2000, count)), 2)
        readings = [Reading(values) for values in read]
        gaps = [abs(r.value - t) / r.uncertainty for r, t in zip(readings, true, strict=True)]
        covered = float(np.mean(np.array(gaps) < 1.96))
        print(f"{count} readings, scatter {scatter}: {100 * covered:.1f} % covered")
        assert 0.89 <= covered <= 0.985


def test_a_hand_of_known_scatter_covers_with_one_reading():
    rng = np.random.default_rng(8)
    for scatter in (0.02, 0.05):
        true = rng.uniform(5, 90, 2000)
        read = np.round(true + rng.normal(0, scatter, 2000), 2)
        gaps = [
            abs(r - t) / Reading(r).uncertainty_by(scatter) for r, t in zip(read, true, strict=True)
        ]
        assert 0.90 <= np.mean(np.array(gaps) < 1.96) <= 0.98


@pytest.mark.parametrize(("scatter", "least", "most"), [(0.02, 0.94, 0.98), (0.05, 0.87, 0.98)])
def test_repeats_of_other_sizes_tell_the_hand_of_a_single_reading(scatter, least, most):
    """Two sizes read three times, with the calipers of the single one."""
    rng, gaps = np.random.default_rng(9), []
    for _sketch in range(2000):
        off, sizes = rng.uniform(-0.02, 0.02), rng.uniform(5, 90, 2)
        read = np.round(sizes[:, None] + off + rng.normal(0, scatter, (2, 3)), 2)
        rows = [Row(f"r{k}", "side", ("A", "B"), tuple(values)) for k, values in enumerate(read)]
        alone = Row("alone", "side", ("C", "D"), (50.0,))
        errors = off + rng.normal(0, scatter, 5)
        gaps.append(np.abs(errors) / alone.sigma(hand_of([*rows, alone], SETTING)))
    assert least <= np.mean(np.array(gaps) < 1.96) <= most


@given(st.lists(st.floats(1, 200), min_size=2, max_size=8), st.sampled_from(sorted(RESOLUTION)))
def test_repeats_give_their_mean_and_its_scatter(values, instrument):
    reading = Reading(values, instrument)
    assert reading.value == pytest.approx(np.mean(values))
    expected = np.std(values, ddof=1) / math.sqrt(len(values))
    assert reading.scatter == pytest.approx(expected, abs=1e-9)
    assert reading.uncertainty >= reading.resolution / math.sqrt(12)
    assert min(values) - 1e-9 <= reading.value <= max(values) + 1e-9


def test_repeating_calms_the_scatter():
    few, many = [45.9, 46.0], [45.9, 46.0] * 8
    assert Reading(many).uncertainty < Reading(few).uncertainty


def test_values_given_in_many_ways():
    array = Reading(np.array([1.0, 2.0]), unit="cm")
    assert array.values == (10.0, 20.0)
    assert Reading(np.array(3.0)).values == (3.0,)
    assert Reading(["1 3/8 in", 34.9]).values == pytest.approx((34.925, 34.9))
    assert Reading(v for v in (1, 2)).values == (1.0, 2.0)


@given(st.lists(st.floats(-200, 200), min_size=1, max_size=5), st.sampled_from(sorted(UNITS)))
def test_the_record_gives_an_equal_reading_back(values, unit):
    reading = Reading(values, "dial calipers", unit)
    assert Reading.from_dict(reading.to_dict()) == reading


def test_a_damaged_record_is_refused():
    with pytest.raises(RepairError, match="unit is 'xx'"):
        Reading.from_dict({"values": [1], "unit": "xx"})


def test_it_prints_as_value_and_uncertainty():
    assert str(Reading([45.9, 46.0, 45.95])) == "45.95 ± 0.043 mm"
