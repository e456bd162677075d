"""Rounded corners: where their middles are."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Arc:
    """A rounded corner, as indices into a sketch's unknowns.

    corner, before, after : of the sharp corner and its neighbours among the points
    radius : of its radius among the unknowns
    middle : of its middle among the points, which follow the corners and circles
    convex : whether the outline turns outward there
    """

    corner: int
    before: int
    after: int
    radius: int
    middle: int
    convex: bool


def middles(arcs: Sequence[Arc], x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """(k, 2) middles of k rounded corners in mm, and their (2 k, p) slopes by p unknowns."""
    centres = np.zeros((len(arcs), 2))
    slopes = np.zeros((2 * len(arcs), len(x)))

    def spot(point: int) -> np.ndarray:
        return x[2 * point : 2 * point + 2]

    for k, arc in enumerate(arcs):
        radius = x[arc.radius]
        ends = (arc.before, arc.after)
        gaps = [spot(end) - spot(arc.corner) for end in ends]
        lengths = [max(math.hypot(*gap), 1e-12) for gap in gaps]
        u, w = (gap / length for gap, length in zip(gaps, lengths, strict=True))
        bend = u[0] * w[1] - u[1] * w[0]
        side = 1.0 if bend >= 0 else -1.0
        sine = max(abs(bend), 1e-9)
        # Along the bisector, 1/sin of half the angle from the corner for a radius of 1.
        reach = (u + w) / sine
        centres[k] = spot(arc.corner) + radius * reach
        rows = slice(2 * k, 2 * k + 2)
        slopes[rows, arc.radius] = reach
        slopes[rows, 2 * arc.corner : 2 * arc.corner + 2] += np.eye(2)
        by_sine = (side * np.array([w[1], -w[0]]), side * np.array([-u[1], u[0]]))
        for end, unit, length, bending in zip(ends, (u, w), lengths, by_sine, strict=True):
            turning = (np.eye(2) - np.outer(unit, unit)) / length
            by_end = radius * (np.eye(2) - np.outer(reach, bending)) @ turning / sine
            slopes[rows, 2 * end : 2 * end + 2] += by_end
            slopes[rows, 2 * arc.corner : 2 * arc.corner + 2] -= by_end
    return centres, slopes
