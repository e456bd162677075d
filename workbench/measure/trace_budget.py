"""How sure a traced side is: what the camera, the paper and the part's own edge leave open.

What all edges share, such as a camera that stood lower than supposed, moves them together; so the
lengths are reckoned anew with each such thing off by its standard uncertainty, and the differences
add up by their squares (JCGM 100:2008, 5.2).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from workbench.measure import edges as straight_and_round
from workbench.measure.camera import Camera, Thickness, camera_of, stood_up
from workbench.measure.edges import Arc, Edge, Line
from workbench.measure.rectify import View

#: How far paper that looks flat stands off the table under a part, standard, in mm.
#: Common practice, no source.
OFF_TABLE = 0.1

#: How sure sizes beside a card are: a share of the size, and so many mm besides. One card of rounded
#: corners at one side of the part tells shapes and ratios; found as such by more than one reader.
BESIDE_CARD, CARD_EDGE = 0.02, 0.3


def lengths_and_uncertainty(
    seen: list[Edge],
    stood: list[Edge],
    view: View,
    focal: float | None,
    thickness: Thickness | None,
    beside_card: bool = False,
) -> tuple[np.ndarray, np.ndarray]:
    """(n,) length of each edge that stands, and (n,) its standard uncertainty, in mm.

    Parameters
    ----------
    seen : as on the plane; stood : the same where they are, when a thickness is known
    focal : that the file states, over the picture's diagonal
    """
    lengths, own = straight_and_round.lengths_with_uncertainty(stood)
    variance = own**2
    for edges in _others(seen, view, focal, thickness):
        if len(edges) == len(stood):
            variance += (straight_and_round.lengths_of(edges) - lengths) ** 2
    if beside_card:
        variance += (BESIDE_CARD * lengths) ** 2 + CARD_EDGE**2
    return lengths, np.sqrt(variance)


def _others(
    seen: list[Edge], view: View, focal: float | None, thickness: Thickness | None
) -> Iterator[list[Edge]]:
    """The edges that stand where one thing at a time is off by its standard uncertainty."""

    def standing(edges: list[Edge], camera: Camera, depth: Thickness | None) -> list[Edge]:
        return edges if depth is None else stood_up(edges, camera, depth)

    if view.spread is not None:
        for step in view.spread.T:
            moved = view.moved(step)
            again = [_seen_by(edge, view, moved) for edge in seen]
            yield standing(again, camera_of(moved, focal), thickness)
    if thickness is None:
        return
    camera = camera_of(view, focal)
    if view.spread is None:
        yield standing(seen, replace(camera, height=camera.height * (1 + camera.doubt)), thickness)
    for off in (
        replace(thickness, upper=thickness.upper + thickness.uncertainty),
        replace(thickness, broken=thickness.broken + thickness.broken_doubt),
        replace(thickness, upper=thickness.upper + OFF_TABLE, lower=thickness.lower + OFF_TABLE),
    ):
        yield standing(seen, camera, off)


def _seen_by(edge: Edge, view: View, other: View) -> Edge:
    """The edge as it would be in mm, had another view seen the same pixels."""

    def at(points: np.ndarray) -> np.ndarray:
        return other.millimetres(view.pixels(points))

    if isinstance(edge, Line):
        a, b = at(edge.middle + 10.0 * np.array([[-1.0], [1.0]]) * edge.along)
        return Line((a + b) / 2, math.atan2(*(b - a)[::-1]), edge.covariance, edge.rms)
    first = math.atan2(*(edge.start - edge.centre)[::-1])
    turn = first + edge.sweep * np.linspace(0, 1, 25)
    rays = np.column_stack([np.cos(turn), np.sin(turn)])
    points = at(edge.centre + edge.radius * rays)
    system = np.column_stack([2 * points, np.ones(len(points))])
    x, y, rest = np.linalg.lstsq(system, (points**2).sum(axis=1), rcond=None)[0]
    return Arc(
        np.array([x, y]),
        math.sqrt(max(rest + x * x + y * y, 1e-6)),
        points[0],
        points[-1],
        edge.sweep,
        edge.covariance,
        edge.rms,
    )
