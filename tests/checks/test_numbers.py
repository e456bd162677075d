"""Numbers that decide, each from both sides: moved, one of these fails.

The values are choices or common practice, as the line beside each says; what is tested here is
that they decide where they are said to.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from dataclasses import replace
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest

import workbench
from workbench import data
from workbench.checks.cautions.by_shape import KIND, SHARP_POINT
from workbench.checks.cautions.by_use import HARD, SUN
from workbench.checks.fit import fit_report
from workbench.checks.fit.fits import chances, window
from workbench.checks.layers.bridges import HELD
from workbench.checks.orientation import orient, proud, small_changes, way_up
from workbench.checks.orientation.estimate import KWH, estimate
from workbench.checks.orientation.orient import laid_layers, ways_up
from workbench.checks.orientation.print_cost import CLEAN_AREA, CLEAN_START
from workbench.checks.orientation.stability import SLENDER, TIPS, brim
from workbench.checks.printability import SMALL_SUPPORT
from workbench.checks.strength import hand_load, layer_strength, loads, printed_section
from workbench.checks.subject import Subject
from workbench.data import danger_words
from workbench.solids.recipe.repair import Repair


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
    one = estimate(laid_layers(subject), subject.material, subject.printer)
    power = one.minutes.value / 60 * subject.printer.power / 1000
    filament = one.mass.value / 1000 * subject.material.price
    assert (one.cost.value - filament) / power == pytest.approx(0.30)
    assert KWH == 0.30


@pytest.mark.parametrize(("share", "better"), [(0.79, True), (0.81, False)])
def test_a_size_eight_tenths_as_likely_as_the_best_is_left(share, better):
    assert (share < fit_report.WORTH) == better
    assert (fit_report.NEVER, fit_report.EVEN, fit_report.ENOUGH) == (0.05, 0.5, 0.8)


def test_support_is_started_in_two_minutes_and_cleaned_at_four_for_each_square_centimetre():
    found = ways_up(
        Subject.of(
            Repair("tee", down=(0, 0, -1))
            .add("box", name="post", width=6, depth=20, height=20)
            .add("box", "top of post", "bar", width=40, depth=20, height=4)
        )
    )
    given = next(item for item in found if item.chosen).figures
    assert given.touched > 100
    assert given.cleaning == pytest.approx(2.0 + 4.0 * given.touched / 100)
    assert (CLEAN_START, CLEAN_AREA, SMALL_SUPPORT) == (2.0, 4.0, 5.0)


def test_a_way_up_askew_counts_half_a_minute():
    assert orient.ASKEW == 0.5


@pytest.mark.parametrize("kind", ["hook", "clip", "peg", "guide"])
def test_the_best_is_looked_at_closely_and_the_rest_cannot_beat_it_with_half_their_support(kind):
    subject = Subject.of(Repair("part").add(kind))
    best, *others = ways_up(subject)
    closely = sum(not item.figures.rough for item in (best, *others))
    assert not best.figures.rough or closely == orient.CLOSELY
    judge = way_up.Judge(subject)
    for item in others:
        if item.figures.rough and closely < orient.CLOSELY:
            hoped = orient._hoped(item)
            assert hoped >= orient._worth(best)
            if item.figures.touched:
                bare = replace(item.figures, minutes=item.figures.bare, touched=0, support=0)
                assert hoped == pytest.approx((orient._worth(item) + orient._worth(judge.of(bare, ()))) / 2)  # fmt: skip


def test_costs_of_a_way_up():
    assert (way_up.BREAKS, way_up.TOUCH_UP, way_up.STEPS, way_up.UNDERSIDE, way_up.FIT_WORK) == (
        60.0,
        3.0,
        1.0,
        1.0,
        10.0,
    )
    assert (proud.PROUD, small_changes.SAVES) == (1.0, 0.15)


def test_margins_and_limits_of_strength():
    assert (hand_load.MARGIN_ONCE, hand_load.MARGIN_OFTEN) == (1.5, 2.5)
    assert pytest.approx(3**-0.5) == hand_load.SHEAR
    assert (loads.BREAKS, loads.SLENDER, loads.CORNER, loads.HARD_PUSH) == (2.0, 3.0, 1.5, 80.0)
    assert (printed_section.ROUND, layer_strength.ALONG) == (0.85, 0.087)


def test_limits_of_cautions_and_bridges():
    assert (SUN, HARD, KIND, SHARP_POINT, HELD) == (70.0, 500.0, 0.5, 41.0, 0.85)
    assert danger_words.LONG == 8


def test_no_table_or_source_names_a_brand():
    text = " ".join(
        (data.HERE / name).read_text(encoding="utf-8").casefold()
        for name in ("materials.toml", "printers.toml", "bias.toml")
    )
    for brand in ("poly" + "terra", "poly" + "maker", "bay" + "er"):
        assert brand not in text


#: Every number of the checks that has a name. One is moved on purpose here as well, with a reason.
NUMBERS = {
    "cautions.by_shape": {"SHARP_POINT": 41.0, "KIND": 0.5, "LEAST": 5.0},
    "cautions.by_use": {"HEAT_MARGIN": 10.0, "SUN": 70.0, "HARD": 500.0},
    "cautions.small_parts": {"DOUBT": 0.02, "_SPREAD": 2000, "_CORNERS": 40, "_BETTERED": 16, "_APART": 25.0, "_NUDGES": 24, "_ROUNDS": (0.2, 0.1, 0.05, 0.025), "_FOLLOWED": 3, "_FAR_APART": 15.0, "_ROUGH": 0.03, "_FINE": 0.001, "_ROWS": 120, "_GAIN": 0.0001},
    "cautions.statements": {"LEAST_WORDS": 4},
    "cut_edges": {"LINES": 2, "_SMOOTH": 31.0, "_FLAT": 0.1, "_LIKE": 0.94, "_ROUND": 8, "_SQUARE": 0.35, "_MEANT": 3, "_APART": 1.0, "_MOST": 12, "_JUST": 0.001, "_SHORT": 0.05, "_SAME": 0.15, "_CHORD": 0.05},
    "effects": {"HALF": 0.5, "NOTHING": 0.001, "OUT": 0.1, "SHARE": 0.01, "WHOLE": 0.98},
    "fit.coupon": {"OFFSETS": (-0.2, -0.1, 0.0, 0.1, 0.2), "MOST": 8, "LARGEST": 40.0, "HIGHEST": 10.0, "REACH": 6.0, "BROAD": 7.0, "TIP": 0.5, "GAP": 2.0, "TILE": 1.2, "THROUGH": 3.0, "WALL": 2.0, "SINK": 0.2, "EASE": 0.3, "THIN": 0.8},
    "fit.fit_report": {"WORTH": 0.8, "ENOUGH": 0.8, "NEVER": 0.05, "EVEN": 0.5},
    "fit.fits": {"ROOM": 0.1, "GRIP": 0.05, "GRADE": 13, "SMALL": 6.0, "FORCED": 0.1, "KEPT": 0.15, "HAND": 0.03, "JAWS": 0.03, "PRINTED": 0.02, "SLIP": 0.02, "STEP": 0.01, "_BIAS_CELLS": 51, "_MATING_CELLS": 11},
    "fit.printed_size": {"_UPRIGHT": 0.7, "EASED": 0.3, "_RESTS": 0.1},
    "fit.printer_profile": {"FARTHEST": 1.0, "FARTHEST_SHARE": 0.05, "ASKED_HOLE": 6.0},
    "fit.smallest_change": {"_MOST": 2.5, "_LEAST": 0.3},
    "fix_search": {"_TRIES": 16, "_LITTLE": 0.1},
    "inside": {"_PAIRS": 200000},
    "layers.bridges": {"HELD": 0.85, "BEYOND": 0.02, "FINE": 0.01, "_DIRECTIONS": 12, "_LINES": 15, "_FIRST": 3, "_AT_ONCE": 100000},
    "layers.contours": {"_STRAIGHT": 1e-09},
    "layers.layer_analysis": {"INFILL": 0.2, "SUPPORT": 0.15, "WALLS": 2},
    "layers.overhang": {"BRIDGE": 10.0, "SMALL": 1.0, "_ONE_LAYER": 0.5},
    "layers.overhang_chains": {"NEAR": 0.02},
    "layers.overhang_patches": {"ANGLE": 45.0, "SLACK": 0.5},
    "layers.toolpaths": {"SKIN": 0.8, "TURNS": 4, "RESTART": 0.2},
    "layers.sections": {"STRAIGHT": 0.001, "NOTHING": 0.001},
    "layers.slices": {"CUT_AT": 0.49, "MOST_LAYERS": 20000, "_UPRIGHT": 1e-07},
    "layers.thin_walls": {"APART": 1.0, "_SHORT": 0.05, "_FINE": 0.01, "_POINTED": 0.5, "_SPECK": 0.01, "_SHARP": 8.0},
    "orientation.bed_fit": {"ROOM": 5.0},
    "orientation.candidates": {"HIGH": 0.5, "ON_BED": 0.02},
    "orientation.estimate": {"KWH": 0.3, "FLOW": 0.05, "SUPPORT_DOUBT": 0.5, "PATH_DOUBT": 0.1},
    "orientation.orient": {"MOST": 26, "SHOWN": 6, "CLOSELY": 4, "DOUBT": 0.5, "ALIKE": 0.05, "ASKEW": 0.5},
    "orientation.print_cost": {"CLEAN_START": 2.0, "CLEAN_AREA": 4.0},
    "orientation.proud": {"PROUD": 1.0, "_LITTLE": 0.02},
    "orientation.rough_lines": {"_LEVEL": 1e-06},
    "orientation.side_names": {"FLAT": 0.5},
    "orientation.small_changes": {"SAVES": 0.15, "LEDGE": 6.0, "FLATS": (0.3, 0.6, 1.0, 1.5), "_CORNERS": 3, "_TOUCH": 0.05},
    "orientation.stability": {"_NO_BASE": 0.1, "SLENDER": 4.0, "SMALL": 50.0, "_STEPS": 0.4, "TIPS": 15.0},
    "orientation.way_up": {"BREAKS": 60.0, "TOUCH_UP": 3.0, "STEPS": 1.0, "UNDERSIDE": 1.0, "FIT_WORK": 10.0, "TOUCHED": 5.0, "_UNMARKED": 0.25},
    "outer_size": {"TOLD": 0.05},
    "printability": {"SMALL_SUPPORT": 5.0, "SAGS": 1.5},
    "strength.beam_model": {"_CUTS": (0.0, 0.1, 0.25, 0.5, 0.75), "_ALONG_CUT": (0.02, 0.15, 0.3, 0.4, 0.5, 0.6, 0.7, 0.85, 0.98), "_SPECK": 0.01, "_JUST": 0.001, "_STEP": 0.1, "_GROWS": 1.3},
    "strength.beams": {"_STRIPS": 200},
    "strength.hand_load": {"MARGIN_ONCE": 1.5, "MARGIN_OFTEN": 2.5, "GRAVITY": 9.81, "_NO_STRESS": 0.001, "_NO_LEVER": 0.1, "SHEAR": 1 / 3**0.5},
    "strength.layer_strength": {"ALONG": 0.087},
    "strength.loads": {"BREAKS": 2.0, "SLENDER": 3.0, "CORNER": 1.5, "HARD_PUSH": 80.0},
    "strength.printed_section": {"ROUND": 0.85, "_SHARP": 8.0},
    "together": {"FLAT": 0.01, "CRUMB": 0.001, "RUB": 0.04, "_FURTHER": 0.5, "_STEPS": 3, "_HALVINGS": 2},
    "walls": {"_LASTING": 3, "_LONG": 2.0, "_NEAR": 0.08, "_ROOM": 0.05, "_ACROSS": 0.5, "_ALONG": 0.05, "_ROOTED": 0.12},
}  # fmt: skip

#: Figures of a file's form, and those of a standard's list, which tests/outside judges.
OTHERS = {"COUPON", "FORMAT", "NO_ROOM", "GRADES", "UNITS", "_ENDS"}
OTHERS |= {"DIAMETER", "SHALLOW", "DEEP", "RADIUS", "CHORD"}  # 16 CFR 1501.4

#: What the comment beside a number says where it comes from.
SAID = re.compile(
    r"choice|guess|memory|practice|handbook|ISO|CFR|Mazlan|von Mises|rounding|quadrature|Newtons"
    r"|no nozzle|source",
    re.IGNORECASE,
)


def numbers_said() -> Iterator[tuple[str, str, str]]:
    """Module, name and comment of every number that is given a name, private ones as well."""
    home = Path(workbench.__file__).parent / "checks"
    for path in sorted(home.rglob("*.py")):
        module = ".".join(path.relative_to(home).with_suffix("").parts)
        lines = path.read_text(encoding="utf-8").splitlines()
        for node in ast.parse("\n".join(lines)).body:
            if not isinstance(node, (ast.Assign, ast.AnnAssign)):
                continue
            target = node.targets[0] if isinstance(node, ast.Assign) else node.target
            listed = target.elts if isinstance(target, ast.Tuple) else [target]
            names = [each.id for each in listed if isinstance(each, ast.Name)]
            start = node.lineno - 1
            while start and lines[start - 1].strip():
                start -= 1
            for name in names:
                value = getattr(import_module(f"workbench.checks.{module}"), name)
                values = value if isinstance(value, tuple) and value else (value,)
                if name.isupper() and all(type(each) in (int, float) for each in values):
                    yield module, name, " ".join(lines[start : node.lineno])


def test_every_number_is_what_it_is_said_to_be_here():
    found = {
        module: {
            name: getattr(import_module(f"workbench.checks.{module}"), name) for name in numbers
        }
        for module, numbers in NUMBERS.items()
    }
    assert found == NUMBERS
    said = {(module, name) for module, name, _comment in numbers_said() if name not in OTHERS}
    assert said == {(module, name) for module, numbers in NUMBERS.items() for name in numbers}


def test_every_number_says_where_it_comes_from():
    silent = [
        (module, name)
        for module, name, comment in numbers_said()
        if name not in OTHERS and not SAID.search(comment)
    ]
    assert silent == []
