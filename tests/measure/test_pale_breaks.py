"""Broken edges of another shade than the top: sides painted step by step, each limit known, and photos."""

from __future__ import annotations

import math
from dataclasses import replace

import cv2
import numpy as np
import pytest
from photo_table import judged, laid
from photographer import Shot, photograph

from workbench.measure.photos import pale_breaks
from workbench.measure.photos.camera import Camera, Thickness, stood, stood_up
from workbench.measure.photos.edges import Line, lengths_of
from workbench.measure.photos.straightened import Straightened
from workbench.measure.photos.trace import trace

PIXEL, SPREAD, HEIGHT, THICK = 0.2, 0.15, 400.0, 5.0
PAPER, TOP = 0.8, 0.05

#: Out of a square of 40 mm: right, up, left, down.
OUTS = [np.array(out, dtype=float) for out in ((1, 0), (0, 1), (-1, 0), (0, -1))]


def square(lean: float, broken: float, whole: bool = False) -> tuple[list[Line], Camera]:
    """The square's top, or all of it, as a camera off by ``lean`` times its height sees it."""
    camera = Camera(np.array([50 + lean * HEIGHT, 50.0]), HEIGHT, 0.001)
    lines = []
    for out in OUTS:
        side = np.array([50.0, 50.0]) + 20 * out
        limit = at(side, out, camera, THICK, broken)
        if whole:
            limit = max(at(side, out, camera, level, 0) for level in (broken, THICK - broken))
        spot = side + (limit - 20) * out
        lines.append(Line(spot, math.atan2(out[0], -out[1]), np.eye(2) * 1e-5, 0.0))
    return lines, camera


def at(side: np.ndarray, out: np.ndarray, camera: Camera, level: float, inset: float) -> float:
    """How far out of the square's middle a limit of this level and inset is seen."""
    away = float((side - camera.foot) @ out)
    seen = (away - inset) * camera.height / (camera.height - level)
    return float((camera.foot - 50.0) @ out) + seen


def painted(camera: Camera, broken: float, wall: float, chamfer: float, blur: float) -> np.ndarray:
    """(500, 500, 3) light of 100 by 100 mm: paper, then wall, break and top, each over the last."""
    fine = 5
    places = (np.arange(500 * fine, dtype=np.float32) + 0.5) * PIXEL / fine - 50
    x, y = np.meshgrid(places, -places)
    light = np.full(x.shape, PAPER, dtype=np.float32)
    for level, inset, shade in (
        (broken, 0.0, wall),
        (THICK - broken, 0.0, chamfer),
        (THICK, broken, TOP),
    ):
        inside = np.ones(x.shape, dtype=bool)
        for out in OUTS:
            side = np.array([50.0, 50.0]) + 20 * out
            limit = at(side, out, camera, level, inset)
            if level == broken:  # of the wall, its foot or its upper end is further out
                limit = max(limit, at(side, out, camera, THICK - broken, 0.0))
            inside &= x * out[0] + y * out[1] < limit
        light[inside] = shade
    light = cv2.GaussianBlur(light, (0, 0), blur * fine / PIXEL)
    light = cv2.resize(light, (500, 500), interpolation=cv2.INTER_AREA)
    noise = np.random.default_rng(1).normal(0, 0.003, (500, 500, 3))
    return (light[:, :, None] + noise).astype(np.float32)


def found(
    lean: float = 0.3,
    broken: float = 0.7,
    wall: float = 0.4,
    chamfer: float = 0.5,
    depth: Thickness | None = None,
    blur: float = SPREAD,
    whole: bool = False,
):
    lines, camera = square(lean, broken, whole)
    light = painted(camera, broken, wall, chamfer, blur)
    depth = depth or Thickness(THICK)
    picture = Straightened(light, (0.0, 100.0), PIXEL, SPREAD)
    shown = pale_breaks.at_the_top(lines, picture, camera, depth)
    return lines, camera, shown


@pytest.mark.parametrize("lean", [0.05, 0.3, 0.6])
@pytest.mark.parametrize("broken", [0.5, 0.9])
def test_the_break_and_the_sides_are_told_from_the_tops_limit(lean: float, broken: float) -> None:
    _lines, camera, shown = found(lean, broken)
    assert shown is not None
    edges, depth = shown
    assert abs(depth.broken - broken) < 2 * depth.broken_doubt
    assert depth.broken_doubt < 0.2
    lengths = lengths_of(stood_up(edges, camera, depth))
    assert np.abs(lengths - 40).max() < 2 * abs(depth.broken - broken) + 0.1


def test_a_blur_that_was_taken_too_wide_is_put_right() -> None:
    shown = found(0.3, 0.7, blur=0.6 * SPREAD)[2]
    assert shown is not None and shown[1].broken == pytest.approx(0.7, abs=0.1)


def test_a_part_of_one_shade_is_left_as_it_is() -> None:
    assert found(wall=TOP, chamfer=TOP, whole=True)[2] is None
    # A break nearly as dark as the top is in what was traced.
    assert found(wall=TOP, chamfer=TOP + 0.01, whole=True)[2] is None


def test_a_break_that_is_known_to_be_small_is_not_found_large() -> None:
    known = Thickness(THICK, broken=0.1, broken_doubt=0.02)
    shown = found(depth=known)[2]
    assert shown is None or shown[1].broken < 0.3


def test_the_tops_limit_stands_at_the_parts_height_and_inside_its_side() -> None:
    lines, camera = square(0.3, 0.7)
    depth = Thickness(THICK, broken=0.7)
    for line, out in zip(lines, OUTS, strict=True):
        top = stood(replace(line, top=1.0), camera, depth)
        assert isinstance(top, Line)
        assert (top.middle - 50.0) @ out == pytest.approx(20, abs=0.05)
        whole = stood(line, camera, depth)
        half = stood(replace(line, top=0.5), camera, depth)
        assert np.allclose(half.middle, (top.middle + whole.middle) / 2)


def test_jumps_between_both_limits_are_no_sides_and_cut_corners_are() -> None:
    lines, camera = square(0.05, 0.8)
    depth = Thickness(THICK, broken=0.8, broken_doubt=0.05)
    edges = [replace(line, top=1.0) for line in lines]
    ends = np.array([(70.0, 30), (70, 70), (30, 70), (30, 30)])
    # The border goes from the right side's top limit to its silhouette halfway, and back at its end.
    outer = replace(edges[0], middle=edges[0].middle + np.array([0.74, 10.0]), top=0.0)
    turned = Line(np.array([69.6, 50.5]), 1.0, np.eye(2) * 1e-5, 0.0, top=0.5)
    jumping = [edges[0], turned, outer, *edges[1:]]
    corners = np.array([(69.3, 50), (70.0, 51), (70, 70), *ends[2:], ends[0]])
    left = pale_breaks._joined(jumping, corners, camera, depth, SPREAD)
    assert len(left) == 4
    assert not any(edge is turned for edge in left)
    cut = Line(np.array([68.3, 68.3]), 3 * math.pi / 4, np.eye(2) * 1e-5, 0.0, top=1.0)
    corners = np.array([(69.2, 67.4), (67.4, 69.2), ends[2], ends[3], ends[0]])
    assert (
        len(pale_breaks._joined([edges[0], cut, *edges[1:]], corners, camera, depth, SPREAD)) == 5
    )


def test_a_side_that_slants_from_one_limit_to_the_other_is_put_straight() -> None:
    lines, camera = square(0.3, 0.8)
    light = painted(camera, 0.8, 0.4, 0.5, SPREAD)
    slanting = replace(lines[2], angle=lines[2].angle + 0.012)
    picture = Straightened(light, (0.0, 100.0), PIXEL, SPREAD)
    slanted = [*lines[:2], slanting, lines[3]]
    shown = pale_breaks.at_the_top(slanted, picture, camera, Thickness(THICK))
    assert shown is not None
    edge = shown[0][2]
    assert isinstance(edge, Line)
    assert abs(edge.angle - lines[2].angle) < 0.004


@pytest.fixture(scope="module")
def broken_and_pale() -> tuple[np.ndarray, bytes]:
    outline = laid("wedge", np.random.default_rng(4))
    shot = Shot((900, 1200), tilt=24, towards=200, wall=(0.6, 0.55, 0.5), edge=0.7)
    return outline, photograph(outline, shot, 5.0, 4)


def test_a_photo_of_pale_broken_edges_gives_its_sides_and_a_note(
    broken_and_pale, monkeypatch
) -> None:
    outline, picture = broken_and_pale
    told = {"thickness": 5.0, "bar": 100}
    whole = judged(outline, picture, **told)
    assert (np.abs(whole.errors) < 2 * whole.stated).all()
    assert any("of another shade than the top" in note for note in whole.notes)
    read = judged(outline, picture, read=1, **told)
    assert (np.abs(read.errors) < 3 * read.stated).all()
    assert np.median(read.stated) < 0.8 * np.median(whole.stated)
    assert np.abs(read.errors).max() < 0.5 * np.abs(whole.errors).max()
    monkeypatch.setattr(pale_breaks, "at_the_top", lambda *_rest: None)
    without = judged(outline, picture, **told)
    assert np.abs(without.errors).max() > 1.0


def test_a_dark_part_has_no_such_note() -> None:
    outline = laid("wedge", np.random.default_rng(4))
    picture = photograph(outline, Shot((900, 1200), tilt=24, towards=200, edge=0.7), 5.0, 4)
    notes = trace(picture, bar=100, thickness=5.0).notes
    assert not any("another shade" in note for note in notes)
