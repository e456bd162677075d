"""Filament, time and cost: areas make lengths, lengths make minutes, and the bounds hold."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench import data
from workbench.checks.check import check
from workbench.checks.layers.layer_analysis import SUPPORT, Settings, layers
from workbench.checks.layers.toolpaths import RESTART, SKIN, paths
from workbench.checks.orientation.estimate import KWH, Span, estimate
from workbench.checks.subject import Subject
from workbench.solids.recipe.repair import Repair

PLA = data.material("PLA")
PRINTER = data.printer("generic 220")
WIDTH, LAYER = PRINTER.line_width, PRINTER.layer
BEAD = WIDTH * LAYER


def laid(template: str = "box", down=(0, 0, -1), **values):
    subject = Subject.of(Repair("part").add(template, **values))
    return layers(*subject.mesh, down, Settings.of(PRINTER))


def block(width=40, depth=30, height=20, **more):
    return laid(width=width, depth=depth, height=height, **more)


def test_a_solid_print_weighs_its_volume_and_takes_as_much_thread():
    one = estimate(block(), PLA, PRINTER, infill=1.0)
    assert one.mass.value == pytest.approx(40 * 30 * 20 / 1000 * PLA.density)
    thread = math.pi * PRINTER.filament**2 / 4
    assert one.filament.value == pytest.approx(40 * 30 * 20 / thread / 1000)
    assert one.support_mass == 0


def test_walls_skins_and_infill_of_a_block_by_hand():
    found = paths(block(), infill=0.2, walls=3)
    inner = (40 - 6 * WIDTH) * (30 - 6 * WIDTH)
    skins = round(SKIN / LAYER)
    count = round(20 / LAYER)
    assert found.walls == pytest.approx(np.full(count, (40 * 30 - inner) / WIDTH))
    solid = np.zeros(count)
    solid[:skins] = solid[-skins:] = inner
    assert found.skin == pytest.approx(solid / WIDTH)
    assert found.infill == pytest.approx((inner - solid) * 0.2 / WIDTH)


def test_a_step_gets_a_skin_of_its_own():
    repair = Repair("part").add("box", name="foot", width=40, depth=40, height=6)
    repair.add("box", seat="top of foot", name="top", width=20, depth=20, height=6)
    found = paths(layers(*Subject.of(repair).mesh, (0, 0, -1), Settings.of(PRINTER)))
    wall = 2 * 2 * WIDTH
    ledge = (40 - wall) ** 2 - 20**2
    below = round(6 / LAYER) - 1
    assert found.skin[below] * WIDTH == pytest.approx(ledge)
    assert found.skin[below - round(SKIN / LAYER)] == pytest.approx(0)
    assert found.skin[-1] * WIDTH == pytest.approx((20 - wall) ** 2)


def test_thin_things_are_all_wall():
    thin = paths(laid(width=0.8, depth=30, height=10))
    assert thin.infill.sum() == thin.skin.sum() == 0
    assert thin.part * BEAD == pytest.approx(0.8 * 30 * 10)


def test_support_is_counted_apart():
    repair = Repair("part").add("box", name="post", width=10, depth=10, height=20)
    repair.add("box", seat="top of post", name="roof", width=40, depth=10, height=4)
    found = layers(*Subject.of(repair).mesh, (0, 0, -1), Settings.of(PRINTER))
    one = estimate(found, PLA, PRINTER)
    volume = found.overhangs.support_areas.sum() * LAYER
    assert volume > 0
    assert one.support_mass == pytest.approx(volume * SUPPORT / 1000 * PLA.density)
    assert one.mass.value > one.support_mass


def test_time_at_a_pace_without_turns_or_waits_is_length_over_speed():
    quick = replace(
        PRINTER, acceleration=1e12, layer_change=0.0, least_layer_time=0.0, start_up=0.0,
        travel_speed=1e12, wall_speed=50.0, infill_speed=50.0, first_layer_speed=50.0,
    )  # fmt: skip
    found = block()
    lines = paths(found)
    minutes = estimate(found, PLA, quick).minutes.value
    restarts = lines.rings.sum() * RESTART
    assert minutes == pytest.approx((lines.part / 50 + restarts) / 60, rel=1e-6)


def test_a_small_layer_is_given_time_to_cool():
    tiny = laid("cylinder", diameter=2, height=20)
    one = estimate(tiny, PLA, PRINTER)
    each = PRINTER.least_layer_time + PRINTER.layer_change
    assert one.minutes.value == pytest.approx(
        len(tiny.slices) * each / 60 + PRINTER.start_up, rel=0.02
    )


@given(
    width=st.floats(2, 60), height=st.floats(1, 40), infill=st.floats(0, 1), walls=st.integers(1, 6)
)
def test_bounds_enclose_and_more_infill_or_walls_never_take_less(width, height, infill, walls):
    found = block(width=width, height=height)
    one = estimate(found, PLA, PRINTER, infill, walls)
    for span in (one.mass, one.filament, one.minutes, one.cost):
        assert 0 < span.low <= span.value <= span.high < math.inf
    assert one.mass.value <= found.slices.areas.sum() * LAYER / 1000 * PLA.density * (1 + 1e-9)
    denser = estimate(found, PLA, PRINTER, min(1.0, infill + 0.2), walls)
    thicker = estimate(found, PLA, PRINTER, infill, walls + 1)
    assert denser.mass.value >= one.mass.value * (1 - 1e-9)
    assert thicker.mass.value >= one.mass.value * (1 - 1e-9)


def test_bounds_come_from_the_tables_and_narrow_for_a_printer_that_is_known():
    found = block()
    generic = estimate(found, PLA, PRINTER).minutes
    known = replace(PRINTER, figures={})
    own = estimate(found, PLA, known).minutes
    assert own.value == pytest.approx(generic.value)
    assert own.high - own.low < 0.5 * (generic.high - generic.low)


def test_cost_is_filament_and_power():
    one = estimate(block(), PLA, PRINTER)
    power = one.minutes.value / 60 * PRINTER.power / 1000 * KWH
    assert one.cost.value == pytest.approx(one.mass.value / 1000 * PLA.price + power)


def test_the_report_says_in_one_sentence_what_a_print_takes():
    report = check(Repair("part", down=(0, 0, -1)).add("box"))
    assert "minutes" in report.takes and " m, of filament" in report.takes
    assert all("filament" not in finding.text for finding in report.findings)


@pytest.mark.parametrize(
    ("settings", "words"),
    [({"infill": 1.2}, ["infill", "1.2"]), ({"walls": 0}, ["walls", "0"])],
)
def test_settings_that_cannot_be_are_refused(refused, settings, words):
    with refused(*words):
        estimate(block(), PLA, PRINTER, **settings)


def test_a_span_in_words():
    assert Span(2.04, 1.96, 2.5).in_words(1) == "2 (2 to 2.5)"
