"""How an outline runs from corner to corner: its sides, its arcs and what rounds leave of them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from workbench.errors import RepairError
from workbench.measure.outlines.stretch import FLAT, Stretch, rounded_off
from workbench.words import _, lengths

#: Two corners nearer than this are one corner, in mm.
NEAREST = 1e-6

#: x and y, then a radius, then what bends the side to the next corner: see ``Outline``.
Corner = tuple[float, ...]


def plain(corner: Corner) -> Corner:
    """The corner without numbers that say nothing: a bulge or a radius of 0."""
    if len(corner) == 4 and not corner[3]:
        corner = corner[:3]
    return corner[:2] if len(corner) == 3 and not corner[2] else corner


def clockwise(corners: Sequence[Corner]) -> bool:
    """Whether corners run clockwise, arcs included."""
    area = signed_area(np.array([corner[:2] for corner in corners]))
    return area + sum(span.cap for span in spans(corners)) < 0


def turned_round(corners: Sequence[Corner]) -> list[Corner]:
    """The corners the other way round; what leads on from one then leads on from the next."""
    bends = [corner[3:] for corner in corners]
    if len(corners) == 2:
        # Between two corners there is no side of the outline to bulge out of but the right.
        bends = [(-bend[0],) if len(bend) == 1 else bend for bend in bends]
    return [
        plain((*corner[:2], *(corner[2:3] or (0.0,)), *bend))
        for corner, bend in zip(corners, [bends[-1], *bends[:-1]], strict=True)
    ][::-1]


def spans(corners: Sequence[Corner]) -> tuple[Stretch, ...]:
    """The side from each corner to the next, as if every corner were sharp."""
    spots = [np.array(corner[:2]) for corner in corners]
    outward = 1.0 if signed_area(np.array(spots)) >= 0 else -1.0
    return tuple(
        _span(index, corner[3:], spots[index], spots[(index + 1) % len(spots)], outward)
        for index, corner in enumerate(corners)
    )


def _span(index: int, bend: Corner, start: np.ndarray, end: np.ndarray, outward: float) -> Stretch:
    half = math.dist(start, end) / 2
    if not bend or half < NEAREST / 2:
        return Stretch(start, end)
    if len(bend) == 2:
        through = np.array(bend)
        way = (end - start) / (2 * half)
        off = abs(way[0] * (through - start)[1] - way[1] * (through - start)[0])
        between = 0 < (through - start) @ way < 2 * half
        if off < FLAT and between:
            return Stretch(start, end)
        if off < FLAT:
            raise RepairError(
                _(
                    "the arc from outline corner {index} goes through a point in line with its ends; give a point beside that line"
                ).format(index=index + 1)
            )
        return Stretch(start, end, through)
    radius = abs(bend[0])
    if radius < half * (1 - 1e-9):
        raise RepairError(
            _(
                "the arc from outline corner {index} has a radius of {radius} and its ends are {apart} apart; give at least {least}"
            ).format(index=index + 1, **lengths(radius=radius, apart=2 * half, least=half))
        )
    rise = radius - math.sqrt(max(0.0, radius**2 - half**2))
    if rise < FLAT:
        return Stretch(start, end)
    return Stretch.bowed(start, end, math.copysign(rise / half, bend[0] * outward))


def path(spans: Sequence[Stretch], radii: np.ndarray) -> tuple[Stretch, ...]:
    """The sides with (n,) ``radii`` in mm rounded off between them."""
    if not radii.any():
        return tuple(spans)
    rounds = [
        rounded_off(spans[i - 1], spans[i], radius) if radius else None
        for i, radius in enumerate(radii)
    ]
    path: list[Stretch] = []
    for i, span in enumerate(spans):
        here, after = rounds[i], rounds[(i + 1) % len(spans)]
        first, last = _left_of(span, here, after)
        if here is not None:
            path.append(here)
        if (radii[i] and here is None) or last < first - 1e-9:
            raise _too_round(i, spans, radii)
        if (last - first) * span.length > NEAREST:
            path.append(span.part(first, last) if here or after else span)
    return tuple(path)


def _left_of(span: Stretch, here: Stretch | None, after: Stretch | None) -> tuple[float, float]:
    """What two rounds leave of the side between them, as shares of the way along it."""
    first = span.share(here.end) if here is not None else 0.0
    last = span.share(after.start) if after is not None else 1.0
    return (first, last) if first > -1e-9 and last < 1 + 1e-9 else (1.0, 0.0)


def _too_round(side: int, spans: Sequence[Stretch], radii: np.ndarray) -> RepairError:
    """The error for a side that is too short for the rounds at its ends."""
    count = len(spans)
    corner = max(side, (side + 1) % count, key=lambda i: radii[i])
    low, high = 0.0, float(radii[corner])
    for _turn in range(40):
        middle = (low + high) / 2
        tried = [middle if i == corner else r for i, r in enumerate(radii)]
        if all(_fits(i % count, spans, tried) for i in (corner - 1, corner)):
            low = middle
        else:
            high = middle
    text = _(
        "outline corner {index} has a radius of {radius}, too much for the sides beside it; give at most {most}"
    )
    if math.floor(low * 100 + 1e-6) <= 0:
        text = _(
            "outline corner {index} has a radius of {radius}, and there is no room for it; make it and the radius beside it smaller"
        )
    return RepairError(
        text.format(
            index=corner + 1,
            **lengths(radius=radii[corner], most=math.floor(low * 100 + 1e-6) / 100),
        )
    )


def _fits(side: int, spans: Sequence[Stretch], radii: Sequence[float]) -> bool:
    count = len(spans)
    rounds = []
    for i in (side, (side + 1) % count):
        arc = rounded_off(spans[i - 1], spans[i], radii[i]) if radii[i] else None
        if radii[i] and arc is None:
            return False
        rounds.append(arc)
    first, last = _left_of(spans[side], *rounds)
    return last >= first


def signed_area(corners: np.ndarray) -> float:
    """Area in mm² of (n, 2) corners, negative where they run clockwise."""
    x, y = (corners - corners[0]).T
    return float(0.5 * (x * np.roll(y, -1) - y * np.roll(x, -1)).sum())
