"""Packing rectangles on as few beds as they need.

The package rectangle-packer lays a set of rectangles in the smallest box that it finds, without
turning any. Which are laid together, and which are turned, is tried here: in ways that are
numbered, not timed and not left to chance, so that the same rectangles are packed alike in any
order and on any machine.
"""

from __future__ import annotations

import math
import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from workbench.errors import RepairError
from workbench.words import _, sized, with_unit

#: Ways of turning the rectangles that are tried for each set.
_WAYS = 12

#: After how many refusals a bed is full: fewer where many wait, so that hundreds are packed in seconds.
_PATIENCE, _FEWEST, _MOST = 1200, 6, 40

#: Whole steps in a millimetre, and what is taken for rounding, in steps.
_FINE, _SAME = 100, 1e-6


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

    rectangles : with names of their own; their order does not matter
    width, depth : of each bed, in mm

    Returns one list of spots for each bed, the fullest beds first.

    Raises RepairError when one does not fit the bed either way.

    >>> [[(spot.x, spot.y) for spot in bed] for bed in pack([Rectangle("a", 8, 4)], 10, 10)]
    [[(0.0, 0.0)]]
    """
    bed = (math.floor(width * _FINE + _SAME), math.floor(depth * _FINE + _SAME))
    for rectangle in rectangles:
        if not _sides(rectangle, bed):
            raise RepairError(
                _(
                    "{name} needs {x} x {y} with its brim and spacing, and the bed has "
                    "{width} x {depth}; choose a printer with a larger bed"
                ).format(
                    name=rectangle.name,
                    x=sized(rectangle.width, 1),
                    y=with_unit(rectangle.depth, 1),
                    width=sized(width, 1),
                    depth=with_unit(depth, 1),
                )
            )
    # The longest side counts, whichever way a rectangle is given.
    waiting = sorted(
        rectangles, key=lambda r: (-max(r.width, r.depth), -min(r.width, r.depth), r.name)
    )
    beds = []
    while waiting:
        layout = _filled(waiting, bed)
        placed = {spot.rectangle for spot in layout}
        waiting = [rectangle for rectangle in waiting if rectangle not in placed]
        beds.append(layout)
    beds.sort(key=lambda layout: -sum(spot.rectangle.area for spot in layout))
    return [*beds[:-1], *(_tightened(layout, bed) for layout in beds[-1:])]


def used(layout: Layout) -> float:
    """The part of a bed that is taken, in mm²: the rectangle round everything on it."""
    if not layout:
        return 0.0
    return max(s.x + s.width for s in layout) * max(s.y + s.depth for s in layout)


def _steps(length: float) -> int:
    return math.ceil(length * _FINE - _SAME)


def _sides(rectangle: Rectangle, bed: tuple[int, int]) -> list[tuple[int, int, bool]]:
    """The ways in which a rectangle fits a bed: its sides in steps, and whether it is turned."""
    across, along = _steps(rectangle.width), _steps(rectangle.depth)
    ways = ((across, along, False), (along, across, True))
    return [way for way in ways if way[0] <= bed[0] and way[1] <= bed[1]]


def _filled(waiting: Sequence[Rectangle], bed: tuple[int, int]) -> Layout:
    """One bed: as many of the largest as find room together, and what fits beside them."""
    room = bed[0] * bed[1] / _FINE**2
    low, high, area = 1, 0, 0.0
    while high < len(waiting) and area + waiting[high].area <= room + _SAME:
        area += waiting[high].area
        high += 1
    best = _laid(waiting[:1], bed)
    while low < high:
        middle = (low + high + 1) // 2
        layout = _laid(waiting[:middle], bed)
        if layout:
            best, low = layout, middle
        else:
            high = middle - 1
    refused, patience = 0, max(_FEWEST, min(_MOST, _PATIENCE // len(waiting)))
    for rectangle in waiting[low:]:
        if sum(spot.rectangle.area for spot in best) + rectangle.area > room + _SAME:
            continue
        layout = _laid([*(spot.rectangle for spot in best), rectangle], bed)
        best, refused = (layout, 0) if layout else (best, refused + 1)
        if refused == patience:
            break
    return best


def _laid(rectangles: Sequence[Rectangle], bed: tuple[int, int]) -> Layout:
    """All of them on one bed, the first way that is found; [] where none is."""
    return next(_layouts(rectangles, bed), [])


def _tightened(layout: Layout, bed: tuple[int, int]) -> Layout:
    """The same rectangles in the smallest corner of the bed that is found."""
    return min(_layouts([spot.rectangle for spot in layout], bed), key=used)


def _layouts(rectangles: Sequence[Rectangle], bed: tuple[int, int]) -> Iterator[Layout]:
    """Each way in which all of them find room on one bed, that with the smallest box for it."""
    import rpack

    for turned in _ways(rectangles, bed):
        try:
            places = rpack.pack([(across, along) for across, along, _turn in turned], *bed)
        except rpack.PackingImpossibleError:
            continue
        yield [
            Spot(rectangle, x / _FINE, y / _FINE, turn)
            for rectangle, (x, y), (_across, _along, turn) in zip(
                rectangles, places, turned, strict=True
            )
        ]


def _ways(
    rectangles: Sequence[Rectangle], bed: tuple[int, int]
) -> Iterator[list[tuple[int, int, bool]]]:
    """Each way to turn them: all across, all along, then mixed."""
    sides = [sorted(_sides(rectangle, bed)) for rectangle in rectangles]
    yield [ways[-1] for ways in sides]
    yield [ways[0] for ways in sides]
    for seed in range(_WAYS - 2):
        chance = random.Random(seed)
        yield [chance.choice(ways) for ways in sides]
