"""Sizes that do not lie level: lengths at a slant, angles on an arc, circles on a leader."""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np

from workbench.output.drawing.paper import CAPITALS, POINT, Words, text_width
from workbench.output.drawing.placement import (
    ABOVE,
    ARROW,
    BEYOND,
    GAP,
    SIZE,
    TAIL,
    Box,
    Placed,
    overlap,
)

#: Height of the numbers, in mm.
_HIGH = CAPITALS * SIZE * POINT


def slants(text: str, start: np.ndarray, end: np.ndarray) -> Iterator[Placed]:
    """Places for a length between two points (2,), its number level beside its line."""
    way = end - start
    length = float(np.hypot(*way))
    if length < 1e-9:
        return
    way = way / length
    tight = length < 2 * ARROW + 1.0
    for across in (np.array([-way[1], way[0]]), np.array([way[1], -way[0]])):
        for tier in range(10):
            off = (4.5 + 3.0 * tier) * across
            tips = np.array([start + off, end + off])
            line = tips + (np.outer([-1, 1], way) * TAIL if tight else 0.0)
            middle = tips.mean(axis=0) + across * 1.4
            hold = "left" if across[0] >= 0 else "right"
            rise = 0.0 if across[1] >= 0 else _HIGH
            words = Words(text, float(middle[0]), float(middle[1]) - rise, SIZE, hold)
            feet = [np.array([p + across * GAP, p + off + across * BEYOND]) for p in (start, end)]
            inward = -1.0 if tight else 1.0
            arrows = ((tips[0], inward * way, 1.0), (tips[1], -inward * way, 1.0))
            yield Placed(words, (line, *feet), arrows, 0.7 * tier)


def angles(text: str, edge: np.ndarray, axis: np.ndarray) -> Iterator[Placed]:
    """Places for the angle at an end of an edge (2, 2), to a line along ``axis`` (2,) from there."""
    width = text_width(text, SIZE)
    for corner, other in ((edge[0], edge[1]), (edge[1], edge[0])):
        reach = max(float(np.hypot(*(other - corner))), 1e-9)
        along = (other - corner) / reach
        axis = axis if axis @ along > 0 else -axis
        start = math.atan2(axis[1], axis[0])
        sweep = (math.atan2(along[1], along[0]) - start + math.pi) % (2 * math.pi) - math.pi
        for radius in (6.0, 8.0, 10.0, 13.0, 16.0, 20.0):
            turns = start + sweep * np.linspace(0, 1, 25)
            arc = corner + radius * np.column_stack([np.cos(turns), np.sin(turns)])
            lines = [arc, np.array([corner + axis * GAP, corner + axis * (radius + BEYOND)])]
            if reach < radius:
                lines.append(np.array([other + along * GAP, corner + along * (radius + BEYOND)]))
            size = min(1.0, radius * abs(sweep) / (2.5 * ARROW))
            arrows = tuple(
                (tip, (inner - tip) / max(float(np.hypot(*(inner - tip))), 1e-9), size)
                for tip, inner in ((arc[0], arc[3]), (arc[-1], arc[-4]))
            )
            for share in (0.5, 1.35, -0.35):
                turn = start + sweep * share
                out = np.array([math.cos(turn), math.sin(turn)])
                away = radius + 1.0 + abs(out[0]) * width / 2 + abs(out[1]) * _HIGH / 2
                x, y = corner + out * away
                words = Words(text, float(x), float(y) - _HIGH / 2, SIZE, "middle")
                yield Placed(
                    words, tuple(lines), arrows, 0.3 * radius + (4.0 if share != 0.5 else 0.0)
                )


def circles(
    text: str, centres: np.ndarray, middles: np.ndarray, radius: float, full: bool, frame: Box
) -> Iterator[Placed]:
    """Places for a leader from a circle, or the middle of an arc, to a number on a level landing.

    centres, middles : (n, 2) of equal circles or arcs; the leader goes to one of them
    """
    width = text_width(text, SIZE)
    for centre, middle in zip(centres, middles, strict=True):
        outward = middle - centre
        for degrees in range(15, 375, 30):
            out = np.array([math.cos(math.radians(degrees)), math.sin(math.radians(degrees))])
            if not full and out @ outward < 0.8 * float(np.hypot(*outward)):
                continue
            tip = centre + out * radius
            for reach in (5.0, 8.0, 12.0, 16.0, 21.0, 27.0, 34.0):
                knee = tip + out * reach
                right = 1.0 if out[0] >= 0 else -1.0
                landing = knee + np.array([right * (width + 1.5), 0.0])
                hold = "left" if right > 0 else "right"
                words = Words(text, float(knee[0] + right), float(knee[1]) + ABOVE, SIZE, hold)
                within = overlap(words.box, frame, 1.0)
                yield Placed(
                    words,
                    (np.array([tip, knee, landing]),),
                    ((tip, out, 1.0),),
                    0.4 * reach + (6.0 if within else 0.0),
                    tip,
                )


def corners(text: str, at: np.ndarray, away: np.ndarray) -> Iterator[Placed]:
    """Places for the name of a corner at ``at`` (2,), beside it along ``away`` (2,)."""
    width = text_width(text, SIZE)
    for far in (1.2, 2.4, 4.0, 6.0, 9.0):
        for turn in (0.0, 0.5, -0.5, 1.0, -1.0):
            cosine, sine = math.cos(turn), math.sin(turn)
            out = np.array([cosine * away[0] - sine * away[1], sine * away[0] + cosine * away[1]])
            reach = far + abs(out[0]) * width / 2 + abs(out[1]) * _HIGH / 2
            x, y = at + out * reach
            words = Words(text, float(x), float(y) - _HIGH / 2, SIZE, "middle")
            yield Placed(words, (), (), far + abs(turn))
