"""Whether a laid part fits the printer's bed, turned on it if need be."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

#: Room that is left on every side for the brim and for beds that are not true, in mm: common
#: practice, no source.
ROOM = 5.0

#: Degrees by which a part is turned on the bed, at first and then.
_SQUARE = np.array([0.0, 90.0])
_SLANTED = np.delete(np.arange(180.0), [0, 90])


def turn_to_fit(placed: np.ndarray, bed: Sequence[float], room: float = ROOM) -> float | None:
    """By how many degrees a laid part is turned on the bed so that it fits; None where it cannot.

    Parameters
    ----------
    placed : (n, 3) corners of the laid part, in mm
    bed : width, depth and height that the printer reaches, in mm
    room : left on every side, in mm

    >>> import numpy as np
    >>> rod = np.array([[0, 0, 0], [250, 0, 0], [250, 5, 5], [0, 5, 5]])
    >>> turn_to_fit(rod, (220, 220, 250)), turn_to_fit(rod, (180, 180, 250))
    (35.0, None)
    """
    width, depth, height = bed
    if np.ptp(placed[:, 2]) > height:
        return None
    corners = placed[:, :2]
    # Square to the bed if possible.
    for angles in (_SQUARE, _SLANTED):
        c, s = np.cos(np.radians(angles)), np.sin(np.radians(angles))
        x = corners @ np.stack([c, -s])
        y = corners @ np.stack([s, c])
        inside = (np.ptp(x, axis=0) <= width - 2 * room) & (np.ptp(y, axis=0) <= depth - 2 * room)
        if inside.any():
            return float(angles[np.argmax(inside)])
        corners = _rim(corners)
    return None


def _rim(points: np.ndarray) -> np.ndarray:
    """The corners of the convex hull; all points where they have no area."""
    from manifold3d import CrossSection

    hull = CrossSection.hull_points(points).to_polygons()
    return np.asarray(hull[0]) if hull else points
