"""Packing rectangles on as few beds as they need.

The gap that lies lowest is filled first, by the rectangle that suits it best; where none fits,
the gap is given up and rises to its neighbour (best fit on a skyline: E. K. Burke, G. Kendall,
G. Whitwell, Operations Research 52, 2004, from memory). This is done in many ways and the best
kept. The ways are numbered, not timed and not left to chance, so that the same rectangles are
packed alike in any order and on any machine.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from workbench.errors import RepairError
from workbench.words import _, number

#: Placements tried in all, shared among the ways of packing, and how many ways at least and most.
_EFFORT, _FEWEST, _MOST = 12_000, 3, 400

#: How many rectangles are looked at for each gap, so that thousands are packed in seconds.
_LOOK = 120

#: Lengths nearer than this are equal, in mm.
_SAME = 1e-9


@dataclass(frozen=True, order=True)
class Rectangle:
    """What needs room on a bed: its name, width and depth in mm, spacing and brim included."""

    name: str
    width: float
    depth: float

    @property
    def area(self) -> float:
        """In mm²."""
        return self.width * self.depth


@dataclass(frozen=True)
class Spot:
    """Where a rectangle lies: its front left corner in mm, and whether it is turned by 90°."""

    rectangle: Rectangle
    x: float
    y: float
    turned: bool

    @property
    def width(self) -> float:
        """As it lies, in mm."""
        return self.rectangle.depth if self.turned else self.rectangle.width

    @property
    def depth(self) -> float:
        """As it lies, in mm."""
        return self.rectangle.width if self.turned else self.rectangle.depth


Layout = list[Spot]


def pack(rectangles: Sequence[Rectangle], width: float, depth: float) -> list[Layout]:
    """Lay rectangles on beds of one size, on as few as are found to do.

    Parameters
    ----------
    rectangles : with names of their own; their order does not matter
    width, depth : of each bed, in mm

    Returns
    -------
    One list of spots for each bed, the fullest beds first.

    Raises
    ------
    RepairError
        When one does not fit the bed either way.

    >>> [[(spot.x, spot.y) for spot in bed] for bed in pack([Rectangle("a", 8, 4)], 10, 10)]
    [[(0.0, 0.0)]]
    """
    for rectangle in rectangles:
        if not _fits(rectangle, width, depth):
            raise RepairError(
                _(
                    "{name} needs {x} x {y} mm with its brim and spacing, and the bed has "
                    "{width} x {depth} mm; choose a printer with a larger bed"
                ).format(
                    name=rectangle.name,
                    x=number(rectangle.width, 1),
                    y=number(rectangle.depth, 1),
                    width=number(width, 1),
                    depth=number(depth, 1),
                )
            )
    # The longest side counts, whichever way a rectangle is given.
    waiting = sorted(
        rectangles, key=lambda r: (-max(r.width, r.depth), -min(r.width, r.depth), r.name)
    )
    if not waiting:
        return []
    found = [_one_way(waiting, width, depth, way) for way in _ways(len(waiting))]
    beds = min(found, key=lambda beds: (len(beds), sum(used(bed) for bed in beds)))
    beds.sort(key=lambda bed: -sum(spot.rectangle.area for spot in bed))
    return [*beds[:-1], _tightened(beds[-1], width, depth)]


def used(layout: Layout) -> float:
    """The part of a bed that is taken, in mm²: the rectangle round everything on it."""
    if not layout:
        return 0.0
    return max(s.x + s.width for s in layout) * max(s.y + s.depth for s in layout)


@dataclass(frozen=True)
class _Way:
    """What to look for in a gap: weights of a rectangle's width and depth, and a spread."""

    across: float
    along: float
    spread: float
    seed: int


def _ways(count: int) -> Iterator[_Way]:
    for seed in range(max(_FEWEST, min(_MOST, _EFFORT // count))):
        plain = seed < _FEWEST
        chance = random.Random(seed)
        yield _Way(
            across=(1.0, 0.0, 0.5)[seed % 3] if plain else chance.random(),
            along=(0.0, 1.0, 0.5)[seed % 3] if plain else chance.random(),
            spread=0.0 if plain else 0.4 * chance.random(),
            seed=seed,
        )


def _one_way(waiting: Sequence[Rectangle], width: float, depth: float, way: _Way) -> list[Layout]:
    beds = []
    left = list(waiting)
    while left:
        bed, left = _filled(left, width, depth, way)
        beds.append(bed)
    return beds


def _tightened(bed: Layout, width: float, depth: float) -> Layout:
    """The same rectangles in the smallest corner of the bed that is found."""
    waiting = [spot.rectangle for spot in bed]
    waiting.sort(key=lambda r: (-max(r.width, r.depth), -min(r.width, r.depth), r.name))
    area = sum(rectangle.area for rectangle in waiting)
    best = bed
    for way in _ways(len(waiting)):
        # Strips between one that the area would just fill to the bed's depth, and the whole bed.
        share = random.Random(-1 - way.seed).random()
        narrow = max(area / depth, min(width, max(min(r.width, r.depth) for r in waiting)))
        layout, left = _filled(waiting, narrow + share * (width - narrow), depth, way)
        if not left and used(layout) < used(best) - _SAME:
            best = layout
    return best


def _fits(rectangle: Rectangle, width: float, depth: float) -> bool:
    sides = rectangle.width, rectangle.depth
    return any(
        across <= width + _SAME and along <= depth + _SAME for across, along in (sides, sides[::-1])
    )


def _filled(
    waiting: Sequence[Rectangle], width: float, depth: float, way: _Way
) -> tuple[Layout, list[Rectangle]]:
    """One bed, and what found no room on it."""
    chance = random.Random(way.seed)
    left = list(waiting)
    layout: Layout = []
    # The upper edge of what lies on the bed, from left to right: (x, y, length).
    edge = [(0.0, 0.0, width)]
    while left:
        at = min(range(len(edge)), key=lambda i: edge[i][1])
        x, y, room = edge[at]
        choice = _best(left, room, depth - y, way, chance)
        if choice is not None:
            index, turned = choice
            spot = Spot(left.pop(index), x, y, turned)
            layout.append(spot)
            edge[at : at + 1] = [
                (x, y + spot.depth, spot.width),
                *([(x + spot.width, y, room - spot.width)] if room - spot.width > _SAME else []),
            ]
        elif len(edge) == 1:
            break
        else:
            beside = [edge[i][1] for i in (at - 1, at + 1) if 0 <= i < len(edge)]
            edge[at] = (x, min(beside), room)
        edge = _merged(edge)
    return layout, left


def _best(
    left: Sequence[Rectangle], room: float, high: float, way: _Way, chance: random.Random
) -> tuple[int, bool] | None:
    """Which rectangle suits a gap best, and whether it is turned for it."""
    best, found = -1.0, None
    for index, rectangle in enumerate(left[:_LOOK]):
        for turned in (False, True):
            across, along = rectangle.width, rectangle.depth
            if turned:
                across, along = along, across
            if across > room + _SAME or along > high + _SAME:
                continue
            score = way.across * across / room + way.along * along / high
            score += 1.0 if room - across < _SAME else 0.0
            score *= 1.0 - way.spread * chance.random() if way.spread else 1.0
            if score > best:
                best, found = score, (index, turned)
    return found


def _merged(edge: list[tuple[float, float, float]]) -> list[tuple[float, float, float]]:
    merged = [edge[0]]
    for x, y, length in edge[1:]:
        before = merged[-1]
        if abs(before[1] - y) < _SAME:
            merged[-1] = (before[0], max(before[1], y), before[2] + length)
        else:
            merged.append((x, y, length))
    return merged
