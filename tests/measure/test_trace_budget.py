"""A trace knows how sure it is: by a second camera, of thick parts with broken edges and holes."""

from __future__ import annotations

import math
from dataclasses import replace

import cv2
import numpy as np
import pytest
from photo_table import Outcome, judged, laid
from photographer import Shot, photograph

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline
from workbench.measure.photos.edges import Line
from workbench.measure.photos.rectify import view_of_scan
from workbench.measure.photos.segment import REACH, Border, sharpen
from workbench.measure.photos.sheet_marks import Target
from workbench.measure.photos.trace import LEAN_SHARE, _grain, _scaled_by_bar, trace
from workbench.measure.photos.trace_budget import NEXT_TO_NOTHING, _distinct
from workbench.measure.photos.trace_checks import IN_LINE, TINY, Unclear, compared, odd_sides
from workbench.measure.reading import Reading
from workbench.measure.sketches.sketch import sketch_of
from workbench.measure.sketches.solve import solve

SMALL = (1125, 1500)
LEANING = Shot(SMALL, tilt=30, towards=40, roll=5, bend=(-0.08, 0.0), edge=0.6)


#: The same part of one colour all round, so that its sides do not show how far its edges are broken.
PLAIN = replace(LEANING, wall=LEANING.part, shades=(1.0, 1.0, 1.0))


@pytest.fixture(scope="module")
def plain() -> tuple[np.ndarray, bytes]:
    outline = laid("tee", np.random.default_rng(0))
    return outline, photograph(outline, PLAIN, 8.0, 1)


@pytest.fixture(scope="module")
def unsaid(plain) -> Outcome:
    return judged(*plain, thickness=8.0, bar=100)


def test_an_edge_that_is_told_is_put_right(plain, unsaid) -> None:
    told = judged(*plain, thickness=8.0, bar=100, edge=0.6)
    assert np.abs(told.errors).max() < 0.1
    assert np.abs(unsaid.errors).max() > 0.3
    assert (np.abs(unsaid.errors) < 2 * unsaid.stated).all()
    assert told.stated.max() < 0.5 * unsaid.stated.max()


@pytest.mark.parametrize(
    ("edge", "shades"),
    [(0.0, (1.0, 1.0, 1.0)), (0.6, (1.0, 1.0, 1.0)), (0.6, (0.75, 1.0, 1.25))],
    ids=["sharp", "as dark as the wall", "as dark as the top"],
)
def test_a_side_that_is_seen_tells_how_far_its_edges_are_broken(unsaid, edge, shades) -> None:
    outline = laid("tee", np.random.default_rng(0))
    picture = photograph(outline, replace(LEANING, edge=edge, shades=shades), 8.0, 1)
    seen = judged(outline, picture, thickness=8.0, bar=100)
    assert (np.abs(seen.errors) < 2 * seen.stated).all()
    assert seen.stated.max() < 0.75 * unsaid.stated.max()


@pytest.mark.parametrize("read", [1, 2])
def test_a_caliper_reading_settles_how_far_the_edges_are_broken(plain, unsaid, read: int) -> None:
    pulled = judged(*plain, read, thickness=8.0, bar=100)
    assert np.abs(pulled.errors).max() < 0.5 * np.abs(unsaid.errors).max()
    assert pulled.stated.max() < 0.5 * unsaid.stated.max()
    assert (np.abs(pulled.errors) < 3 * pulled.stated).all()


def test_a_reading_settles_what_corners_share_and_no_more() -> None:
    """A square whose sides' break is not known: one side read tells all, the rest stays its own."""
    square = Outline([(0, 0), (40, 0), (40, 40), (0, 40)])
    grown = np.array([(-0.2, -0.2), (0.2, -0.2), (0.2, 0.2), (-0.2, 0.2)])
    alone = sketch_of(square, uncertainty=0.01, scale=1e-6)
    sketch = sketch_of(square, uncertainty=0.01, scale=1e-6, ways=[grown])
    before = solve(sketch).size("side", "B C")
    assert before.uncertainty == pytest.approx(0.4, rel=0.01)
    after = solve(sketch.read("side", "A B", 39.5)).size("side", "B C")
    assert after.value == pytest.approx(39.5, abs=0.02)
    own = solve(alone).size("side", "B C").uncertainty
    assert own < after.uncertainty < 5 * own


def test_ways_are_few_and_hold_no_move_of_the_whole() -> None:
    corners = np.array([(0.0, 0), (40, 0), (30, 25), (0, 20)])
    moved = np.ones((4, 2)) * (0.3, -0.2)
    turned = 0.01 * (corners - corners.mean(axis=0)) @ np.array([[0, 1], [-1, 0]])
    grown = 0.01 * corners
    assert len(_distinct(np.array([moved, turned]), corners)) == 0
    (way,) = _distinct(np.array([moved + grown, 2 * grown, turned]), corners)
    assert np.hypot(*(way[1] - way[0])) == pytest.approx(math.sqrt(5) * 0.4)
    small = 0.5 * NEXT_TO_NOTHING * math.sqrt(4) / np.linalg.norm(grown) * grown
    assert len(_distinct(np.array([small]), corners)) == 0
    assert len(_distinct(np.array([4 * small]), corners)) == 1


def test_an_edge_that_leaves_much_open_is_asked_for(plain) -> None:
    _outline, picture = plain

    def asked(**told: float) -> bool:
        notes = trace(picture, bar=100, **told).notes
        return any("edges were taken to be rounded by 0.3 mm" in note for note in notes)

    assert asked(thickness=8.0)
    assert not asked(thickness=8.0, edge=0.6)
    assert not asked(thickness=0.3)


def test_tiny_sides_and_sides_in_line_are_told() -> None:
    def sides(*corners: tuple[float, float]) -> list[Line]:
        spots = np.array(corners, dtype=float)
        ways = np.roll(spots, -1, axis=0) - spots
        return [
            Line(spot + way / 2, math.atan2(way[1], way[0]), np.eye(2) * 1e-4, 0.0)
            for spot, way in zip(spots, ways, strict=True)
        ]

    def told(*corners: tuple[float, float], unsure: float = 0.0) -> list[str]:
        found = sides(*corners)
        return odd_sides(found, np.full(len(found), unsure))

    assert told((0, 0), (40, 0), (40, 30), (0, 30)) == []
    bend = 20 * math.tan(math.radians(0.6 * IN_LINE))
    assert (
        "1 of the corners found may" in told((0, 0), (20, -bend), (40, -bend), (40, 30), (0, 30))[0]
    )
    bend = 20 * math.tan(math.radians(1.4 * IN_LINE))
    assert told((0, 0), (20, -bend), (40, -bend), (40, 30), (0, 30)) == []
    for length in (0.9 * TINY, 1.1 * TINY):
        leg = length / math.sqrt(2)
        cut = told((0, 0), (40 - leg, 0), (40, leg), (40, 30), (0, 30))
        assert len(cut) == (length < TINY)
    for unsure in (1.4, 1.6):  # of a side of 3 mm, within a coverage factor of 2 or not
        leg = 3 / math.sqrt(2)
        cut = told((0, 0), (40 - leg, 0), (40, leg), (40, 30), (0, 30), unsure=unsure)
        assert len(cut) == (unsure > 1.5)


def test_an_edge_without_shadow_is_sure_to_a_twentieth_of_its_blur_either_way() -> None:
    """Half the width of an even distribution over the root of 3: JCGM 100:2008, 4.3.7."""
    flat = replace(view_of_scan(254.0, (100, 100)), misfit=0.0)
    border = Border(np.empty((0, 2)), spread=3.0, lean=0.0)
    grain = _grain(flat, np.array([5.0, 5.0]), border, pixel=0.1)
    assert grain.shift == pytest.approx(0.3 / 20 / math.sqrt(3))


def shaded_disc(blur: float, dark: float, fade: float) -> Border:
    """The border of a dark disc of 50 pixels' radius whose shadow fades outwards over ``fade`` pixels."""
    size, fine, radius = 140, 4, 50.0
    place = (np.arange(size * fine) + 0.5) / fine - size / 2
    out = np.hypot(*np.meshgrid(place, place)) - radius
    light = np.where(out < 0, 0.05, 0.8 - 0.8 * dark * np.exp(-np.maximum(out, 0) / fade))
    light = cv2.GaussianBlur(light.astype(np.float32), (0, 0), blur * fine)
    light = cv2.resize(light, (size, size), interpolation=cv2.INTER_AREA)
    turn = np.linspace(0, 2 * np.pi, 300, endpoint=False)
    ring = (size - 1) / 2 + radius * np.column_stack([np.cos(turn), np.sin(turn)])
    return sharpen(np.repeat(light[:, :, None], 3, axis=2), ring)


def test_a_shadow_draws_an_edge_by_no_more_than_is_stated_of_it() -> None:
    """By a limit: as sharp an edge as a camera makes, a shadow that fades over what is looked at."""

    def drawn(dark: float) -> float:
        clear, border = (shaded_disc(0.9, shade, REACH) for shade in (0.0, dark))
        middle = clear.points.mean(axis=0)
        off = [np.hypot(*(one.points - middle).T).mean() for one in (clear, border)]
        return (off[1] - off[0]) / (border.lean * border.spread)

    assert np.mean([drawn(0.1), drawn(0.25)]) == pytest.approx(math.sqrt(3) * LEAN_SHARE, rel=0.05)


def test_an_edge_that_cannot_be_is_refused(plain) -> None:
    with pytest.raises(RepairError, match="edge is 5 mm; give 0 mm to half of the thickness"):
        trace(plain[1], thickness=8.0, edge=5)


def test_a_sheet_whose_bar_was_not_measured_says_so(plain) -> None:
    _outline, picture = plain
    without = trace(picture, thickness=8.0, edge=0.6)
    assert any("bar was not measured" in note for note in without.notes)
    read = trace(picture, thickness=8.0, bar=100, edge=0.6)
    for one, other in zip(read.sides, without.sides, strict=True):
        of_bar = math.sqrt(one.uncertainty**2 - other.uncertainty**2)
        assert of_bar == pytest.approx(one.length / 100 * Reading(100).uncertainty, rel=0.01)
    shrunk = trace(picture, thickness=8.0, bar=96, edge=0.6)
    assert any("printed at 96 %" in note for note in shrunk.notes)
    share = shrunk.sides[0].length / without.sides[0].length
    assert share == pytest.approx(0.96, abs=0.005)
    near = trace(picture, thickness=8.0, bar=100.04, edge=0.6)
    share = np.array([n.length / r.length for n, r in zip(near.sides, read.sides, strict=True)])
    assert share == pytest.approx(1.0004, abs=0.0001)


@pytest.mark.parametrize(("bar", "told"), [(99.96, False), (99.94, True), (100.06, True)])
def test_a_print_s_scale_is_told_where_its_percents_would_not_be_100(bar, told) -> None:
    flat = view_of_scan(254.0, (1000, 1000))
    view, room, notes = _scaled_by_bar(flat, Target(), bar)
    assert room == pytest.approx(np.array(Target().room) * bar / 100)
    assert view.scale(np.array([50.0, 50])) == pytest.approx(10 * 100 / bar)
    assert bool(notes) == told


@pytest.mark.parametrize("thickness", [2.0, 6.0])
def test_a_hole_through_a_thick_part_is_found_on_both_rims(thickness: float) -> None:
    outline = laid("ell", np.random.default_rng(3))
    x, y = 0.55 * outline[0] + 0.45 * outline[3]
    shot = Shot(SMALL, tilt=18, towards=40)
    picture = photograph(outline, shot, thickness, 1, holes=((x, y, 9.0),))
    found = trace(picture, thickness=thickness, bar=100, edge=0)
    (hole,) = found.holes
    assert hole.diameter == pytest.approx(9, abs=max(0.2, 3 * hole.uncertainty))
    assert hole.uncertainty < 0.2


def test_sides_that_do_not_follow_the_border_are_refused_with_a_picture() -> None:
    square = np.array([(0.0, 0), (40, 0), (40, 40), (0, 40)])
    side = np.linspace(0, 40, 80, endpoint=False)
    border = np.concatenate(
        [
            np.c_[side, 0 * side],
            np.c_[0 * side + 40, side],
            np.c_[40 - side, 0 * side + 40],
            np.c_[0 * side, 40 - side],
        ]
    )
    assert compared(square, border, None) == []
    lost = np.array([(0.0, 0), (40, 0), (40, 40)])
    with pytest.raises(Unclear, match="do not follow the border") as told:
        compared(lost, border, b"png")
    assert told.value.picture == b"png"
    (note,) = compared(np.array([(0.0, 0), (40, 0), (40, 39), (0, 39)]), border, None)
    assert "the area differs by 2.5 %" in note


def test_a_camera_that_was_not_told_its_focal_length_is_less_sure() -> None:
    outline = laid("wedge", np.random.default_rng(5))
    doubts = []
    for stated in (True, False):
        picture = photograph(outline, Shot(SMALL, tilt=3, stated=stated), 6.0, 2)
        one = judged(outline, picture, thickness=6.0, bar=100, edge=0)
        assert (np.abs(one.errors) < 3 * one.stated).all()
        doubts.append(one.stated.max())
    assert doubts[1] > 1.2 * doubts[0]
