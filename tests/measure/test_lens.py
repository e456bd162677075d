"""A camera is learnt from photos of the sheet: by the second camera, and by points alone."""

from __future__ import annotations

import json
import math
from dataclasses import replace

import numpy as np
import pytest
from photo_table import judged, laid
from photographer import Lens as SeenBy
from photographer import Shot, photograph

from workbench import cli
from workbench.errors import RepairError
from workbench.measure.photos import lens as lenses
from workbench.measure.photos.image_file import Photo
from workbench.measure.photos.lens import Lens, lens_of, read_lens
from workbench.measure.photos.sheet_marks import Target

#: A phone whose files name it, but not its focal length.
PHONE = Shot(
    (750, 1000),
    focal=0.58,
    centre=(5.0, -4.0),
    bend=(-0.09, 0.015),
    stated=False,
    camera="Maker P1",
)
TRUE = np.array([math.log(0.58), *(np.array(PHONE.centre) / math.hypot(749, 999) * 2), *PHONE.bend])
VIEWS = [(2, 0), (30, 20), (30, 110), (28, 200), (32, 290), (25, 65)]


def marks(shot: Shot, noise: float, seed: int = 0) -> lenses._Marked:
    """Where a camera sees the sheet's marks, off the picture's middle."""
    sheet = Target()
    places = np.concatenate([sheet.corners(marker) for marker in sheet.ids])
    places = np.column_stack([places, np.zeros(len(places))])
    seen = SeenBy(shot, sheet)(places) - (np.array(shot.pixels) - 1) / 2
    return lenses._Marked(places, seen + np.random.default_rng(seed).normal(0, noise, seen.shape))


def blank(shot: Shot = PHONE, turned: int = 0) -> Photo:
    wide, tall = shot.pixels
    return Photo(np.zeros((tall, wide, 3), np.uint8), camera=shot.camera, turned=turned)


def learnt(noise: float = 0.1, seed: int = 0) -> Lens:
    views = [replace(PHONE, tilt=t, towards=a, roll=7.0 * k) for k, (t, a) in enumerate(VIEWS)]
    return lenses._solved([marks(v, noise, seed + k) for k, v in enumerate(views)], blank())


def test_the_lens_is_found_as_well_as_it_says() -> None:
    off = np.array([learnt(0.3, 100 * k).values - TRUE for k in range(12)])
    stated = np.sqrt(np.diag(learnt(0.3).covariance))
    assert (np.abs(off) < 3 * stated).all()
    assert (stated[:3] < (0.02, 0.01, 0.01)).all()
    found = learnt(0.3)
    less = learnt(0.05).covariance - np.diag(lenses.CHANGES**2)
    more = found.covariance - np.diag(lenses.CHANGES**2)
    assert more[0, 0] > 20 * less[0, 0]
    ratios = off @ np.linalg.inv(found.covariance) @ off.T
    assert np.diag(ratios).mean() < 5


def test_photos_from_straight_above_do_not_tell_the_focal_length() -> None:
    level = [marks(replace(PHONE, tilt=1.0, towards=50.0 * k), 0.3, k) for k in range(6)]
    with pytest.raises(RepairError, match=r"the focal length only to .* leaning by about 30"):
        lenses._solved(level, blank())


def test_the_centre_turns_with_the_picture() -> None:
    """A quarter clockwise takes what is right of the middle below it."""
    found = learnt()
    for turned, expected in ((0, (1, 0)), (1, (0, 1)), (2, (-1, 0)), (3, (0, -1))):
        right = replace(found, values=np.array([0, 1.0, 0, 0.1, 0.2]))
        values, covariance = right.of(blank(turned=turned))
        assert values[1:3] == pytest.approx(expected)
        assert values[3:] == pytest.approx([0.1, 0.2])
        assert covariance[0, 0] == pytest.approx(found.covariance[0, 0])


def test_a_lens_comes_back_from_its_file_and_no_other_file_does(tmp_path) -> None:
    found = learnt()
    path = tmp_path / found.file
    path.write_text(found.to_json())
    again = read_lens(path)
    assert np.array_equal(again.values, found.values) and again.suits(blank())
    assert not again.suits(blank(replace(PHONE, camera="Maker P2")))
    assert not again.suits(blank(replace(PHONE, pixels=(750, 800))))
    told = json.loads(found.to_json())
    for change in ({"values": [1, 2]}, {"covariance": (-np.eye(5)).tolist()}, {"photos": "x"}):
        path.write_text(json.dumps({**told, **change}))
        with pytest.raises(RepairError, match="is no camera file; make it again"):
            read_lens(path)
    with pytest.raises(RepairError, match="cannot be read"):
        read_lens(tmp_path / "none.json")


def test_too_few_photos_are_refused_by_their_number() -> None:
    with pytest.raises(RepairError, match="4 photos were given; give 5 to 20"):
        lens_of([b""] * 4)


@pytest.fixture(scope="module")
def photos() -> list[bytes]:
    speck = np.array([(104.0, 150), (106, 150), (105, 152)])
    return [
        photograph(speck, replace(PHONE, tilt=tilt, towards=towards), 0.1, k)
        for k, (tilt, towards) in enumerate(VIEWS[:5])
    ]


def test_the_command_learns_a_camera_and_its_photos_are_traced_with_it(
    photos, tmp_path, monkeypatch, capsys
) -> None:
    outline = laid("wedge", np.random.default_rng(5))
    level = replace(PHONE, tilt=2.0)
    picture = photograph(outline, level, 8.0, 7)
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path))
    before = judged(outline, picture, thickness=8.0, bar=100, edge=0)
    files = []
    for k, content in enumerate(photos):
        files.append(tmp_path / f"{k}.jpg")
        files[-1].write_bytes(content)
    assert cli.main(["camera", *map(str, files)]) == 0
    said = capsys.readouterr().out
    assert "Maker P1: calibrated from 5 photos" in said
    (kept,) = (tmp_path / "cameras").glob("*.json")
    assert str(kept) in said
    values, covariance = read_lens(kept).of(blank())
    assert (np.abs(values - TRUE) < 3 * np.sqrt(np.diag(covariance))).all()
    after = judged(outline, picture, thickness=8.0, bar=100, edge=0)
    assert after.stated.max() < 0.6 * before.stated.max()
    assert (np.abs(after.errors) < 3 * after.stated).all()


def test_a_lens_that_a_photo_does_not_fit_is_left_out_with_a_note(photos) -> None:
    from workbench.measure.photos.trace import trace

    outline = laid("wedge", np.random.default_rng(5))
    picture = photograph(outline, replace(PHONE, tilt=25.0), 2.0, 7)
    found = lens_of(photos)
    good = trace(picture, thickness=2.0, bar=100, lens=found)
    other = replace(found, values=found.values + np.array([0.3, 0, 0, 0.3, 0]))
    off = trace(picture, thickness=2.0, bar=100, lens=other)
    without = trace(picture, thickness=2.0, bar=100)
    assert not any("calibration" in note for note in good.notes)
    assert any("does not match the calibration of the camera Maker P1" in n for n in off.notes)
    assert [s.length for s in off.sides] == [s.length for s in without.sides]


def test_photos_of_two_cameras_are_refused(photos) -> None:
    speck = np.array([(104.0, 150), (106, 150), (105, 152)])
    other = photograph(speck, replace(PHONE, camera="Maker P2"), 0.1, 9)
    with pytest.raises(RepairError, match="photo 5: the camera is 'Maker P2'; give photos of one"):
        lens_of([*photos[:4], other])
