"""Which step of a repair a place on the laid part belongs to."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.inside import inside
from workbench.solids.lay import laid, rotation

if TYPE_CHECKING:
    from workbench.checks.subject import Subject


def step_at(subject: Subject, down: Sequence[float], place: Sequence[float]) -> str:
    """The step that a place (x, y, z) on the part, laid on ``down``, belongs to; "" for none.

    The place is on the underside of a layer; what the layer holds there is looked at.
    """
    return steps_at(subject, down, [place])[0]


def steps_at(
    subject: Subject, down: Sequence[float], places: Sequence[Sequence[float]]
) -> list[str]:
    """The same for several places."""
    points = points_at(subject, down, places)
    names, boxes = subject.part_boxes
    lows, highs = boxes.transpose(1, 0, 2)[:, :, None]
    found = [""] * len(points)
    for name, boxed in zip(names, ((lows <= points) & (points <= highs)).all(axis=2), strict=True):
        near = np.array([i for i in np.flatnonzero(boxed) if not found[i]], dtype=int)
        if len(near):
            for i in near[inside(*subject.part_mesh(name), points[near])].tolist():
                found[i] = name
    return found


def points_at(
    subject: Subject, down: Sequence[float], places: Sequence[Sequence[float]]
) -> np.ndarray:
    """(n, 3) places on the part, laid on ``down``, where they are on it as it is built."""
    turn = rotation(down)
    shift = laid(subject.corners, down)[0] - turn @ subject.corners[0]
    in_layer = np.array([0.0, 0.0, subject.printer.layer / 2])
    return np.asarray((np.array(places).reshape(-1, 3) + in_layer - shift) @ turn)
