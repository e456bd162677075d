"""Walls and gaps too narrow for the nozzle, and how firmly a part stands."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import arrays, ball, block, comb, funnel
from manifold3d import Manifold

from workbench.checks.layers.layer_analysis import layers
from workbench.checks.layers.slices import cut
from workbench.checks.layers.thin_walls import samples, thin
from workbench.checks.orientation.stability import brim, towers

DOWN = (0.0, 0.0, -1.0)


def places(body: Manifold, kind: str, line: float = 0.4):
    return [place for place in thin(cut(*arrays(body), DOWN), line) if place.kind == kind]


@pytest.mark.parametrize(("wall", "lines"), [(0.3, 0), (0.4, 1), (0.5, 1), (0.7, 1)])
def test_thin_walls_say_how_many_lines_fit(wall, lines):
    found = places(comb(wall, 5), "wall")
    assert len(found) == 2
    for place in found:
        assert place.width == pytest.approx(wall, abs=0.01)
        assert place.lines == lines
        assert place.length == pytest.approx(10, abs=0.2)
        assert place.height == pytest.approx(5)
        assert place.tall == pytest.approx(15)
        assert abs(place.place[0]) == pytest.approx((wall + 5) / 2, abs=wall / 2)


def two_blocks(strip: float, apart: float = 0.0) -> Manifold:
    """Blocks of 20 mm that face each other along a strip, or are joined by a bar of its width."""
    one = block(20, 20, 10)
    bar = block(apart + 2, strip, 10, (10 + apart / 2, 10 - strip / 2, 0))
    return one + one.translate((20 + apart, 20 - strip, 0)) + bar


@pytest.mark.parametrize("apart", [0.0, 0.3])
@pytest.mark.parametrize("strip", [0.3, 0.5, 0.7])
def test_a_neck_is_as_wide_as_what_holds_two_pieces_together(strip, apart):
    (place,) = places(two_blocks(strip, apart), "wall")
    assert place.neck == (strip * apart <= 0.4**2)
    assert place.width == pytest.approx(strip, abs=0.01)
    assert place.lines == int(strip / 0.4 + 0.05)
    assert place.tall == pytest.approx(10)
    assert np.hypot(*place.place[:2]) < 1, "the middle of both"


def test_what_is_joined_well_is_no_neck():
    assert places(two_blocks(0.9), "wall") == []
    joined_below = two_blocks(0.3) + block(80, 80, 2, (0, 0, -2))
    assert places(joined_below, "wall") == []
    joined_above = two_blocks(0.3) + block(80, 80, 2, (0, 0, 10))
    assert places(joined_above, "wall") == []
    ring = two_blocks(0.3) + block(4, 30, 10, (-5, 20, 0))
    ring += block(30, 4, 10, (8, 33, 0)) + block(4, 12, 10, (20, 31, 0))
    assert places(ring, "wall") == [], "round the other way"


@pytest.mark.parametrize("wall", [0.8, 1.2, 3])
def test_two_lines_are_enough(wall):
    assert places(comb(wall, 5), "wall") == []


def test_a_wall_is_measured_against_the_nozzle():
    assert places(comb(0.8, 5), "wall", line=0.6)
    assert not places(comb(0.8, 5), "wall", line=0.25)


@pytest.mark.parametrize("gap", [0.2, 0.35, 0.6])
def test_narrow_gaps_are_found(gap):
    (found,) = places(comb(3, gap), "gap")
    assert found.width == pytest.approx(gap, abs=0.01)
    assert found.place[0] == pytest.approx(0, abs=gap / 2)


@pytest.mark.parametrize("gap", [0.8, 1.5])
def test_wide_gaps_stay_open(gap):
    assert places(comb(3, gap), "gap") == []


def test_a_narrow_bore_closes():
    (found,) = places(block(10, 10, 5) - Manifold.cylinder(9, 0.3, 0.3, 32, True), "gap")
    assert found.width == pytest.approx(0.6, abs=0.03)


def test_corners_and_tips_are_no_thin_walls():
    for body in (block(10, 10, 5), ball(5), Manifold.cylinder(10, 8, 0, 64), funnel(30)):
        assert places(body, "wall") == []


def test_two_edges_far_apart_are_not_one_tall_wall():
    ends = [(x, y, z) for x, z in ((0.1, 0), (10, 10.1), (0.1, 20.2)) for y in (-5, 5)]
    body = Manifold.hull_points([(side * x, y, z) for x, y, z in ends for side in (-1, 1)])
    found = places(body, "wall")
    assert len(found) == 2 and all(place.tall < 1 for place in found)


def test_a_low_rib_on_a_plate_is_seen():
    body = block(30, 20, 3) + block(10, 0.5, 0.4, (0, 0, 3))
    (found,) = places(body, "wall")
    assert found.tall == pytest.approx(0.4)


def test_every_millimetre_and_every_step_is_looked_at():
    slices = cut(*arrays(ball(10) + block(3, 3, 30, (0, 0, 5))), DOWN)
    looked = np.array(samples(slices))
    changing = np.flatnonzero(~slices.repeats)
    gaps = [np.abs(looked - i).min() * slices.layer for i in changing]
    assert max(gaps) <= 1.0


def stands(body: Manifold, down=DOWN):
    return layers(*arrays(body), down).stance


def test_a_block_stands_on_its_whole_foot():
    found = stands(block(20, 10, 5))
    assert (found.contact, found.hull, found.pieces) == (pytest.approx(200), pytest.approx(200), 1)
    assert found.base == pytest.approx(10)
    assert found.margin == pytest.approx(5)
    assert found.tips == pytest.approx(np.degrees(np.arctan2(5, 2.5)))
    assert found.brim is None


def test_four_legs_stand_on_their_hull():
    legs = [block(3, 3, 20, (x, y, 0)) for x in (-15, 15) for y in (-10, 10)]
    found = stands(sum(legs, block(33, 23, 3, (0, 0, 20))))
    assert found.pieces == 4
    assert found.contact == pytest.approx(36)
    assert found.hull == pytest.approx(33 * 23)


def test_a_leaning_column_falls_by_itself():
    column = block(4, 4, 40).warp_batch(lambda p: p + np.outer(p[:, 2], [0.5, 0, 0]))
    found = stands(column)
    assert found.margin < 0
    assert found.tips == 0


def test_support_on_the_bed_helps_it_to_stand():
    hammer = block(4, 4, 20) + block(30, 4, 6, (13, 0, 20))
    assert stands(hammer).margin > 0


@pytest.mark.parametrize(
    ("height", "contact", "base", "tips", "width"),
    [(71, 72, 2.4, 2, 8), (20, 300, 4.5, 20, 5), (10, 400, 20, 60, None), (1.6, 40, 2, 60, None)],
)
def test_tall_thin_parts_want_a_brim(height, contact, base, tips, width):
    found = brim(height, contact, base, tips)
    assert (found.width if found else None) == width


def test_a_small_contact_wants_a_brim():
    assert "20 mm²" in brim(10, 20, 4, 40).reason


def test_towers_stand_alone_above_their_foot():
    body = block(30, 10, 5) + block(2, 2, 20, (-10, 0, 5)) + block(6, 6, 20, (8, 0, 5))
    thin_one, thick_one = towers(cut(*arrays(body), DOWN))
    assert (thin_one.height, thin_one.width, thin_one.area) == pytest.approx((20, 2, 4))
    assert thin_one.small and not thick_one.small
    x, y, z = thin_one.place
    assert abs(x + 10) < 1 and abs(y) < 1 and 5 <= z < 25


def test_legs_that_join_again_are_no_towers():
    legs = block(3, 3, 20, (-15, 0, 0)) + block(3, 3, 20, (15, 0, 0))
    assert all(t.height < 5 for t in towers(cut(*arrays(legs + block(33, 3, 3, (0, 0, 20))), DOWN)))
