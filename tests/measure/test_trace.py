"""Tracing: what is read from a picture, and what is said when it cannot be."""

from __future__ import annotations

import io
import math

import numpy as np
import pytest
from painted_scene import Scene, camera_place, photo_on_sheet, photo_with_card, scan
from photographer import Shot, photograph
from PIL import Image, ImageFilter

from workbench import Reading, RepairError, solve, trapezoid
from workbench.measure.outlines.outline import Outline
from workbench.measure.photos import image_file, rectify
from workbench.measure.photos.camera import camera_of
from workbench.measure.photos.rectify import fit_camera, seen_marks, view_of_scan
from workbench.measure.photos.sheet_marks import BAR, PAPERS, Target, target_with
from workbench.measure.photos.trace import trace
from workbench.measure.photos.trace_result import Traced

SMALL = (900, 1200)
DIVIDER = trapezoid(46, 39, 71, -7).moved(80, 110)


def longest_first(traced: Traced) -> np.ndarray:
    return np.sort([side.length for side in traced.sides])[::-1]


def as_file(pixels: np.ndarray, kind: str = "PNG", **how: object) -> bytes:
    held = io.BytesIO()
    Image.fromarray(pixels).save(held, kind, **how)
    return held.getvalue()


@pytest.fixture(scope="module")
def on_sheet() -> np.ndarray:
    return photo_on_sheet(DIVIDER, Scene(pixels=SMALL, tilt=15, azimuth=70, bend=0.02))


def test_a_leaning_trapezoid_is_traced_with_its_four_sides(on_sheet: np.ndarray) -> None:
    traced = trace(on_sheet)
    assert [side.kind for side in traced.sides] == ["straight"] * 4
    assert longest_first(traced) == pytest.approx(np.sort(DIVIDER.sides)[::-1], abs=0.1)
    assert traced.outline.area == pytest.approx(DIVIDER.area, rel=0.004)
    assert traced.outline.points.min(axis=0) == pytest.approx([0, 0])


def test_the_stated_uncertainty_covers_the_error(on_sheet: np.ndarray) -> None:
    traced = trace(on_sheet)
    stated = np.array([side.uncertainty for side in traced.sides])
    assert (0.003 < stated).all() and (stated < 0.1).all()


def test_two_caliper_readings_pull_the_trace_to_size(on_sheet: np.ndarray) -> None:
    traced = trace(on_sheet, bar=0.99 * BAR)  # as if it were 1 % small
    sketch = traced.sketch()
    names = list(sketch.corners)
    sides = [
        np.hypot(*(b - a))
        for a, b in zip(np.roll(traced.corners, 1, axis=0), traced.corners, strict=True)
    ]
    order = np.argsort(sides)[::-1][:2]
    for k in order:
        true = np.sort(DIVIDER.sides)[::-1][list(order).index(k)]
        sketch.read("side", f"{names[k - 1]} {names[k]}", f"{true:.2f}")
    solved = solve(sketch).outline
    assert np.sort(solved.sides)[::-1] == pytest.approx(np.sort(DIVIDER.sides)[::-1], abs=0.15)


def test_a_round_hole_is_found_where_it_is() -> None:
    pictured = photo_on_sheet(DIVIDER, Scene(pixels=SMALL), holes=((97, 140, 8),))
    (hole,) = trace(pictured).holes
    assert hole.diameter == pytest.approx(8, abs=0.12)
    assert (hole.x, hole.y) == pytest.approx((97 - 73, 140 - 110), abs=0.1)


@pytest.mark.parametrize(
    ("thickness", "shown", "holes", "words"),
    [
        (1.0, {"dusk": 1.0}, 1, ""),
        (1.0, {"dusk": 0.3}, 0, "if it is a hole in shadow, measure it"),
        (5.0, {"dusk": 1.0}, 1, ""),
        (5.0, {"dusk": 0.3}, 0, "if it is a hole in shadow, measure it"),
        (1.0, {"print": 0.01}, 0, "taken for a print or a stain and left out"),
        (1.0, {"print": 0.45}, 1, "if it is a print or a stain on the part, leave the hole out"),
        (5.0, {"print": 0.85}, 0, "not a round hole"),
    ],
)
def test_neither_a_print_becomes_a_hole_nor_a_hole_is_lost_in_silence(
    thickness: float, shown: dict, holes: int, words: str
) -> None:
    spot, print_of = (103.0, 149.0, 9.0), shown.get("print")
    shot = Shot(pixels=(750, 1000), tilt=9, towards=60, part=(0.06,) * 3, dusk=shown.get("dusk", 1))
    picture = photograph(
        np.array([(75, 130), (139, 130), (127, 168), (82, 168)], dtype=float),
        shot,
        thickness,
        holes=() if print_of else (spot,),
        prints=((*spot, print_of),) if print_of else (),
    )
    traced = trace(picture, thickness=thickness, bar=BAR, edge=0)
    assert len(traced.holes) == holes
    assert words in " ".join(traced.notes) and bool(words) == bool(traced.notes)
    if not words:
        assert traced.holes[0].diameter == pytest.approx(9, abs=0.15)


def test_a_disc_is_one_arc() -> None:
    turn = np.linspace(0, 2 * np.pi, 240, endpoint=False)
    disc = Outline(np.column_stack([105 + 20 * np.cos(turn), 150 + 20 * np.sin(turn)]))
    (side,) = trace(photo_on_sheet(disc, Scene(pixels=SMALL))).sides
    assert side.kind == "arc"
    assert side.radius == pytest.approx(20, abs=0.08)


def test_a_rounded_end_becomes_an_arc_between_lines() -> None:
    turn = np.linspace(-np.pi / 2, np.pi / 2, 90)
    end = np.column_stack([120 + 12 * np.cos(turn), 150 + 12 * np.sin(turn)])
    link = Outline(np.vstack([[(70, 138)], end, [(70, 162)]]))
    sides = trace(photo_on_sheet(link, Scene(pixels=SMALL))).sides
    assert sorted(side.kind for side in sides) == ["arc", "straight", "straight", "straight"]
    (arc,) = [side for side in sides if side.kind == "arc"]
    assert arc.radius == pytest.approx(12, abs=0.15)
    assert arc.length == pytest.approx(np.pi * 12, abs=0.5)


@pytest.mark.parametrize(("tilt", "azimuth"), [(0, 0), (20, 70), (33, 250)])
def test_a_thick_parts_upper_edge_is_put_where_it_is(tilt: float, azimuth: float) -> None:
    thickness, hole = 4.0, (97.0, 140.0, 9.0)
    scene = Scene(pixels=SMALL, tilt=tilt, azimuth=azimuth)
    pictured = photo_on_sheet(DIVIDER, scene, holes=(hole,), thickness=thickness)
    true = np.sort(DIVIDER.sides)[::-1]

    told = trace(pictured, thickness=Reading([4.0, 4.01, 3.99]), edge=0)
    doubt = max(side.uncertainty for side in told.sides)
    assert doubt < (0.35 if tilt == 0 else 0.12)  # how high a level camera stood is not seen
    assert longest_first(told) == pytest.approx(true, abs=3 * doubt)
    if told.holes:  # seen too much from the side, a hole is no circle and is left to the calipers
        assert told.holes[0].diameter == pytest.approx(hole[2], abs=3 * told.holes[0].uncertainty)
    untold = trace(pictured)
    assert np.abs(longest_first(untold)[: len(true)] - true).max() > 0.25
    assert any("no thickness was given" in note for note in untold.notes)
    assert not any("thickness" in note for note in told.notes)


@pytest.mark.parametrize("tilt", [4, 15, 30])
def test_the_camera_is_found_where_it_stood(tilt: float) -> None:
    scene = Scene(pixels=SMALL, tilt=tilt, azimuth=130, roll=20)
    pictured = photo_on_sheet(DIVIDER, scene)
    grey = pictured.mean(axis=2).astype(np.uint8)
    _sheet, places, seen = seen_marks(grey, pictured)
    view = fit_camera(places, seen, grey.shape)
    x, y, z = camera_place(Target().size, scene)
    found = camera_of(view)
    assert abs(found.height - z) < 3 * found.doubt * z
    assert found.foot == pytest.approx([x, y], abs=3 * max(found.doubt, 0.01) * z)
    assert found.doubt < (0.2 if tilt < 10 else 0.03)


def test_a_marker_is_found_as_well_from_the_light_about_it_alone(monkeypatch) -> None:
    pictured = photo_on_sheet(DIVIDER, Scene(pixels=SMALL, tilt=15, roll=20))
    grey = pictured.mean(axis=2).astype(np.uint8)
    _sheet, _places, near = seen_marks(grey, pictured)
    monkeypatch.setattr(rectify, "AROUND", 10_000)
    _sheet, _places, whole = seen_marks(grey, pictured)
    assert near == pytest.approx(whole, abs=1e-3)  # the interpolation's own grain
    monkeypatch.setattr(rectify, "AROUND", 1)
    _sheet, _places, cut_off = seen_marks(grey, pictured)
    assert np.abs(cut_off - whole).max() > 0.01


def test_the_focal_length_in_the_file_tells_how_far_away_a_level_camera_was() -> None:
    pictured = photo_on_sheet(DIVIDER, Scene(pixels=SMALL))
    exif = Image.Exif()
    # The rendered camera's focal length is 1.1 times the longer side, and 36 x 24 mm the measure.
    focal = 1.1 * max(SMALL) / np.hypot(*SMALL)
    exif[0x8769] = {0xA405: round(focal * np.hypot(36, 24))}
    loaded = image_file.load(as_file(pictured, exif=exif))
    assert loaded.focal == pytest.approx(focal, rel=0.02)
    grey = pictured.mean(axis=2).astype(np.uint8)
    _sheet, places, seen = seen_marks(grey, pictured)
    view = fit_camera(places, seen, grey.shape, loaded.focal)
    height = camera_place(Target().size, Scene(pixels=SMALL))[2]
    assert camera_of(view).height == pytest.approx(height, rel=0.03)
    assert camera_of(view).doubt < 0.05


@pytest.mark.parametrize("thickness", [0, -2, 60, "thick"])
def test_a_thickness_that_cannot_be_is_refused(on_sheet: np.ndarray, thickness: object) -> None:
    with pytest.raises(RepairError, match=r"thick"):
        trace(on_sheet, thickness=thickness)


def test_a_scan_with_its_resolution_in_the_file_needs_no_other_word() -> None:
    file = as_file(scan(trapezoid(46, 39, 71, -7).moved(20, 10), 200), dpi=(200, 200))
    traced = trace(file, "scan")
    assert longest_first(traced) == pytest.approx(np.sort(DIVIDER.sides)[::-1], abs=0.03)


def test_a_card_beside_the_part_gives_the_scale() -> None:
    pictured = photo_with_card(DIVIDER, Scene(pixels=SMALL, colour=(210, 90, 60), tilt=12))
    traced = trace(pictured, "card")
    assert longest_first(traced) == pytest.approx(np.sort(DIVIDER.sides)[::-1], abs=0.3)


def test_a_sheet_printed_small_is_put_right_by_its_bar(on_sheet: np.ndarray) -> None:
    plain = trace(on_sheet)
    corrected = trace(on_sheet, bar=0.97 * BAR)
    assert longest_first(corrected) == pytest.approx(0.97 * longest_first(plain), rel=1e-3)
    assert "97 %" in corrected.notes[0]


def test_every_way_of_holding_an_image_gives_the_same(on_sheet: np.ndarray) -> None:
    grey = on_sheet[:, :, 1]
    seen = image_file.load(grey)[0]
    assert np.array_equal(image_file.load(grey.astype(np.uint16) * 257)[0], seen)
    assert np.array_equal(image_file.load(as_file(grey))[0], seen)
    assert np.array_equal(image_file.load(grey / 255)[0], seen)
    assert np.array_equal(image_file.load(as_file(grey.astype(np.uint16) * 257))[0], seen)
    alpha = np.dstack([on_sheet, np.full(grey.shape, 255, np.uint8)])
    assert np.array_equal(image_file.load(as_file(alpha))[0], on_sheet)


def test_what_is_clear_in_an_image_counts_as_white() -> None:
    clear = np.zeros((70, 70, 4), np.uint8)
    assert (image_file.load(clear)[0] == 255).all()


def test_a_turned_photo_is_set_upright(on_sheet: np.ndarray) -> None:
    turned = Image.fromarray(np.rot90(on_sheet, 1).copy())
    tags = turned.getexif()
    tags[0x0112] = 6
    held = io.BytesIO()
    turned.save(held, "PNG", exif=tags)
    assert np.array_equal(image_file.load(held.getvalue())[0], on_sheet)


def test_a_very_large_photo_is_made_smaller_on_reading() -> None:
    large = as_file(np.full((7200, 7200), 200, np.uint8), "JPEG", dpi=(600, 600))
    loaded = image_file.load(large)
    assert loaded.pixels.shape[:2] == (3550, 3550)
    assert loaded.dpi == pytest.approx(600 * 3550 / 7200)


@pytest.mark.parametrize(
    ("count", "shrink"),
    [
        (12e6, 1),
        (24e6, math.sqrt(24e6 / image_file.MOST)),
        (3.23 * image_file.MOST, math.sqrt(3.23)),
        (3.25 * image_file.MOST, 2),
        (48e6, 2),
        (4.01 * image_file.MOST, math.sqrt(4.01)),
        (200e6, 4),
    ],
)
def test_a_photo_is_made_smaller_by_a_half_where_that_is_near(count: float, shrink: float) -> None:
    assert image_file._shrink(int(count)) == pytest.approx(shrink, rel=1e-6)


def test_progress_runs_from_nothing_to_all(on_sheet: np.ndarray) -> None:
    shares: list[float] = []
    trace(on_sheet, progress=lambda share, _text: shares.append(share))
    assert shares == sorted(shares) and shares[0] == 0 and shares[-1] == 1


def blank() -> np.ndarray:
    return np.full((400, 300, 3), 220, np.uint8)


def covered() -> np.ndarray:
    return photo_on_sheet(DIVIDER, Scene(pixels=SMALL, hidden=tuple(range(2, 14))))


def white_part() -> np.ndarray:
    return photo_on_sheet(DIVIDER, Scene(pixels=SMALL, colour=(239, 239, 239), noise=1))


def off_the_room() -> np.ndarray:
    return photo_on_sheet(DIVIDER.moved(-60, 0), Scene(pixels=SMALL))


def blurred() -> np.ndarray:
    return photo_on_sheet(DIVIDER, Scene(pixels=(1500, 2000), blur=5.5))


def blurred_scan() -> np.ndarray:
    sharp = scan(trapezoid(46, 39, 71, -7).moved(20, 10), 100)
    return np.asarray(Image.fromarray(sharp).filter(ImageFilter.GaussianBlur(6)))


def only_a_card() -> np.ndarray:
    return photo_with_card(DIVIDER.moved(900, 0), Scene(pixels=SMALL))


def no_card() -> np.ndarray:
    return photo_with_card(
        DIVIDER, Scene(pixels=SMALL, colour=(210, 90, 60)), card_at=(900.0, 20.0)
    )


@pytest.mark.parametrize(
    ("make", "how", "words"),
    [
        (lambda: b"", {}, "is empty; take the photo again"),
        (lambda: b"not an image at all", {}, "is not an image; give a JPEG, PNG or TIFF"),
        (lambda: as_file(blank())[:300], {}, "is damaged"),
        (lambda: "nowhere.jpg", {}, "nowhere.jpg cannot be read"),
        (lambda: 7, {}, "image is 7; give a file's path"),
        (lambda: np.zeros((3, 3, 7)), {}, "has shape (3, 3, 7)"),
        (lambda: np.zeros((20, 20), np.uint8), {}, "20 x 20 pixels; give at least 64"),
        (blank, {}, "0 of the photo sheet's markers can be seen and 4 are needed"),
        (covered, {}, "2 of the photo sheet's markers"),
        (white_part, {}, "nothing stands out from the background"),
        (off_the_room, {}, "reaches beyond the room on the sheet"),
        (blurred, {}, "lay the sheet flat, hold the camera still"),
        (blurred_scan, {"dpi": 100.0}, "too blurred to measure"),
        (only_a_card, {"reference": "card"}, "nothing but the card"),
        (no_card, {"reference": "card"}, "no card of 85.6 x 53.98 mm can be seen"),
        (blank, {"reference": "scan"}, "dpi is None; give the scan's resolution"),
        (blank, {"dpi": 7.0}, "dpi is 7.0; give the scan's resolution"),
        (blank, {"reference": "coin"}, "reference is 'coin'; give one of sheet, card, scan"),
    ],
)
def test_what_cannot_be_traced_is_told_in_words(make, how: dict, words: str) -> None:
    with pytest.raises(RepairError) as told:
        trace(make(), **how)
    assert words in str(told.value)


def test_a_bar_that_cannot_be_is_refused(on_sheet: np.ndarray) -> None:
    with pytest.raises(RepairError, match="bar is 10 mm; measure the printed bar again"):
        trace(on_sheet, bar=10)


@pytest.mark.parametrize("paper", PAPERS)
def test_a_sheets_markers_lie_on_its_paper_and_clear_of_the_room(paper: str) -> None:
    sheet = Target(paper)
    corners = np.concatenate([sheet.corners(number) for number in sheet.ids])
    assert (corners > 5).all() and (corners < np.array(sheet.size) - 5).all()
    left, bottom, right, top = sheet.room
    inside = (corners > [left, bottom]).all(axis=1) & (corners < [right, top]).all(axis=1)
    assert not inside.any()
    assert np.ptp(sheet.bar[:, 0]) == pytest.approx(BAR)
    assert all(target_with(number) == sheet for number in sheet.ids)


def test_places_go_to_pixels_and_back() -> None:
    view = view_of_scan(300, (800, 600))
    places = np.array([[3.0, 4.0], [20.0, 31.0]])
    assert view.millimetres(view.pixels(places)) == pytest.approx(places)
