"""Where the silhouette of a pale part is beside a wall too narrow to be seen, from painted walls."""

from __future__ import annotations

import math

import numpy as np
import pytest
from photo_table import judged, laid
from photographer import Shot, photograph
from scipy.special import ndtr

from workbench.measure.photos import narrow_walls
from workbench.measure.photos.camera import Camera, Thickness
from workbench.measure.photos.edges import Line
from workbench.measure.photos.narrow_walls import BLEND, BLURS, LIGHT, LITTLE, TRIED
from workbench.measure.photos.straightened import OPEN_BLUR, Straightened

PIXEL, SPREAD, HEIGHT, THICK, PAPER = 0.2, 0.15, 400.0, 4.0, 0.8

#: A break that is told to be none.
SHARP = Thickness(THICK, broken=0.0, broken_doubt=0.001)


def moved(
    wide: float,
    wall: float,
    top: float = 0.4,
    off: float = 0.0,
    depth: Thickness = SHARP,
    noise: float = 0.002,
    marks: tuple[float, float] | None = (SPREAD, 0.001),
) -> tuple[float, float] | None:
    """How far out of the silhouette, and how sure, an edge is placed that was traced ``off`` mm out of it.

    The side at x = 70 of a square of 40 mm faces the camera, which sees ``wide`` mm of its wall; None
    where the edge is left. ``wall`` is its light as a share of the top's.
    """
    spots = np.array([(50.0, 30), (70 + off, 50), (50, 70), (30, 50)])
    turns = (0.0, math.pi / 2, math.pi, -math.pi / 2)
    lines = [
        Line(spot, turn, np.eye(2) * 1e-12, 0.0) for spot, turn in zip(spots, turns, strict=True)
    ]
    camera = Camera(np.array([70 + off + wide / THICK * HEIGHT, 50.0]), HEIGHT, 0.001)
    x = (np.arange(500) + 0.5) * PIXEL - 70
    light = top + (wall - 1) * top * ndtr((x + wide) / SPREAD)
    light = light + (PAPER - wall * top) * ndtr(x / SPREAD)
    grain = np.random.default_rng(1).normal(0, noise, (500, 500, 3))
    light = (light[None, :, None] + grain).astype(np.float32)
    picture = Straightened(light, (0.0, 100.0), PIXEL, SPREAD, marks)
    found = narrow_walls.at_the_silhouette(lines, picture, camera, depth, 0.0)[1]
    if found is lines[1]:
        return None
    return float(found.middle[0] - 70), math.sqrt(found.covariance[0, 0])


@pytest.mark.parametrize("wall", [0.6, 0.8, 1.0])
@pytest.mark.parametrize("wide", [0.1, 0.25, 0.5])
@pytest.mark.parametrize("off", [-0.03, 0.03])
def test_the_silhouette_is_found_whatever_the_shade_of_the_wall(wide, wall, off) -> None:
    seen = moved(wide, wall, off=off)
    assert seen is not None
    assert abs(seen[0]) < 2 * seen[1] < 0.12


def test_a_wall_far_narrower_than_the_blur_leaves_open_what_its_shade_may_be(monkeypatch) -> None:
    """Its two limits look like one edge, as far off the silhouette as their steps' shares are: by an
    even distribution, or one with more of it at the ends."""
    assert LIGHT == (0.5, 1.5)
    wide, top = 0.04, 0.4
    _place, whole = moved(wide, 1.0, top=top) or (0, 0)
    monkeypatch.setattr(narrow_walls, "LIGHT", (0.98, 1.02))
    _place, rest = moved(wide, 1.0, top=top) or (0, 0)
    half = 0.5 * top / (PAPER - top) * wide
    assert half / math.sqrt(3) < math.sqrt(whole**2 - rest**2) < half


@pytest.mark.parametrize("times", [0.95, 1.05])
def test_a_wall_that_can_be_told_from_the_edge_does_not_move_it(times: float) -> None:
    """What is left of a step four deviations off is less than any camera's level."""
    assert BLEND == 4.0
    assert (moved(times * BLEND * SPREAD, 0.7) is None) == (times > 1)


@pytest.mark.parametrize("times", [0.9, 1.1])
def test_a_dark_part_s_edge_is_left(times: float) -> None:
    """Half of its light is a share of the step that is stated of any edge: a twentieth."""
    assert LITTLE == OPEN_BLUR
    half = (LIGHT[1] - LIGHT[0]) / 2
    top = times * LITTLE * PAPER / (half + LITTLE)
    assert (moved(0.2, 0.7, top=top) is None) == (times < 1)


@pytest.mark.parametrize(("times", "found"), [(0.85, True), (1.3, False)])
def test_the_silhouette_is_looked_for_beside_the_edge(times: float, found: bool) -> None:
    seen = moved(0.02, 1.0, off=times * TRIED * SPREAD, depth=Thickness(THICK))
    assert (seen is not None and abs(seen[0]) < 0.03) == found


def test_no_place_is_made_up_where_no_marks_tell_the_blur() -> None:
    assert moved(0.2, 0.7, marks=None) is None


@pytest.mark.parametrize(("wall", "left"), [(1.0, False), (5.0, True)])
def test_an_edge_that_no_wall_of_the_top_s_colour_explains_is_left(wall, left) -> None:
    """One as wide as two blurs, midway between the other two: what was traced is between its limits."""
    assert (moved(0.3, wall, top=0.1, off=-0.15 * left) is None) == left


def test_blurs_are_tried_as_far_off_as_they_may_be() -> None:
    weight = np.exp(-0.5 * BLURS**2)
    assert math.sqrt(weight @ BLURS**2 / weight.sum()) == pytest.approx(1, abs=0.05)


@pytest.mark.parametrize(
    ("name", "finer", "coarser"), [("FINE", 0.05, 0.4), ("BREAKS", 30, 4), ("SHADES", 61, 5)]
)
def test_places_breaks_and_shades_are_tried_as_finely_as_matters(
    name, finer, coarser, monkeypatch
) -> None:
    def found() -> np.ndarray:
        seen = [moved(wide, 0.7, depth=Thickness(THICK)) for wide in (0.1, 0.2, 0.35)]
        return np.array(seen)

    now = found()
    monkeypatch.setattr(narrow_walls, name, finer)
    assert np.abs(found() - now).max() < 0.0025
    monkeypatch.setattr(narrow_walls, name, coarser)
    assert np.abs(found() - now).max() > 0.005


def test_a_pale_part_s_photo_gives_its_sides(monkeypatch) -> None:
    outline = laid("kite", np.random.default_rng(5))
    colours = {"part": (0.55, 0.5, 0.42), "wall": (0.4, 0.36, 0.3)}
    picture = photograph(outline, Shot((1200, 1600), tilt=12, towards=70, **colours), 3.3, 5)
    told = {"thickness": 3.3, "bar": 100, "edge": 0.0}
    shown = judged(outline, picture, **told)
    assert (np.abs(shown.errors) < shown.stated).all()
    monkeypatch.setattr(narrow_walls, "at_the_silhouette", lambda edges, *_rest: edges)
    without = judged(outline, picture, **told)
    assert (np.abs(without.errors) > 2 * without.stated).all()
