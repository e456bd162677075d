"""Numbers that decide, each from both sides: moved, one of these fails.

The values are choices or common practice, as the line beside each says; what is tested here is
that they decide where they are said to.
"""

from __future__ import annotations

import numpy as np
import pytest

from workbench import data
from workbench.checks.cautions.by_shape import KIND, SHARP_POINT
from workbench.checks.cautions.by_use import HARD, SUN
from workbench.checks.fit import fit_report
from workbench.checks.fit.fits import chances, window
from workbench.checks.layers.bridges import HELD
from workbench.checks.orientation import orient, proud, way_up
from workbench.checks.orientation.estimate import KWH, estimate
from workbench.checks.orientation.print_cost import CLEAN_AREA, CLEAN_START
from workbench.checks.orientation.stability import SLENDER, TIPS, brim
from workbench.checks.printability import SMALL_SUPPORT
from workbench.checks.report import Subject
from workbench.checks.strength import hand_load, layer_strength, loads, printed_section
from workbench.solids.repair import Repair


def test_a_brim_is_wise_below_fifteen_degrees_and_above_four_times_as_tall_as_wide():
    assert brim(30, 500, 20, 14.9) is not None and brim(30, 500, 20, 15.1) is None
    assert brim(80.5, 5000, 20, 40) is not None and brim(79.5, 5000, 20, 40) is None
    assert brim(30, 149, 20, 40) is not None and brim(30, 151, 20, 40) is None
    assert (TIPS, SLENDER) == (15.0, 4.0)


def test_two_in_a_hundred_outcomes_are_noted_wrongly_whatever_the_clearance():
    far = chances(window("clearance", 5.0).edges, np.array(-9.0), 0.05)
    assert far == pytest.approx([0.98 + 0.004, 0.004, 0.004, 0.004, 0.004])


def test_a_kilowatt_hour_costs_thirty_cents(monkeypatch: pytest.MonkeyPatch):
    subject = Subject.of(Repair("part", down=(0, 0, -1)).add("box"))
    one = estimate(subject.layers, subject.material, subject.printer)
    power = one.minutes.value / 60 * subject.printer.power / 1000
    filament = one.mass.value / 1000 * subject.material.price
    assert (one.cost.value - filament) / power == pytest.approx(0.30)
    assert KWH == 0.30


@pytest.mark.parametrize(("share", "better"), [(0.79, True), (0.81, False)])
def test_a_size_eight_tenths_as_likely_as_the_best_is_left(share, better):
    assert (share < fit_report.WORTH) == better
    assert (fit_report.NEVER, fit_report.EVEN, fit_report.ENOUGH) == (0.05, 0.5, 0.8)


def test_support_is_started_in_two_minutes_and_cleaned_at_four_for_each_square_centimetre():
    found = Subject.of(
        Repair("tee", down=(0, 0, -1))
        .add("box", name="post", width=6, depth=20, height=20)
        .add("box", "top of post", "bar", width=40, depth=20, height=4)
    ).orientations
    given = next(item for item in found if item.chosen).figures
    assert given.touched > 100
    assert given.cleaning == pytest.approx(2.0 + 4.0 * given.touched / 100)
    assert (CLEAN_START, CLEAN_AREA, SMALL_SUPPORT) == (2.0, 4.0, 5.0)


def test_a_way_up_askew_counts_half_a_minute_and_one_half_as_costly_again_is_hopeless():
    assert (orient.ASKEW, orient.HOPELESS) == (0.5, 1.5)
    found = Subject.of(Repair("hook").add("hook")).orientations
    best = min(item.minutes for item in found)
    for item in found:
        if item.figures.rough and not item.chosen:
            assert item.minutes >= 1.5 * best


def test_costs_of_a_way_up():
    assert (way_up.BREAKS, way_up.TOUCH_UP, way_up.STEPS, way_up.UNDERSIDE, way_up.FIT_WORK) == (
        60.0,
        3.0,
        1.0,
        1.0,
        10.0,
    )
    assert (proud.PROUD, proud.SAVES) == (1.0, 0.15)


def test_margins_and_limits_of_strength():
    assert (hand_load.MARGIN_ONCE, hand_load.MARGIN_OFTEN) == (1.5, 2.5)
    assert pytest.approx(3**-0.5) == hand_load.SHEAR
    assert (loads.BREAKS, loads.SLENDER, loads.CORNER, loads.HARD_PUSH) == (2.0, 3.0, 1.5, 80.0)
    assert (printed_section.ROUND, layer_strength.ALONG) == (0.85, 0.087)


def test_limits_of_cautions_and_bridges():
    assert (SUN, HARD, KIND, SHARP_POINT, HELD) == (70.0, 500.0, 0.5, 41.0, 0.85)


def test_no_table_or_source_names_a_brand():
    text = " ".join(
        (data.HERE / name).read_text(encoding="utf-8").casefold()
        for name in ("materials.toml", "printers.toml", "bias.toml")
    )
    for brand in ("poly" + "terra", "poly" + "maker", "bay" + "er"):
        assert brand not in text
