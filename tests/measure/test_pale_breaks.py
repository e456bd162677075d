"""Broken edges of another shade than the top: sides painted step by step, each limit known, and photos."""

from __future__ import annotations

import math
from dataclasses import replace

import cv2
import numpy as np
import pytest
from photo_table import judged, laid
from photographer import Shot, photograph

from workbench.measure.chances import ndtr
from workbench.measure.photos import pale_breaks, rectify
from workbench.measure.photos import trace as trace_module
from workbench.measure.photos.camera import Camera, Thickness, facing, stood, stood_up
from workbench.measure.photos.edges import Line, lengths_of
from workbench.measure.photos.image_file import load
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
    spread: float = SPREAD,
    marks: tuple[float, float] | None = None,
):
    lines, camera = square(lean, broken, whole)
    light = painted(camera, broken, wall, chamfer, blur)
    depth = depth or Thickness(THICK)
    picture = Straightened(light, (0.0, 100.0), PIXEL, spread, marks)
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


@pytest.mark.parametrize("share", [0.45, 0.6, 0.8, 1.0])
def test_a_blur_that_was_taken_too_wide_is_put_right(share: float) -> None:
    shown = found(0.3, 0.7, blur=share * SPREAD)[2]
    assert shown is not None and shown[1].broken == pytest.approx(0.7, abs=0.04)


@pytest.mark.parametrize("share", [0.45, 0.6, 0.8, 1.0])
def test_without_marks_the_blur_of_two_steps_is_found_among_shares_of_the_borders_own(
    share: float,
) -> None:
    """The least of them: two equal steps look more than twice as soft as one."""
    out, wide = np.arange(-1.5, 2, 0.02), np.array([0.7])
    light = sum(0.5 * ndtr((out - at) / (share * SPREAD)) for at in (0.0, 0.7))
    blurs = pale_breaks._blurs(Straightened(np.zeros((2, 2, 3)), (0, 0), PIXEL, SPREAD))
    squares, *_rest = pale_breaks._squares(
        out, light[:, None] * np.ones(3), 0.0, wide, wide, SPREAD, blurs
    )
    assert blurs[squares.min(axis=(1, 2)).argmin()] == pytest.approx(share * SPREAD)


def test_where_steps_are_is_as_sure_as_they_fit_and_a_twentieth_of_the_blur_either_way() -> None:
    """What is left and what an even distribution makes of the twentieth add by their squares."""
    out, wide = np.arange(-1.5, 2, 0.02), np.array([0.7])
    light = sum(0.5 * ndtr((out - at) / SPREAD) for at in (0.0, 0.7))
    ripple = pale_breaks.SHAPED * (-1.0) ** np.arange(len(out))
    unsure = []
    for profile in (light, light + ripple):
        squares, _places, _traced, surer = pale_breaks._squares(
            out, profile[:, None] * np.ones(3), 0.0, wide, wide, SPREAD, np.array([SPREAD])
        )
        unsure.append(surer * float(np.median(squares)))
    clean, rippled = unsure
    assert rippled / clean == pytest.approx((1 / 3) / (1 / 3 + 1), abs=0.03)


def test_the_marks_tell_the_blur_of_two_steps_that_look_like_one() -> None:
    """Seen from straight above, a break of three deviations of the blur is in the border's own."""
    wide = {"lean": 0.02, "broken": 0.45, "spread": 1.8 * SPREAD}
    shown = found(marks=(SPREAD, 0.01), **wide)[2]
    assert shown is not None and shown[1].broken == pytest.approx(0.45, abs=0.05)
    without = found(**wide)[2]
    assert without is None or shown[1].broken_doubt < 0.7 * without[1].broken_doubt


def test_a_part_of_one_shade_is_left_as_it_is() -> None:
    assert found(wall=TOP, chamfer=TOP, whole=True)[2] is None
    # A break nearly as dark as the top is in what was traced.
    assert found(wall=TOP, chamfer=TOP + 0.01, whole=True)[2] is None


@pytest.mark.parametrize(("deeper", "told"), [(0.03, False), (0.05, True), (0.1, True)])
def test_a_break_within_the_silhouette_that_was_traced_is_told_by_its_shade(
    deeper: float, told: bool
) -> None:
    """As of a pale part: its wall and break are between top and paper, the wall nearer to the paper."""
    lines, _camera, shown = found(
        0.2, 0.7, TOP + deeper, TOP + deeper, whole=True, marks=(SPREAD, 0.002)
    )
    assert (shown is not None) == told
    if shown is not None:
        edges, depth = shown
        assert edges is lines
        assert depth.broken == pytest.approx(0.7, abs=2 * depth.broken_doubt)
        assert depth.broken_doubt > pale_breaks.ROUND * depth.broken


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


@pytest.mark.parametrize(("off", "open_"), [(0.02, False), (0.2, True)])
def test_sections_that_lie_in_no_line_tell_how_unsure_the_side_is(off, open_, monkeypatch) -> None:
    """They zigzag by so much: by no more than each is unsure, or by more."""

    def squares(_out, place, *_rest):
        places = np.linspace(-1, 1, 401)[None, :]
        return ((places - place) / 0.02)[None] ** 2, places

    monkeypatch.setattr(pale_breaks, "_squares", squares)
    along, places = np.array([-15.0, -5, 5, 15]), off * np.array([-1, 1, -1, 1])
    parts = [(x, None, y) for x, y in zip(along, places, strict=True)]
    side = pale_breaks._Side(0, 0.1, *[np.empty(0)] * 3, 1.0, parts)
    line = square(0.3, 0.8)[0][0]
    left = pale_breaks._straightened(line, side, 0.0, Thickness(THICK), SPREAD, SPREAD)
    assert left.angle == line.angle and (left.middle == line.middle).all()
    assert (left is not line) == open_
    if open_:
        _fit, doubt = np.polyfit(along, places, 1, cov=True)
        grown = np.diag(left.covariance - line.covariance)
        assert grown == pytest.approx([doubt[1, 1], doubt[0, 0]], rel=0.05)


@pytest.mark.parametrize(("share", "looked_at"), [(0.94, True), (0.96, False)])
def test_a_side_that_is_seen_at_too_steep_a_slant_is_left_out(
    share: float, looked_at: bool
) -> None:
    """Its break would be a twentieth as wide as it is: it is anywhere between both limits."""
    lean = (share * (HEIGHT - THICK) - 20 + 0.7) / HEIGHT
    lines, camera, shown = found(lean)
    assert facing(lines[2], camera) == pytest.approx(share)
    assert shown is not None
    assert (shown[0][2].top != 0.5) == looked_at


def test_a_side_is_looked_at_in_as_many_sections_again_as_a_line_takes() -> None:
    def seen(a, b, _clear):
        return np.array([a, b]), np.zeros(2)

    line = Line(np.array([10.0, 0]), 0.0, np.eye(2), 0.0)
    ends = np.array([(0.0, 0)]), np.array([(20.0, 0)])
    parts = pale_breaks._in_parts(seen, line, ends[0][0], ends[1][0], 2.0)
    assert len(parts) == 2 * 2
    assert [along for along, *_rest in parts] == pytest.approx([-6, -2, 2, 6])


def test_places_between_both_limits_are_tried_without_gaps_and_none_twice() -> None:
    """Up to a break eight deviations of the blur wide."""
    out = np.arange(-2, 2, 0.1)
    broken = np.array([8 * SPREAD])
    _squares, places, *_rest = pale_breaks._squares(
        out, np.zeros((len(out), 3)), 0.0, broken, broken, SPREAD, np.array([SPREAD])
    )
    tried = np.unique(np.round(places[0] / SPREAD, 6))
    assert np.diff(tried) == pytest.approx(pale_breaks.FINE)
    assert tried[[0, -1]] == pytest.approx([-9, 1])
    assert len(tried) == places.shape[1] - 4  # neighbours meet in one place


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
    assert np.median(read.stated) < 0.85 * np.median(whole.stated)
    assert np.abs(read.errors).max() < 0.6 * np.abs(whole.errors).max()
    monkeypatch.setattr(pale_breaks, "at_the_top", lambda *_rest: None)
    without = judged(outline, picture, **told)
    assert np.abs(without.errors).max() > 1.0


def test_a_dark_part_has_no_such_note() -> None:
    outline = laid("wedge", np.random.default_rng(4))
    picture = photograph(outline, Shot((900, 1200), tilt=24, towards=200, edge=0.7), 5.0, 4)
    notes = trace(picture, bar=100, thickness=5.0).notes
    assert not any("another shade" in note for note in notes)


def test_a_break_of_another_shade_from_straight_above_is_told_by_the_marks_blur(
    monkeypatch,
) -> None:
    outline = laid("kite", np.random.default_rng(2))
    shot = Shot((1200, 1600), tilt=5, towards=190, wall=(0.35, 0.3, 0.25), edge=0.43)
    picture = photograph(outline, shot, 2.5, 2)
    told = judged(outline, picture, thickness=2.5, bar=100)
    assert np.abs(told.errors).max() < 0.1
    assert any("of another shade than the top" in note for note in told.notes)
    # Where the break is not found, its two steps leave the side open, and a note says so.
    monkeypatch.setattr(pale_breaks, "at_the_top", lambda *_rest: None)
    open_ = judged(outline, picture, thickness=2.5, bar=100)
    assert np.abs(open_.errors).max() > 0.35
    assert (np.abs(open_.errors) < 2 * open_.stated).all()
    assert any("softer than the sheet's marks" in note for note in open_.notes)
    monkeypatch.setattr(trace_module, "_blur_of_marks", lambda *_rest: None)
    unsaid = judged(outline, picture, thickness=2.5, bar=100)
    assert (np.abs(unsaid.errors) > 3 * unsaid.stated).any() and not unsaid.notes


def test_a_pale_part_s_break_is_told_where_its_silhouette_was_traced(monkeypatch) -> None:
    outline = laid("tee", np.random.default_rng(4))
    colours = {"part": (0.55, 0.5, 0.42), "wall": (0.4, 0.36, 0.3)}
    picture = photograph(outline, Shot((1200, 1600), tilt=3, edge=0.8, **colours), 3.0, 4)
    shown = judged(outline, picture, thickness=3.0, bar=100)
    assert np.abs(shown.errors).max() < 0.1
    assert (np.abs(shown.errors) < 3 * shown.stated).all()
    monkeypatch.setattr(pale_breaks, "at_the_top", lambda *_rest: None)
    without = judged(outline, picture, thickness=3.0, bar=100)
    assert np.abs(without.errors).max() > 1.5 * np.abs(shown.errors).max()


def blurred(**kinds) -> tuple[float, float] | None:
    """What the sheet's marks in a photo tell of its blur, in pixels of the sensor."""
    shot = Shot(**{"pixels": (1200, 1600), **kinds})
    picture = photograph(laid("ell", np.random.default_rng(1)), shot, 2.0, 1)
    pixels = load(picture).pixels
    grey = cv2.cvtColor(pixels, cv2.COLOR_RGB2GRAY)
    _sheet, places, seen = rectify.seen_marks(grey, pixels)
    view = rectify.fit_camera(places, seen, grey.shape)
    per_mm = view.scale(np.array([105.0, 148]))
    middle = np.array([(100.0, 140), (110, 156)])
    marks = trace_module._blur_of_marks(pixels, view, middle, per_mm)
    return None if marks is None else (marks[0] * per_mm, marks[1] * per_mm)


@pytest.mark.parametrize("blur", [0.7, 1.2])
def test_a_dark_part_s_edge_is_as_soft_as_the_marks(blur: float, monkeypatch) -> None:
    pictures = []
    monkeypatch.setattr(
        pale_breaks, "at_the_top", lambda _edges, above, *_rest: pictures.append(above)
    )
    outline = laid("ell", np.random.default_rng(1))
    shot = Shot((1200, 1600), blur=blur, cast=0.0)
    trace(photograph(outline, shot, 2.0, 1), thickness=2.0, bar=100)
    (above,) = pictures
    assert above.spread == pytest.approx(above.marks[0], rel=0.06)
    assert above.apart == 0


def test_a_leaning_camera_s_marks_tell_the_blur_about_the_part() -> None:
    """It is larger further away; of that the plane takes account."""
    straight, leaning = blurred(), blurred(tilt=35)
    assert straight and leaning
    assert leaning[0] == pytest.approx(straight[0], rel=0.12)
    assert straight[1] < 0.09 and leaning[1] < 0.09


def test_too_few_marks_or_too_coarse_ones_tell_no_blur() -> None:
    assert blurred(hidden=tuple(range(6, 14))) is not None
    assert blurred(hidden=tuple(range(5, 14))) is None
    assert blurred(pixels=(700, 933)) is not None
    assert blurred(pixels=(560, 747)) is None


@pytest.mark.parametrize(
    ("softer", "doubt", "one"),
    [(1.09, 0, True), (1.11, 0, False), (1.11, 0.03, True), (1.13, 0.03, False)],
)
def test_an_edge_is_of_several_steps_where_it_is_softer_than_the_marks(softer, doubt, one) -> None:
    light = np.zeros((2, 2, 3), dtype=np.float32)
    seen = Straightened(light, (0, 0), PIXEL, softer * SPREAD, (SPREAD, doubt * SPREAD))
    assert (seen.apart == 0) == one
    assert Straightened(light, (0, 0), PIXEL, softer * SPREAD).apart == 0


def test_two_equal_steps_are_as_far_from_their_middle_as_is_told() -> None:
    light = np.zeros((2, 2, 3), dtype=np.float32)
    seen = Straightened(light, (0, 0), PIXEL, math.hypot(SPREAD, 0.3), (SPREAD, 0.0))
    assert seen.apart == pytest.approx(0.3, rel=0.04)
