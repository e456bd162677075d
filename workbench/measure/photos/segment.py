"""Where the part ends and the paper begins: a mask, then the edge to a fraction of a pixel.

A shadow is soft and a part's edge is sharp: of all the levels at which the part could be told
from the paper, the one whose border is sharpest is taken, and each point of the border is then
moved to where the light turns most steeply.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from workbench.errors import RepairError
from workbench.words import _

#: What is darker than this, of 1, counts as being so dark: its logarithm is noise.
DARKEST = 0.004

#: Least difference between part and paper, in natural logarithms of light.
LEAST_CONTRAST = 0.12

#: A region larger by this factor, whose border is as sharp against its contrast but for this share,
#: is the part of which the sharpest border takes in a wall only.
MORE, AS_SHARP = 1.3, 0.45

#: How far beside a border its step is looked for, in pixels.
REACH = 7.0

#: A border of which more than the share moves further than so many pixels was not the sharp one.
FAR, FAR_SHARE = 2.0, 0.05

#: Smallest spot, in mm².
LEAST_SPOT = 3.0

#: A spot differs from the part round it by at least so much, in natural logarithms of light, and
#: turns to it within so many mm; it is looked for with so many pixels to the mm.
UNLIKE, WITHIN, SPOTS_PER_MM = 0.2, 1.5, 4.0

#: Widest edge, as standard deviation in mm, that still gives a size worth having.
WIDEST_EDGE = 0.9


@dataclass(frozen=True, eq=False)
class Border:
    """One closed border, in pixels of the picture it was found in.

    points : (n, 2) column and row, in order
    spread : standard deviation of the edge's blur, in pixels
    lean : how steeply the light still changes beside the edge, as in a shadow, against the
        edge itself; 0 where both sides are even
    """

    points: np.ndarray
    spread: float
    lean: float


def contrast(light: np.ndarray) -> np.ndarray:
    """(h, w) float32 difference of each pixel from the background, in natural logarithms.

    light : (h, w, 3) linear. The background is a smooth surface through the picture's rim,
    so that uneven light does not count.
    """
    import cv2

    squares = np.zeros(light.shape[:2], dtype=np.float32)
    for colour in range(3):  # one by one, to keep memory small
        logs: np.ndarray = cv2.extractChannel(light, colour)
        np.log(np.maximum(logs, DARKEST, out=logs), out=logs)
        small = cv2.resize(logs, (96, 96), interpolation=cv2.INTER_AREA)
        background = _surface(small).astype(np.float32)
        logs -= cv2.resize(background, light.shape[1::-1], interpolation=cv2.INTER_LINEAR)
        cv2.accumulateSquare(logs, squares)
    squares /= 3
    return np.sqrt(squares, out=squares)


def _surface(values: np.ndarray) -> np.ndarray:
    """A quadratic surface through the rim of a square array, blind to what juts in."""
    rows, columns = np.meshgrid(*(np.linspace(-1, 1, n) for n in values.shape), indexing="ij")
    terms = np.stack(
        [np.ones_like(rows), rows, columns, rows**2, rows * columns, columns**2], axis=2
    ).reshape(-1, 6)
    rim = np.ones(values.shape, dtype=bool)
    rim[8:-8, 8:-8] = False
    chosen = rim.ravel()
    level = values.ravel()
    weight = np.ones(int(chosen.sum()))
    for _round in range(8):
        fitted, *_rest = np.linalg.lstsq(
            terms[chosen] * weight[:, None], level[chosen] * weight, rcond=None
        )
        off = np.abs(terms[chosen] @ fitted - level[chosen])
        weight = 1 / np.sqrt(1 + (off / max(1e-3, float(np.median(off)) * 1.5)) ** 2)
    return (terms @ fitted).reshape(values.shape)


def regions(
    light: np.ndarray, least: float, alone: bool = False
) -> tuple[np.ndarray, list[np.ndarray], float]:
    """Split the picture at the level whose border is sharpest.

    light : (h, w, 3) linear; least : smallest region that counts, in pixels
    alone : whether the part lies alone on its ground, so that what touches it is its own wall

    Returns the mask (h, w) uint8, the outer borders of the regions, largest first, as (n, 2)
    pixel positions, and the level in natural logarithms.

    Raises
    ------
    RepairError
        When nothing stands out from the paper.
    """
    import cv2

    difference = cv2.GaussianBlur(contrast(light), (0, 0), 1.0)
    top = float(np.percentile(difference, 99.8))
    if top < LEAST_CONTRAST:
        raise RepairError(
            _(
                "nothing stands out from the background; lay the part on paper of another colour, "
                "or light it more"
            )
        )
    steepness = cv2.magnitude(
        cv2.Sobel(difference, cv2.CV_32F, 1, 0, scale=1 / 8),
        cv2.Sobel(difference, cv2.CV_32F, 0, 1, scale=1 / 8),
    )
    tried: list[tuple[float, float, list[np.ndarray]]] = []

    def above(level: float) -> np.ndarray:
        return (difference > level).astype(np.uint8)

    for level in np.geomspace(max(0.06, top * 0.06), top * 0.85, 22):
        found, _tree = cv2.findContours(above(level), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
        borders = [c.reshape(-1, 2) for c in found if cv2.contourArea(c) >= least]
        if not borders:
            continue
        borders.sort(key=lambda b: -cv2.contourArea(b))
        largest = borders[0]
        sharp = float(np.median(steepness[largest[:, 1], largest[:, 0]]))
        tried.append((sharp, float(level), borders))
    if not tried:
        raise RepairError(
            _("no part is large enough to trace; take the photo from closer up, in focus")
        )
    best = max(tried, key=lambda one: one[0])
    if not alone:
        return above(best[1]), best[2], best[1]
    # A dark wall of a pale part stands out more than its top. Against their own contrast both are
    # as sharp all round, which a part with its shadow is not.
    area = cv2.contourArea(best[2][0])
    least = AS_SHARP * _sharpness(best[2][0], difference, steepness, 50)
    wholes = [
        one
        for one in tried
        if cv2.contourArea(one[2][0]) > MORE * area
        and _sharpness(one[2][0], difference, steepness, 15) > least
    ]
    _sharp, level, borders = max(wholes, key=lambda one: one[0], default=best)
    return above(level), borders, level


def _sharpness(
    border: np.ndarray, difference: np.ndarray, steepness: np.ndarray, percentile: float
) -> float:
    """How steep that percentile of a region's border is against the region's own contrast."""
    import cv2

    inside = np.zeros(difference.shape, dtype=np.uint8)
    cv2.fillPoly(inside, [border.astype(np.int32)], 1)
    steep = float(np.percentile(steepness[border[:, 1], border[:, 0]], percentile))
    return steep / max(cv2.mean(difference, inside)[0], 1e-6)


def holes(mask: np.ndarray, border: np.ndarray, least: float) -> list[np.ndarray]:
    """Borders (n, 2) of the holes inside a region's outer border, at least ``least`` pixels."""
    import cv2

    inside = np.zeros_like(mask)
    cv2.fillPoly(inside, [border.astype(np.int32)], 1)
    found, _tree = cv2.findContours(inside & (1 - mask), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    return [c.reshape(-1, 2) for c in found if cv2.contourArea(c) >= least]


def unlike_ground(
    light: np.ndarray, mask: np.ndarray, border: np.ndarray, opening: np.ndarray
) -> float:
    """How much darker or paler an opening (n, 2) is than the ground beside the part, in logarithms."""
    import cv2

    filled = mask.copy()
    cv2.fillPoly(filled, [border.astype(np.int32)], 1)
    cv2.fillPoly(filled, [opening.astype(np.int32)], 2)
    coarse = filled[::4, ::4]  # enough for two medians
    levels = [np.median(light[::4, ::4][coarse == kind], axis=0) for kind in (0, 2)]
    ground, seen = np.log(np.clip(levels, DARKEST, None))
    return float(np.sqrt(((seen - ground) ** 2).mean()))


def spots(light: np.ndarray, mask: np.ndarray, border: np.ndarray, per_mm: float) -> int:
    """How many sharp spots inside a region are unlike it, and no opening: of at least 3 mm².

    Such as a print, a stain, or a hole that no light falls through. What touches the border or an
    opening is a side of the part, seen slantwise.

    light, mask, border : as for :func:`regions`; per_mm : pixels to the mm
    """
    import cv2

    shrink = min(1.0, SPOTS_PER_MM / per_mm)
    left, top = np.maximum(border.min(axis=0) - 2, 0)
    right, bottom = border.max(axis=0) + 3
    inside = mask[top:bottom, left:right].copy()
    filled = np.zeros_like(inside)
    cv2.fillPoly(filled, [(border - (left, top)).astype(np.int32)], 1)
    inside &= filled
    size = tuple(max(1, round(n * shrink)) for n in inside.shape[::-1])
    own = cv2.resize(inside, size, interpolation=cv2.INTER_NEAREST)
    small = cv2.resize(light[top:bottom, left:right], size, interpolation=cv2.INTER_AREA)
    logs = cv2.GaussianBlur(np.log(np.clip(small, DARKEST, None)), (0, 0), 0.7)
    difference = np.sqrt(((logs - np.median(logs[own > 0], axis=0)) ** 2).mean(axis=2))
    ground = cv2.dilate(1 - own, np.ones((3, 3), np.uint8))
    count, labels, stats, _middles = cv2.connectedComponentsWithStats(
        ((difference > UNLIKE) | (ground > 0)).astype(np.uint8)
    )
    steepness = cv2.magnitude(
        cv2.Sobel(difference, cv2.CV_32F, 1, 0, scale=1 / 8),
        cv2.Sobel(difference, cv2.CV_32F, 0, 1, scale=1 / 8),
    )
    steepest = cv2.dilate(steepness, np.ones((5, 5), np.uint8))
    beside = set(np.unique(labels[ground > 0]).tolist())
    per_mm = min(per_mm, SPOTS_PER_MM)
    found = 0
    for label in range(1, count):
        if label in beside or stats[label, cv2.CC_STAT_AREA] < LEAST_SPOT * per_mm**2:
            continue
        spot = (labels == label).astype(np.uint8)
        seen = difference[spot > 0]
        if (seen > seen.max() / 2).sum() < LEAST_SPOT * per_mm**2:
            continue  # the rest is blur
        rim = spot - cv2.erode(spot, np.ones((3, 3), np.uint8))
        steep = float(np.median(steepest[rim > 0]))
        found += float(seen.mean()) < steep * WITHIN * per_mm
    return found


def sharpen(light: np.ndarray, border: np.ndarray, reach: float = REACH) -> Border:
    """Move a border's points (n, 2) to where the light turns most steeply across it.

    light : (h, w, 3) linear, in the same pixels. Points where nothing turns are left out.
    A border that had to move far, such as from a part's top to its side of another colour, is
    sharpened once more from there, so that the corners come along.
    """
    found, moved = _sharpened(light, border, reach)
    return _sharpened(light, found.points, reach)[0] if moved > FAR_SHARE else found


def _sharpened(light: np.ndarray, border: np.ndarray, reach: float) -> tuple[Border, float]:
    """The sharpened border, and the share of its points that moved far."""
    import cv2

    spots, across = _evenly(border.astype(float))
    brightness = _along_the_step(light, spots, across, reach)
    offsets = np.arange(-reach, reach + 0.01, 0.5)
    places = spots[:, None, :] + offsets[None, :, None] * across[:, None, :]
    maps = np.moveaxis(places.astype(np.float32), 2, 0)
    profile = cv2.remap(
        brightness, maps[0], maps[1], cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE
    )
    profile = cv2.GaussianBlur(profile, (1, 5), sigmaX=0, sigmaY=1.0)
    slope = np.diff(profile, axis=1)
    slope = slope * np.sign(np.median(slope.sum(axis=1)))
    middles = (offsets[1:] + offsets[:-1]) / 2
    peak = slope.max(axis=1)
    where = middles[slope.argmax(axis=1)]
    for _round in range(4):
        reached = middles[None, :] - where[:, None]
        own = np.clip(slope - _beside(slope, reached), 0, None)
        near = np.abs(reached) <= 3.0
        weight = np.clip(own - 0.15 * own.max(axis=1, keepdims=True), 0, None) * near
        total = np.maximum(weight.sum(axis=1), 1e-12)
        where = (weight * middles).sum(axis=1) / total
    good = (peak > 0.3 * np.median(peak)) & (np.abs(where) < reach - 1.5)
    if not good.any():
        return Border(spots, reach, 1.0), 0.0
    beside = np.abs(middles[None, :] - where[:, None]) > 3.5
    tail = np.abs((slope * beside).sum(axis=1) / beside.sum(axis=1)) / np.maximum(peak, 1e-9)
    moved = spots + where[:, None] * across
    # A step blurred by a Gaussian is steepest by its height over sqrt(2 pi) times the deviation.
    height = np.abs(profile[:, -1] - profile[:, 0])
    spread = height / np.maximum(peak * 2, 1e-9) / np.sqrt(2 * np.pi)
    sharp = Border(moved[good], float(np.median(spread[good])), float(np.median(tail[good])))
    return sharp, float((np.abs(where[good]) > FAR).mean())


def _beside(slope: np.ndarray, reached: np.ndarray) -> np.ndarray:
    """(n, m) the slope that a shadow beside the edge would have without the edge.

    slope, reached : (n, m) slope and distance from the edge along n lines across it. The slope
    further than 3.5 pixels off, on either side, is carried on towards the edge.
    """
    sides = []
    for side in (reached < -3.5, reached > 3.5):
        mean = (slope * side).sum(axis=1) / np.maximum(side.sum(axis=1), 1)
        sides.append(_smoothed(mean[:, None], 6.0))
    share = np.clip(reached / 7.0 + 0.5, 0, 1)
    return sides[0] * (1 - share) + sides[1] * share


def _smoothed(ring: np.ndarray, deviation: float) -> np.ndarray:
    """(n, m) values along a closed border, each the mean of those about it by a Gaussian."""
    import cv2

    reach = round(4 * deviation)  # further out it has less than a ten-thousandth left
    around = np.pad(ring, ((reach, reach), (0, 0)), mode="wrap")
    weights = cv2.getGaussianKernel(2 * reach + 1, deviation)
    return np.asarray(cv2.filter2D(around, -1, weights))[reach:-reach]


def _evenly(border: np.ndarray, step: float = 1.0) -> tuple[np.ndarray, np.ndarray]:
    """(n, 2) points a pixel apart along a smoothed border, and the directions across it."""
    closed = np.vstack([border, border[:1]])
    length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(closed, axis=0).T))])
    count = max(12, int(length[-1] / step))
    at = np.linspace(0, length[-1], count, endpoint=False)
    even = np.column_stack([np.interp(at, length, closed[:, i]) for i in (0, 1)])
    smooth = _smoothed(even, 2.0)
    direction = _smoothed(np.roll(even, -1, axis=0) - np.roll(even, 1, axis=0), 3.0)
    direction /= np.maximum(np.hypot(*direction.T)[:, None], 1e-9)
    return smooth, np.column_stack([direction[:, 1], -direction[:, 0]])


def _along_the_step(
    light: np.ndarray, spots: np.ndarray, across: np.ndarray, reach: float
) -> np.ndarray:
    """(h, w) the light mixed from red, green and blue so that the step at the border is largest."""
    limit = np.array(light.shape[1::-1]) - 1

    def at(offset: float) -> np.ndarray:
        place = np.clip(np.round(spots + offset * across), 0, limit).astype(int)
        return light[place[:, 1], place[:, 0]].mean(axis=0)

    step = at(reach) - at(-reach)
    return np.ascontiguousarray(light @ (step / max(float(np.linalg.norm(step)), 1e-9)))
