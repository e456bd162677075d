"""What the picture shows beside the part, as plain arrays: pieces apart and the bed's grid.

No widgets here. Everything is in mm, as the repair stands on the bench, z up.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench import units
from workbench.words import sized, unit_sign

#: From the part to the eye, seen from the corner: the first view of the live picture, and that of
#: the still one.
CORNER = (-0.422, -0.794, 0.438)


@dataclass(frozen=True)
class Bed:
    """The piece of the bed under a part: a grid of lines, and numbers along its front edge.

    low, high : (2,) its left front and right back corner, in mm, on lines of the grid
    level : its height, in mm
    pitch : from line to line, in mm; every ``strong``-th is stronger, counted from 0
    texts : the numbers
    places : (len(texts), 3) where each stands, in mm
    """

    low: np.ndarray
    high: np.ndarray
    level: float
    pitch: float
    strong: int
    texts: tuple[str, ...]
    places: np.ndarray


def apart(bounds: Sequence[np.ndarray], gap: float = 0.6) -> np.ndarray:
    """(n, 3) how far to move each of n pieces so that they can be told from each other.

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
    # What still lies in a larger one is lifted out of it.
    placed: list[np.ndarray] = []
    for i in np.argsort(-(boxes[:, 1] - boxes[:, 0]).prod(axis=1), kind="stable"):
        while under := [b for b in placed if _overlap(b, boxes[i] + moves[i])]:
            top = max(box[1, 2] for box in under)
            moves[i, 2] += top - (boxes[i, 0, 2] + moves[i, 2]) + 0.1 * size
        placed.append(boxes[i] + moves[i])
    return moves


def _overlap(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two boxes, (2, 3) each, have room in common."""
    return bool((np.minimum(one[1], other[1]) - np.maximum(one[0], other[0]) > 1e-6).all())


def joined(
    pieces: Sequence[tuple[np.ndarray, np.ndarray]],
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Several meshes as one: vertices, faces, and for each vertex the number of its piece."""
    starts = np.cumsum([0, *(len(vertices) for vertices, _faces in pieces)])
    vertices = np.concatenate([vertices for vertices, _faces in pieces])
    faces = np.concatenate([f + start for (_v, f), start in zip(pieces, starts, strict=False)])
    owner = np.repeat(np.arange(len(pieces)), np.diff(starts))
    return vertices, faces, owner


def bed_under(bounds: np.ndarray, margin: float = 30.0) -> Bed:
    """The bed under a part: lines every 10 mm, strong ones every 50 mm.

    For those who read inches, every half inch and every inch.

    bounds : (2, 3) least and greatest x, y and z of the part, in mm
    margin : how far the grid reaches beyond the part, in mm
    """
    unit = units.chosen()
    low = np.floor((bounds[0, :2] - margin) / unit.grid) * unit.grid
    high = np.ceil((bounds[1, :2] + margin) / unit.grid) * unit.grid
    level = float(bounds[0, 2])
    return Bed(low, high, level, unit.grid, unit.strong, *_grid_numbers(low, high, level))


def _grid_numbers(
    low: np.ndarray, high: np.ndarray, floor: float
) -> tuple[tuple[str, ...], np.ndarray]:
    span = float(max(high - low))
    grid = units.chosen().grid
    pitch = next(p * grid for p in (1, 2, 5, 10, 100) if span / (p * grid) <= 9 or p == 100)
    texts: list[str] = []
    places: list[tuple[float, float, float]] = []
    for x in np.arange(np.ceil(low[0] / pitch) * pitch, high[0] + 1, pitch):
        texts.append(sized(float(x), 0).replace("-", "−"))
        places.append((float(x), float(low[1]) - 0.04 * span, floor))
    if texts:
        texts[-1] = f"{texts[-1]} {unit_sign()}"
    return tuple(texts), np.array(places).reshape(-1, 3)


def bounds_of(vertices: np.ndarray) -> np.ndarray:
    """(2, 3) least and greatest x, y and z of (n, 3) vertices."""
    return np.array([vertices.min(axis=0), vertices.max(axis=0)])
