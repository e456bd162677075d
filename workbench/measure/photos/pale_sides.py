"""A part's side that looks like the paper more than like its top: the edge that is then seen is
the upper one, and the lower one, where the side meets the sheet, is a weaker step further out::

    top   | side | paper
    ______|      |          brightness across a side that faces the camera:
          '~~~~~~|            the first step was traced, the second is looked for
                 '--------
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from workbench.measure.photos.camera import Camera, Thickness, facing
from workbench.measure.photos.edges import Edge, Line, corners_of
from workbench.measure.photos.least_squares import Fit, fitted
from workbench.measure.photos.straightened import Straightened
from workbench.words import _, with_unit

#: A second step of a smaller share of the whole counts for noise or a print's shade on the paper.
FAINT = 0.06

#: A second step that is more blurred than the first by a larger share than this is a shadow's.
SOFTER = 0.8

#: How sure the steps' distance is before they are seen: a share of it, and so many mm.
SPREAD, AROUND = 0.07, 0.08

#: Steps nearer to each other than so many of the blur's deviations are one.
APART = 1.5

#: Two steps must explain what is seen better than one, by this factor in the squares that are left.
BETTER = 2.0

#: Where no thickness is known, a second step is looked for so far out, in mm.
REACH = 8.0

#: Parts of an edge that are looked at apart, and how far they may be from one line, in mm.
SECTIONS, CROOKED = 5, 0.15


class Apart(NamedTuple):
    """How far two steps are from each other, in mm, and how sure that is."""

    wide: float
    spread: float


def at_the_sheet(
    edges: list[Edge],
    picture: Straightened,
    camera: Camera,
    depth: Thickness | None,
) -> tuple[list[Edge], list[str]]:
    """The edges as seen, those whose side was taken for paper moved to where it meets the sheet.

    Parameters
    ----------
    edges : on the plane, counter-clockwise
    depth : None where no thickness is known: then nothing is moved and a note says what was seen
    """
    if len(edges) < 3:
        return edges, []
    ends, spread = corners_of(edges), picture.spread
    moved, seen, hidden = list(edges), 0.0, {}
    for k, edge in enumerate(edges):
        share = facing(edge, camera)
        if share >= 0:
            continue
        wide = REACH if depth is None else -share * (depth.upper - depth.lower)
        hidden[k] = wide
        if wide < APART * spread or not isinstance(edge, Line):
            continue
        out = np.array([edge.along[1], -edge.along[0]])
        apart = (
            Apart(wide, SPREAD * wide + AROUND) if depth is not None else Apart(REACH / 2, REACH)
        )
        steps = _second_step(picture, ends[k - 1], ends[k], out, apart)
        if steps is None:
            continue
        along = steps[:, 0] - (edge.middle - ends[k - 1]) @ edge.along
        slope, shift = (float(x) for x in np.polyfit(along, steps[:, 1], 1))
        seen = max(seen, shift)
        del hidden[k]
        direction = edge.along + slope * out
        moved[k] = Line(
            edge.middle + shift * out,
            math.atan2(direction[1], direction[0]),
            edge.covariance,
            edge.rms,
        )
    if not seen:
        return edges, []
    if depth is not None:
        # Where one side is of another colour the others are, and were too narrow or round to tell.
        for k, wide in hidden.items():
            doubt = edges[k].covariance.copy()
            which = 0 if isinstance(edges[k], Line) else 2
            doubt[which, which] += wide**2 / 3
            moved[k] = replace(moved[k], covariance=doubt)
        return moved, []
    return edges, [
        _(
            "there is a second edge up to {off} outside the first: if it is where the part's "
            "side meets the sheet, give the thickness"
        ).format(off=with_unit(seen, 1))
    ]


def _second_step(
    picture: Straightened, a: np.ndarray, b: np.ndarray, out: np.ndarray, apart: Apart
) -> np.ndarray | None:
    """(n, 2) places along the side a b and how far out of it the second step is, in mm."""
    pixel, spread = picture.pixel, picture.spread
    length = float(np.hypot(*(b - a)))
    reach = apart.wide + apart.spread + 5 * spread
    inner = length - 2 * (apart.wide + 3 * spread)  # clear of what the neighbours show
    if inner < 4 * pixel * SECTIONS:
        return None
    out_to = np.arange(-reach, reach, 0.5 * pixel)
    along = (length - inner) / 2 + (np.arange(math.ceil(inner / pixel)) + 0.5) * pixel
    spots = a + along[:, None] * (b - a) / length
    seen = picture.at(spots[:, None, :] + out_to[None, :, None] * out)
    whole = seen[:, -3:].mean(axis=(0, 1)) - seen[:, :3].mean(axis=(0, 1))
    height = float(np.linalg.norm(whole))
    if height < 1e-6:
        return None
    profile = (seen @ (whole / height)) / height
    profile -= profile[:, :3].mean()
    if _further_of_two(profile.mean(axis=0), out_to, apart, spread) is None:
        return None
    found = [
        (float(where.mean()), _further_of_two(part.mean(axis=0), out_to, apart, spread))
        for where, part in zip(
            np.array_split(along, SECTIONS), np.array_split(profile, SECTIONS), strict=True
        )
    ]
    steps = np.array([(x, off) for x, off in found if off is not None], dtype=float)
    if len(steps) < SECTIONS - 1:
        return None
    left = np.abs(np.polyval(np.polyfit(steps[:, 0], steps[:, 1], 1), steps[:, 0]) - steps[:, 1])
    return steps if left.max() < CROOKED + 0.5 * spread else None


def _further_of_two(
    profile: np.ndarray, out_to: np.ndarray, apart: Apart, spread: float
) -> float | None:
    """Where a mean profile, 0 on the part and 1 on the paper, has its second step, if it has two.

    Both are blurred alike, else the second is a shadow's; how far they are apart is known about.
    """
    from workbench.measure.chances import ndtr

    def left(values: np.ndarray) -> np.ndarray:
        place, first, second, wide, blur, shade, softer = values
        blur, further = abs(blur) + 0.2 * spread, place + wide
        model = first * ndtr((out_to - place) / blur)
        model = model + second * ndtr((out_to - further) / (blur * (1 + abs(softer))))
        # A soft shadow on the paper beside the part.
        model = model + shade * np.clip(out_to - further, 0, None)
        known = [(wide - apart.wide) / apart.spread, (blur / spread - 1) / 0.3]
        return np.append(model - profile, 0.02 * np.array(known))

    one = fitted(
        lambda v: left(np.array([v[0], v[1], 0.0, apart.wide, v[2], v[3], 0.0])),
        np.array([0, 1, spread, 0]),
    )
    starts = [
        np.array([start, 0.5, 0.5, apart.wide, spread, 0.0, 0.1]) for start in (0.0, -apart.wide)
    ]
    best = min((fitted(left, start) for start in starts), key=_squares)
    place, first, second, wide, _blur, _shade, softer = best.x
    share = np.array([first, second]) / max(abs(first + second), 1e-9)
    if abs(softer) > SOFTER or share.min() < FAINT or abs(wide - apart.wide) > 2.5 * apart.spread:
        return None
    return float(place + wide) if _squares(one) > BETTER * _squares(best) else None


def _squares(fit: Fit) -> float:
    return float(fit.left @ fit.left)
