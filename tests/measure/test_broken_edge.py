"""How far edges are broken, from walls painted step by step: each camera, shade and limit known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import ndtr

from workbench.measure.photos import broken_edge
from workbench.measure.photos.camera import Camera, Thickness
from workbench.measure.photos.edges import Line

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
    place = (0.0, 100.0), PIXEL, SPREAD
    return before, broken_edge.as_seen(lines, light, *place, camera, before)


@pytest.mark.parametrize("broken", [0.0, 0.3, 0.7, 1.1])
@pytest.mark.parametrize("chamfer", [0.045, 0.06, 0.052, 0.1])
@pytest.mark.parametrize("share", [0.25, 0.6])
def test_the_break_is_found_whatever_the_shade_of_the_chamfer(share, chamfer, broken) -> None:
    _before, after = seen(share, 6.0, broken, (0.045, chamfer, 0.06))
    assert abs(after.broken - broken) < 2 * after.broken_doubt
    assert after.broken_doubt < 0.31


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
