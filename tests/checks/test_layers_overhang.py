"""Overhangs: their kinds, places and support."""

from __future__ import annotations

from itertools import starmap

import numpy as np
import pytest
from bodies import arrays, ball, block, bridge, drilled, funnel, lamp, tee
from hypothesis import assume, given
from hypothesis import strategies as st
from manifold3d import CrossSection, Manifold

from workbench.checks.layers import bridges
from workbench.checks.layers.bridges import bridged, reach, span
from workbench.checks.layers.layer_analysis import Settings, layers
from workbench.checks.layers.overhang import overhangs
from workbench.checks.layers.sections import STRAIGHT, perimeter
from workbench.checks.layers.slices import cut

DOWN = (0.0, 0.0, -1.0)


def hung(body: Manifold, down=DOWN, **settings):
    return layers(*arrays(body), down, Settings(**settings)).overhangs


def test_a_block_hangs_nowhere():
    found = hung(block(20, 10, 5))
    assert found.regions == ()
    assert (found.area, found.support, found.on_bed, found.on_part) == (0, 0, 0, 0)


def test_the_arms_of_a_tee_are_ledges():
    left, right = sorted(hung(tee(arm=17, stem=30)).regions, key=lambda r: r.place[0])
    for region in (left, right):
        assert region.kind == "ledge"
        assert region.supported and region.over_bed
        assert region.area == pytest.approx(170)
        assert (region.height, region.clearance) == pytest.approx((30, 30))
        assert region.length == pytest.approx(17)
    assert left.place == pytest.approx((-11.5, 0, 30), abs=0.01)


@pytest.mark.parametrize(("free", "supported"), [(8, False), (9.9, False), (10.1, True)])
def test_a_deck_between_legs_is_a_bridge(free, supported):
    (region,) = hung(bridge(free)).regions
    assert (region.kind, region.supported) == ("bridge", supported)
    assert region.length == pytest.approx(free, abs=0.01)
    assert region.area == pytest.approx(free * 10)


def test_a_longer_bridge_is_allowed_on_request():
    assert hung(bridge(20)).support > 0
    assert hung(bridge(20), bridge=25).support == 0


@pytest.mark.parametrize("diameter", [4.2, 5, 6])
def test_the_roof_of_a_level_hole_is_a_bridge_that_prints(diameter):
    (region,) = hung(drilled(diameter)).regions
    assert region.kind == "bridge"
    assert not region.supported
    assert region.length <= diameter


def test_a_blind_bore_has_a_bridge_for_a_ceiling():
    (region,) = hung(block(20, 20, 20) - Manifold.cylinder(18, 4, 4, 64)).regions
    assert region.kind == "bridge"
    assert region.length == pytest.approx(8, abs=0.05)


def test_a_collar_is_a_ledge_all_round():
    post = Manifold.cylinder(30, 4, 4, 128)
    (region,) = hung(post + Manifold.cylinder(3, 8, 8, 128).translate((0, 0, 10))).regions
    assert region.kind == "ledge"
    assert region.length == pytest.approx(4, abs=0.01)
    assert np.hypot(*region.place[:2]) == pytest.approx(6, abs=2)


def test_a_drop_that_starts_in_mid_air_is_an_island():
    found = hung(lamp())
    (island,) = found.islands
    assert island.supported
    assert island.area == pytest.approx(4)
    assert island.height == pytest.approx(12)
    assert (island.clearance, island.over_bed) == (pytest.approx(7), False)
    assert island.place == pytest.approx((0, 0, 12), abs=0.01)


def test_island_marks_are_on_the_part_as_it_stands():
    body = arrays(lamp())
    for down in (DOWN, (0.0, 0.0, 1.0)):
        found = layers(*body, down)
        for x, y, z in found.island_marks:
            assert abs(x) < 1.01 and abs(y) < 1.01
            assert 11.9 < z < 15.1
    assert len(layers(*body, DOWN).island_marks) == 1


def test_a_point_that_hangs_is_an_island_even_if_steep():
    spike = Manifold.cylinder(8, 0, 2, 32).translate((0, 0, 7))
    body = (block(30, 10, 20) - block(20, 20, 10, (0, 0, 5))) + spike
    assert [island.height for island in hung(body).islands] == pytest.approx([7.2], abs=0.41)


@pytest.mark.parametrize("angle", [30, 44, 45])
def test_up_to_the_angle_nothing_hangs(angle):
    assert hung(funnel(angle)).area == 0


@pytest.mark.parametrize("angle", [47, 55, 70])
def test_beyond_the_angle_everything_hangs(angle):
    found = hung(funnel(angle))
    (region,) = found.regions
    assert region.kind == "slope"
    assert region.supported


def test_the_angle_is_the_user_s():
    assert hung(funnel(55), angle=60).area == 0
    assert hung(funnel(30), angle=20).area > 0


def test_a_chamfer_and_a_small_rounding_print_by_themselves():
    foot = Manifold.cylinder(0.5, 9.5, 10, 128) + Manifold.cylinder(10, 10, 10, 128).translate(
        (0, 0, 0.5)
    )
    assert hung(foot).support == 0


def test_a_ledge_of_one_line_prints_by_itself():
    step = block(20, 10, 5) + block(20.6, 10, 5, (0, 0, 5))
    found = hung(step)
    assert found.area > 0
    assert found.support == 0


def test_support_lands_on_the_part_where_it_is_in_the_way():
    body = block(6, 10, 30) + block(40, 10, 4, (0, 0, 30)) + block(40, 10, 4)
    found = hung(body)
    assert found.on_bed == 0
    assert found.on_part == pytest.approx(340)
    assert found.support == pytest.approx(340 * 26)
    assert all(not region.over_bed for region in found.regions)


def test_support_that_meets_a_sphere_lands_partly_on_it():
    body = ball(6, 64) + block(2, 2, 12, (0, 0, 3)) + block(30, 10, 4, (0, 0, 15))
    found = hung(body)
    assert found.on_part > 0
    assert found.on_bed > found.on_part


def test_every_layer_of_support_lies_outside_the_part():
    slices = cut(*arrays(ball(8, 48) + block(30, 10, 3, (0, 0, 14))), DOWN)
    found = overhangs(slices)
    checked = 0
    for i, pieces in enumerate(found.columns):
        for piece in pieces:
            # Corners of a section are left out up to STRAIGHT beside an edge, layer by layer.
            section = slices.section(i)
            assert (piece ^ section).area() <= STRAIGHT * perimeter(section)
            checked += 1
        assert sum(piece.area() for piece in pieces) == pytest.approx(found.support_areas[i])
    assert checked > 10


@given(st.floats(0, 360), st.floats(-20, 20), st.floats(-20, 20))
def test_where_the_part_stands_on_the_bench_does_not_matter(turn, x, y):
    """Turning about the vertical and moving change rounding only."""
    body = tee() + block(4, 4, 3, (8, 0, 27))
    first = hung(body)
    moved = hung(body.rotate((0, 0, turn)).translate((x, y, 0)))
    assert moved.area == pytest.approx(first.area, rel=1e-3)
    assert moved.support == pytest.approx(first.support, rel=1e-3)
    assert [r.kind for r in moved.regions] == [r.kind for r in first.regions]


directions = st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1))


@given(directions)
def test_figures_hold_together_in_every_orientation(down):
    assume(np.linalg.norm(down) > 0.1)
    found = hung(tee(), down)
    assert found.area == pytest.approx(sum(region.area for region in found.regions))
    assert found.areas.sum() == pytest.approx(found.area)
    assert found.support == pytest.approx(found.support_areas.sum() * 0.2)
    assert found.support == 0 or any(region.supported for region in found.regions)
    # Pieces of support are joined a thousandth of a millimetre wider.
    assert found.on_bed + found.on_part == pytest.approx(found.touched, rel=2e-3, abs=0.2)
    for region in found.regions:
        assert region.layer <= region.last
        assert region.height >= region.clearance - 1e-9


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ({"layer": 0}, ("layer", "0 mm")),
        ({"line_width": -1}, ("line width", "-1 mm")),
        ({"nozzle": float("nan")}, ("nozzle", "nan")),
        ({"angle": 90}, ("overhang angle", "90°")),
        ({"angle": float("nan")}, ("overhang angle",)),
        ({"bridge": -3}, ("bridge", "-3 mm")),
    ],
)
def test_settings_that_make_no_sense_are_refused(settings, words, refused):
    with refused(*words):
        Settings(**settings)


def test_a_sliver_reaches_nowhere():
    sliver = CrossSection.square((10, 0.001))
    assert reach(sliver, CrossSection.square((10, 10)).translate((0, -10))) <= 0.01
    assert span(sliver, CrossSection.square((10, 10)).translate((0, -10))).length <= 0.01


def test_a_reach_from_nothing_is_without_end():
    assert reach(CrossSection.square((1, 1)), CrossSection()) == float("inf")


def test_bridges_are_the_same_alone_and_together(monkeypatch):
    """Beside others, and however many edges are turned at once."""
    walls = [CrossSection.square((3, 9)).translate((x, 0)) for x in (-3, 8)]
    both, one = walls[0] + walls[1], walls[0]
    decks = [CrossSection.square((8, y)) for y in (2, 5, 9)]
    held = [(deck, below) for deck in decks for below in (both, one, CrossSection())]
    lengths = pytest.approx([8.0, float("inf"), float("inf")] * 3)
    assert [each.length if each.bridge else np.inf for each in starmap(span, held)] == lengths
    asked, found = [], bridges._held_lengths
    monkeypatch.setattr(
        bridges, "_held_lengths", lambda pairs: asked.append(len(pairs)) or found(pairs)
    )
    assert bridged([]) == []
    assert bridged(held) == lengths
    # A deck and a wall have 8 edges, turned into up to 16 directions.
    assert bridged([(decks[0], one)] * 782) == [float("inf")] * 782
    assert asked == [0, 9, 781, 1]


def test_a_column_that_stands_apart_is_cut_where_the_part_begins_below_it_alone():
    """Two decks on a stem; below one of them a dome begins, above the other's frame nothing does."""
    stem = block(4, 10, 30)
    decks = [block(20, 10, 3).translate((x, 0, 27)) for x in (-12, 12)]
    dome = ball(3, 40).translate((18, 0, 0)).trim_by_plane((0, 0, 1), 0)
    found = hung(sum(decks, stem) + dome)
    free = hung(sum(decks, stem))
    assert found.on_part == pytest.approx(np.pi * 9, rel=0.03)
    assert free.on_part == 0
    assert free.support - found.support == pytest.approx(2 / 3 * np.pi * 27, rel=0.05)
