"""Rounded corners: where their middles are, and the outline that they leave."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.errors import RepairError
from workbench.measure.outline import Outline
from workbench.words import _, number

#: Points nearer than this are one, in mm.
_SAME = 1e-6


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


def rounded(
    corners: Mapping[str, np.ndarray],
    arcs: Mapping[str, tuple[np.ndarray, float]],
    deviation: float,
) -> Outline:
    """The outline with short straight sides where it is rounded.

    Parameters
    ----------
    corners : name -> (2,) place of each sharp corner in mm, in order
    arcs : name -> (2,) middle and radius, in mm, of those that are rounded
    deviation : greatest distance of a side from the arc, in mm

    Raises
    ------
    RepairError
        When two rounds do not fit on the side between them.
    """
    spots = list(corners.items())
    _refuse_long(spots, arcs)
    points: list[np.ndarray] = []
    for i, (name, spot) in enumerate(spots):
        if name in arcs:
            ends = [spots[i - 1][1], spots[(i + 1) % len(spots)][1]]
            points.extend(_arc_points(spot, *arcs[name], ends, deviation))
        else:
            points.append(spot)
    # Where one round goes over into the next, its last point is the other's first.
    before = [points[-1], *points[:-1]]
    return Outline(p for p, q in zip(points, before, strict=True) if math.dist(p, q) > _SAME)


def _refuse_long(
    spots: Sequence[tuple[str, np.ndarray]], arcs: Mapping[str, tuple[np.ndarray, float]]
) -> None:
    for i, (name, spot) in enumerate(spots):
        other, end = spots[(i + 1) % len(spots)]
        side = math.dist(spot, end)
        used = sum(
            abs(float((arcs[corner][0] - place) @ (end - spot))) / side
            for corner, place in ((name, spot), (other, end))
            if corner in arcs
        )
        if used > side + _SAME:
            raise RepairError(
                _(
                    "side {a} {b} is {side} mm, too short for its rounds; read their radii again"
                ).format(a=name, b=other, side=number(side))
            )


def _arc_points(
    corner: np.ndarray,
    middle: np.ndarray,
    radius: float,
    ends: list[np.ndarray],
    deviation: float,
) -> list[np.ndarray]:
    """Points of a rounded corner from one side to the next, ends included."""
    feet = []
    for end in ends:
        along = (end - corner) / math.dist(end, corner)
        feet.append(corner + along * float((middle - corner) @ along) - middle)
    start, stop = (math.atan2(foot[1], foot[0]) for foot in feet)
    turn = (stop - start + math.pi) % math.tau - math.pi
    step = 2 * math.acos(max(0.0, 1 - deviation / max(radius, deviation)))
    count = max(1, math.ceil(abs(turn) / step))
    angles = start + turn * np.arange(count + 1) / count
    return [middle + radius * np.array([math.cos(a), math.sin(a)]) for a in angles]
