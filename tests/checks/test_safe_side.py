"""No verdict on the unsafe side: thin pins, holes of templates, what a load goes through.

The figures beside each load are worked out here from any handbook's formulas for the whole
section, which is stronger than what is printed: where that breaks, no finding may pass.
"""

from __future__ import annotations

import math

import pytest

from workbench import data
from workbench.checks.cut_edges import bores, cut_edges
from workbench.checks.fix import apply
from workbench.checks.printability import hanging
from workbench.checks.strength import beams
from workbench.checks.strength.loads import strength
from workbench.checks.subject import Subject
from workbench.checks.walls import thinnest
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.service import Load


def body(name: str = "part") -> Repair:
    return Repair(name, down=(0, 0, -1)).add("box", name="body", width=20, depth=20, height=4)


def loaded(repair: Repair, step: str, force: float, way, repeats: bool = True) -> list:
    repair.loads = (Load(step, force, way, repeats),)
    return list(strength(Subject.of(repair)))


# -- walls --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("across", "severity"), [(0.3, "stop"), (0.5, "warning"), (0.74, "warning"), (0.9, None)]
)
@pytest.mark.parametrize("template", ["cylinder", "box"])
def test_a_thin_pin_is_told_however_small_it_is(across, severity, template):
    sizes = {"diameter": across} if template == "cylinder" else {"width": across, "depth": across}
    pin = body().add(template, Seat("top of body", sink=0.2), "pin", height=4, **sizes)
    found = [f for f in thinnest(Subject.of(pin)) if f.rule == "thinnest wall"]
    assert [f.severity for f in found] == ([severity] if severity else [])
    if found:
        assert found[0].where == "pin"
        assert found[0].number == pytest.approx(across, abs=0.05)
        assert found[0].fix is not None
        after = Subject.of(apply(found[0].fix, pin.copy()))
        assert not list(thinnest(after))


def test_the_point_of_a_cone_is_no_pin():
    spike = body().add("cone", Seat("top of body", sink=0.2), "spike", bottom=6, top=0, height=9)
    assert not list(thinnest(Subject.of(spike)))


@pytest.mark.parametrize(("wall", "severity"), [(0.3, "stop"), (0.6, "warning"), (0.9, None)])
@pytest.mark.parametrize("sizes", [{"width": 24.5, "spacing": 20}, {"width": 60, "spacing": 4.5}])
def test_a_template_s_own_hole_near_an_edge_or_another_is_told(wall, severity, sizes):
    end = "spacing" if sizes["width"] == 60 else "width"
    given = {**sizes, end: sizes[end] + (wall if end == "spacing" else 2 * wall)}
    plate = Repair("plate", down=(0, 0, -1))
    plate.add("plate", name="base", height=20, thickness=3, holes=2, screw="M4", **given)
    found = list(bores(Subject.of(plate)))
    assert [f.severity for f in found] == ([severity] if severity else [])
    if found:
        assert found[0].where == "base" and found[0].number == pytest.approx(wall, abs=0.03)
        assert not list(bores(Subject.of(apply(found[0].fix, plate.copy()))))


@pytest.mark.parametrize("wall", [0.3, 0.6])
def test_two_holes_that_cross_near_each_other_are_told(wall):
    block = Repair("block", down=(0, 0, -1))
    block.add("box", name="body", width=20, depth=20, height=12)
    block.cut("cylinder", Seat("top of body", sink=13), "one", diameter=4, height=14)
    side = Seat("right of body", along=4 + wall, sink=21)
    block.cut("cylinder", side, "two", diameter=4, height=22)
    found = {f.where: f.number for f in cut_edges(Subject.of(block))}
    assert min(found.values()) == pytest.approx(wall, abs=0.06)


def test_a_hole_that_leaves_a_thin_floor_is_made_less_deep():
    block = Repair("block", down=(0, 0, -1))
    block.add("box", name="body", width=20, depth=20, height=6)
    block.cut("cylinder", Seat("top of body", sink=5.5), "hole", diameter=8, height=6)
    (found,) = cut_edges(Subject.of(block))
    assert found.fix == {"steps": {"hole": {"seat": {"sink": 5.2}}}}
    assert not list(cut_edges(Subject.of(apply(found.fix, block.copy()))))


def test_a_hole_that_no_move_saves_is_made_smaller():
    part = body().add("cylinder", Seat("top of body"), "post", diameter=8, height=10)
    part.cut("cylinder", Seat("top of post", sink=9), "bore", diameter=6.5, height=10)
    (found,) = (f for f in cut_edges(Subject.of(part)) if f.rule == "thin edge")
    assert found.fix == {"steps": {"bore": {"values": {"diameter": 6.4}}}}
    assert not list(cut_edges(Subject.of(apply(found.fix, part.copy()))))


def test_steps_that_leave_a_narrow_gap_are_moved_apart():
    part = body()
    for name, across in (("one", 1.15), ("two", -1.15)):
        part.add("box", Seat("top of body", across=across), name, width=12, depth=2, height=8)
    (found,) = (f for f in thinnest(Subject.of(part)) if f.rule == "narrow gap")
    assert found.fix == {"steps": {"one": {"seat": {"across": 1.3}}}}


# -- loads --------------------------------------------------------------------------------------


def test_what_a_load_goes_through_is_judged_whatever_its_template():
    """A head on a thin neck: M = 10 N x 26 mm, Z = pi d³/32 of 3 mm: 98 MPa at the neck's root."""
    part = body().add("cylinder", Seat("top of body"), "neck", diameter=3, height=20)
    part.add("box", Seat("top of neck"), "head", width=12, depth=12, height=6)
    found = {f.where: f for f in loaded(part, "head", 10, (1, 0, 0)) if f.rule == "root bending"}
    assert 10 * 26 / (math.pi * 27 / 32) > data.material("PLA").span("strength")[1]
    assert found["neck"].severity == "stop" and found["head"].passed


def test_a_load_that_comes_in_half_way_does_not_bend_what_is_above():
    part = body().add("cone", Seat("top of body"), "post", bottom=12, top=3, height=40)
    part.add("box", Seat("right of post", across=-15, sink=0.5), "arm", width=6, depth=6, height=14)
    found = {f.where: f for f in loaded(part, "arm", 3, (0, 0, -1)) if f.rule == "root bending"}
    assert found["post"].passed


def test_a_seated_step_of_no_formula_under_a_load_is_told_as_not_checked():
    part = body().add("cone", Seat("top of body"), "vase", bottom=4, top=12, height=10)
    part.add("box", Seat("top of vase"), "head", width=6, depth=6, height=6)
    (found,) = (f for f in loaded(part, "head", 5, (1, 0, 0)) if f.rule == "load not checked")
    assert (found.where, found.severity) == ("vase", "warning")


def arm(neck: float) -> Repair:
    """A bar of 10 x 10, cut in to a neck, with the same bar on its end."""
    part = Repair("arm", down=(0, 0, -1)).add("box", name="bar", width=40, depth=10, height=10)
    for side in ("front", "back"):
        by = Seat(f"{side} of bar", sink=(10 - neck) / 2)
        part.cut("box", by, side, width=4, depth=12, height=6)
    return part.add("box", Seat("right of bar"), "end", width=10, depth=10, height=10)


def test_what_a_load_goes_through_is_told_as_not_checked_where_it_is_the_weaker():
    """20 N x 26 mm on a neck of 2 x 10: 520/(10 x 2²/6) = 78 MPa, which no filament here bears."""
    assert 20 * 26 / (10 * 2**2 / 6) > data.material("PLA").span("strength")[1]
    found = {f.where: f for f in loaded(arm(2), "end", 20, (0, 1, 0))}
    assert (found["bar"].rule, found["bar"].severity) == ("load not checked", "warning")
    assert [f.where for f in loaded(arm(9.8), "end", 20, (0, 1, 0))] == ["end"]


@pytest.mark.parametrize(("aside", "does"), [(0.0, "loads"), (0.09, "loads"), (0.11, "bends")])
def test_a_post_that_is_pulled_along_itself_is_not_said_to_bend(aside, does):
    """The pull acts 40 mm above the root, so many mm beside it."""
    post = body().add("box", Seat("top of body"), "post", width=8, depth=8, height=40)
    (pulled,) = loaded(post, "post", 200, (aside, 0, 40))
    assert f"{does} the post" in pulled.text


def test_a_remedy_is_tried_where_its_cut_goes_along():
    """A bore from the top goes deeper into the body as its post gets shorter."""
    part = body().add("cylinder", Seat("top of body"), "post", diameter=8, height=30)
    part.cut("cylinder", Seat("top of post", sink=29), "bore", diameter=6.5, height=30)
    (found,) = (f for f in loaded(part, "post", 10, (1, 0, 0)) if f.rule == "root bending")
    (after,) = (
        f for f in strength(Subject.of(apply(found.fix, part.copy()))) if f.rule == "root bending"
    )
    assert after.passed


def test_a_crank_twists_the_post_that_carries_it():
    """Torque 20 N x 40 mm on a bar of 5 x 5: 800/(0.208 x 125) = 31 MPa of shear, 53 MPa after
    von Mises, besides bending of 20 N x 5 mm/20.8 = 5 MPa."""
    part = Repair("crank", down=(0, 0, -1)).add("box", name="body", width=20, depth=20, height=4)
    part.add("box", Seat("top of body"), "post", width=5, depth=5, height=5)
    part.add("box", Seat("right of post"), "arm", width=5, depth=5, height=40)
    found = {f.where: f for f in loaded(part, "arm", 20, (0, 1, 0)) if f.rule == "root bending"}
    assert found["post"].number > math.sqrt(3) * 800 / (0.208 * 125) / 1.1
    assert found["post"].severity == "stop"


@pytest.mark.parametrize(("hole", "holds"), [(0.0, True), (5.0, False)])
def test_a_hole_through_a_beam_weakens_it(hole, holds):
    """Bent along the hole, a bar of 8 x 8 with a hole of 5 keeps (8 - 5)/8 of Z. The force
    takes 0.55 of what the whole bar is allowed."""
    part = Repair("arm", down=(0, 1, 0)).add("box", name="body", width=20, depth=20, height=4)
    part.add("box", Seat("top of body"), "bar", width=8, depth=8, height=30)
    if hole:
        through = Seat("right of bar", across=-9, sink=8.5)
        part.cut("cylinder", through, "hole", diameter=hole, height=9.5)
    force = 0.55 * 9.2 * (8**3 / 6) / 30
    (found,) = (f for f in loaded(part, "bar", force, (1, 0, 0)) if f.rule == "root bending")
    assert found.passed == holds


def test_a_bar_that_is_cut_apart_for_longer_than_it_is_wide_is_not_judged():
    part = Repair("arm", down=(0, 1, 0)).add("box", name="body", width=20, depth=20, height=4)
    part.add("box", Seat("top of body"), "bar", width=8, depth=8, height=30)
    part.cut("box", Seat("right of bar", sink=8.5), "slot", width=3, depth=20, height=9.5)
    rules = {f.rule for f in loaded(part, "bar", 1, (0, 1, 0))}
    assert rules == {"load not checked"}


@pytest.mark.parametrize(("share", "told"), [(0.35, None), (0.6, "warning"), (1.1, "stop")])
def test_a_slender_post_that_is_pressed_buckles(share, told):
    """Euler: pi² E I / 4 l², of a post of 2 mm, all of whose section is wall."""
    part = body().add("box", Seat("top of body"), "post", width=3, depth=1.7, height=50)
    weak = data.material("PLA").span("modulus")[0]
    force = share * beams.buckling_force(50, weak, 3 * 1.7**3 / 12)
    assert beams.buckling_force(50, weak, 1) == pytest.approx(math.pi**2 * weak / 10_000)
    found = [f for f in loaded(part, "post", force, (0, 0, -1)) if f.rule == "buckling"]
    assert [f.severity for f in found] == ([told] if told else [])
    if found:
        assert found[0].limit == pytest.approx(force / share / 2.5, rel=1e-3)
        assert not [
            f
            for f in strength(Subject.of(apply(found[0].fix, part.copy())))
            if f.rule == "buckling"
        ]
    assert not [f for f in loaded(part, "post", force, (0, 0, 1)) if f.rule == "buckling"]


def test_another_way_up_that_hangs_more_is_no_remedy_for_what_hangs():
    """It is the better one for what the arm bears, and the load's own finding says so."""
    part = Repair("arm", down=(0, 0, -1)).add("box", name="body", width=40, depth=30, height=4)
    part.add("box", Seat("top of body", sink=1, lean=20), "arm", width=8, depth=8, height=40)
    part.loads = (Load("arm", 20, (0, 1, 0)),)
    found = list(hanging(Subject.of(part)))
    assert found and all(f.fix is None for f in found)
