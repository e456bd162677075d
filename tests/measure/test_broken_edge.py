"""How far edges are broken, from walls painted step by step: each camera, shade and limit known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtr

from workbench.measure.photos import broken_edge
from workbench.measure.photos.camera import (
    BROKEN,
    BROKEN_DOUBT,
    Camera,
    Thickness,
)
from workbench.measure.photos.edges import Line
from workbench.measure.photos.straightened import Straightened
from workbench.measure.photos.trace import _depth

PIXEL, SPREAD, HEIGHT = 0.2, 0.15, 400.0


def square(share: float) -> tuple[list[Line], Camera]:
    """A square of 40 mm, of which the side x = 30 faces a camera off to the right."""
    spots = np.array([(50.0, 30), (70, 50), (50, 70), (30, 50)])
    turns = (0.0, math.pi / 2, math.pi, -math.pi / 2)
    lines = [
        Line(spot, turn, np.eye(2) * 1e-5, 0.0) for spot, turn in zip(spots, turns, strict=True)
    ]
    return lines, Camera(np.array([70 + share * HEIGHT, 50.0]), HEIGHT, 0.001)


def painted(share: float, thick: float, broken: float, shades: tuple[float, float, float]):
    """(h, w, 3) light of 100 by 100 mm: paper of 0.8, then wall, chamfer and top."""
    wall, chamfer, top = shades
    distance = share * HEIGHT
    foot = 70 + distance
    at = [
        foot - (distance + inset) * HEIGHT / (HEIGHT - level)
        for inset, level in ((0, broken), (0, thick - broken), (broken, thick))
    ]
    x = (np.arange(500) + 0.5) * PIXEL
    x = x - 70 + at[0]  # the silhouette is where the line is
    light = np.full(500, top)
    for place, inner, outer in zip(at, (wall, chamfer, top), (0.8, wall, chamfer), strict=True):
        light = light + (outer - inner) * ndtr((x - place) / SPREAD)
    noise = np.random.default_rng(1).normal(0, 0.002, (500, 500, 3))
    return (light[None, :, None] + noise).astype(np.float32)


def seen(share: float, thick: float, broken: float, shades) -> tuple[Thickness, Thickness]:
    lines, camera = square(share)
    before = Thickness(thick)
    light = painted(share, thick, broken, shades)
    picture = Straightened(light, (0.0, 100.0), PIXEL, SPREAD)
    return before, broken_edge.as_seen(lines, picture, camera, before)


@pytest.mark.parametrize("broken", [0.0, 0.3, 0.7, 1.1])
@pytest.mark.parametrize("chamfer", [0.045, 0.06, 0.052, 0.1])
@pytest.mark.parametrize("share", [0.25, 0.6])
def test_the_break_is_found_whatever_the_shade_of_the_chamfer(share, chamfer, broken) -> None:
    before, after = seen(share, 6.0, broken, (0.045, chamfer, 0.06))
    assert abs(after.broken - broken) < 2 * after.broken_doubt
    assert after.broken_doubt < before.broken_doubt


def test_a_wall_as_dark_as_the_top_tells_nothing() -> None:
    before, after = seen(0.5, 6.0, 0.5, (0.06, 0.06, 0.06))
    assert after is before


@pytest.mark.parametrize("times", [0.85, 1.15])
def test_a_wall_that_is_too_narrow_tells_nothing(times: float) -> None:
    """Of what is left beside the blur of the silhouette a few deviations are needed."""
    least = (broken_edge.CLEAR + broken_edge.LEFT) * SPREAD
    share = 0.2
    before, after = seen(share, times * least / share, 0.0, (0.3, 0.3, 0.06))
    assert (after is before) == (times < 1)


def test_a_step_must_stand_out_of_what_noise_makes() -> None:
    assert seen(0.5, 6.0, 0.5, (0.0595, 0.0595, 0.06))[1].broken_doubt == Thickness(6).broken_doubt
    assert seen(0.5, 6.0, 0.5, (0.05, 0.05, 0.06))[1].broken_doubt < 0.25


def test_what_is_assumed_is_the_middle_of_what_may_be_and_as_far_off_as_is_stated() -> None:
    """A third of parts left sharp, the others broken by up to a mm: common practice, no source."""
    may_be = np.concatenate([np.zeros(500), (np.arange(1000) + 0.5) / 1000])
    assert may_be.mean() == pytest.approx(BROKEN, rel=1e-3)
    assert may_be.std() == pytest.approx(BROKEN_DOUBT, rel=1e-3)


@pytest.mark.parametrize(
    ("thick", "most"),
    [(0.6, 0.12), (0.98, 0.196), (1.02, 0.51), (1.96, 0.98), (2.04, 1.0), (8.4, 1.0)],
)
def test_a_thin_part_is_taken_to_be_broken_by_less(thick: float, most: float) -> None:
    """Sheet by up to a fifth of it, what is thicker than a mm by up to half, and by a mm at most."""
    depth = _depth(thick, "sheet", None)
    assert depth is not None
    assert (depth.broken, depth.broken_doubt) == pytest.approx((most * BROKEN, most * BROKEN_DOUBT))


@pytest.mark.parametrize("edge", [0.3, 0.6, 1.0])
def test_an_edge_is_told_to_a_tenth_and_broken_as_evenly_as_a_tenth_of_it(edge: float) -> None:
    even = np.linspace(-1, 1, 2001)
    told = _depth(8.0, "sheet", edge)
    assert told is not None and told.broken == edge
    square = ((0.05 * even) ** 2).mean() + ((0.1 * edge * even) ** 2).mean()
    assert told.broken_doubt == pytest.approx(math.sqrt(square), rel=0.01)


def test_a_sharp_edge_is_broken_by_less_than_shows_in_a_tenth() -> None:
    """Most likely by nothing: a triangular distribution, JCGM 100:2008, 4.3.9."""
    even = np.linspace(0, 0.05, 2001)
    likely = 0.05 - even
    told = _depth(8.0, "sheet", 0.0)
    assert told is not None and told.broken == 0
    square = (likely * even**2).sum() / likely.sum()
    assert told.broken_doubt == pytest.approx(math.sqrt(square), rel=0.01)
