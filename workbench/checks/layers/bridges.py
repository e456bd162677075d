"""Whether an overhang is held on both sides, as a bridge, or sticks out on its own, as a ledge.

The overhang is scanned along lines in many directions::

      anchor | overhang | anchor        a bridge: the line is held at both ends
      anchor | overhang |               a ledge: it ends in mid-air

The direction with the shortest free lines in which nearly all of them are held at both ends is
the way in which a printer would lay the bridge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.contours import spread
from workbench.checks.layers.sections import segments

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Share of the overhang that must be held at both ends to call it a bridge. Our choice.
HELD = 0.85

#: How far beyond an edge the anchor must be found, in mm. Our choice.
BEYOND = 0.02

#: Corners nearer than this to a straight edge do not matter here, in mm; less than BEYOND.
#: Our choice.
FINE = 0.01

#: Directions that are scanned, lines in each, and those that are looked at first. Our choice.
_DIRECTIONS = 12
_LINES = 15
_FIRST = 3


#: Edges that are turned at once, to bound the memory. Our choice.
_AT_ONCE = 100_000

#: Edges turned so that lines along some directions become level: x and y of their ends, each
#: (2, n), and (n,) which of the directions.
_Turned = tuple[np.ndarray, np.ndarray, np.ndarray]


@dataclass(frozen=True)
class Span:
    """How an overhang is held. ``length`` in mm: of a bridge, its longest free line; of a
    ledge, how far it reaches out from what holds it (infinite where nothing does)."""

    bridge: bool
    length: float


def span(overhang: CrossSection, below: CrossSection) -> Span:
    """How one connected overhang is held by the layer below it."""
    (length,) = bridged([(overhang, below)])
    return Span(True, length) if length < np.inf else Span(False, reach(overhang, below))


def bridged(held: Sequence[tuple[CrossSection, CrossSection]]) -> list[float]:
    """For connected overhangs, each with the layer below it: how long a bridge it is, in mm;
    infinite where it is none."""
    pairs = [(segments(overhang, FINE), segments(below)) for overhang, below in held]
    # Every edge is turned into each direction, so many of them at a time.
    size = np.cumsum([(_DIRECTIONS + 4) * (len(edges) + len(walls)) for edges, walls in pairs])
    starts = [0, *(1 + np.flatnonzero(np.diff(size // _AT_ONCE))).tolist(), len(pairs)]
    return [found for low, high in pairwise(starts) for found in _held_lengths(pairs[low:high])]


def reach(overhang: CrossSection, below: CrossSection, fine: float = 0.0) -> float:
    """How far an overhang's farthest corner is from the layer that holds it, in mm."""
    points = segments(overhang, FINE)[:, 0]
    return _reach(points, segments(below, fine)) if len(points) else 0.0


def _directions(edges: np.ndarray) -> np.ndarray:
    """Angles to scan along: an even fan, and square to the longest edges."""
    run = edges[:, 1] - edges[:, 0]
    longest = np.argsort(-np.hypot(*run.T), kind="stable")[:4]
    square = np.arctan2(run[longest, 1], run[longest, 0]) + np.pi / 2
    fan = np.arange(_DIRECTIONS) * np.pi / _DIRECTIONS
    return np.array(sorted(set(np.round(np.concatenate([fan, square]) % np.pi, 6).tolist())))


def _held_lengths(pairs: Sequence[tuple[np.ndarray, np.ndarray]]) -> list[float]:
    """For each overhang, by its edges and those of what holds it, the least of the longest free
    lines along the directions in which nearly all lines are held at both ends; else infinite."""
    if not pairs:
        return []
    fans = [_directions(edges) for edges, _walls in pairs]
    angles, part = np.concatenate(fans), np.repeat(np.arange(len(pairs)), [*map(len, fans)])
    edges, anchors = (_turned(lines, part, angles) for lines in zip(*pairs, strict=True))
    low, high = np.full(len(angles), np.inf), np.full(len(angles), -np.inf)
    np.minimum.at(low, edges[2], edges[1][0])
    np.maximum.at(high, edges[2], edges[1][0])
    # From the middle outwards: most overhangs show at once that they are no bridge.
    share = (np.arange(_LINES) + 0.5) / _LINES
    share = share[np.argsort(np.abs(share - 0.5), kind="stable")]
    some = high > low
    rows = np.where(some, low, 0)[:, None] + np.where(some, high - low, 0)[:, None] * share
    free, held, longest = _lines(edges, anchors, rows[:, :_FIRST])
    on = some & (held >= 0.5 * free)
    edges, anchors = (_only(lines, on) for lines in (edges, anchors))
    more_free, more_held, longer = _lines(edges, anchors, rows[on, _FIRST:])
    free, held, longest = (
        free[on] + more_free,
        held[on] + more_held,
        np.maximum(longest[on], longer),
    )
    good, least = (free > 0) & (held >= HELD * free), np.full(len(pairs), np.inf)
    np.minimum.at(least, part[on][good], longest[good])
    return least.tolist()


def _turned(lines: Sequence[np.ndarray], part: np.ndarray, angles: np.ndarray) -> _Turned:
    """Edges (k, 2, 2) of parts, turned for each of the angles of each part."""
    ends = np.cumsum([0, *map(len, lines)])
    way, edge = spread(ends[part], ends[part + 1])
    x, y = np.concatenate(lines)[edge].T
    c, s = np.cos(angles)[way], np.sin(angles)[way]
    return x * c + y * s, y * c - x * s, way


def _only(edges: _Turned, on: np.ndarray) -> _Turned:
    """The edges of some directions alone, which are numbered anew."""
    x, y, way = edges
    kept = on[way]
    return x[:, kept], y[:, kept], (np.cumsum(on) - 1)[way[kept]]


def _lines(
    edges: _Turned, anchors: _Turned, rows: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(d,) length of all free lines along rows (d, r), of those held at both ends, and of the
    longest of these; by the edges of the overhangs and of what holds them."""
    # All lines one behind the other, so far apart that nothing of one reaches the next.
    apart = 4 * max(np.abs(x).max(initial=0) for x in (edges[0], anchors[0])) + 1
    ends, walls = _crossed(edges, rows, apart), _crossed(anchors, rows, apart)
    starts, stops = ends[::2], ends[1::2]
    # Rings close, so each line crosses them an even number of times.
    both = (np.searchsorted(walls, starts - BEYOND) % 2 == 1) & (
        np.searchsorted(walls, stops + BEYOND) % 2 == 1
    )
    lengths, count = stops - starts, len(rows)
    way = (starts // apart).astype(int) // rows.shape[1]
    held, longest = np.where(both, lengths, 0), np.zeros(count)
    np.maximum.at(longest, way, held)
    free = np.bincount(way, weights=lengths, minlength=count)
    return free, np.bincount(way, weights=held, minlength=count), longest


def _crossed(edges: _Turned, rows: np.ndarray, apart: float) -> np.ndarray:
    """Where level lines at y = rows (d, r) cross edges, sorted: x, line by line so much further
    along."""
    x, y, way = edges
    row = rows[way]
    edge, line = np.nonzero((y[0][:, None] <= row) != (y[1][:, None] <= row))
    (x0, x1), (y0, y1), way = x[:, edge], y[:, edge], way[edge]
    x = x0 + (row[edge, line] - y0) * ((x1 - x0) / (y1 - y0))
    return np.sort(x + apart * (way * rows.shape[1] + line + 0.5))


def _reach(points: np.ndarray, anchors: np.ndarray) -> float:
    """Greatest distance from ``points`` to the nearest of the anchors' edges."""
    if not len(anchors):
        return float("inf")
    start = anchors[:, 0]
    run = anchors[:, 1] - start
    square = np.maximum((run**2).sum(axis=1), 1e-18)
    to_point = points[:, None, :] - start
    along = np.clip((to_point * run).sum(axis=2) / square, 0.0, 1.0)
    nearest = ((to_point - along[..., None] * run) ** 2).sum(axis=2).min(axis=1)
    return float(np.sqrt(nearest.max()))
