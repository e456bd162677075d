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
    turn = rotation(down)
    shift = laid(subject.corners, down)[0] - turn @ subject.corners[0]
    point = (np.array(place) + np.array([0.0, 0.0, subject.printer.layer / 2]) - shift) @ turn
    names, boxes = subject.part_boxes
    near = ((boxes[:, 0] <= point) & (point <= boxes[:, 1])).all(axis=1)
    for i in np.flatnonzero(near).tolist():
        if _holds(*subject.part_mesh(names[i]), point):
            return names[i]
    return ""


def _holds(vertices: np.ndarray, faces: np.ndarray, point: np.ndarray) -> bool:
    """Whether a point (3,) lies inside a closed mesh."""
    x, y, z = point
    rings = contours(vertices, faces, np.array([z])).rings(0)
    return bool(np.searchsorted(crossings(joined(rings), y), x) % 2)
