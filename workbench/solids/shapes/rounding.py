"""Sharp outer edges rounded on request, so that a hand does not meet them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.solids.geometry import kernel

if TYPE_CHECKING:
    from build123d import Edge, Solid

#: Edges whose material stands at less than this many degrees are sharp. A box has 90.
SHARP = 59.5


#: Radii that are tried where the one asked for has no room, as parts of it.
_LESS = (1.0, 0.6, 0.35)


def rounded(solid: Solid, radius: float, below: float = SHARP) -> Solid:
    """The solid with its sharp outer edges rounded.

    solid : a build123d solid, mm
    radius : of the rounding, mm
    below : edges with an interior angle below so many degrees are rounded

    An edge that has no room for the radius gets a smaller one, or stays as it is.
    """
    edges = sharp_edges(solid, below)
    at_once = _filleted(solid, radius, edges) if edges else None
    if at_once is not None:
        return at_once
    goes_on = True
    while goes_on:  # an edge may have room once the others are round
        goes_on, stays = False, set()
        while edge := next((edge for edge in edges if _place(edge) not in stays), None):
            eased = _one_rounded(solid, radius, edge)
            left = sharp_edges(eased, below) if eased is not None else edges
            if eased is None or len(left) >= len(edges):
                stays.add(_place(edge))
            else:
                solid, edges, goes_on = eased, left, True
    return solid


def _one_rounded(solid: Solid, radius: float, edge: Edge) -> Solid | None:
    """The solid with one edge as round as it goes; None where not even the least does."""
    tries = (_filleted(solid, radius * part, [edge]) for part in _LESS)
    return next((one for one in tries if one is not None), None)


def _place(edge: Edge) -> tuple[float, ...]:
    """By which an edge is known again, in µm, in a solid in which others became round."""
    return tuple(round(x, 3) for x in edge.position_at(0.5))


def sharp_edges(solid: Solid, below: float = SHARP) -> list[Edge]:
    """The outer edges of a solid at which its material stands at less than ``below`` degrees."""
    sides_of, inside = kernel.sides_of_edges(solid), kernel.insides(solid)
    found = []
    for edge in solid.edges():
        if sides := sides_of(edge):
            try:
                middle = edge.position_at(0.5)
            except Exception:  # the kernel's own, of an edge of no length
                continue
            one, other = (side.normal_at(middle) for side in sides)
            interior = 180 - math.degrees(math.acos(max(-1.0, min(1.0, one.dot(other)))))
            outward = one + other
            if interior < below and outward.length > 1e-6:
                beyond = middle + outward.normalized() * 0.01
                if not inside(beyond):
                    found.append(edge)
    return found


def _filleted(solid: Solid, radius: float, edges: Sequence[Edge]) -> Solid | None:
    """One sound solid that lost a little, or None where the rounding does not go."""
    try:
        tried, where = kernel.copied(solid, edges)
        solids = list(kernel.solids_of(tried.fillet(radius, where)))
    except Exception:  # the kernel raises types of its own where a fillet does not go
        return None
    found = kernel.eased(solids, solid)
    return found if found is not None and 0 < found.volume < solid.volume else None
