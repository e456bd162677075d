"""Shapes whose way up every practitioner knows. Common practice, no source."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from workbench.checks.check import judge
from workbench.checks.fix import apply
from workbench.checks.orientation.orient import ways_up
from workbench.checks.orientation.proud import proud
from workbench.checks.subject import Subject
from workbench.output.notebook.template_notebook import read_template
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat
from workbench.solids.recipe.service import Load

FLOOR, TOP = (0, 0, -1), (0, 0, 1)
FRONT, BACK, LEFT, RIGHT = (0, -1, 0), (0, 1, 0), (-1, 0, 0), (1, 0, 0)


def box(width: float, depth: float, height: float) -> Repair:
    return Repair("part").add("box", name="a", width=width, depth=depth, height=height)


def one(template: str, **values) -> Repair:
    return Repair("part").add(template, name="a", **values)


def cup() -> Repair:
    return one("cylinder", diameter=30, height=30).cut(
        "cylinder", Seat("top of a", sink=27), "hollow", diameter=26, height=30
    )


def lid() -> Repair:
    repair = box(60, 40, 2).add("box", At(0, 0, -6), "rim", width=54, depth=34, height=6.2)
    return repair.cut("box", At(0, 0, -7), "hollow", width=50, depth=30, height=7)


def loaded_arm() -> Repair:
    repair = box(20, 20, 6).add(
        "tab", Seat("top of a", sink=0.2), "arm", width=8, length=25, thickness=4
    )
    repair.loads = (Load("arm", 10, (0, 1, 0)),)
    return repair


#: A part, and the sides of which one lies on the bed.
KNOWN = {
    "a plate lies flat": (one("plate"), (FLOOR, TOP)),
    "a plate with countersunk holes has its heads up": (
        one("plate", holes=2, screw="M4", countersink=True, head=8.4, thickness=4), (FLOOR,)),
    "heads that look down are turned up": (
        box(50, 20, 5).cut("cone", At(0, 0, -0.01), "head", bottom=9, top=4, height=2.6)
        .cut("cylinder", At(0, 0, -1), "hole", diameter=4.4, height=8), (TOP,)),
    "a post without a load lies down": (box(10, 10, 80), (FRONT, BACK, LEFT, RIGHT)),
    "a cone stands on its base": (one("cone"), (FLOOR,)),
    "a hook lies on its side": (one("hook"), (LEFT, RIGHT)),
    "an angle lies on its profile": (
        box(40, 20, 4).add("box", At(-18, 0, 0), "leg", width=4, depth=20, height=30), (FRONT, BACK)),
    "a long tee lies on its profile": (
        box(40, 12, 4).add("box", Seat("top of a", sink=0.2), "leg", width=4, depth=12, height=30), (FRONT, BACK)),
    "a tube stands": (one("tube", height=30), (FLOOR, TOP)),
    "a short narrow tube stands": (one("tube", outside=8, inside=6, height=20), (FLOOR, TOP)),
    "a longer one stands": (one("tube", outside=12, inside=10, height=60), (FLOOR, TOP)),
    "a screw post stands": (one("boss", height=30, hole=3.2, depth=20, wall=3), (FLOOR,)),
    "a cup stands with its mouth up": (cup(), (FLOOR,)),
    "a lid lies on its top": (lid(), (TOP,)),
    "a mushroom stands on its head": (
        one("cylinder", diameter=8, height=20).add("cylinder", Seat("top of a", sink=0.2), "head", diameter=24, height=4), (TOP,)),
    "a pin lies, so that it does not shear": (one("pin"), (FRONT, BACK)),
    "a wedge stands on its base": (one("wedge", width=40, depth=20, height=15), (FLOOR, FRONT, BACK)),
    "a strike lies with its screws up": (one("strike"), (FLOOR,)),
    "a blade lies flat": (one("fin"), (FRONT, BACK)),
    "a spacer stands": (one("spacer"), (FLOOR, TOP)),
    "a foot stands on its floor": (one("foot"), (FLOOR,)),
    "a knob stands, never on its rim": (one("knob"), (FLOOR, TOP)),
    "an arm under load has its layers along it": (loaded_arm(), (FRONT, BACK, LEFT, RIGHT)),
    "a low wedge stands square, though its slope would do": (one("wedge", width=30, depth=60, height=15), (FLOOR,)),
    "a rod lies square": (one("cylinder", diameter=6, height=60), (FRONT, BACK, LEFT, RIGHT)),
    "a funnel stands on its mouth": (
        one("cone", bottom=40, top=10, height=30).cut("cone", At(0, 0, -0.01), "inside", bottom=36, top=6, height=30.02), (FLOOR,)),
    "a cap is turned on its closed end": (
        one("cylinder", diameter=30, height=12).cut("cylinder", At(0, 0, -1), "inside", diameter=26, height=11), (TOP,)),
    "a hook of boxes lies on its profile": (
        box(4, 15, 60).add("box", At(10, 0, 0), "foot", width=24, depth=15, height=4)
        .add("box", At(20, 0, 0), "lip", width=4, depth=15, height=15), (FRONT, BACK)),
    "an arch lies on its profile or its back": (
        box(60, 15, 30).cut("box", At(0, 0, -1), "under", width=50, depth=20, height=26), (FRONT, BACK, TOP)),
}  # fmt: skip


@pytest.mark.parametrize("what", KNOWN)
def test_the_way_up_is_the_one_that_a_practitioner_takes(what):
    repair, sides = KNOWN[what]
    best = ways_up(Subject.of(repair))[0]
    assert any(
        sum(a * b for a, b in zip(best.down, side, strict=True)) > 0.999 for side in sides
    ), best.name


def test_a_vent_lies_flat_and_its_slats_rise_from_the_bed():
    louvre = read_template(Path(__file__).parents[2] / "templates" / "vent-louvre.ipynb")
    for height, slat in ((6.0, 1.2), (8.0, 1.6), (4.0, 0.9)):
        louvre.change("frame", height=height)
        louvre.change("slats", height=slat)
        best = ways_up(Subject.of(louvre))[0]
        assert best.flat and best.figures.touched < 1.0
    louvre.change("slats", place=replace(louvre.step("slats").place, lean=35))
    assert ways_up(Subject.of(louvre))[0].minutes > 1.2 * best.minutes


def test_a_rod_that_rolls_is_one_way_up():
    found = ways_up(Subject.of(one("cylinder", diameter=6, height=60)))
    assert len([way for way in found if way.figures.height < 7]) == 1


# -- a little proud -----------------------------------------------------------------------------


def panel(out: float) -> Repair:
    """A panel whose foot stands out of its front and back by so much."""
    return box(80, 2, 60).add(
        "box", Seat("bottom of a", sink=0.2), "foot", width=40, depth=2 + 2 * out, height=6
    )


@pytest.mark.parametrize("out", [0.3, 0.5, 0.95])
def test_a_foot_a_little_proud_is_made_flush_and_the_panel_lies_flat(out):
    repair = panel(out)
    (found,) = [f for f in judge(Subject.of(repair)).findings if f.rule == "way up"]
    assert found.where == "foot" and found.number == pytest.approx(out)
    flush = Subject.of(apply(found.fix, repair.copy()))
    assert ways_up(flush)[0].flat
    assert list(proud(flush)) == []


@pytest.mark.parametrize("side", [FLOOR, TOP, FRONT, BACK, LEFT, RIGHT])
def test_of_a_side_that_the_user_chose_only_what_is_in_its_way_is_moved(side):
    repair = panel(0.5)
    repair.down = side
    found = list(proud(Subject.of(repair)))
    assert bool(found) == (side in (FRONT, BACK))
    for finding in found:
        before = next(way for way in ways_up(Subject.of(repair)) if way.chosen)
        after = ways_up(Subject.of(apply(finding.fix, repair.copy())))
        assert next(way for way in after if way.chosen).minutes < before.minutes
        assert apply(finding.fix, repair.copy()).down == side


@pytest.mark.parametrize("out", [0.0, 1.1, 4.0])
def test_what_is_flush_or_meant_to_stand_out_is_left_alone(out):
    assert list(proud(Subject.of(panel(out)))) == []


def test_a_hinge_leaf_whose_knuckles_stand_half_a_millimetre_out_is_made_flush():
    leaf = box(50, 30, 3)
    for name, x in (("left knuckle", -18), ("right knuckle", 10)):
        leaf.add("cylinder", At(x, 15, 1.5, tilt=90), name, diameter=4, height=8)
    (found,) = proud(Subject.of(leaf))
    assert set(found.fix["steps"]) == {"left knuckle", "right knuckle"}
    flush = Subject.of(apply(found.fix, leaf))
    assert ways_up(flush)[0].down == pytest.approx((0, 0, -1))
    assert ways_up(flush)[0].flat
