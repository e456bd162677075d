"""Bodies of sections that are pushed along a line or wound round an axis, without the kernel."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from manifold3d import Manifold

#: Moves (3, 4) that lay a section's x, y and thickness along the axes, by the axis of the thickness.
_LAID = {
    "x": np.array([[0.0, 0, 1, 0], [1, 0, 0, 0], [0, 1, 0, 0]]),
    "y": np.array([[1.0, 0, 0, 0], [0, 0, 1, 0], [0, 1, 0, 0]]),
}


def chords(radius: float, turn: float, deviation: float, angle: float) -> int:
    """How many chords an arc of that turn, in radians, takes.

    >>> chords(10, 2 * math.pi, 0.02, 12), chords(1, 2 * math.pi, 0.02, 12)
    (50, 30)
    """
    nearest = 2 * math.acos(max(0.0, 1 - deviation / radius)) if radius > deviation else math.pi
    return max(1, math.ceil(abs(turn) / min(nearest, math.radians(angle)) - 1e-9))


def arc(
    start: tuple[float, float],
    through: tuple[float, float],
    end: tuple[float, float],
    deviation: float,
    angle: float,
) -> np.ndarray:
    """(n, 2) points after the start of the arc through three points, its end the last."""
    a, b, c = (complex(*spot) for spot in (start, through, end))
    p, q = b - a, c - a
    cross = (p.conjugate() * q).imag
    if abs(cross) < 1e-12 * max(abs(p), abs(q)) ** 2:  # straight
        return np.array([end])
    centre = a - 1j * (q * abs(p) ** 2 - p * abs(q) ** 2) / (2 * cross)
    at = np.angle(a - centre)
    turn = float(np.angle((c - centre) / (a - centre))) % math.tau
    if cross < 0:
        turn -= math.tau
    count = chords(abs(a - centre), turn, deviation, angle)
    turns = at + turn * np.arange(1, count + 1) / count
    found = np.array([centre.real, centre.imag]) + abs(a - centre) * np.column_stack(
        [np.cos(turns), np.sin(turns)]
    )
    found[-1] = end
    return found


def extruded(rings: Sequence[np.ndarray], low: float, high: float, along: str) -> Manifold:
    """The prism on a section between two levels.

    rings : (n, 2) each, in mm: the outer one and its holes, either way round
    along : the axis that the prism runs along; the section lies in the other two, in their order
    """
    from manifold3d import CrossSection, FillRule, Manifold

    section = CrossSection([np.ascontiguousarray(ring) for ring in rings], FillRule.EvenOdd)
    body = Manifold.extrude(section, high - low).translate((0, 0, low))
    return body.transform(_LAID[along]) if along in _LAID else body


def revolved(ring: np.ndarray, deviation: float, angle: float) -> Manifold:
    """What a ring (n, 2) of (radius, z), in mm, sweeps in one turn about the z axis."""
    from manifold3d import CrossSection, FillRule, Manifold

    section = CrossSection([np.ascontiguousarray(ring)], FillRule.EvenOdd)
    across = chords(float(ring[:, 0].max()), math.tau, deviation, angle)
    return Manifold.revolve(section, across)


def wound(
    radii: Sequence[float],
    shares: Sequence[float],
    pitch: float,
    length: float,
    deviation: float,
    angle: float,
) -> Manifold:
    """A right-handed thread, cut level at 0 and at its length.

    radii, shares : of the corners of the profile, in mm, and where along the pitch they lie, from 0
    """
    from manifold3d import Manifold, Mesh64

    across = chords(max(radii), math.tau, deviation, angle)
    corners, turns = len(radii), math.ceil(length / pitch) + 3
    # For each direction a column of corners, one turn over the other. The last column meets the
    # first one turn higher.
    count = corners * turns + 1
    way = np.arange(across) / across
    far = np.resize(radii, count)
    level = np.resize(shares, count) + np.arange(count) // corners - 2
    points = np.empty((across * count + 2, 3))
    points[:-2, 0] = np.outer(np.cos(math.tau * way), far).ravel()
    points[:-2, 1] = np.outer(np.sin(math.tau * way), far).ravel()
    points[:-2, 2] = pitch * (way[:, None] + level).ravel()
    points[-2:] = (0, 0, -2 * pitch), (0, 0, pitch * (turns - 1))
    number = np.arange(across * count).reshape(across, count)
    foot = np.concatenate([number[:, 0], number[0, corners:0:-1]])
    head = np.concatenate([number[::-1, -1], number[-1, -corners - 1 : -1]])
    faces = np.concatenate(
        [
            _strips(number[:-1], number[1:]),
            _strips(number[-1:, :-corners], number[:1, corners:]),
            _fan(len(points) - 2, foot),
            _fan(len(points) - 1, head),
        ]
    )
    between = Manifold.cube((3 * max(radii), 3 * max(radii), length), center=True)
    return Manifold(Mesh64(points, faces.astype(np.uint64))) ^ between.translate((0, 0, length / 2))


def _strips(one: np.ndarray, next_: np.ndarray) -> np.ndarray:
    """Triangles between columns (k, n) and their neighbours, two for each four corners."""
    a, b, c, d = one[:, :-1], next_[:, :-1], next_[:, 1:], one[:, 1:]
    return np.stack([a, b, c, a, c, d], axis=-1).reshape(-1, 3)


def _fan(middle: int, ring: np.ndarray) -> np.ndarray:
    """Triangles from one point to a closed ring, against its way round."""
    return np.column_stack([np.full(len(ring), middle), np.roll(ring, -1), ring])
