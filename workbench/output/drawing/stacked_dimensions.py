"""Lengths that are level or upright on paper, set in tiers beside a view.

The shortest lies nearest to the part. Numbers stand above their line and read from below or,
turned, from the right; where a number is too wide for its line it stands past the end.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from workbench.output.drawing.paper import Words, text_width
from workbench.output.drawing.placement import ABOVE, ARROW, BEYOND, GAP, SIZE, TAIL, Box, Placed

#: Distance of the first line from the outline, from line to line, and how many there may be.
FIRST, NEXT, MOST = 8.0, 6.5, 7


@dataclass(frozen=True)
class Level:
    """A length from ``at`` to ``to`` along the paper, level or upright.

    starts, ends : places across it, of the points that it is taken between
    """

    text: str
    upright: bool
    at: float
    to: float
    starts: tuple[float, ...]
    ends: tuple[float, ...]
    about: str = ""

    @property
    def length(self) -> float:
        """On paper, in mm."""
        return self.to - self.at


def places(one: Level, frame: Box) -> Iterator[Placed]:
    """Every place for a length beside a view whose outline fills ``frame``."""
    low, high = (frame[0], frame[2]) if one.upright else (frame[1], frame[3])
    points = [*one.starts, *one.ends]
    half = max((high - low) / 2, 1e-6)
    lean = (
        sum(points) / len(points) - (low + high) / 2
    ) / half  # -1 at the low side, 1 at the high
    inside = one.length >= text_width(one.text, SIZE) + 1.0
    for sign, edge in ((-1.0, low), (1.0, high)):
        pick = max if sign > 0 else min
        feet = (pick(one.starts), pick(one.ends))
        far = abs(edge - feet[0]) + abs(edge - feet[1])
        # On a tie numbers go below and to the left, where the next view does not stand.
        base = 2.0 * (1 - sign * lean) + 0.05 * far + (0.4 if sign > 0 else 0.0)
        for tier in range(MOST):
            at = edge + sign * (FIRST + NEXT * tier)
            for side in ("inside",) if inside else ("after", "before"):
                yield _placed(one, at, feet, side, base + tier)


def _placed(one: Level, at: float, feet: tuple[float, float], side: str, base: float) -> Placed:
    def point(along: float, across: float) -> tuple[float, float]:
        return (across, along) if one.upright else (along, across)

    way = np.array(point(1.0, 0.0))
    first, last = np.array(point(one.at, at)), np.array(point(one.to, at))
    tight = one.length < 2 * ARROW + 1.0
    arrows = ((first, -way, 1.0), (last, way, 1.0)) if tight else (
        (first, way, 1.0), (last, -way, 1.0)
    )  # fmt: skip
    tail = TAIL if tight else 0.0
    low, high = one.at - tail, one.to + tail
    width = text_width(one.text, SIZE)
    clear = max(tail, 1.0) + width / 2
    centre = {"inside": (low + high) / 2, "after": one.to + clear, "before": one.at - clear}[side]
    if side != "inside":
        low, high = min(low, centre - width / 2), max(high, centre + width / 2)
    lines = [np.array([point(low, at), point(high, at)])]
    for along, foot in zip((one.at, one.to), feet, strict=True):
        sign = 1.0 if at > foot else -1.0
        begin = foot + sign * GAP
        if (at - begin) * sign > 0:
            lines.append(np.array([point(along, begin), point(along, at + sign * BEYOND)]))
    x, y = point(centre, at + (-ABOVE if one.upright else ABOVE))
    words = Words(one.text, x, y, SIZE, "middle", 90.0 if one.upright else 0.0)
    return Placed(words, tuple(lines), arrows, base + (0.3 if side == "before" else 0.0))
