"""Cautions: what must not be printed, what may only with a reason, and how sharp it is."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench import data
from workbench.checks.cautions import sharp
from workbench.checks.cautions.by_shape import SHARP_POINT
from workbench.checks.cautions.by_use import HEAT_MARGIN, SUN, cautions
from workbench.checks.cautions.statements import answered, rule_named
from workbench.checks.check import check
from workbench.checks.fix import apply
from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids.building.build import build
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe import uses
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat
from workbench.solids.shapes.rounding import SHARP, rounded, sharp_edges


def part(*used: str, material: str = "PLA", **sizes) -> Repair:
    box = {"width": 60, "depth": 40, "height": 20, **sizes}
    return Repair("part", material=material, uses=used).add("box", **box)


def found(repair: Repair) -> dict[str, Finding]:
    return {finding.rule: finding for finding in cautions(Subject.of(repair))}


# -- uses -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "word", ["mains", "pressure", "weight", "fire", "vehicle", "medical", "sport"]
)
def test_what_can_kill_is_a_stop_that_defers_to_codes_and_licensed_hands(word):
    finding = found(part(word))[word]
    assert finding.severity == "stop"
    assert any(said in finding.remedy for said in ("code", "law", "standard"))
    assert any(
        said in finding.remedy
        for said in ("licensed", "qualified", "workshop", "doctor", "instructor")
    )
    assert not check(part(word)).ok


def test_a_stop_becomes_a_warning_that_carries_the_reason_and_the_record_keeps_it():
    repair = part("mains")
    reason = "It only holds the label beside the switch."
    repair.statements["mains"] = reason
    report = check(repair)
    (finding,) = [f for f in report.findings if f.rule == "mains"]
    assert report.ok
    assert finding.severity == "warning"
    assert reason in finding.text
    assert reason in repair.to_json()
    assert Repair.from_json(repair.to_json()).statements == {"mains": reason}


@pytest.mark.parametrize(
    "nothing",
    [
        "",
        "  ",
        "ok",
        "does not",
        "bla bla bla",
        "bla bla bla bla",
        "it is all quite fine",
        "no no no no no",
    ],
)
def test_a_statement_that_gives_no_reason_changes_nothing(nothing):
    repair = part("weight")
    repair.statements["weight"] = nothing
    report = check(repair)
    assert not report.ok
    (finding,) = [f for f in report.findings if f.rule == "weight"]
    assert "does not say what was done" in finding.text


def test_a_statement_answers_its_own_rule_only_and_no_warning():
    stops = [
        Finding(severity="stop", rule="mains", where="part", text="A."),
        Finding(severity="stop", rule="heat", where="part", text="B."),
    ]
    warning = Finding(severity="warning", rule="food", where="part", text="C.")
    said = {"mains": "It is a battery lamp, not mains.", "food": "It is for the garden."}
    result = answered([*stops, warning], said)
    assert [f.severity for f in result] == ["warning", "stop", "warning"]
    assert result[2] == warning


@pytest.mark.parametrize(
    ("used", "material", "severity"),
    [
        ("heat 40", "PLA", "note"),
        ("heat 55", "PLA", "warning"),
        ("heat 60", "PLA", "stop"),
        ("heat", "PLA", "warning"),
        ("heat 60", "PETG", "note"),
        ("heat 60", "TPU", "note"),
        ("heat 70", "ABS", "note"),
    ],
)
def test_heat_against_where_the_material_softens(used, material, severity):
    finding = found(part(used, material=material))["heat"]
    assert finding.severity == severity
    assert finding.limit == data.material(material).holds_shape_to - HEAT_MARGIN
    assert data.material(material).source("glass_transition") in finding.source


def test_heat_names_filaments_that_stand_it_and_none_where_none_does():
    remedy = found(part("heat 70"))["heat"].remedy
    named = [m for m in data.materials() if f" {m}" in remedy]
    assert named
    for name in named:
        assert data.material(name).holds_shape_to - HEAT_MARGIN >= 70
    assert "metal" in found(part("heat 300"))["heat"].remedy


def test_the_sun_is_hot_and_bleaches():
    pla, asa = found(part("outdoors")), found(part("outdoors", material="ASA"))
    assert pla["sun"].severity == pla["outdoors"].severity == "warning"
    assert "sun" not in asa
    assert asa["outdoors"].severity == "note"


def test_food_is_a_warning_and_silence_a_question():
    assert found(part("food"))["food"].severity == "warning"
    silent = found(part())
    assert silent["use"].severity == "note" and silent["use"].asked
    for word in uses.known():
        assert word in silent["use"].remedy
    assert "use" not in found(part("food"))
    assert "use" not in found(part("none"))


@pytest.mark.parametrize("text", ["chlid", "food 40", "heat warm", "", "70", "heat -5", 7])
def test_a_use_that_is_not_known_is_refused_with_those_that_are(refused, text):
    repair = part()
    repair.uses = (text,)
    with refused("uses has", repr(text), "child", "heat 70"):
        check(repair)


def test_a_slip_in_a_use_is_guessed(refused):
    with refused("did you mean 'outdoors'"):
        uses.read(["outdors"])


def test_a_slip_in_a_german_word_is_guessed_in_german(refused, monkeypatch):
    monkeypatch.setenv("WORKBENCH_LANGUAGE", "de")
    with refused("ist 'draußen' gemeint?"):
        uses.read(["draussn"])
    with refused("'Netzspanung'", "ist 'Netzspannung' gemeint?"):
        rule_named("Netzspanung")


def test_heat_may_be_in_fahrenheit_or_with_a_comma():
    assert uses.read(["heat 158 F"])[0].amount == pytest.approx(70)
    assert uses.read(["heat 70 °C"])[0].amount == 70
    assert uses.read(["Heat 70,5"])[0].amount == 70.5
    assert uses.read("child") == (uses.Use("child"),)
    assert uses.read("in the oven, 180 °C") == (uses.Use("heat", 180.0),)
    assert uses.read("food, heat 70,5;child") == uses.read(["food", "heat 70.5", "child"])
    with pytest.raises(RepairError, match="zzz"):  # each of several words is to be known
        uses.read("brake, zzz")
    assert uses.read("bike brake, heat") == (uses.Use("vehicle"), uses.Use("heat"))
    assert uses.read("toy") == uses.read("baby") == (uses.Use("child"),)
    assert {use.word for use in uses.read(["gas", "brake"])} == {"fire", "vehicle"}


# -- small parts ------------------------------------------------------------------------------


SMALL = {"width": 10, "depth": 8, "height": 20}


@pytest.mark.parametrize(
    ("used", "severity"), [(("child",), "stop"), (("pet",), "warning"), (("food",), "note")]
)
def test_a_small_part_stops_where_children_are(used, severity):
    finding = found(part(*used, **SMALL))["small parts"]
    assert finding.severity == severity
    assert finding.number <= 0.02
    assert "16 CFR 1501.4" in finding.source


def test_a_large_part_is_told_by_how_much_it_sticks_out():
    finding = found(part("child"))["small parts"]
    assert finding.severity == "note"
    assert finding.number > 0
    assert "small parts" not in found(part("food"))


# -- sharp edges and points -------------------------------------------------------------------


def built(template: str, **values) -> tuple[np.ndarray, np.ndarray]:
    return mesh(Subject.of(Repair("part").add(template, **values)).assembly.solid)


@pytest.mark.parametrize(("long", "uses", "is_told"), [
    (4.8, [], False), (5.2, [], True), (4.8, ["child"], True), (4.8, ["pet"], True)])  # fmt: skip
def test_a_short_sharp_edge_is_told_only_where_a_child_or_a_pet_meets_it(long, uses, is_told):
    part = Repair("part").add("wedge", width=20, depth=long, height=10)
    part.uses = uses
    assert ("sharp edges" in found(part)) == is_told


def test_a_box_has_square_edges_and_corners_of_an_eighth():
    vertices, faces = built("box")
    edges = sharp.edges(vertices, faces)
    assert len(edges.ends) == 18  # 12 edges and a diagonal of each face
    assert sorted(np.round(edges.angles, 9)) == pytest.approx([90] * 12 + [180] * 6)
    solid = sharp.solid_angles(edges, len(vertices))
    assert solid == pytest.approx(np.full(8, math.pi / 2))


def test_a_hollow_corner_is_more_than_half_a_turn():
    repair = Repair("part").add("box", name="body", width=20, depth=20, height=20)
    repair.cut("box", seat="top of body", name="step", width=20, depth=10, height=5)
    repair.change("step", place=Seat("top of body", across=5, sink=5))
    vertices, faces = Subject.of(repair).mesh
    angles = sharp.edges(vertices, faces).angles
    assert angles.max() == pytest.approx(270)


def test_a_cone_s_tip_has_the_solid_angle_of_the_closed_form():
    """2 pi (1 - cos a) for half-angle a, seen as a fine pyramid."""
    half, count = math.radians(15), 90
    a = np.arange(count) * 2 * math.pi / count
    ring = np.stack([np.tan(half) * np.cos(a), np.tan(half) * np.sin(a), np.zeros(count)], axis=1)
    vertices = np.concatenate([ring, [[0, 0, 1.0], [0, 0, 0]]])
    i, j = np.arange(count), (np.arange(count) + 1) % count
    side = np.stack([i, j, np.full(count, count)], axis=1)
    base = np.stack([j, i, np.full(count, count + 1)], axis=1)
    edges = sharp.edges(vertices, np.concatenate([side, base]))
    solid = sharp.solid_angles(edges, len(vertices))
    assert solid[count] == pytest.approx(2 * math.pi * (1 - math.cos(half)), rel=2e-3)
    assert solid[count + 1] == pytest.approx(2 * math.pi)
    assert solid[:count].max() < math.pi


@pytest.mark.parametrize(("used", "severity"), [(("child",), "warning"), ((), "note")])
def test_a_wedge_is_named_with_its_angle_and_its_step(used, severity):
    height = 20 * math.tan(math.radians(30))
    repair = Repair("part", uses=used).add("box", name="body", width=30, depth=30, height=10)
    repair.add("wedge", seat="top of body", name="ramp", width=20, depth=30, height=height)
    vertices, faces = Subject.of(repair).mesh
    keen = sharp.edges(vertices, faces).angles.min()
    told = found(repair).get("sharp edges")
    if keen < SHARP:
        assert told.number == pytest.approx(keen)
        assert told.severity == severity
        assert told.where in ("ramp", "body")
    else:
        assert told is None


def test_a_point_is_named_and_a_box_has_none():
    assert "sharp points" not in found(part())
    assert "sharp edges" not in found(part())
    thin = Repair("part").add("fin", bottom=30, top=1, height=100, inset=14.5, thickness=0.8)
    assert "sharp points" not in found(thin)  # blunt by its thickness
    spike = Repair("part").add("cone", bottom=6, top=0, height=30)
    told = found(spike)["sharp points"]
    half = math.atan(3 / 30)
    assert told.number == pytest.approx(2 * math.degrees(half), rel=0.03)
    assert told.limit == SHARP_POINT


# -- rounded on request -----------------------------------------------------------------------


@pytest.mark.parametrize("radius", [0.3, 0.5, 1.0])
def test_rounding_takes_what_the_closed_form_says(radius):
    """A fillet on an edge of angle a takes r² (cot(a/2) - (pi - a)/2) for each mm of its length."""
    repair = Repair("ramp").add("wedge", width=20, depth=20, height=10)
    sharp_volume = build(repair).volume
    a = math.atan2(10, 20)
    taken = radius**2 * (1 / math.tan(a / 2) - (math.pi - a) / 2) * 20
    assert sharp_volume - build(repair.round(radius)).volume == pytest.approx(taken, rel=1e-6)
    assert "sharp edges" not in found(repair)


def test_a_rounding_is_advised_only_where_it_takes_the_sharp_edge_away():
    wedge = Repair("wedge").add("wedge", width=20, depth=10, height=5)
    told = found(wedge)["sharp edges"]
    assert told.fix == {"rounding": 0.5} and "radius of 0.5 mm" in told.remedy
    nut = Repair("nut").add("cylinder", name="body", diameter=17, height=14)
    nut.cut("thread", Seat("top of body", sink=14), "thread", size="M8", length=16, hole=True)
    told = found(nut)["sharp edges"]
    assert told.fix is None and told.remedy.startswith("Blunt it")
    assert "sharp edges" in found(nut.round(0.5))


def test_rounding_is_kept_in_the_record_and_may_be_taken_back():
    repair = Repair("ramp").add("wedge").round("0.4 mm")
    assert Repair.from_json(repair.to_json()).rounding == 0.4
    whole = build(Repair("ramp").add("wedge")).volume
    assert build(repair).volume < whole
    assert build(repair.round(0)).volume == pytest.approx(whole)


@pytest.mark.parametrize("radius", [-1, 50, math.nan])
def test_a_rounding_that_makes_no_sense_is_refused_and_changes_nothing(refused, radius):
    repair = Repair("ramp").add("wedge").round(0.4)
    with refused("rounding", "0 to 5 mm"):
        repair.round(radius)
    assert repair.rounding == 0.4


def test_square_edges_are_left_square():
    solid = build(Repair("block").add("box"))
    assert sharp_edges(solid) == []
    assert rounded(solid, 1.0) is solid


def test_an_edge_without_room_gets_a_smaller_rounding_and_the_solid_stays_sound():
    repair = Repair("latch").add("plate", name="body")
    repair.add("clip", seat=Seat("top of body", sink=0.2), lead_in_angle=45, return_angle=90)
    solid = build(repair)
    assert len(sharp_edges(solid)) == 1
    eased = rounded(solid, 0.5)
    assert sharp_edges(eased) == []
    assert eased.is_valid
    assert 0 < eased.volume < solid.volume


# -- remedies and names -----------------------------------------------------------------------


@pytest.mark.parametrize("material", list(data.materials()))
@pytest.mark.parametrize(
    "used", [("heat 50",), ("heat 70",), ("outdoors",), ("outdoors", "heat 75")]
)
def test_no_remedy_contradicts_the_tables_and_each_fix_makes_its_finding_go(material, used):
    told = found(part(*used, material=material))
    for rule in ("heat", "sun", "outdoors"):
        finding = told.get(rule)
        if finding is None or finding.passed:
            continue
        named = [m for m in data.materials().values() if f" {m.name}" in finding.remedy]
        for each in named:
            assert each.outdoors or "outdoors" not in used
            assert each.holds_shape_to >= SUN or "outdoors" not in used
        if finding.fix:
            assert data.material(finding.fix["material"]) in named
            fixed = found(apply(finding.fix, part(*used, material=material)))
            assert rule not in fixed or fixed[rule].passed
        else:
            assert "metal" in finding.remedy


@pytest.mark.parametrize("margin", [-0.5, 0.5])
def test_the_margin_of_heat_turns_where_it_says(margin):
    pla = data.material("PLA")
    warm = pla.holds_shape_to - 10 + margin
    assert found(part(f"heat {warm}"))["heat"].severity == ("note" if margin < 0 else "warning")


def test_a_danger_in_the_name_alone_stops_and_is_answered_by_what_was_done():
    repair = part()
    repair.name = "ladder rung"
    finding = found(repair)["weight"]
    assert finding.severity == "stop" and '"ladder"' in finding.text
    repair.statements = {"weight": "It hangs on the wall as decoration and nobody climbs it."}
    report = check(repair)
    assert report.ok
    assert any("nobody climbs" in f.text for f in report.findings)


def test_a_large_chew_toy_is_warned_of_whatever_its_size():
    repair = part(width=90, depth=60, height=60)
    repair.name = "dog chew toy"
    assert found(repair)["pet"].severity == "warning"


def test_a_misspelt_rule_is_told_with_the_right_ones(refused):
    repair = part("mains")
    repair.statements = {"mians": "It only holds the label beside the switch."}
    told = {finding.rule: finding for finding in check(repair).findings}["statement"]
    assert told.severity == "warning" and "'mians'" in told.text
    assert "mains" in told.remedy and "small parts" in told.remedy
    assert found(repair)["mains"].severity == "stop"
    with refused("'mians'", "did you mean 'mains'"):
        rule_named("mians")
    with refused("'xyz'", "small parts"):
        rule_named("xyz")


@pytest.mark.parametrize("use", ["moon", "child 3", "heat hot"])
def test_a_use_that_is_none_is_refused_where_it_is_said(use, refused):
    with refused(use, "child, pet, food"):
        Repair("part", uses=(use,))
