"""Shapes that are made at once, for a picture while a hand moves.

Within :func:`enough` a template whose facts say so gives a shape that takes the kernel no time: one
with the outermost plane faces of the exact one, by which it sits and others sit on it. Its triangles,
and those of any prism, are known without the kernel.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.geometry import kernel
from workbench.solids.geometry.bounded import Within
from workbench.solids.geometry.cache import Kept

if TYPE_CHECKING:
    from build123d import Compound, Solid
    from manifold3d import Manifold

#: Gives a body of triangles with a distance from the true surface, in mm, and a turn between
#: neighbours, in degrees, at most.
Triangles = Callable[[float, float], "Manifold"]

_KNOWN = Kept(400)
_enough = Within()


def wanted() -> bool:
    """Whether this thread makes a picture, for which a shape made at once is enough."""
    return _enough.now


def enough() -> Within:
    """Within this, templates may give shapes that are made at once."""
    return _enough


def known(solid: Solid, triangles: Triangles) -> Solid:
    """The solid itself, whose triangles before it was moved are known without the kernel."""
    # It is held on to, as the kernel may give a freed one's identity to a new one.
    _KNOWN.put(_key(solid), (solid.wrapped, triangles))
    return solid


def standing(solid: Solid, triangles: Triangles) -> Solid:
    """The solid itself, whose triangles where it stands are known without the kernel."""
    move = kernel.unmoved(solid)[1]
    if move is None:
        return known(solid, triangles)
    back = np.linalg.inv(_square(move))[:3]
    return known(solid, lambda *near: triangles(*near).transform(back))


def triangles_of(solid: Solid) -> Triangles | None:
    """What gives a solid's triangles without the kernel; None where nobody told."""
    key = _key(solid)
    found: Triangles | None = _KNOWN.get(key, tuple)[1] if key in _KNOWN else None
    return found


def _square(move: np.ndarray | None) -> np.ndarray:
    return np.eye(4) if move is None else np.vstack([move, (0, 0, 0, 1)])


def _key(solid: Solid) -> int:
    from OCP.TopLoc import TopLoc_Location

    return hash(solid.wrapped.Located(TopLoc_Location()))


def less(solid: Solid, tools: Sequence[Solid]) -> Triangles:
    """Triangles of what is left of a solid where tools are taken away; those of all are known."""
    from manifold3d import Manifold, OpType

    return _of([solid, *tools], lambda *bodies: Manifold.batch_boolean(bodies, OpType.Subtract))


def _nothing(_deviation: float, _angle: float) -> Manifold:
    from manifold3d import Manifold

    return Manifold()


def _of(solids: Sequence[Solid], come_to: Callable[..., Manifold]) -> Triangles:
    """What the triangles of solids in place come to."""
    told = []
    for solid in solids:
        triangles = triangles_of(solid)
        assert triangles is not None
        told.append((triangles, kernel.unmoved(solid)[1]))
    return lambda *near: come_to(
        *(body(*near) if move is None else body(*near).transform(move) for body, move in told)
    )


def reflected(solid: Solid, move: np.ndarray) -> Solid:
    """A solid after a (4, 4) move that holds a reflection, with its triangles where they are known."""
    other, made = kernel.reflected(solid, move), triangles_of(solid)
    if made is None:
        return other
    whole = (move @ _square(kernel.unmoved(solid)[1]))[:3]
    return standing(other, lambda *near: made(*near).transform(whole))


def cut(solid: Solid, tools: Sequence[Solid]) -> Solid:
    """The one solid that is left of one that was not moved where tools are taken away.

    Where one made at once is enough, the solid itself with the triangles of what is left.
    """
    triangles = less(solid, tools)
    if wanted():
        return known(solid, triangles)
    (left,) = kernel.difference([solid], tools)
    return known(left, triangles)


def shared(one: Solid, other: Solid) -> Triangles:
    """Triangles of what two solids have in common; those of both are known."""
    return _of([one, other], lambda a, b: a ^ b)


def common(one: Solid, other: Solid) -> Solid:
    """What two solids have in common, as one solid, with its triangles; those of both are known."""
    return known(kernel.common(one, other), shared(one, other))


def instead(triangles: Triangles, *solids: Solid) -> Compound:
    """Solids whose outermost plane faces are those of an exact one, with the triangles of that."""
    from build123d import Compound

    first, *others = solids
    covered = standing(first, triangles)
    return Compound(children=[covered, *(known(one, _nothing) for one in others)])
