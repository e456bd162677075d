"""An ISO/IEC 7810 ID-1 card beside the part: find it, and from it the view."""

from __future__ import annotations

import numpy as np

from workbench.errors import RepairError
from workbench.measure.photos import image_file, segment
from workbench.measure.photos.rectify import (
    CARD,
    View,
    edge_points,
    line_through,
    meeting,
    view_of_card,
)
from workbench.words import _

#: Share of a card's area that its four sides, drawn through to sharp corners, add at the most.
_CORNERS = 0.03

#: How far proportions may be from the card's, as a logarithm. A sheet of ISO 216 paper is 0.11 off.
_UNLIKE = 0.07

#: Room left around the part, in mm.
_AROUND = 6.0


def view_and_room(pixels: np.ndarray) -> tuple[View, tuple[float, float, float, float]]:
    """The view in which the card has its size, and where the part lies in it.

    pixels : (h, w, 3) uint8. Millimetres run from the card's lower left corner; the room is
    left, bottom, right, top around the largest thing that is not the card.

    Raises
    ------
    RepairError
        When no card, or nothing beside it, can be seen.
    """
    light = image_file.linear_light(pixels)
    shrink = max(1, round(max(light.shape[:2]) / 1500))
    small = np.ascontiguousarray(light[::shrink, ::shrink])
    least = 0.0015 * small.shape[0] * small.shape[1]
    _mask, borders, _level = segment.regions(small, least)
    inside = [border for border in borders if _is_inside(border, small.shape)]
    boxes = [(border, _four_corners(border)) for border in inside]
    cards = [
        (border, corners)
        for border, corners in boxes
        if corners is not None and _unlikeness(corners, small.shape) < _UNLIKE
    ]
    if not cards:
        raise RepairError(
            _(
                "no card of {width} x {height} mm can be seen; lay a bank or library card beside "
                "the part, wholly in view, on a plain background that is darker or lighter than "
                "both"
            ).format(width=CARD[0], height=CARD[1])
        )
    border, corners = min(cards, key=lambda card: _unlikeness(card[1], small.shape))
    view = view_of_card(_sharpened(light, corners * shrink), pixels.shape)
    others = [other for other in inside if other is not border]
    if not others:
        raise RepairError(
            _("nothing but the card can be seen; lay the part beside it, a finger's width away")
        )
    around = view.millimetres(others[0].astype(float) * shrink)
    low, high = around.min(axis=0) - _AROUND, around.max(axis=0) + _AROUND
    if not np.isfinite([low, high]).all() or max(high - low) > 1000:
        raise RepairError(
            _("the card is seen at too steep a slant; hold the camera straight above it")
        )
    return view, (float(low[0]), float(low[1]), float(high[0]), float(high[1]))


def _is_inside(border: np.ndarray, shape: tuple[int, ...]) -> bool:
    low, high = border.min(axis=0), border.max(axis=0)
    return bool((low > 1).all() and (high < np.array(shape[1::-1]) - 2).all())


def _four_corners(border: np.ndarray) -> np.ndarray | None:
    """(4, 2) corners of a border that is a four-sided shape with slightly rounded corners."""
    import cv2

    hull = cv2.convexHull(border.astype(np.int32))
    around = cv2.arcLength(hull, True)
    corners = cv2.approxPolyDP(hull, 0.04 * around, True).reshape(-1, 2)
    if len(corners) != 4:
        return None
    sides = zip(corners, np.roll(corners, -1, axis=0), strict=True)
    lines = [line for line in (_straight(border, a, b) for a, b in sides) if line is not None]
    if len(lines) != 4:
        return None
    sharp = np.array(
        [meeting(lines[i - 1], lines[i], corners[i].astype(float), 40.0) for i in range(4)]
    )
    filled = cv2.contourArea(border.astype(np.float32)) / cv2.contourArea(sharp.astype(np.float32))
    return sharp if 1 - _CORNERS < filled < 1 + 0.5 * _CORNERS else None


def _straight(
    border: np.ndarray, a: np.ndarray, b: np.ndarray
) -> tuple[np.ndarray, np.ndarray] | None:
    length = float(np.hypot(*(b - a)))
    along = (b - a) / length
    reach = (border - a) @ along
    off = np.abs((border - a) @ np.array([-along[1], along[0]]))
    near = border[(reach > 0.15 * length) & (reach < 0.85 * length) & (off < 0.06 * length + 3)]
    return line_through(near.astype(float)) if len(near) >= 6 else None


def _sharpened(light: np.ndarray, corners: np.ndarray) -> np.ndarray:
    grey = light.mean(axis=2)
    lines = []
    for a, b in zip(corners, np.roll(corners, -1, axis=0), strict=True):
        points = edge_points(grey, a + 0.1 * (b - a), a + 0.9 * (b - a), reach=5.0)
        lines.append(line_through(points))
    return np.array([meeting(lines[i - 1], lines[i], corners[i], 8.0) for i in range(4)])


def _unlikeness(corners: np.ndarray, shape: tuple[int, ...]) -> float:
    """How far a rectangle's proportions are from the card's, as a logarithm, seen at a slant.

    A camera with square pixels and the picture's middle on its axis sees the two sides of a
    rectangle as h1 and h2, the first two columns of the homography; they must be at right
    angles in space, which gives the focal length, and with it their lengths.
    """
    middle = np.array([(shape[1] - 1) / 2, (shape[0] - 1) / 2])
    square = np.array([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)])
    one, other, _shift = _square_to(corners - middle, square).T
    usual = 1.1 * max(shape[:2])
    slant = one[2] * other[2]
    squared = -(one[0] * other[0] + one[1] * other[1]) / slant if abs(slant) > 1e-12 else usual**2
    focal = np.sqrt(np.clip(squared, (0.55 * usual) ** 2, (2.2 * usual) ** 2))
    scale = np.array([1 / focal, 1 / focal, 1.0])
    across, up = sorted((np.linalg.norm(one * scale), np.linalg.norm(other * scale)), reverse=True)
    return abs(float(np.log(across / up / (CARD[0] / CARD[1]))))


def _square_to(seen: np.ndarray, square: np.ndarray) -> np.ndarray:
    """(3, 3) homography from the unit square's corners to four points (4, 2)."""
    import cv2

    return cv2.getPerspectiveTransform(square.astype(np.float32), seen.astype(np.float32))
