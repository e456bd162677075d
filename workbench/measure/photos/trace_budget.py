"""How sure a traced side is: what the camera, the paper and the part's own edge leave open.

What all edges share, such as a camera that stood lower than supposed, moves them together; so the
lengths are reckoned anew with each such thing off by its standard uncertainty, and the differences
add up by their squares (JCGM 100:2008, 5.2).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from workbench.measure.photos import edges as straight_and_round
from workbench.measure.photos.camera import Camera, Thickness, camera_of, stood_up
from workbench.measure.photos.edges import Arc, Edge, Line, corners_of, further_out
from workbench.measure.photos.rectify import View
from workbench.measure.photos.sheet_marks import BAR
from workbench.measure.reading import Reading

#: How far paper that looks flat stands off the table under a part, standard, in mm.
#: Common practice, no source.
OFF_TABLE = 0.05

#: What moves corners by less than this, in mm, is left out of what they share.
NEXT_TO_NOTHING = 0.003

#: How sure sizes beside a card are: a share of the size, and so many mm besides. One card of rounded
#: corners at one side of the part tells shapes and ratios; found as such by more than one reader.
BESIDE_CARD, CARD_EDGE = 0.02, 0.3


@dataclass(frozen=True, eq=False)
class Budget:
    """How sure the edges are, n of them.

    lengths : (n,) of each edge, in mm; uncertainty : (n,) their standard uncertainties
    own : standard uncertainty of a corner's place from its own edges alone, in mm
    ways : (k, n, 2) mm by which each thing that all edges share moves the corners, standard
    broken : the most that not knowing how far the edges are broken leaves open of a length, in mm
    """

    lengths: np.ndarray
    uncertainty: np.ndarray
    own: float
    ways: np.ndarray
    broken: float = 0.0


def budget_of(
    seen: list[Edge],
    stood: list[Edge],
    view: View,
    focal: float | None,
    thickness: Thickness | None,
    beside_card: bool = False,
    by_bar: bool = False,
    apart: float = 0.0,
) -> Budget:
    """How sure edges are that stand.

    Parameters
    ----------
    seen : as on the plane; stood : the same where they are, when a thickness is known
    focal : that the file states, over the picture's diagonal
    by_bar : whether the scale is that of the sheet's bar, which calipers read
    apart : how far, standard, the silhouette may be from where the light turns most steeply, in mm,
        all round
    """
    lengths, own = straight_and_round.lengths_with_uncertainty(stood)
    variance = own**2 + (CARD_EDGE**2 if beside_card else 0.0)
    # A side is off by both of its ends.
    corner = math.sqrt(float(variance.max()) / 2)
    ways = []
    for edges in _others(seen, view, focal, thickness, apart):
        if len(edges) == len(stood):
            variance += (straight_and_round.lengths_of(edges) - lengths) ** 2
            if len(stood) > 2:
                ways.append(corners_of(edges) - corners_of(stood))
    if beside_card:
        variance += (BESIDE_CARD * lengths) ** 2
    if by_bar:
        variance += (Reading(BAR).uncertainty / BAR * lengths) ** 2
    shared = _distinct(np.array(ways), corners_of(stood)) if ways else np.empty((0, len(stood), 2))
    open_by_break = 0.0
    if thickness is not None:
        more = replace(thickness, broken=thickness.broken + thickness.broken_doubt)
        edges = stood_up(seen, camera_of(view, focal), more)
        if len(edges) == len(stood):
            off = straight_and_round.lengths_of(edges) - lengths
            open_by_break = float(np.abs(off).max())
    return Budget(lengths, np.sqrt(variance), corner, shared, open_by_break)


def _distinct(ways: np.ndarray, corners: np.ndarray) -> np.ndarray:
    """The fewest (k, n, 2) ways with the same covariance; a move or turn of the whole is none."""
    x, y = (corners - corners.mean(axis=0)).T
    ones, none = np.ones_like(x), np.zeros_like(x)
    rigid = np.array([np.r_[ones, none], np.r_[none, ones], np.r_[-y, x]])
    rigid /= np.linalg.norm(rigid, axis=1, keepdims=True)
    flat = np.concatenate([ways[:, :, 0], ways[:, :, 1]], axis=1)
    flat -= flat @ rigid.T @ rigid
    _mix, size, main = np.linalg.svd(flat, full_matrices=False)
    kept = (size[:, None] * main)[size > NEXT_TO_NOTHING * math.sqrt(len(corners))]
    return np.stack([kept[:, : len(corners)], kept[:, len(corners) :]], axis=2)


def _others(
    seen: list[Edge],
    view: View,
    focal: float | None,
    thickness: Thickness | None,
    apart: float,
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
    if apart:
        yield standing([further_out(edge, apart) for edge in seen], camera, thickness)
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
        return replace(edge, middle=(a + b) / 2, angle=math.atan2(*(b - a)[::-1]))
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
