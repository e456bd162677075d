"""Sketches with known corners and simulated readings."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

import numpy as np

from workbench.measure.sketches.sketch import Sketch

#: Standard uncertainty of every simulated reading, in mm.
SIGMA = 0.05


@dataclass
class Survey:
    """True corners (n, 2) in mm and a sketch of them with readings."""

    corners: np.ndarray
    sketch: Sketch


def corner_ring(rng: np.random.Generator, most: int = 7) -> np.ndarray:
    """(n, 2) corners round a middle, the first side lowest."""
    count = int(rng.integers(4, most + 1))
    turn = (np.sort(rng.uniform(0, 0.6, count)) + np.arange(count)) / count * 2 * np.pi - 2.2
    reach = rng.uniform(20, 45, count)
    return np.c_[reach * np.cos(turn), reach * np.sin(turn)]


def sizes(corners: np.ndarray, sketch: Sketch) -> list[tuple[str, tuple[str, ...], float]]:
    """Every side, diagonal, height and offset: kind, where and true value."""
    names, count = list(sketch.corners), len(corners)
    found = []
    for i, j in [*((i, (i + 1) % count) for i in range(count)), *combinations(range(count), 2)]:
        side = len(found) < count
        if side or (j - i) % count not in (1, count - 1):
            kind = "side" if side else "diagonal"
            found.append((kind, (names[i], names[j]), float(np.hypot(*(corners[i] - corners[j])))))
    a, b = (names.index(name) for name in sketch.base)
    along = (corners[b] - corners[a]) / np.hypot(*(corners[b] - corners[a]))
    for k in set(range(count)) - {a, b}:
        gap = corners[k] - corners[a]
        where = (names[k], names[a], names[b])
        height, offset = float(along[0] * gap[1] - along[1] * gap[0]), float(gap @ along)
        # A rough drawing does not tell on which side a corner is that lies near a line.
        found += [("height", where, abs(height))] if abs(height) > 5 else []
        found += [("offset", where, abs(offset))] if abs(offset) > 12 else []
    return found


def survey(rng: np.random.Generator, spare: int, most: int = 7, noise: float = SIGMA) -> Survey:
    """A rough drawing with all sides and other sizes read, ``spare`` more than needed."""
    corners = corner_ring(rng, most)
    names = "ABCDEFGH"[: len(corners)]
    drawn = corners * 0.7 + rng.normal(size=corners.shape)
    sketch = Sketch(dict(zip(names, drawn, strict=True)), setting=0)
    listed = sizes(corners, sketch)
    rest = rng.permutation(len(listed) - len(corners)) + len(corners)
    needed = 2 * len(corners) - 3 + spare - len(corners)
    for i in [*range(len(corners)), *rest[: max(0, needed)]]:
        kind, where, value = listed[i]
        read = max(0.5, value + rng.normal() * noise)
        sketch.read(kind, where, read, uncertainty=SIGMA)
    return Survey(corners, sketch)


def aligned(corners: np.ndarray, sketch: Sketch) -> np.ndarray:
    """The corners moved as solutions lie: the base's left end at (0, 0), its right end level."""
    a, b = (list(sketch.corners).index(name) for name in sketch.base)
    along = (corners[b] - corners[a]) / np.hypot(*(corners[b] - corners[a]))
    return (corners - corners[a]) @ np.array([along, (-along[1], along[0])]).T


def ring(corners: int, seed: int = 0, drawn: float = 1.0) -> Sketch:
    """Corners round a middle; sides, short and long diagonals read: three a corner.

    drawn : by how much corners are drawn out of their places, standard, in mm
    """
    rng = np.random.default_rng(seed)
    turn = -2.2 + np.linspace(0, 2 * np.pi, corners, endpoint=False)
    reach = rng.uniform(25, 45, corners)
    true = np.c_[reach * np.cos(turn), reach * np.sin(turn)]
    names = [f"P{i}" for i in range(corners)]
    spots = 0.7 * true + drawn * rng.normal(size=true.shape)
    sketch = Sketch(dict(zip(names, spots, strict=True)))
    for step, kind in ((1, "side"), (2, "diagonal"), (corners // 3, "diagonal")):
        for i in range(corners):
            j = (i + step) % corners
            gap = float(np.hypot(*(true[i] - true[j]))) + rng.normal() * 0.03
            sketch.read(kind, (names[i], names[j]), gap, uncertainty=0.03)
    return sketch
