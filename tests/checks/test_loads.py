"""Strength of a repair: the right number for the right step, and the smallest change that passes."""

from __future__ import annotations

import math
import re
from typing import Annotated

import numpy as np
import pytest
from hypothesis import assume, example, given
from hypothesis import strategies as st
from strategies import near_default

from workbench import data
from workbench.checks.check import judge
from workbench.checks.fit.smallest_change import Change, Lever, sentence, smallest_change
from workbench.checks.strength import beams
from workbench.checks.strength.loads import BREAKS, CORNER, strength
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat
from workbench.solids.recipe.service import Load
from workbench.solids.shapes.primitives import box


def findings(repair: Repair, rule: str, where: str | None = None):
    found = [f for f in strength(Subject.of(repair)) if f.rule == rule]
    return [f for f in found if where is None or f.where == where]


def door(material: str = "PLA", sink: float = 0.0, down=(0, -1, 0), **values) -> Repair:
    """A clip that stands on a thick block, laid so that its layers run along the arm."""
    sizes = {"length": 15, "root_thickness": 2, "tip_thickness": 2, "hook_depth": 1, **values}
    repair = Repair("door", material=material, down=down)
    repair.add("box", name="body", width=20, depth=8, height=4)
    return repair.add("clip", seat=Seat("top of body", sink=sink), name="latch", **sizes)


def blade(force: float = 2.0, down=(0, 1, 0), **values) -> Repair:
    """A fin on a tab, pushed at its top edge across its face."""
    sizes = {"bottom": 30, "top": 30, "inset": 0, "height": 40, "thickness": 2, **values}
    repair = Repair("divider", down=down).add("fin", name="blade", **sizes)
    repair.add("tab", seat="bottom of blade", name="foot", width=20, thickness=3, length=4)
    repair.loads = (Load("blade", force, (0, 1, 0)),)
    return repair


#: What the walls of a beam are thick by default, in mm, and how much of its core is filled.
WALL, FILLED = 2 * 0.45, 0.2


def bar(width: float, thickness: float) -> tuple[float, float, float]:
    """Area, Z and I of a rectangle as it is printed, bent across its thickness."""
    b, h = max(width - 2 * WALL, 0), max(thickness - 2 * WALL, 0)
    inertia = (width * thickness**3 - (1 - FILLED) * b * h**3) / 12
    return width * thickness - (1 - FILLED) * b * h, inertia / (thickness / 2), inertia


def rod(diameter: float) -> tuple[float, float]:
    """Area and Z of a round as it is printed."""
    core = max(diameter - 2 * WALL, 0)
    inertia = math.pi / 64 * (diameter**4 - (1 - FILLED) * core**4)
    return math.pi / 4 * (diameter**2 - (1 - FILLED) * core**2), inertia / (diameter / 2)


def weakest(material: str = "PLA") -> float:
    """Strength of the weakest filament of a material, in MPa."""
    return data.material(material).span("strength")[0]


# -- clips ------------------------------------------------------------------------------------


def test_a_clip_s_strain_is_the_formula_s_and_its_limit_the_material_s():
    (found,) = findings(door(), "clip strain")
    assert found.where == "latch"
    assert found.number == pytest.approx(100 * 1.5 * 2 * 1 / 15**2)
    assert found.limit == pytest.approx(data.material("PLA").strain_often)
    assert found.unit == "%"
    assert "snap-fit" in found.source.lower()
    assert data.material("PLA").source("strain_often") in found.source


def test_a_window_in_a_blade_lets_its_end_bend_as_much_further_as_its_width_says():
    def give(hole: float) -> float:
        repair = Repair("blade").add("box", name="base", width=60, depth=30, height=8)
        repair.add("box", Seat("top of base"), "blade", width=40, depth=4, height=40)
        if hole:
            repair.cut("cylinder", Seat("front of blade", sink=4), "hole", diameter=hole, height=5)
        repair.loads = (Load("blade", 50, (0, 1, 0)),)
        (told,) = [f for f in strength(Subject.of(repair)) if f.rule == "root bending"]
        return float(re.search(r"bends by up to ([0-9.]+) mm", told.text)[1])

    def width(z: float) -> float:  # what the hole in the middle leaves at a height
        return 40 - 2 * math.sqrt(max(17**2 - (z - 20) ** 2, 0))

    heights = [(i + 0.5) / 100 for i in range(4000)]
    further = sum((40 - z) ** 2 / width(z) for z in heights)
    further /= sum((40 - z) ** 2 / 40 for z in heights)
    assert further > 2.5
    assert give(34) / give(0) == pytest.approx(further, rel=0.08)


def test_what_is_sunk_into_the_body_does_not_spring():
    (found,) = findings(door(sink=3.0), "clip strain")
    assert found.number == pytest.approx(100 * 1.5 * 2 * 1 / 12**2)


def test_layers_across_the_arm_leave_what_the_sources_leave():
    (along,), (across,) = (
        findings(door(down=down), "clip strain") for down in ((0, -1, 0), (0, 0, -1))
    )
    assert across.number == along.number
    assert across.limit == pytest.approx(along.limit * data.material("PLA").span("across")[0])
    assert data.material("PLA").source("across") in across.source
    assert data.material("PLA").source("across") not in along.source


def test_a_clip_used_once_may_be_strained_more():
    repair = door()
    repair.loads = (Load("latch", 5, (0, 0, 1), repeats=False),)
    (found,) = findings(repair, "clip strain")
    assert found.limit == pytest.approx(data.material("PLA").strain_once)
    repair.loads += (Load("latch", 1, (0, 0, 1)),)
    (found,) = findings(repair, "clip strain")
    assert found.limit == pytest.approx(data.material("PLA").strain_often)


def test_severity_follows_the_strain():
    once = data.material("PLA").strain_once
    severities = {}
    for hook in (0.5, 1.0, 2.5):
        (found,) = findings(door(hook_depth=hook), "clip strain")
        severities[found.severity] = found.number
    assert severities["note"] <= data.material("PLA").strain_often < severities["warning"]
    assert severities["warning"] <= BREAKS * once < severities["stop"]


def test_a_short_arm_is_said_to_be_beyond_the_formula():
    (short,) = findings(door(length=5.9), "clip strain")
    (slender,) = findings(door(length=6.0), "clip strain")
    assert "short" in short.text
    assert "short" not in slender.text


def test_forces_of_a_clip_in_hand():
    (found,) = findings(door(return_angle=40, lead_in_angle=30), "clip force")
    pla = data.material("PLA")
    across = beams.arm_force(1, 15, 2, 2, 6, pla.modulus)
    assert found.number == pytest.approx(beams.sliding_force(across, 30, pla.friction))
    off = beams.sliding_force(across, 40, pla.friction)
    assert f"{off:.0f} N to pull off" in found.text


def test_a_lead_in_that_jams_is_told_so_with_a_gentler_one_and_without_a_force():
    steep = math.ceil(beams.locking_angle(data.material("PLA").friction)) + 1
    repair = door(lead_in_angle=steep)
    (found,) = findings(repair, "clip force")
    assert found.severity == "warning" and "jams" in found.text and "inf" not in found.text
    assert math.isfinite(found.number) and found.limit < found.number
    (angle,) = re.findall(r"\((\d+)°\)", found.remedy)
    (eased,) = findings(door(lead_in_angle=float(angle)), "clip force")
    assert "push home" in eased.text and eased.severity == "note"


def test_a_steep_catch_locks():
    pla = data.material("PLA")
    steep = math.ceil(beams.locking_angle(pla.friction)) + 1
    assert "bent back by hand" in findings(door(return_angle=steep), "clip force")[0].text
    assert beams.sliding_force(10, 90, 0.4) == math.inf
    assert beams.sliding_force(10, beams.locking_angle(0.4) - 0.01, 0.4) > 1e4


def test_a_stiff_clip_is_hard_to_push():
    repair = door(width=60, length=10)
    (found,) = findings(repair, "clip force")
    assert found.severity == "warning"
    assert found.number > found.limit
    offers = re.findall(r"(\w+) ([\d.]+) mm (narrower|longer) \(([\d.]+) mm\)", found.remedy)
    assert offers
    for _noun, _by, way, value in offers:
        field = {"narrower": "width", "longer": "length"}[way]
        (eased,) = findings(repair.copy().change("latch", **{field: float(value)}), "clip force")
        assert eased.severity == "note"


def test_a_sharp_corner_is_named_with_the_fillet_that_mends_it():
    repair = door(root_fillet=0.1)
    (found,) = findings(repair, "clip corner")
    assert found.number > found.limit == CORNER
    fillet = float(re.search(r"\(([\d.]+) mm\)", found.remedy)[1])
    assert findings(repair.change("latch", root_fillet=fillet), "clip corner") == []
    assert findings(repair.change("latch", root_fillet=fillet - 0.1), "clip corner") != []


# -- the smallest change ----------------------------------------------------------------------


def changes_named(remedy: str) -> list[tuple[str, float]]:
    """What a remedy offers, as the field and the value that it names."""
    fields = {"arm": "length", "root": "root_thickness", "hook": "hook_depth"}
    fields |= {"tip": "tip_thickness", "blade": "thickness", "foot": "width"}
    offers = re.findall(r"(\w+) [\d.]+ mm \w+ \(([\d.]+) mm\)", remedy)
    return [(fields[noun.lower()], float(value)) for noun, value in offers]


@given(
    length=st.floats(6, 30),
    root=st.floats(1.2, 3),
    hook=st.floats(0.4, 2),
    material=st.sampled_from(["PLA", "PETG", "ABS"]),
)
@example(length=15.0, root=2.0, hook=1.0, material="PLA")
@example(length=8.25, root=1.21875, hook=1.21875, material="PLA")
def test_every_change_offered_for_a_clip_passes_and_a_step_less_does_not(
    length, root, hook, material
):
    values = {"length": length, "root_thickness": root, "tip_thickness": min(1.0, root)}
    repair = door(material, hook_depth=hook, root_fillet=0.5, **values)
    (found,) = findings(repair, "clip strain")
    assume(found.severity != "note")
    offers = changes_named(found.remedy)
    assert offers or "in " in found.remedy or "not enough" in found.remedy
    for field, value in offers:
        (mended,) = findings(repair.copy().change("latch", **{field: value}), "clip strain")
        assert mended.severity == "note", (field, value)
        step = catalogue.find("clip").parameter(field).kind.step
        back = math.copysign(step, repair.step("latch").values[field] - value)
        if abs(value - repair.step("latch").values[field]) > 1.5 * step:
            (short,) = findings(
                repair.copy().change("latch", **{field: value + back}), "clip strain"
            )
            assert short.severity != "note", (field, value)


def test_a_change_is_a_root_and_not_a_guess():
    """Strain falls with the square of the length: the length that just passes is known."""
    repair = door()
    (found,) = findings(repair, "clip strain")
    exact = math.sqrt(1.5 * 2 * 1 / (found.limit / 100))
    (value,) = [v for field, v in changes_named(found.remedy) if field == "length"]
    assert 0 <= value - exact < 0.1 + 1e-9


def test_a_size_that_fits_a_counterpart_is_left_alone():
    repair = blade(force=9)
    repair.change("foot", width=6)
    (before,) = findings(repair, "root bending", "foot")
    assert "foot" in before.remedy.lower()
    assert "thicker" in before.remedy
    repair.fit("foot", "thickness", "3.2 mm")
    (after,) = findings(repair, "root bending", "foot")
    assert "thicker" not in after.remedy or "hole or slot with it" in after.remedy
    repair.fit("foot", "width", "6.2 mm")
    (last,) = findings(repair, "root bending", "foot")
    assert "hole or slot with it" in last.remedy


def test_nothing_within_range_is_said_plainly():
    template = catalogue.find("clip")
    values = door().step("latch").values
    far = smallest_change(template, values, lambda v: v["length"], 1.0, Lever("length", up=True))
    assert far is None
    assert "change two" in sentence([])


def test_a_value_that_passes_already_needs_no_change():
    template = catalogue.find("clip")
    values = door().step("latch").values
    found = smallest_change(template, values, lambda v: 0.5, 1.0, Lever("length", up=True))
    assert found == Change("length", 15.0, 15.0)
    assert found.share == 0


def test_another_way_to_lay_it_and_another_material_are_offered_where_they_do():
    (found,) = findings(door(down=(0, 0, -1), hook_depth=0.6), "clip strain")
    assert found.number < data.material("PLA").strain_often
    assert "layers run along" in found.remedy
    (found,) = findings(door(hook_depth=1.0), "clip strain")
    assert "in PETG" in found.remedy
    (found,) = findings(door("PETG", hook_depth=1.0), "clip strain")
    assert found.severity == "note"


# -- hand loads -------------------------------------------------------------------------------


def test_a_push_on_a_blade_bends_its_root_and_the_foot_that_holds_it():
    repair = blade(force=2)
    (own,), (held,) = (findings(repair, "root bending", step) for step in ("blade", "foot"))
    assert own.number == pytest.approx(2 * 40 / bar(30, 2)[1], rel=1e-3)
    assert held.number == pytest.approx(2 * 40 / bar(20, 3)[1], rel=1e-3)
    assert own.limit == pytest.approx(weakest() / 2.5)
    weak = data.material("PLA").span("modulus")[0]
    deflection = 2 * 40**3 / (3 * weak * bar(30, 2)[2])
    assert f"bends by up to {deflection:.1f} mm" in own.text
    assert "40 mm from its root" in own.text and own.passed


def test_a_push_that_comes_once_may_be_greater():
    repair = blade()
    repair.loads = (Load("blade", 2, (0, 1, 0), repeats=False),)
    (found,) = findings(repair, "root bending", "blade")
    assert found.limit == pytest.approx(weakest() / 1.5)


def test_layers_across_a_blade_weaken_it():
    (along,) = findings(blade(down=(0, 1, 0)), "root bending", "blade")
    (across,) = findings(blade(down=(0, 0, -1)), "root bending", "blade")
    (slant,) = findings(blade(down=(0, -1, -1)), "root bending", "blade")
    assert across.limit == pytest.approx(along.limit * data.material("PLA").span("across")[0])
    assert across.limit <= slant.limit < along.limit
    assert "across" in across.text and "45°" in slant.text


def test_a_pull_along_the_axis_is_force_over_area():
    repair = blade()
    repair.loads = (Load("blade", 60, (0, 0, 1)),)
    (found,) = findings(repair, "root bending", "blade")
    assert found.number == pytest.approx(60 / bar(30, 2)[0], rel=1e-3)
    assert "gives way" not in found.text


@given(turn=st.floats(-180, 180), tilt=st.floats(-80, 80))
def test_where_and_how_a_part_stands_does_not_matter(turn, tilt):
    repair = blade()
    moved = repair.copy().change("blade", place=At(30, -4, 7, turn=turn, tilt=tilt))
    t, s = math.radians(turn), math.radians(tilt)
    about_y = np.array([[math.cos(s), 0, -math.sin(s)], [0, 1, 0], [math.sin(s), 0, math.cos(s)]])
    about_z = np.array([[math.cos(t), -math.sin(t), 0], [math.sin(t), math.cos(t), 0], [0, 0, 1]])
    direction = about_z @ about_y @ np.array([0.0, 1.0, 0.0])
    moved.loads = (Load("blade", 2, tuple(direction)),)
    moved.down = tuple(direction)
    (here,), (there,) = (findings(r, "root bending", "blade") for r in (repair, moved))
    assert there.number == pytest.approx(here.number, rel=1e-6)
    assert there.limit == pytest.approx(here.limit, rel=1e-6)


def test_a_blade_held_by_its_top_is_loaded_at_its_bottom():
    repair = Repair("hanger", down=(0, 1, 0)).add(
        "fin", name="blade", bottom=10, top=30, inset=-10, height=40, thickness=2
    )
    repair.add("tab", seat="top of blade", name="foot", width=20, thickness=3, length=4)
    repair.loads = (Load("blade", 2, (0, 1, 0)),)
    (found,) = findings(repair, "root bending", "blade")
    # It is narrowest at its free end, but the lever is longest at its root.
    assert found.number == pytest.approx(2 * 40 / bar(30, 2)[1], rel=1e-3)
    (held,) = findings(repair, "root bending", "foot")
    assert held.number == pytest.approx(2 * 40 / bar(20, 3)[1], rel=1e-3)


def test_a_peg_is_sheared_and_bent_by_what_it_holds():
    repair = Repair("support", down=(0, 0, -1)).add(
        "box", name="tongue", width=10, depth=8, height=4
    )
    repair.add("peg", seat="back of tongue", name="pin", diameter=5, length=9)
    repair.loads = (Load("tongue", 30, (0, 0, -1)),)
    (shear,) = findings(repair, "peg shear", "pin")
    assert shear.number == pytest.approx(4 / 3 * 30 / rod(5)[0], rel=0.01)
    assert shear.limit == pytest.approx(weakest() / 2.5 / math.sqrt(3))
    (bent,) = findings(repair, "root bending", "pin")
    nominal = 30 * 4 / rod(5)[1]
    peak = nominal * beams.concentration(5, 0.225, 4, True) / 2.5
    assert bent.number == pytest.approx(max(nominal, peak), rel=0.02)
    (skipped,) = findings(repair, "load not checked")
    assert skipped.where == "tongue" and "pin" in skipped.text


def test_pegs_share_a_load_evenly():
    repair = Repair("rail", down=(0, 0, -1)).add("box", name="rail", width=60, depth=8, height=6)
    for name, along in (("left pin", -20), ("right pin", 20)):
        repair.add("peg", seat=Seat("back of rail", along=along), name=name, diameter=5, length=9)
    repair.loads = (Load("rail", 30, (0, 0, -1)),)
    for name in ("left pin", "right pin"):
        (shear,) = findings(repair, "peg shear", name)
        assert shear.number == pytest.approx(4 / 3 * 15 / rod(5)[0], rel=0.01)
        assert "shared by 2" in shear.text


def test_a_collar_moves_the_root_and_raises_the_stress():
    repair = Repair("pin", down=(0, 1, 0))
    repair.add("peg", name="pin", diameter=5, length=10, collar=10, collar_thickness=2)
    repair.loads = (Load("pin", 10, (0, 1, 0)),)
    (found,) = findings(repair, "root bending", "pin")
    nominal = 10 * 10 / rod(5)[1]
    peak = nominal * beams.concentration(5, 0.225, 10, True) / 2.5
    assert found.number == pytest.approx(max(nominal, peak), rel=0.02)
    assert "corner" in found.text


def test_a_corner_s_peak_counts_where_it_reaches_the_strength():
    """A thin arm on a broad box: the corner raises the stress by more than the margin."""
    thin = Repair("arm", down=(0, 1, 0)).add("box", name="body", width=40, depth=40, height=5)
    thin.add("tab", seat="top of body", name="arm", width=10, length=20, thickness=8)
    thin.loads = (Load("arm", 10, (0, 1, 0)),)
    (often,) = findings(thin, "root bending", "arm")
    thin.loads = (Load("arm", 10, (0, 1, 0), repeats=False),)
    (once,) = findings(thin, "root bending", "arm")
    nominal = 10 * 20 / bar(10, 8)[1]
    assert once.number == pytest.approx(nominal, rel=1e-3)
    peak = nominal * beams.concentration(8, 0.225, 40)
    assert often.number == pytest.approx(max(nominal, peak / 2.5), rel=1e-3)
    assert often.number > nominal


def test_a_load_that_breaks_the_part_stops_the_print_and_its_remedy_works():
    repair = blade(force=60)
    (found,) = findings(repair, "root bending", "blade")
    assert found.severity == "stop"
    assert "break" in found.text
    assert not judge(Subject.of(repair)).ok
    repair = blade(force=6)
    (found,) = findings(repair, "root bending", "blade")
    assert found.severity == "warning"
    value = found.fix["steps"]["blade"]["values"]["thickness"]
    (mended,) = findings(repair.copy().change("blade", thickness=value), "root bending", "blade")
    (short,) = findings(
        repair.copy().change("blade", thickness=value - 0.05), "root bending", "blade"
    )
    assert (mended.severity, short.severity) == ("note", "warning")


def test_a_load_on_a_clip_stays_with_its_catch():
    repair = door()
    repair.add("tab", seat="left of body", name="toe", width=6)
    repair.loads = (Load("latch", 10, (0, 0, 1)),)
    assert findings(repair, "root bending", "toe") == []
    (own,) = findings(repair, "root bending", "latch")
    lever = 1.0 + 0.5
    assert own.number == pytest.approx(10 / bar(6, 2)[0] + 10 * lever / bar(6, 2)[1])


def test_a_template_of_one_s_own_is_skipped_in_words_only_under_a_load():
    def hanger(width: Annotated[float, Size(2, 80, 0.1, measure="across")] = 20.0):
        """A thing that hangs."""
        return box(width, 10, 5)

    repair = Repair("hanger").add(hanger, name="hanger")
    assert list(strength(Subject.of(repair))) == []
    repair.loads = (Load("hanger", 12),)
    (found,) = findings(repair, "load not checked")
    assert "hanger" in found.text and "12 N" in found.text
    assert found.severity == "warning"


@given(data=st.data())
def test_any_beam_under_any_load_gets_finite_numbers_and_a_plain_sentence(data):
    """Over every template that is a beam, its whole range, and any direction of the load."""
    name = data.draw(st.sampled_from(["fin", "tab", "peg", "clip", "box", "cylinder"]))
    sizes = data.draw(near_default(catalogue.find(name)))
    force = data.draw(st.floats(0.1, 1000))
    direction = data.draw(st.tuples(*[st.floats(-1, 1)] * 3))
    assume(max(map(abs, direction)) > 0.01)
    repair = Repair("part", down=data.draw(st.sampled_from([(0, 0, -1), (0, 1, 0), (1, 0, 0)])))
    repair.add("box", name="body", width=80, depth=80, height=4)
    try:
        repair.add(name, seat=Seat("top of body", sink=0.2), name="it", **sizes)
        repair.loads = (Load("it", force, direction),)
        subject = Subject.of(repair)
    except RepairError:
        assume(False)
    found = list(strength(subject))
    assert any(f.rule == "root bending" for f in found)
    for finding in found:
        assert math.isfinite(finding.number) and finding.number >= 0
        assert math.isfinite(finding.limit) and finding.limit > 0
        assert finding.text.endswith(".") and "nan" not in finding.text
        assert bool(finding.remedy) == (finding.severity != "note")
        assert (finding.severity == "note") == (finding.number <= finding.limit)


# -- bad input --------------------------------------------------------------------------------


def test_a_load_on_nothing_is_refused_in_one_sentence(refused):
    repair = blade()
    repair.loads = (Load("blade", 2, (0, 1, 0)), Load("fot", 4))
    with refused("4 N", "'fot'", "blade, foot"):
        list(strength(Subject.of(repair)))


def test_a_load_on_a_cut_is_refused(refused):
    repair = blade().cut("cylinder", seat="front of blade", name="hole", diameter=3, height=1)
    repair.loads = (Load("hole", 4),)
    with refused("4 N", "hole", "cuts"):
        list(strength(Subject.of(repair)))


@pytest.mark.parametrize("force", [0, -3, math.nan, math.inf, "5", None])
def test_a_load_of_nothing_is_refused(refused, force):
    with refused("load on hook", "above 0 N"):
        Load("hook", force)


def test_no_loads_and_no_clips_give_no_findings():
    assert list(strength(Subject.of(Repair("block").add("box")))) == []
