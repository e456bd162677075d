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

from workbench.checks.layers.sections import crossings, segments

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Share of the overhang that must be held at both ends to call it a bridge.
HELD = 0.85

#: How far beyond an edge the anchor must be found, in mm.
BEYOND = 0.02

#: Corners nearer than this to a straight edge do not matter here, in mm; less than BEYOND.
_FINE = 0.01

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
    lengths = [
        length
        for angle in _directions(edges)
        if (length := _held_length(_turned(edges, angle), _turned(anchors, angle))) is not None
    ]
    if lengths:
        return Span(True, min(lengths))
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
    return np.unique(np.round(np.concatenate([fan, square]) % np.pi, 6))


def _turned(edges: np.ndarray, angle: float) -> np.ndarray:
    """Edges turned so that lines along ``angle`` become level."""
    c, s = np.cos(angle), np.sin(angle)
    return edges @ np.array([[c, -s], [s, c]])


def _held_length(edges: np.ndarray, anchors: np.ndarray) -> float | None:
    """Longest free line along x if nearly all are held at both ends, else None."""
    low, high = edges[..., 1].min(), edges[..., 1].max()
    rows = low + (high - low) * (np.arange(_LINES) + 0.5) / _LINES
    free = held = longest = 0.0
    # From the middle outwards: most overhangs show at once that they are no bridge.
    for count, row in enumerate(rows[np.argsort(np.abs(rows - (low + high) / 2), kind="stable")]):
        if count == _FIRST and held < 0.5 * free:
            return None
        ends = crossings(edges, row)
        walls = crossings(anchors, row)
        starts, stops = ends[:-1:2], ends[1::2]
        lines = stops - starts
        both = _inside(walls, starts - BEYOND) & _inside(walls, stops + BEYOND)
        free += lines.sum()
        held += lines[both].sum()
        longest = max(longest, lines[both].max(initial=0.0))
    return float(longest) if free > 0 and held >= HELD * free else None


def _inside(walls: np.ndarray, x: np.ndarray) -> np.ndarray:
    return np.searchsorted(walls, x) % 2 == 1


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
