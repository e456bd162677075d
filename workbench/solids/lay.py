"""Laying a part on the print bed: which of its directions points down, and where it comes to lie."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from workbench.errors import RepairError
from workbench.words import _

#: Parts of a direction below this are rounding, not meant.
_ROUNDING = 1e-9

#: Directions further up than this are reached by turning the part over first. The seam lies
#: where few parts have a face, so that a rounding error never turns a part about on the bed.
_TURNED_OVER = 0.95


def unit(down: Sequence[float] | np.ndarray) -> np.ndarray:
    """The direction as a unit vector (3,), free of rounding.

    Raises RepairError when it is not three finite numbers, or points nowhere.

    >>> unit((0, 0, -2)).tolist()
    [0.0, 0.0, -1.0]
    """
    try:
        direction = np.array(down, dtype=float)
    except (TypeError, ValueError):
        direction = np.empty(0)
    length = np.linalg.norm(direction) if direction.shape == (3,) else np.nan
    if not np.isfinite(length) or length < _ROUNDING:
        raise RepairError(
            _(
                "down is {down}; give a direction x, y, z as the part stands, such as 0, -1, 0"
            ).format(down=down)
        )
    direction = direction / length
    direction[np.abs(direction) < _ROUNDING] = 0.0
    return direction / np.linalg.norm(direction)


def rotation(down: Sequence[float] | np.ndarray) -> np.ndarray:
    """The rotation (3, 3) that turns the direction ``down`` to -z by the shortest way.

    A part that is to lie on its top is first turned over about the x axis. The same direction
    always gives the same matrix, and its columns are the part's x, y and z as they come to lie.

    >>> (rotation((0, 0, -1)) == np.eye(3)).all()
    np.True_
    >>> rotation((0, 1, 0)) @ [0, 1, 0]
    array([ 0.,  0., -1.])
    """
    direction = unit(down)
    if direction[2] <= _TURNED_OVER:
        return _shortest(direction)
    over = np.diag([1.0, -1.0, -1.0])
    return _shortest(over @ direction) @ over


def laid(vertices: np.ndarray, down: Sequence[float] | np.ndarray) -> np.ndarray:
    """Vertices (n, 3) in mm with ``down`` on the bed: lowest at z = 0, centred at x = y = 0."""
    turned = np.asarray(vertices, dtype=float) @ rotation(down).T
    low, high = turned.min(axis=0), turned.max(axis=0)
    return turned - [(low[0] + high[0]) / 2, (low[1] + high[1]) / 2, low[2]]


def _shortest(direction: np.ndarray) -> np.ndarray:
    """Rodrigues' rotation of ``direction`` to -z about the axis square to both."""
    x, y, z = direction
    if x == 0 and y == 0:
        return np.eye(3)
    scale = 1 / (1 - z)
    turn = np.array(
        [
            [1 - scale * x * x, -scale * x * y, x],
            [-scale * x * y, 1 - scale * y * y, y],
            [-x, -y, -z],
        ]
    )
    return turn + 0.0
