"""Which level parts the part from the paper: the sharpest, or a lower one that takes in all of it."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from workbench.measure.photos.segment import holes, regions, spots, unlike_ground


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


def spotted(
    shade: float, across: float = 12.0, soft: float = 0.8, at: tuple[int, int] = (150, 145)
):
    """Light, mask and border, at 4 pixels to the mm, of a dark part with a round spot on it."""
    light = laid(0.1, 0.1)
    mark = np.zeros_like(light)
    rows, columns = np.indices(light.shape)
    mark[np.hypot(columns - at[0], rows - at[1]) < across / 2] = 1
    light += (shade - 0.1) * cv2.GaussianBlur(mark, (0, 0), soft)
    picture = np.repeat(cv2.GaussianBlur(light, (0, 0), 0.8)[:, :, None], 3, axis=2)
    picture = picture.astype(np.float32)
    mask, borders, _level = regions(picture, 100, alone=True)
    return picture, mask, borders[0]


@pytest.mark.parametrize(
    ("how", "count"),
    [
        ({"shade": 0.03}, 1),
        ({"shade": 0.1 * 1.35}, 1),
        ({"shade": 0.1 * 1.15}, 0),  # hardly unlike the part
        ({"shade": 0.1 / 1.15}, 0),
        ({"shade": 0.03, "across": 6.5}, 0),  # under 3 mm² at 4 pixels to the mm
        ({"shade": 0.03, "across": 9.5}, 1),
        ({"shade": 0.03, "across": 30, "soft": 14}, 0),  # a shadow
        ({"shade": 0.03, "at": (92, 145)}, 0),  # at the border: a side of the part
        ({"shade": 0.85}, 0),  # an opening
    ],
)
def test_a_spot_is_what_is_sharp_unlike_the_part_and_within_it(how: dict, count: int) -> None:
    assert spots(*spotted(**how), 4.0) == count


def test_how_unlike_the_ground_an_opening_is_is_reckoned_in_logarithms() -> None:
    for shade in (0.85, 0.6):
        picture, mask, border = spotted(shade, across=24)
        (ring,) = holes(mask, border, 50)
        unlike = unlike_ground(picture, mask, border, ring)
        assert unlike == pytest.approx(np.log(0.85 / shade), abs=0.03)
