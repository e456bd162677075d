"""Numbers that stand inside a formula: figures on both sides of each, worked out apart from it."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from manifold3d import CrossSection, Manifold

from workbench import data
from workbench.checks import walls
from workbench.checks.cautions.small_parts import Fitting
from workbench.checks.cut_edges import cut_edges
from workbench.checks.fit.bias import prior, priors
from workbench.checks.fit.coupon import coupon
from workbench.checks.fit.fits import window
from workbench.checks.fit.smallest_change import Lever, smallest_change
from workbench.checks.layers import support, thin_walls
from workbench.checks.layers.toolpaths import Paths, duration, paths
from workbench.checks.no_effect import no_effect
from workbench.checks.orientation import orient
from workbench.checks.orientation.estimate import estimate
from workbench.checks.orientation.orient import laid_layers
from workbench.checks.orientation.print_cost import Figures
from workbench.checks.orientation.reasons import reasons
from workbench.checks.orientation.stability import Tower, brim
from workbench.checks.orientation.way_up import Judge
from workbench.checks.strength.beam_model import Level, _is_beam, _level, _one_beam
from workbench.checks.strength.layer_strength import Grain, _laid_along, another_way
from workbench.checks.strength.loads import strength
from workbench.checks.strength.printed_section import printed
from workbench.checks.subject import Subject
from workbench.checks.together import Overlap
from workbench.solids import catalogue
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat
from workbench.solids.recipe.service import Load

FLOOR = (0.0, 0.0, -1.0)


def square(width: float, depth: float, x: float = 0.0) -> CrossSection:
    return CrossSection.square((width, depth)).translate((x, 0))


def test_a_part_on_end_falls_three_times_in_ten_and_its_risk_halves_each_three_and_a_half_degrees():
    lies = Figures(FLOOR, 20.0, 9.0, 100, 1e6, 0.0, 30.0, 0.0, 0.0)
    assert lies.risk == pytest.approx(0.300, abs=0.001)
    assert replace(lies, tips=3.4657).risk == pytest.approx(0.150, abs=0.001)
    assert replace(lies, tips=1e3, contact=0.0).risk == pytest.approx(0.300, abs=0.001)
    assert replace(lies, tips=1e3, contact=27.726).risk == pytest.approx(0.150, abs=0.001)
    assert replace(lies, height=2.0).risk == 0.0


def wedge(slope: float, **given) -> Judge:
    """A wedge of 20 x 10 mm whose top slopes by so many degrees."""
    high = 20 * math.tan(math.radians(slope))
    part = Repair("part", **given).add("wedge", width=20, depth=10, height=high)
    return Judge(Subject.of(part))


def facing(judge: Judge, down=FLOOR) -> np.ndarray:
    return judge.facets.normals @ np.array(down)


@pytest.mark.parametrize(("slope", "shows"), [(17.0, True), (19.5, True), (20.5, False)])
def test_layers_show_as_steps_on_a_slope_of_less_than_twenty_degrees(slope, shows):
    judge = wedge(slope)
    area = 200 / math.cos(math.radians(slope)) if shows else 0.0
    assert judge._stepped(facing(judge)) == pytest.approx(area)


@pytest.mark.parametrize(("slope", "rough"), [(14.5, False), (15.5, True), (18.0, True)])
def test_an_underside_is_rough_from_fifteen_degrees_off_upright(slope, rough):
    judge = wedge(slope)
    right = (
        1.0,
        0.0,
        0.0,
    )  # the top looks up, and down by its slope once the right side lies below
    leans = facing(judge, right if judge.facets.normals[:, 0].max() < 0.99 else (-1.0, 0.0, 0.0))
    area = 200 / math.cos(math.radians(slope)) if rough else 0.0
    assert judge._undersides(leans) == pytest.approx(area)


@pytest.mark.parametrize(("slope", "seen"), [(28.0, True), (31.0, False), (35.0, False)])
def test_a_face_that_looks_up_to_thirty_degrees_from_a_side_is_of_that_side(slope, seen):
    judge = wedge(slope, shows=("top",))
    area = 100 / math.cos(math.radians(slope)) if seen else 0.0
    assert judge._spoilt(FLOOR, facing(judge)) == pytest.approx(area)


@pytest.mark.parametrize(("tilt", "steps"), [(38.0, True), (44.0, True), (46.0, False)])
def test_a_side_that_shows_has_steps_on_it_up_to_a_slope_of_forty_five_degrees(tilt, steps):
    judge = Judge(Subject.of(Repair("p", shows=("top",)).add("box", width=20, depth=10, height=5)))
    lean = math.radians(tilt)
    down = (math.sin(lean), 0.0, -math.cos(lean))
    assert judge._spoilt(down, facing(judge, down)) == pytest.approx(100 if steps else 0)


@pytest.mark.parametrize(("minutes", "alike"), [(102.9, True), (103.3, False)])
def test_two_ways_up_are_one_where_they_differ_by_a_tenth_and_three_per_cent(minutes, alike):
    def way(cost: float) -> SimpleNamespace:
        figures = SimpleNamespace(height=5, contact=5, support=0, touched=0, minutes=20)
        return SimpleNamespace(minutes=cost, figures=figures, flat=True)

    assert orient._mirrors(way(minutes), way(100.0)) == alike


def test_what_is_said_of_a_way_up():
    subject = Subject.of(Repair("part").add("box", name="a"))
    best = orient.ways_up(subject)[0]

    def said(**given) -> str:
        return " ".join(reasons(subject, replace(best, weakest="a", **given)))

    assert "steps" in said(stepped=51.0) and "steps" not in said(stepped=49.0)
    assert "run along" in said(strength=0.96) and "94 % of its strength" in said(strength=0.94)


def test_the_thinnest_stretch_is_the_tenth_that_is_narrowest():
    """A strip of 0.3 to 0.7 mm: a tenth of its area is narrower than 0.36 mm."""
    strip = CrossSection([[(0, -0.15), (20, -0.35), (20, 0.35), (0, 0.15)]])
    width = thin_walls._width(strip, strip, thin_walls._worn, 0.8)
    assert width == pytest.approx(math.sqrt(0.3**2 + 0.1 * (0.7**2 - 0.3**2)), abs=0.007)


@pytest.mark.parametrize(("gap", "free"), [(0.05, False), (0.115, True), (0.2, True)])
def test_a_pin_stands_free_of_what_is_a_tenth_of_a_millimetre_off(gap, free):
    pin = square(1, 1)
    assert thin_walls._free(pin + square(1, 1, 1 + gap), pin) == free


def test_pieces_of_support_edge_to_edge_are_one_a_thousandth_wider():
    joined = support._joined([support._Piece(square(1, 1)), support._Piece(square(1, 1, 1))])
    assert joined.num_contour() == 1
    assert joined.area() == pytest.approx(2.003, abs=0.0005)


@pytest.mark.parametrize(("sheet", "told"), [(0.577, "sheet"), (0.583, "wall"), (0.7, "wall")])
def test_of_a_sheet_and_a_wall_alike_to_two_hundredths_the_wall_is_told(monkeypatch, sheet, told):
    found = [SimpleNamespace(width=0.6)], [SimpleNamespace(width=sheet)]
    monkeypatch.setattr(walls, "_places", lambda _subject: found)
    wall, across = walls._thinnest(None)
    assert ("wall" if wall else "sheet") == told and (wall is None) != (across is None)


@pytest.mark.parametrize(
    ("ratio", "published"),
    [(1, 0.208), (1.5, 0.231), (2, 0.246), (3, 0.267), (5, 0.291), (10, 0.312), (1e6, 0.333)],
)
def test_the_twist_of_a_bar_is_as_published(ratio, published):
    """Timoshenko, Strength of Materials: torque over greatest shear, alpha b²h (from memory)."""
    h, b = 4.0 * ratio, 4.0
    section = printed(square(b, h), 0.4, 1.0)
    level = Level(section, (0, 0, 0), h, b, False)
    full = section.modulus_along_y, section.modulus_along_x
    assert min(full) > 0
    assert level.twist_modulus == pytest.approx(published * b * b * h, rel=0.05)


def test_the_greatest_shear_of_a_bar_is_half_as_much_again_and_of_a_rod_a_third():
    assert printed(square(4, 9), 0.4, 1.0).shear_peak == pytest.approx(3 / 2)
    assert printed(CrossSection.circle(3, 96), 0.4, 1.0).shear_peak == pytest.approx(4 / 3)


@pytest.mark.parametrize(("area", "beam"), [(19.0, False), (21.0, True), (24.0, True)])
def test_what_lies_beside_its_root_is_a_beam_from_a_fifth_of_the_root_on(area, beam):
    assert _is_beam([square(10, 10), square(10, 10), square(area, 1, 50)]) == beam


def test_layers_more_than_eighty_five_degrees_off_run_across():
    assert "84°" in str(Grain(84.0, (0, 0, 1))) and "across" in str(Grain(86.0, (0, 0, 1)))
    assert "70°" in str(Grain(70.0, (0, 0, 1)))


@pytest.mark.parametrize(("left", "turned"), [(0.96, False), (0.94, True), (0.8, True)])
def test_turning_the_part_is_advised_where_a_twentieth_of_the_strength_is_lost(left, turned):
    subject = Subject.of(Repair("part").add("box"))
    material = data.material("PLA")
    slopes = np.linspace(0, 60, 1201).tolist()
    slope = min(slopes, key=lambda s: abs(Grain(s, (0, 0, 1)).ratio(material) - left))
    grain = Grain(slope, (0, 0, 1))
    assert grain.ratio(material) == pytest.approx(left, abs=0.003)
    found = another_way(subject, grain, lambda _material, ratio: ratio == 1.0)
    assert any("laid so" in text and " in " not in text for text, _fix in found) == turned


def loaded(force: float, depth: float = 30.0) -> str:
    """What is said of an arm of 8 x 2 x 20 mm on a base so deep, bent by so many newtons."""
    part = Repair("part", material="PLA", down=(1, 0, 0))
    part.add("box", name="base", width=30, depth=depth, height=5)
    part.add("tab", Seat("top of base"), "arm", width=8, length=20, thickness=2)
    part.loads = (Load("arm", force, (0, 1, 0)),)
    (told,) = (f.text for f in strength(Subject.of(part)) if f.rule == "root bending")
    return told


def test_a_corner_is_told_of_where_it_raises_the_stress_by_a_fifth():
    assert "raises it 1.3 times" in loaded(2, depth=2.05)
    assert "raises" not in loaded(2, depth=2.0)


def test_how_far_an_end_bends_is_told_from_a_twentieth_of_a_millimetre_on():
    """F l³ / 3 E I, with E at the low end: 0.25 mm for each newton."""
    low = data.material("PLA").span("modulus")[0]
    each = 20**3 / (3 * low * 8 * 2**3 / 12)
    assert "Its end bends" in loaded(0.053 / each) and "Its end bends" not in loaded(0.047 / each)


def test_no_print_scatters_more_than_two_and_a_half_spreads_beyond_what_is_expected():
    noise = priors()["noise"]
    wild = np.tile([5.0, -5.0], 20)
    learnt = prior("PLA").with_noise_from(np.zeros((40, 6)), wild, np.full(40, 1e-4))
    assert math.log(learnt.noise / noise["mean"]) / noise["spread"] == pytest.approx(2.5, abs=0.05)


# -- what decides whether a thing is told -----------------------------------------------------


@pytest.mark.parametrize(("area", "beam"), [(128.0, True), (132.0, False)])
def test_a_section_three_tenths_larger_than_those_below_it_is_still_a_beam(area, beam):
    assert _is_beam([square(10, 10), square(10, 10), square(10, area / 10)]) == beam


@pytest.mark.parametrize(("deep", "told"), [(0.024, True), (0.026, False)])
def test_a_cut_that_takes_a_thousandth_of_a_cubic_millimetre_takes_something(deep, told):
    repair = Repair("part").add("box", name="body", width=20, depth=20, height=5)
    repair.cut("box", Seat("top of body", sink=deep), "nick", width=0.2, depth=0.2, height=1)
    assert bool([f for f in no_effect(Subject.of(repair)) if f.where == "nick"]) == told


@pytest.mark.parametrize(("deep", "asked"), [(0.95, False), (1.05, True)])
def test_an_overhang_of_a_square_millimetre_prints_without_support(deep, asked):
    shelf = Repair("part", down=FLOOR).add("box", name="post", width=20, depth=20, height=20)
    shelf.add("box", At(10.75, 0, 10), "nib", width=2.5, depth=deep / 2, height=3)
    (region,) = laid_layers(Subject.of(shelf)).overhangs.regions
    assert region.area == pytest.approx(deep, abs=0.03) and region.supported == asked


@pytest.mark.parametrize(("corners", "severity"), [(6, "note"), (7, "warning")])
def test_a_cut_that_looks_more_than_eight_ways_is_round(corners, severity):
    turns = 2 * np.pi * np.arange(corners) / corners
    outline = tuple((4 * math.cos(turn), 4 * math.sin(turn)) for turn in turns)
    repair = Repair("part").add("box", name="body", width=40, depth=20, height=6)
    repair.cut("panel", At(20, 3, 3, lean=90), "hole", outline=outline, thickness=20)
    (found,) = [f for f in cut_edges(Subject.of(repair)) if f.rule == "open edge"]
    assert found.severity == severity and "right" in found.text


def test_a_cut_that_opens_three_sides_is_told():
    repair = Repair("part").add("box", name="arm", width=10, depth=10, height=40)
    repair.cut("box", At(0, 4, 20), "notch", width=20, depth=12, height=4)
    (found,) = [f for f in cut_edges(Subject.of(repair)) if f.rule == "open edge"]
    assert found.text == "notch opens a side of the part: back, left, right."


@pytest.mark.parametrize(("deep", "told"), [(0.009, False), (0.011, True)])
def test_bodies_that_share_less_than_a_hundredth_of_a_millimetre_touch(deep, told):
    one, other = (
        Manifold.cube((10, 10, 10)),
        Manifold.cube((10, 10, 10)).translate((0, 0, 10 - deep)),
    )
    assert (Overlap.of(one, other) is not None) == told


def test_a_fit_goes_in_with_force_a_tenth_below_its_window_and_stays_a_little_above_it():
    _none, forced, low, high, kept, _all = window("clearance", 5.0).edges
    assert (low - forced, kept - high) == pytest.approx((0.10, 0.15))


def test_a_fifth_of_the_inside_is_filled():
    section = square(12, 12)
    assert printed(section, 0.4).modulus_along_x == printed(section, 0.4, 0.2).modulus_along_x
    assert printed(section, 0.4).modulus_along_x != printed(section, 0.4, 0.15).modulus_along_x


def rings(run: float, travel: float, acceleration: float) -> float:
    """Minutes for 300 rings of wall in one layer, mm of way in all, and nothing else."""
    none = np.zeros(1)
    wall = {"rings": np.array([300.0]), "run": np.array([run])}
    pace = dict.fromkeys(("wall_speed", "infill_speed", "first_layer_speed"), 50.0)
    pace |= dict.fromkeys(("layer_change", "least_layer_time", "start_up"), 0)
    pace |= {"travel_speed": travel, "acceleration": acceleration}
    return duration(Paths(walls=none, skin=none, infill=none, support=none, **wall), pace)


def test_a_restart_takes_a_fifth_of_a_second_besides_its_way():
    assert rings(10.0, 100.0, 1e12) == pytest.approx(300 * (0.2 + 0.1) / 60)


@pytest.mark.parametrize(("limit", "given"), [(6.3, True), (5.7, False)])
def test_a_size_is_made_no_smaller_than_three_tenths_of_it(limit, given):
    change = smallest_change(
        catalogue.find("box"), {"width": 20.0, "depth": 10.0, "height": 5.0},
        lambda values: values["width"], limit, Lever("width", up=False),
    )  # fmt: skip
    assert (change is not None) == given


def test_a_comb_s_tongue_is_seven_wide_and_no_thinner_than_two_lines():
    repair = Repair("part").add("box", name="body", width=30, depth=20, height=6)
    repair.add("tab", Seat("top of body"), "wide", width=18, length=9, thickness=2.4)
    repair.add("tab", At(0, 7, 6), "thin", width=5, length=9, thickness=0.9)
    repair.fit("wide", "thickness", 2.6).fit("thin", "width", 5.2)
    pieces = {
        name: coupon(repair, name, field).steps
        for name, field in (("wide", "thickness"), ("thin", "width"))
    }
    tabs = {
        name: [s.values for s in steps if s.template == "tab"] for name, steps in pieces.items()
    }
    assert {values["width"] for values in tabs["wide"]} == {7.0}
    assert {values["thickness"] for values in tabs["thin"]} == {0.8}


@pytest.mark.parametrize(
    ("base", "said"), [(0.09, "only on an edge or a point"), (0.11, "30 mm tall on a base")]
)
def test_less_than_a_tenth_of_a_millimetre_is_no_base(base, said):
    assert said in brim(30, 500, base, 40).reason


@pytest.mark.parametrize(("wider", "shoulder"), [(0.09, False), (0.11, True)])
def test_a_beam_that_steps_in_by_a_tenth_of_a_millimetre_has_a_shoulder(wider, shoulder):
    level = _level(square(6, 4), 5.0, 0.4, 1.0, square(6 + wider, 4))
    assert (level.shoulder != (0.0, 0.0)) == shoulder


@pytest.mark.parametrize(("out", "fits"), [(0.018, True), (0.022, False)])
def test_a_part_that_sticks_out_of_the_cylinder_by_a_fiftieth_counts_as_small(out, fits):
    assert Fitting(out, np.eye(3), np.zeros(3)).fits == fits


@pytest.mark.parametrize(("leans", "along"), [(4.9, True), (4.0, True), (5.1, False)])
def test_layers_that_lean_off_the_pull_by_less_than_five_degrees_run_along_it(leans, along):
    down = (math.cos(math.radians(leans)), 0.0, math.sin(math.radians(leans)))
    way = SimpleNamespace(down=down, figures=SimpleNamespace(turn=0.0))
    found = _laid_along(SimpleNamespace(ways=[way]), Grain(90.0, (0, 0, 1)))
    assert found == ({"down": list(down)} if along else None)


@pytest.mark.parametrize(
    ("wall", "severity"), [(0.376, "stop"), (0.384, "warning"), (0.777, "warning"), (0.783, None)]
)
def test_a_wall_counts_from_a_twentieth_of_a_line_short(wall, severity):
    repair = Repair("part").add("box", name="body", width=30, depth=20, height=8)
    repair.cut("box", At(0, 5 - wall, -1), "room", width=10, depth=10, height=10)
    assert [f.severity for f in cut_edges(Subject.of(repair))] == [severity] * bool(severity)


def test_a_ring_of_wall_has_four_sharp_turns():
    assert rings(1e-9, 1e9, 100.0) == pytest.approx(300 * (4 * 50 / 100 + 0.2) / 60)


def test_behind_a_comb_s_largest_hole_two_millimetres_are_left():
    repair = Repair("part").add("spacer", name="ring", inside=16, outside=24, height=9)
    steps = coupon(repair.fit("ring", "inside", 15.6), "ring", "inside").steps
    hole = max((step for step in steps if step.cuts), key=lambda step: step.values["diameter"])
    depth = steps[0].values["depth"]
    assert depth / 2 - hole.place.y - hole.values["diameter"] / 2 == pytest.approx(2.0)


@pytest.mark.parametrize(("minutes", "worth"), [(100.0, 105.0), (4.0, 4.5)])
def test_a_way_up_that_is_not_square_costs_a_twentieth_or_half_a_minute_more(minutes, worth):
    askew = SimpleNamespace(down=(0.6, 0.0, -0.8))
    assert orient._weighed(askew, minutes) == pytest.approx(worth)


@pytest.mark.parametrize(("left", "beam"), [(0.009, False), (0.011, True)])
def test_less_than_a_hundredth_of_a_square_millimetre_bends_nothing(left, beam):
    assert _one_beam([(0.0, square(4, 4)), (5.0, square(left, 1))], set()) == beam


@pytest.mark.parametrize(("area", "small"), [(49.0, True), (51.0, False)])
def test_a_tower_of_less_than_fifty_square_millimetres_stays_warm(area, small):
    assert Tower(40.0, 5.0, area, (0.0, 0.0, 0.0)).small == small


def test_a_print_takes_a_tenth_more_or_less_than_its_lines_and_filament_a_twentieth():
    subject = Subject.of(Repair("part", down=FLOOR).add("box", width=20, depth=20, height=10))
    material, printer = subject.material, subject.printer
    one = estimate(laid_layers(subject), material, printer)
    low, high = material.span("density")
    assert one.mass.low / one.mass.value == pytest.approx(0.95 * low / material.density)
    assert one.mass.high / one.mass.value == pytest.approx(1.05 * high / material.density)
    speeds = ("wall_speed", "infill_speed", "first_layer_speed", "travel_speed", "acceleration")
    waits = ("layer_change", "least_layer_time", "start_up")
    lines, spans = (
        paths(laid_layers(subject)),
        {key: printer.span(key) for key in (*speeds, *waits)},
    )
    quick = {key: span[key in speeds] for key, span in spans.items()}
    slow = {key: span[key in waits] for key, span in spans.items()}
    assert one.minutes.low == pytest.approx(0.9 * duration(lines, quick))
    assert one.minutes.high == pytest.approx(1.1 * duration(lines, slow))


@pytest.mark.parametrize(
    ("minutes", "touched", "strength", "first"),
    [
        (104.0, 0.0, 1.0, True),
        (106.0, 0.0, 1.0, False),
        (104.0, 9.0, 1.0, False),
        (104.0, 0.0, 0.9, False),
    ],
)
def test_a_way_up_without_support_goes_first_where_it_costs_a_twentieth_more_at_most(
    minutes, touched, strength, first
):
    def way(minutes: float, touched: float, strength: float) -> SimpleNamespace:
        figures = SimpleNamespace(touched=touched)
        return SimpleNamespace(down=FLOOR, minutes=minutes, strength=strength, figures=figures)

    ways = [way(100.0, 40.0, 1.0), way(minutes, touched, strength)]
    assert orient._plain_first(ways) == (ways[::-1] if first else ways)
