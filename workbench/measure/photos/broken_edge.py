"""How far a part's edges are broken, as a photo shows it on the sides that face the camera::

top   | chamfer | wall | paper     brightness inwards from the silhouette: for a wall
______|         |      |           seen at s times its height T the inner steps stand at
      '~~~~~~~~~|      |           s (T - 2 e) and s (T - 2 e) + e, whatever their shades
                '~~~~~~|           are; with sharp edges at s T both
                       '--------
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import product

import numpy as np

from workbench.measure.photos.camera import SHARP, Camera, Thickness, facing
from workbench.measure.photos.edges import Edge, Line, corners_of
from workbench.measure.photos.straightened import Straightened

#: Breaks that are tried, in mm; the first stands for none: a break much smaller than the blur looks alike.
TRIED = np.arange(0.01, 1.4, 0.02)

#: By how many of its deviations the silhouette's place is tried moved.
MOVED = np.linspace(-2, 2, 5)

#: So many of the blur's deviations beside the silhouette are left out; so many must be left of the
#: wall.
CLEAR, LEFT = 2.0, 2.0

#: What the blur of the silhouette, and JPEG beside it, leave of the paper's step: a share of it.
TAIL = 0.002

#: A step counts as seen where it brings a chi-square down by so much.
SHOWN = 25.0

#: How well profiles are as the model has them, and how evenly they are lit from the silhouette
#: inwards: shares of their inner step.
SHAPED, EVEN = 0.03, 0.1

#: How sure the silhouette's own place is, in mm, and what a round edge makes of a break that is
#: taken for a chamfer: a share of it. Common practice, no source.
PLACED, ROUND = 0.03, 0.1


def as_seen(
    edges: list[Edge],
    picture: Straightened,
    camera: Camera,
    depth: Thickness,
) -> Thickness:
    """The thickness with its break as the photo shows it, as far as it does.

    Parameters
    ----------
    edges : on the plane, counter-clockwise
    depth : with what is known of the break beforehand, which is left where no side shows it
    """
    height, spread = depth.upper - depth.lower, picture.spread
    tried = TRIED[height / 2 >= TRIED]
    ends = corners_of(edges) if len(edges) > 2 else np.empty((0, 2))
    found = []
    for k in range(len(ends)):
        edge, share = edges[k], -facing(edges[k], camera)
        if not isinstance(edge, Line) or share * height < (CLEAR + LEFT) * spread or share > 0.95:
            continue
        inward = np.arange(
            CLEAR * spread, share * height + tried[-1] + 4 * spread, 0.5 * picture.pixel
        )
        around = np.append(-4 * spread, inward)
        seen = picture.across(ends[k - 1], ends[k], around, share * height + spread)
        if seen is None:
            continue
        steps = _inner_steps(share, camera, depth, tried)
        off = math.hypot(PLACED, share * depth.uncertainty, share * height * camera.doubt)
        likely = _likelihood(seen[1:], seen[0], inward, steps, off, spread)
        found += [] if likely is None else [likely]
    if not found:
        return depth
    weight = np.exp(-0.5 * ((tried - depth.broken) / depth.broken_doubt) ** 2)
    weight *= (1 - SHARP) / weight.sum()
    weight[0] += SHARP
    for likely in found:
        weight = weight * np.maximum(likely, 1e-12)
        weight /= weight.max()
    weight /= weight.sum()
    mean = float(weight @ tried)
    own = math.sqrt(float(weight @ (tried - mean) ** 2))
    return replace(
        depth, broken=mean, broken_doubt=min(math.hypot(own, ROUND * mean), depth.broken_doubt)
    )


def _inner_steps(
    share: float, camera: Camera, depth: Thickness, tried: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """(t,) mm inwards from the silhouette at which wall and chamfer, and chamfer and top, meet."""

    def seen(inset: np.ndarray, level: np.ndarray) -> np.ndarray:
        return (share * camera.height + inset) * camera.height / (camera.height - level)

    silhouette = seen(0 * tried, depth.lower + tried)
    wall = seen(0 * tried, depth.upper - tried) - silhouette
    return wall, seen(tried, depth.upper + 0 * tried) - silhouette


def _likelihood(
    seen: np.ndarray,
    paper: np.ndarray,
    inward: np.ndarray,
    steps: tuple[np.ndarray, np.ndarray],
    off: float,
    spread: float,
) -> np.ndarray | None:
    """(t,) how likely the (m, 3) profile is with each break's (t,) steps, all moved by about ``off``.

    None where top and wall are of one shade, so that no step is seen.
    """
    from workbench.measure.chances import ndtr

    # A wall may be lit unevenly, though not so much that this passes for a step.
    slope = (inward - inward.mean()) / np.ptp(inward)

    def step(at: float) -> np.ndarray:
        """(m + 1, 2) a blurred step, and what it is off by where the blur is not as supposed."""
        off = (inward - at) / spread
        return np.vstack([np.column_stack([ndtr(off), off * np.exp(-0.5 * off**2)]), [0, 0]])

    even = np.column_stack([np.append(slope, SHAPED / EVEN), np.append(np.ones_like(inward), 0)])
    even = np.hstack([even, step(0.0)])  # what the blur leaves of the paper there
    flat = np.vstack([seen, np.zeros(3)])

    def left(terms: np.ndarray) -> float:
        rest = flat - terms @ np.linalg.lstsq(terms, flat, rcond=None)[0]
        return float((rest**2).mean())

    squares = np.empty((len(MOVED), len(steps[0])))
    for (k, moved), (j, ends) in product(enumerate(MOVED), enumerate(zip(*steps, strict=True))):
        squares[k, j] = left(np.hstack([even, *(step(at + moved * off) for at in ends)]))
    whole = float(np.ptp(seen[inward > 3 * spread], axis=0).max())
    tail = TAIL * float(np.abs(paper - seen[-1]).max())
    noise = squares.min() + (SHAPED * whole) ** 2 + tail**2
    # Neighbouring places share the blur.
    count = np.ptp(inward) / (2 * spread) * 3
    if count * (left(even) - squares.min()) / noise < SHOWN:
        return None
    likely = np.exp(-0.5 * count * (squares - squares.min()) / noise)
    return np.asarray(np.exp(-0.5 * MOVED**2) @ likely)
