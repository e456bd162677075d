"""Whether an overhang is held on both sides, as a bridge, or sticks out on its own, as a ledge.

The overhang is scanned along lines in many directions::

      anchor | overhang | anchor        a bridge: the line is held at both ends
      anchor | overhang |               a ledge: it ends in mid-air

The direction with the shortest free lines in which nearly all of them are held at both ends is
the way in which a printer would lay the bridge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.sections import segments

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Share of the overhang that must be held at both ends to call it a bridge. Our choice.
HELD = 0.85

#: How far beyond an edge the anchor must be found, in mm. Our choice.
BEYOND = 0.02

#: Corners nearer than this to a straight edge do not matter here, in mm; less than BEYOND.
#: Our choice.
_FINE = 0.01

#: Directions that are scanned, lines in each, and those that are looked at first. Our choice.
_DIRECTIONS = 12
_LINES = 15
_FIRST = 3


@dataclass(frozen=True)
class Span:
    """How an overhang is held. ``length`` in mm: of a bridge, its longest free line; of a
    ledge, how far it reaches out from what holds it (infinite where nothing does)."""

    bridge: bool
    length: float


def span(overhang: CrossSection, below: CrossSection) -> Span:
    """How one connected overhang is held by the layer below it."""
    edges, anchors = segments(overhang.simplify(_FINE)), segments(below)
    if not len(edges):
        return Span(False, 0.0)
    lengths = _held_lengths(edges, anchors, _directions(edges))
    if len(lengths):
        return Span(True, float(lengths.min()))
    return Span(False, _reach(edges[:, 0], anchors))


def reach(overhang: CrossSection, below: CrossSection) -> float:
    """How far an overhang's farthest corner is from the layer that holds it, in mm."""
    points = segments(overhang.simplify(_FINE))[:, 0]
    return _reach(points, segments(below.simplify(_FINE))) if len(points) else 0.0


def _directions(edges: np.ndarray) -> np.ndarray:
    """Angles to scan along: an even fan, and square to the longest edges."""
    run = edges[:, 1] - edges[:, 0]
    longest = np.argsort(-np.hypot(*run.T), kind="stable")[:4]
    square = np.arctan2(run[longest, 1], run[longest, 0]) + np.pi / 2
    fan = np.arange(_DIRECTIONS) * np.pi / _DIRECTIONS
    return np.array(sorted(set(np.round(np.concatenate([fan, square]) % np.pi, 6).tolist())))


def _turned(edges: np.ndarray, angles: np.ndarray) -> np.ndarray:
    """(d, k, 2, 2) edges turned so that lines along each of d angles become level."""
    c, s = np.cos(angles), np.sin(angles)
    turn = np.moveaxis(np.array([[c, -s], [s, c]]), 2, 0)
    return (edges.reshape(-1, 2) @ turn).reshape(len(angles), -1, 2, 2)


def _held_lengths(edges: np.ndarray, anchors: np.ndarray, angles: np.ndarray) -> np.ndarray:
    """Longest free line along each angle in which nearly all lines are held at both ends."""
    edges, anchors = _turned(edges, angles), _turned(anchors, angles)
    low, high = edges[..., 1].min(axis=(1, 2)), edges[..., 1].max(axis=(1, 2))
    # From the middle outwards: most overhangs show at once that they are no bridge.
    share = (np.arange(_LINES) + 0.5) / _LINES
    share = share[np.argsort(np.abs(share - 0.5), kind="stable")]
    rows = low[:, None] + (high - low)[:, None] * share
    free, held, longest = _lines(edges, anchors, rows[:, :_FIRST])
    on = np.flatnonzero(held >= 0.5 * free)
    if not len(on):
        return np.empty(0)
    more_free, more_held, longer = _lines(edges[on], anchors[on], rows[on, _FIRST:])
    free, held = free[on] + more_free, held[on] + more_held
    return np.maximum(longest[on], longer)[(free > 0) & (held >= HELD * free)]


def _lines(
    edges: np.ndarray, anchors: np.ndarray, rows: np.ndarray
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """(d,) length of all free lines along rows (d, r), of those held at both ends, and of the
    longest of these; edges (d, k, 2, 2) of the overhang and (d, m, 2, 2) of what holds it."""
    # All lines one behind the other, so far apart that nothing of one reaches the next.
    apart = 4 * max(float(np.abs(edges).max()), float(np.abs(anchors).max(initial=0))) + 1
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


def _crossed(edges: np.ndarray, rows: np.ndarray, apart: float) -> np.ndarray:
    """Where level lines at y = rows (d, r) cross edges (d, k, 2, 2), sorted: x, line by line so
    much further along."""
    x0, y0, x1, y1 = edges.reshape(len(edges), -1, 4).transpose(2, 0, 1)
    row = rows[..., None]
    way, line, edge = np.nonzero((y0[:, None] <= row) != (y1[:, None] <= row))
    x0, y0, x1, y1 = (found[way, edge] for found in (x0, y0, x1, y1))
    x = x0 + (rows[way, line] - y0) * ((x1 - x0) / (y1 - y0))
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
