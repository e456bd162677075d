"""Which level parts the part from the paper: the sharpest, or a lower one that takes in all of it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from workbench.measure.photos.segment import regions


def area(light: np.ndarray) -> float:
    """Of the largest region of a picture of one colour, in its pixels."""
    blurred = cv2.GaussianBlur(light.astype(np.float32), (0, 0), 0.8)
    _mask, borders, _level = regions(np.repeat(blurred[:, :, None], 3, axis=2), 100, alone=True)
    return cv2.contourArea(borders[0])


def laid(top: float, wall: float, wide: int = 12) -> np.ndarray:
    """A part of 120 by 90 on paper of 0.85, its wall on the left."""
    light = np.full((300, 300), 0.85)
    light[100:190, 90:210] = top
    light[100:190, 90 : 90 + wide] = wall
    return light


@pytest.mark.parametrize("wall", [0.5, 0.35, 0.2, 0.1])
def test_a_dark_wall_of_a_pale_part_is_not_taken_for_the_part(wall: float) -> None:
    assert area(laid(0.6, wall)) == pytest.approx(120 * 90, rel=0.04)


@pytest.mark.parametrize("soft", [4.0, 12.0])
def test_a_shadow_beside_a_dark_part_is_left_out(soft: float) -> None:
    light = laid(0.06, 0.06)
    cast = np.zeros_like(light)
    cast[110:230, 150:290] = 0.5
    shadow = cv2.GaussianBlur(cast, (0, 0), soft)
    whole = np.where(light < 0.5, light, light * (1 - shadow))
    assert area(whole) == pytest.approx(120 * 90, rel=0.04)


def test_a_dark_part_that_touches_a_paler_thing_is_traced_alone() -> None:
    light = laid(0.05, 0.05)
    light[130:160, 210:290] = 0.7
    assert area(light) == pytest.approx(120 * 90, rel=0.04)
