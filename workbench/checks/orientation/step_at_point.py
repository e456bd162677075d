"""Which step of a repair a place on the laid part belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.contours import contours
from workbench.checks.layers.sections import crossings, joined
from workbench.solids.lay import laid, rotation

if TYPE_CHECKING:
    from workbench.checks.report import Subject


def step_at(subject: Subject, down: Sequence[float], place: Sequence[float]) -> str:
    """The step that a place (x, y, z) on the part, laid on ``down``, belongs to; "" for none.

    The place is on the underside of a layer; what the layer holds there is looked at.
    """
    return steps_at(subject, down, [place])[0]


def steps_at(
    subject: Subject, down: Sequence[float], places: Sequence[Sequence[float]]
) -> list[str]:
    """The same for several places."""
    turn = rotation(down)
    shift = laid(subject.corners, down)[0] - turn @ subject.corners[0]
    inside = np.array([0.0, 0.0, subject.printer.layer / 2])
    points = (np.array(places).reshape(-1, 3) + inside - shift) @ turn
    found = [""] * len(points)
    for name, (low, high) in zip(*subject.part_boxes, strict=True):
        near = np.flatnonzero(((low <= points) & (points <= high)).all(axis=1))
        near = np.array([i for i in near if not found[i]], dtype=int)
        for i in near[_held(*subject.part_mesh(name), points[near])].tolist():
            found[i] = name
    return found


def _held(vertices: np.ndarray, faces: np.ndarray, points: np.ndarray) -> np.ndarray:
    """(n,) whether points (n, 3) lie inside a closed mesh."""
    if not len(points):
        return np.zeros(0, dtype=bool)
    planes, at = np.unique(points[:, 2], return_inverse=True)
    cuts = contours(vertices, faces, planes)
    edges = [joined(cuts.rings(plane)) for plane in range(len(planes))]
    return np.array(
        [
            np.searchsorted(crossings(edges[plane], y), x) % 2 == 1
            for plane, (x, y, _z) in zip(at.reshape(-1), points, strict=True)
        ]
    )
