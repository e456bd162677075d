"""What the preview shows, as plain arrays: edges, pieces apart, dimension lines, the bed's grid.

No widgets here. Everything is in mm, as the repair stands on the bench, z up.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from workbench import units
from workbench.words import _, number, sized, unit_sign

#: Facets that meet at more than this many degrees have their edge drawn.
CREASE = 25.0


@dataclass(frozen=True)
class Lines:
    """Straight strokes with words beside them.

    segments : (k, 2, 3) ends, in mm
    texts : the words
    places : (len(texts), 3) where each stands, in mm
    """

    segments: np.ndarray
    texts: tuple[str, ...]
    places: np.ndarray


NO_LINES = Lines(np.zeros((0, 2, 3)), (), np.zeros((0, 3)))


def edges(vertices: np.ndarray, faces: np.ndarray, crease: float = CREASE) -> np.ndarray:
    """(k, 2, 3) the edges of a closed mesh at which its facets turn by more than ``crease``°.

    A box of 12 triangles has 12 such edges; the 6 diagonals of its sides are none.
    """
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    normals = np.cross(b - a, c - a)
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    normals = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    ends = np.sort(
        np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]]), axis=1
    ).astype(np.int64)
    owner = np.tile(np.arange(len(faces)), 3)
    key = ends[:, 0] * (int(faces.max()) + 1) + ends[:, 1]
    order = np.argsort(key, kind="stable")
    # The mesh closes, so that every edge comes exactly twice.
    first, second = order[0::2], order[1::2]
    turn = (normals[owner[first]] * normals[owner[second]]).sum(axis=1)
    return vertices[ends[first[turn < math.cos(math.radians(crease))]]]


def apart(bounds: Sequence[np.ndarray], gap: float = 0.6) -> np.ndarray:
    """(n, 3) how far to move each of n pieces so that they can be told from each other.

    Parameters
    ----------
    bounds : for each piece (2, 3), its least and greatest x, y and z, in mm
    gap : how far apart, as a share of the distance between the middles
    """
    boxes = np.array(bounds)
    middles = boxes.mean(axis=1)
    centre = (boxes[:, 0].min(axis=0) + boxes[:, 1].max(axis=0)) / 2
    away = middles - centre
    size = float(np.linalg.norm(boxes[:, 1].max(axis=0) - boxes[:, 0].min(axis=0)))
    moves = away * gap
    near = np.linalg.norm(away, axis=1) < 0.05 * size
    near[int(np.argmax((boxes[:, 1] - boxes[:, 0]).prod(axis=1)))] = False
    # Pieces about the same middle, such as a hole in its plate, come forward one by one.
    moves[near] += np.outer(np.arange(1, near.sum() + 1) * 0.5 * size, [0.0, -1.0, 0.0])
    return moves


def joined(
    pieces: Sequence[tuple[np.ndarray, np.ndarray]],
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Several meshes as one: vertices, faces, and for each vertex the number of its piece."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _faces in pieces)])
    vertices = np.concatenate([vertices for vertices, _faces in pieces])
    faces = np.concatenate([f + start for (_v, f), start in zip(pieces, starts, strict=False)])
    owner = np.repeat(np.arange(len(pieces)), np.diff(starts))
    return vertices, faces, owner


def dimensions(part: np.ndarray, whole: np.ndarray) -> Lines:
    """Overall width, depth and height of a part, as dimension lines outside the whole.

    Parameters
    ----------
    part, whole : (2, 3) least and greatest x, y and z, in mm
    """
    (x0, y0, z0), (x1, y1, z1) = part
    low, high = whole
    size = float(np.linalg.norm(high - low))
    off = 0.07 * size
    front, right, left = low[1] - off, high[0] + off, low[0] - off
    rows = [  # end, end, the corners of the part that they belong to, and room for the words
        ((x0, front, low[2]), (x1, front, low[2]), (x0, y0, z0), (x1, y0, z0), 0.11),
        ((right, y0, low[2]), (right, y1, low[2]), (x1, y0, z0), (x1, y1, z0), 0.16),
        ((left, low[1], z0), (left, low[1], z1), (x0, y0, z0), (x0, y0, z1), 0.11),
    ]
    strokes: list[tuple[Any, Any]] = []
    texts: list[str] = []
    places: list[np.ndarray] = []
    for start, end, from_, to, room in rows:
        a, b = np.array(start), np.array(end)
        strokes += [(a, b), (np.array(from_), _past(from_, a)), (np.array(to), _past(to, b))]
        strokes += [_tick(a, b, size), _tick(b, a, size)]
        texts.append(_("{length} mm").format(length=number(float(np.linalg.norm(b - a)))))
        out = (a + b) / 2 - (np.array(from_) + np.array(to)) / 2
        places.append((a + b) / 2 + out / (np.linalg.norm(out) or 1.0) * room * size)
    return Lines(np.array(strokes), tuple(texts), np.array(places))


def _past(start: Sequence[float], end: np.ndarray, more: float = 0.12) -> np.ndarray:
    return end + (end - np.array(start)) * more


def _tick(end: np.ndarray, other: np.ndarray, size: float) -> tuple[np.ndarray, np.ndarray]:
    """The short slanting stroke at the end of a dimension line, 45 degrees to it."""
    along = (other - end) / (np.linalg.norm(other - end) or 1.0)
    up = np.array([0.0, 0.0, 1.0]) if abs(along[2]) < 0.5 else np.array([1.0, 0.0, 0.0])
    half = (along + up) * 0.012 * size
    return end - half, end + half


def bed_grid(bounds: np.ndarray, margin: float = 30.0) -> tuple[Lines, np.ndarray]:
    """The piece of the bed under a part: fine lines every 10 mm, strong ones every 50 mm.

    For those who read inches, every half inch and every inch.

    Returns
    -------
    fine : the lines, and the numbers along the front edge, from left to right
    strong : (k, 2, 3) the strong lines
    """
    grid, fifth = units.chosen().grid, units.chosen().strong
    low = np.floor((bounds[0, :2] - margin) / grid) * grid
    high = np.ceil((bounds[1, :2] + margin) / grid) * grid
    floor = float(bounds[0, 2])
    fine: list[tuple[tuple[float, float, float], tuple[float, float, float]]] = []
    strong: list[tuple[tuple[float, float, float], tuple[float, float, float]]] = []
    for x in np.arange(low[0], high[0] + grid / 2, grid):
        target = strong if round(x / grid) % fifth == 0 else fine
        target.append(((x, low[1], floor), (x, high[1], floor)))
    for y in np.arange(low[1], high[1] + grid / 2, grid):
        target = strong if round(y / grid) % fifth == 0 else fine
        target.append(((low[0], y, floor), (high[0], y, floor)))
    texts, places = _grid_numbers(low, high, floor)
    return Lines(np.array(fine), texts, places), np.array(strong).reshape(-1, 2, 3)


def _grid_numbers(
    low: np.ndarray, high: np.ndarray, floor: float
) -> tuple[tuple[str, ...], np.ndarray]:
    span = float(max(high - low))
    grid = units.chosen().grid
    pitch = next(p * grid for p in (1, 2, 5, 10, 100) if span / (p * grid) <= 9 or p == 100)
    texts: list[str] = []
    places: list[tuple[float, float, float]] = []
    for x in np.arange(np.ceil(low[0] / pitch) * pitch, high[0] + 1, pitch):
        texts.append(sized(float(x), 0))
        places.append((float(x), float(low[1]) - 0.04 * span, floor))
    if texts:
        texts[-1] = f"{texts[-1]} {unit_sign()}"
    return tuple(texts), np.array(places).reshape(-1, 3)


def bounds_of(vertices: np.ndarray) -> np.ndarray:
    """(2, 3) least and greatest x, y and z of (n, 3) vertices."""
    return np.array([vertices.min(axis=0), vertices.max(axis=0)])


#: From which side each view looks: the direction from the part to the eye.
VIEWS: Mapping[str, tuple[float, float, float]] = {
    "corner": (-0.55, -1.0, 0.55),
    "front": (0.0, -1.0, 0.0),
    "right": (1.0, 0.0, 0.0),
    "top": (0.0, -1e-3, 1.0),
}


def camera(bounds: np.ndarray, view: str, opening: float, factor: float = 1.15) -> list[float]:
    """Eye, target and up of a camera that has all of ``bounds`` (2, 3) in sight.

    opening : the camera's angle of view, in degrees
    factor : how much room to leave round the part
    """
    radius = max(float(np.linalg.norm(bounds[1] - bounds[0])) / 2, 1.0)
    # A little below the middle: the numbers on the bed stand in front of the part.
    target = bounds.mean(axis=0) - np.array([0.0, 0.0, 0.08 * radius])
    away = np.array(VIEWS[view])
    away = away / np.linalg.norm(away)
    eye = target + away * radius * factor / math.sin(math.radians(opening / 2))
    return [*map(float, eye), *map(float, target), 0.0, 0.0, 1.0]
