"""Arcs, turned bodies and gears against closed forms and published formulas."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench import Outline, RepairError, bottle_thread, build, decompose
from workbench.solids.recipe.repair import Repair
from workbench.solids.templates.gear import gear, involute, radii
from workbench.solids.templates.shell import shell
from workbench.solids.templates.thread import COARSE, thread
from workbench.solids.templates.turning import turning


def test_a_circular_segment_has_the_area_of_the_handbook():
    # Any handbook: area r^2/2 (t - sin t); for r = 25 and t = 90 degrees 178.374.
    quarter = Outline([(25, 0, 0, 25), (0, 25), (0, 0)])
    (cap,) = [piece for piece in decompose(quarter) if piece.arc is not None]
    assert cap.area == pytest.approx(178.374, abs=1e-3)
    assert quarter.area == pytest.approx(math.pi * 25**2 / 4)


def test_a_stadium_and_a_rounded_rectangle():
    # Rectangle and two half discs; rectangle less (4 - pi) r^2.
    stadium = Outline([(0, 0), (50, 0, 0, 15), (50, 30), (0, 30, 0, 15)])
    assert stadium.area == pytest.approx(50 * 30 + math.pi * 15**2)
    assert stadium.size == pytest.approx((80, 30))
    rounded = Outline([(0, 0, 6), (52, 0, 6), (52, 28, 6), (0, 28, 6)])
    assert rounded.area == pytest.approx(52 * 28 - (4 - math.pi) * 36)


def test_a_turned_ring_has_the_volume_of_pappus_and_guldin():
    # Pappus and Guldin: area of the section times the way of its centroid; a torus is 2 pi^2 R r^2.
    ring = Outline([(17, 0, 0, 3), (23, 0, 0, 3)])
    assert turning(ring.corners).volume == pytest.approx(2 * math.pi**2 * 20 * 9, rel=1e-9)
    wedge = [(10, 0), (16, 0), (10, 9)]
    centroid, area = (10 + 16 + 10) / 3, 27
    assert turning(wedge).volume == pytest.approx(2 * math.pi * centroid * area, rel=1e-9)


def test_a_shell_leaves_the_room_of_its_inset():
    # A box of 50 x 30 x 18 with walls and floor of 1.5 and rounds of 4: inside, 2.5.
    outer, inner = (
        (w * d - (4 - math.pi) * r**2) * h for w, d, r, h in ((50, 30, 4, 18), (47, 27, 2.5, 16.5))
    )
    assert shell(wall=1.5).volume == pytest.approx(outer - inner, rel=1e-9)


def test_a_part_with_arcs_as_the_bench_s_own_step():
    lug = Outline([(0, 0), (30, 0, 0, 10), (30, 20), (0, 20, 3)])
    solid = build(Repair("lug").add("panel", outline=lug, thickness=4))
    round_end, corner = math.pi * 50, (1 - math.pi / 4) * 9
    assert solid.volume == pytest.approx(4 * (600 + round_end - corner), rel=1e-9)


def test_the_involute_function():
    # Tables of inv a = tan a - a (any handbook of gears): 0.014904 at 20, 0.005545 at 14.5 degrees.
    assert involute(math.radians(20)) == pytest.approx(0.0149044, abs=1e-7)
    assert involute(math.radians(14.5)) == pytest.approx(0.0055448, abs=1e-7)


@pytest.mark.parametrize(("teeth", "module"), [(12, 1.5), (20, 2.0), (40, 1.0)])
def test_a_tooth_is_as_thick_as_the_involute_makes_it(teeth: int, module: float):
    """ISO 21771: s_y = d_y (s / d + inv a - inv a_y), measured on the solid's own section."""
    pitch, base, tip, root = radii(teeth, module, 20)
    solid = gear(teeth, module, 5.0, 0.0, 20.0, 0.0)
    for radius in np.linspace(max(base, root) + 0.1 * module, tip - 0.1 * module, 5):
        angle = math.acos(base / radius)
        half = math.pi / (2 * teeth) + involute(math.radians(20)) - involute(angle)
        for off, inside in ((half - 0.02 / radius, True), (half + 0.02 / radius, False)):
            point = radius * math.cos(off), radius * math.sin(off), 2.5
            assert solid.is_inside(point) is inside
    # ISO 54 and 53: tip diameter m (z + 2), root diameter m (z - 2.5).
    assert 2 * tip == pytest.approx(module * (teeth + 2))
    assert 2 * root == pytest.approx(module * (teeth - 2.5))
    assert max(solid.bounding_box().size) == pytest.approx(2 * tip, abs=1e-3)
    assert pitch == module * teeth / 2


@pytest.mark.parametrize(
    ("size", "pitch", "middle", "minor"),
    # ISO 724, basic dimensions, pitch and minor diameter; from memory.
    [("M8", 1.25, 7.188, 6.647)],
)
def test_a_thread_has_the_basic_profile_of_iso_68_1(size, pitch, middle, minor):
    major, step = COARSE[size]
    assert step == pitch
    high = math.sqrt(3) / 2 * pitch
    assert major - 2 * 3 / 8 * high == pytest.approx(middle, abs=1e-3)
    assert major - 2 * 5 / 8 * high == pytest.approx(minor, abs=1e-3)
    solid = thread(size, 2 * pitch, 0.0)
    # Of the profile: crest p/8, flanks 5 p/16 each, root p/4; the mean of r squared, wound up.
    r, s = major / 2, minor / 2
    mean = (r * r / 8 + s * s / 4 + 2 * 5 / 16 * (r * r + r * s + s * s) / 3) * math.pi
    assert solid.volume == pytest.approx(mean * 2 * pitch, rel=5e-4)
    box = solid.bounding_box()
    assert [box.size.X, box.size.Z] == pytest.approx([major, 2 * pitch], abs=2e-3)
    # On the pitch cylinder ridge and groove are half a pitch wide each.
    steps = np.linspace(0, 1, 24, endpoint=False) * pitch + pitch / 2
    inside = [solid.is_inside((middle / 2, 0.0, float(z))) for z in steps]
    assert np.mean(inside) == pytest.approx(0.5, abs=0.05)


def test_a_rod_goes_into_its_hole_with_the_allowance():
    rod, hole = thread("M8", 5.0), thread("M8", 5.0, hole=True)
    assert hole.bounding_box().size.X - rod.bounding_box().size.X == pytest.approx(0.4, abs=1e-3)
    assert hole.volume > rod.volume


@pytest.mark.parametrize("hole", [False, True])
def test_a_bottle_thread_has_the_volume_of_its_profile(hole: bool):
    """Wound up, a profile of radius r(z) holds pi times the mean of r squared for each mm."""
    solid = bottle_thread(28.2, 26.2, 3.6, 0.9, 9.3, 0.4, hole)
    more = 0.4 if hole else -0.4
    r, s, flank = (28.2 + more) / 2, (26.2 + more) / 2, 1.0  # 45 degrees: as wide as high
    top = 0.9 + (0.2 if hole else 0.0)
    squares = top * r * r + (3.6 - top - 2 * flank) * s * s
    squares += 2 * flank * (r * r + r * s + s * s) / 3
    assert solid.volume == pytest.approx(math.pi * squares / 3.6 * 9.3, rel=5e-4)
    assert solid.bounding_box().size.X == pytest.approx(2 * r, abs=2e-3)


def test_a_bottle_thread_is_refused_where_its_ridges_leave_no_room():
    # Ridges of 0.9 + 0.2, 1 mm of flank on either side, and 0.4 between: 3.5 mm and no less.
    assert bottle_thread(28.2, 26.2, 3.5, 0.9, 9, 0.4, True).volume > 0
    with pytest.raises(RepairError, match=r"pitch is 3.45 mm.*give at least 3.5 mm"):
        bottle_thread(28.2, 26.2, 3.45, 0.9, 9, 0.4, True)
