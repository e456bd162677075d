"""Shapes that are made at once, for a picture while a hand moves.

Within :func:`enough` a template whose facts say so gives a shape that takes the kernel no time: one
with the outermost plane faces of the exact one, by which it sits and others sit on it. Its triangles,
and those of any prism, are known without the kernel.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.geometry.cache import Kept
from workbench.solids.meshes import swept

if TYPE_CHECKING:
    from build123d import Solid

#: Gives triangles, (n, 3) in mm and (m, 3), with a distance from the true surface, in mm, and a turn
#: between neighbours, in degrees, at most.
Triangles = Callable[[float, float], tuple[np.ndarray, np.ndarray]]

_KNOWN = Kept(400)
_here = threading.local()


def wanted() -> bool:
    """Whether this thread makes a picture, for which a shape made at once is enough."""
    return getattr(_here, "enough", False)


@contextmanager
def enough() -> Iterator[None]:
    """Within this, templates may give shapes that are made at once."""
    _here.enough = True
    try:
        yield
    finally:
        _here.enough = False


def known(solid: Solid, triangles: Triangles) -> Solid:
    """The solid itself, whose triangles before it was moved are known without the kernel."""
    # It is held on to, as the kernel may give a freed one's identity to a new one.
    _KNOWN.put(_key(solid), (solid.wrapped, triangles))
    return solid


def triangles_of(solid: Solid) -> Triangles | None:
    """What gives a solid's triangles without the kernel; None where nobody told."""
    key = _key(solid)
    found: Triangles | None = _KNOWN.get(key, tuple)[1] if key in _KNOWN else None
    return found


def _key(solid: Solid) -> int:
    from OCP.TopLoc import TopLoc_Location

    return hash(solid.wrapped.Located(TopLoc_Location()))


def less(solid: Solid, tool: Solid, places: Sequence[tuple[float, float]] = ((0, 0),)) -> Triangles:
    """Triangles of what is left of a solid where a tool is taken away, at each (x, y) of the tool.

    The triangles of both are known.
    """
    whole, taken = triangles_of(solid), triangles_of(tool)
    assert whole is not None and taken is not None

    def left(deviation: float, angle: float) -> tuple[np.ndarray, np.ndarray]:
        points, faces = taken(deviation, angle)
        tools = [(points + np.array([x, y, 0]), faces) for x, y in places]
        return swept.less(whole(deviation, angle), tools)

    return left
