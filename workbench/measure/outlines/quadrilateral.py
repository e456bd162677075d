"""Four corners as a trapezoid that stands on its lowest side."""

from __future__ import annotations

import math

import numpy as np

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline
from workbench.words import _, number

#: A top that is off parallel to the bottom by more than this is not one, in degrees.
PARALLEL = 0.5


def as_trapezoid(outline: Outline) -> dict[str, float]:
    """Bottom, top, height and inset, in mm, as :func:`workbench.trapezoid` takes them.

    The height is that of the middle of the top.

    Raises RepairError when there are not four sharp corners, or the top is not parallel to the
    bottom.

    >>> from workbench.measure.outlines.outline import trapezoid
    >>> as_trapezoid(trapezoid(46, 37, 71, -7))
    {'bottom': 46.0, 'top': 37.0, 'height': 71.0, 'inset': -7.0}
    """
    if outline.bent:
        raise RepairError(_("the outline has rounds or arcs and a fin has none; add it as a panel"))
    points = outline.points
    if len(points) != 4:
        raise RepairError(
            _("the outline has {count} corners and a fin has 4; add it as a panel").format(
                count=len(points)
            )
        )
    low = int(np.argmin(points[:, 1] + np.roll(points[:, 1], -1)))
    a, b, c, d = np.roll(points, -low, axis=0)
    along = (b - a) / math.dist(a, b)
    turned = (np.array([b, c, d]) - a) @ np.array([along, [-along[1], along[0]]]).T
    (bottom, _level), (right, right_height), (left, left_height) = turned
    off = math.degrees(math.atan2(right_height - left_height, right - left))
    if abs(off) > PARALLEL:
        raise RepairError(
            _(
                "the top is {off}° out of parallel with the bottom, and a fin's is parallel; add "
                "it as a panel"
            ).format(off=number(abs(off), 1))
        )
    height = (right_height + left_height) / 2
    sizes = {"bottom": bottom, "top": right - left, "height": height, "inset": left}
    return {name: float(size) for name, size in sizes.items()}
