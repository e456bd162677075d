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
    vertices, _faces = subject.mesh
    turn = rotation(down)
    shift = laid(vertices, down)[0] - turn @ vertices[0]
    point = np.array(place) + np.array([0.0, 0.0, subject.printer.layer / 2])
    x, y, z = (point - shift) @ turn
    for step in subject.repair.steps:
        if not step.cuts and _holds(*subject.part_mesh(step.name), (x, y, z)):
            return step.name
    return ""


def _holds(vertices: np.ndarray, faces: np.ndarray, point: tuple[float, float, float]) -> bool:
    """Whether a point lies inside a closed mesh."""
    x, y, z = point
    if not (vertices.min(axis=0) <= point).all() or not (point <= vertices.max(axis=0)).all():
        return False
    rings = contours(vertices, faces, np.array([z])).rings(0)
    return bool(np.searchsorted(crossings(joined(rings), y), x) % 2)
