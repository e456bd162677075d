"""How long building takes, as ratios within one run. Run with ``-s`` to see the figures.

Processor seconds are compared, not those of the clock, so that other work on the machine counts
little; the least of several runs is taken.
"""

from __future__ import annotations

import math
import subprocess
import sys

import numpy as np
import pytest
from speed_table import SIZES, field, fused
from speeds import changing, processor_seconds, quickest

from workbench.solids.building.build import assemble, build
from workbench.solids.geometry.cache import Cache
from workbench.solids.meshes.mesh import ANGLE, DEVIATION, mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat

# -- a slider on the five-step divider ---------------------------------------------------------

HEIGHTS = [71 + i / 10 for i in range(40)]


def divider(height=71.0):
    repair = Repair("tray divider")
    repair.add("fin", name="blade", bottom=46, top=37, height=height, inset=-7, thickness=1.6)
    repair.add("tab", seat=Seat("bottom of blade", sink=0.2), name="foot", width=30, thickness=2.4)
    repair.add(
        "box", seat=Seat("left of blade", sink=0.3), name="nub", width=1.2, depth=4, height=2
    )
    repair.add("peg", seat=Seat("top of blade", sink=0.2), name="pin", diameter=1.4, length=3)
    return repair.cut("cylinder", seat=At(15, 5, 30), name="finger", diameter=9, height=8)


def divider_by_hand(height):
    """The same geometry in the kernel's own words: one union, one cut."""
    from build123d import Face, Location, Plane, Solid, Vector, Wire

    corners = [(0, 0), (46, 0), (30, height), (-7, height)]
    ring = Wire.make_polygon([Vector(x, -0.8, z) for x, z in corners], close=True)
    blade = Solid.extrude(Face(ring), Vector(0, 1.6, 0))
    foot = Solid.make_box(30, 2.4, 5).moved(Location((8, -1.2, -4.8)))
    side = Plane((-3.5, 0, height / 2), (0, -1, 0), (-height, 0, -7))
    nub = Solid.make_box(1.2, 4, 2).moved(side.location * Location((-0.6, -2, -0.3)))
    pin = Solid.make_cylinder(0.7, 3, Plane((11.5, 0, height - 0.2)))
    finger = Solid.make_cylinder(4.5, 8, Plane((15, 5, 30)))
    return blade.fuse(foot, nub, pin).cut(finger)


def test_a_slider_costs_no_more_than_the_same_by_hand():
    repair, cache = divider(), Cache()
    assert build(repair, cache).volume == pytest.approx(divider_by_hand(71).volume)
    ours, theirs = changing(HEIGHTS), changing(HEIGHTS)

    def slider():
        mesh(build(repair.change("blade", height=next(ours)), cache))

    def by_hand():
        divider_by_hand(next(theirs)).tessellate(DEVIATION, math.radians(ANGLE))

    mine, hand = quickest(slider, by_hand, tries=12)
    print(f"\nslider to mesh, five-step divider: {mine / hand:.2f} times the same by hand")
    assert mine <= 1.3 * hand


# -- one step of twenty ------------------------------------------------------------------------

KINDS = {
    "tab": {"width": 3, "length": 5, "thickness": 2, "chamfer": 0.4},
    "peg": {"diameter": 3, "length": 8, "chamfer": 0.4},
    "clip": {"width": 5},
}

PITCH = 4.8


def comb(count):
    """A base with tabs, pegs and clips in turn along it: ``count`` steps in all."""
    repair = Repair("comb").add("plate", name="base", width=PITCH * count, height=20)
    for i in range(count - 1):
        kind = list(KINDS)[i % len(KINDS)]
        along = PITCH * (i - (count - 2) / 2)
        seat = Seat("top of base", along=along, sink=0.2)
        repair.add(kind, name=f"part {i}", seat=seat, **KINDS[kind])
    return repair


def test_a_changed_leaf_costs_little_however_many_steps_there_are():
    """To the mesh: of 200 steps with 50 cuts less than a twelfth, the first as quick as the next."""
    times, counts = [], [5, 20, 80, 200]
    for count in counts:
        repair, cache = field(count, SIZES[count]), Cache()
        start = processor_seconds()
        mesh(build(repair, cache))
        whole = processor_seconds() - start
        sizes = changing([3.05 + i / 50 for i in range(40)])

        def change(repair=repair, cache=cache, sizes=sizes):
            mesh(build(repair.change("part 1", diameter=next(sizes)), cache))

        (first,), (again,) = quickest(change, tries=1), quickest(change, tries=5)
        times.append(again)
        print(
            f"\none leaf of {count} steps: {again / whole:.3f} of the whole; "
            f"the first change {first / again:.2f} times the next"
        )
    power = np.polyfit(np.log(counts), np.log(times), 1)[0]
    print(f"grows as steps to the power {power:.2f}; 20 steps {times[1] / times[0]:.2f} times 5")
    assert times[-1] < 0.08 * whole
    assert power < 0.5


# -- equal leaves ------------------------------------------------------------------------------


@pytest.mark.parametrize(("steps", "most"), [(20, 1.0), (80, 0.6), (200, 0.5)])
def test_leaves_of_three_kinds_build_faster_than_one_union_joins_them(steps, most):
    ours, one = anew_against_one_union(field(steps), tries=3)
    print(f"\n{steps} steps, three kinds of leaves: {ours / one:.2f} of one union of the kernel")
    assert ours <= most * one


@pytest.mark.parametrize(("steps", "most"), [(20, 1.35), (80, 1.25)])
def test_leaves_that_are_all_unlike_build_about_as_fast_as_one_union_joins_them(steps, most):
    """Our build places, joins and looks at every face; the union joins alone, and takes no less."""
    ours, one = anew_against_one_union(field(steps, unlike=True), tries=5)
    print(f"\n{steps} steps, all leaves unlike: {ours / one:.2f} of one union of the kernel")
    assert ours <= most * one


def anew_against_one_union(repair, tries):
    """Seconds of a build of shapes that are made already, and of one union of the kernel of them."""
    known = Cache()
    parts = list(assemble(repair, known).parts.values())

    def anew():
        cache = Cache()
        cache.built = known.built
        build(repair, cache)

    return quickest(anew, lambda: fused(parts), tries=tries)


# -- eighty touching boxes ---------------------------------------------------------------------

ROWS = {
    "in a row": lambda i: At(6 * i),
    "in steps": lambda i: At(6 * i, (i % 3) * 0.7, (i % 5) * 0.3),
}


@pytest.mark.parametrize("row", ROWS)
def test_eighty_touching_boxes_build_ten_times_faster_than_one_by_one(row):
    repair = Repair("row")
    for i in range(80):
        repair.add("box", name=f"box {i}", seat=ROWS[row](i), width=6, depth=4, height=3)
    boxes = list(assemble(repair, Cache()).parts.values())

    def one_by_one():
        whole = boxes[0]
        for box in boxes[1:]:
            whole = whole.fuse(box)
        return whole

    assert build(repair).volume == pytest.approx(80 * 6 * 4 * 3)
    (mine,) = quickest(lambda: build(repair, Cache()), tries=3)
    (slow,) = quickest(one_by_one, tries=1)
    print(f"\n80 touching boxes {row}: {slow / mine:.0f} times faster than one by one")
    assert slow >= 10 * mine


# -- growth ------------------------------------------------------------------------------------


def test_time_grows_nearly_in_proportion_to_the_steps():
    counts = [10, 20, 40, 80]
    repairs = [comb(count) for count in counts]
    solids = [build(repair) for repair in repairs]

    def meshing(solid):
        from OCP.BRepTools import BRepTools

        from workbench.solids.meshes import mesh as meshes

        for known in (meshes._MESHES, meshes._SMALL, meshes._WELDED, meshes._FACES):
            known.clear()
        BRepTools.Clean_s(solid.wrapped)
        mesh(solid)

    building = quickest(*(lambda r=repair: build(r, Cache()) for repair in repairs), tries=3)
    meshed = quickest(*(lambda s=solid: meshing(s) for solid in solids), tries=3)
    for what, times in (("build", building), ("mesh", meshed)):
        power = np.polyfit(np.log(counts), np.log(times), 1)[0]
        shares = ", ".join(
            f"{c} steps {t / times[0]:.1f}" for c, t in zip(counts, times, strict=True)
        )
        print(f"\n{what} against steps: {shares}; grows as steps to the power {power:.2f}")
        assert power < 1.5


# -- starting ----------------------------------------------------------------------------------


def running(*words):
    def job():
        subprocess.run([sys.executable, *words], check=True, capture_output=True)

    return job


def test_starting_takes_less_than_a_tenth_of_loading_the_kernel():
    load, helping, kernel = quickest(
        running("-c", "import workbench"),
        running("-m", "workbench.cli", "--help"),
        running("-c", "import build123d"),
        tries=2,
    )
    print(
        f"\nimport workbench {load / kernel:.3f}, workbench --help {helping / kernel:.3f} "
        "of importing build123d, each with the start of Python"
    )
    assert load < kernel / 10
    assert helping < kernel / 10
