"""A piece: a triangle or a box cut out of an outline, with its arithmetic in words."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.outlines.path import signed_area
from workbench.measure.outlines.stretch import Stretch
from workbench.words import (
    _,
    area_of_sum,
    measured,
    measured_with_unit,
    number,
    shown,
    shown_area,
    shown_root,
)

RIGHT = "right triangle"
ISOSCELES = "isosceles triangle"
EQUILATERAL = "equilateral triangle"
SCALENE = "scalene triangle"
BOX = "box"
SEGMENT = "circular segment"
KINDS = (RIGHT, ISOSCELES, EQUILATERAL, SCALENE, BOX, SEGMENT)

#: Lengths that differ by less than this part of the longest are equal.
_SAME = 1e-6


@gate.asked
@dataclass(frozen=True, eq=False)
class Piece:
    """One triangle, box or cap of an outline, in the outline's own coordinates.

    ::

                   points[2]                    points[3] .----------. points[2]
                  .  |   \\                               |          |
               .     | height                             |          | height
            .        |     \\                             |          |
        points[0] ---+--- points[1]             points[0] '----------' points[1]
          |-- apex --|                               |------ base -----|

    points : (3, 2) or (4, 2) corners in mm, counter-clockwise; the base runs from the first
        to the second. Of a cap: the ends of its arc and its highest point
    kind : "right triangle", "isosceles triangle", "equilateral triangle", "scalene triangle",
        "box" or "circular segment"; the base of a right triangle is one of its legs
    where : where it goes, in words
    steps : the arithmetic, a sentence each
    arc : of a circular segment
    reckoned : area in mm² as the last of the steps has it, from the figures shown
    """

    points: np.ndarray
    kind: str
    where: str
    steps: tuple[str, ...]
    arc: Stretch | None = None
    reckoned: float = 0.0

    def __post_init__(self) -> None:
        try:
            points = np.asarray(self.points, dtype=float)
        except (TypeError, ValueError):
            points = np.empty(0)
        if points.shape not in ((3, 2), (4, 2)) or not np.isfinite(points).all():
            raise RepairError(
                _("points of a piece are {given}; give 3 or 4 pairs of numbers, in mm").format(
                    given=gate.short(self.points)
                )
            )
        gate.choice("kind", self.kind, KINDS)
        gate.needed(self.where, str, "where", "bottom left")
        gate.needed(self.steps, tuple, "steps", '("half of 3 times 4 is 6",)')
        object.__setattr__(self, "points", points)

    @cached_property
    def area(self) -> float:
        """Area in mm²; below 0 for a cap that bulges into the outline, which is taken away."""
        return signed_area(self.points) if self.arc is None else self.arc.cap

    @cached_property
    def border(self) -> np.ndarray:
        """(n, 2) points round it, an arc as chords within 0.01 mm."""
        return self.points if self.arc is None else np.vstack([self.arc.points(), self.arc.end])

    @cached_property
    def base(self) -> float:
        """Length of the base, in mm."""
        return float(math.dist(self.points[0], self.points[1]))

    @cached_property
    def height(self) -> float:
        """Height square to the base, in mm."""
        if self.arc is not None:
            return abs(self.arc.bow) * self.base / 2
        return self.area / self.base * (1 if self.kind == BOX else 2)

    @cached_property
    def apex(self) -> float:
        """How far along the base the height stands, in mm from the base's start."""
        along = (self.points[1] - self.points[0]) / self.base
        return float((self.points[-1] - self.points[0]) @ along)

    @cached_property
    def tilt(self) -> float:
        """How far the base is turned from level, in degrees, counter-clockwise."""
        x, y = self.points[1] - self.points[0]
        return math.degrees(math.atan2(y, x))

    def __str__(self) -> str:
        return _("{kind}, base {base}, height {height}; {where}").format(
            kind=_(self.kind),
            base=measured(self.base),
            height=measured_with_unit(self.height),
            where=self.where,
        )


#: Base and height of a piece in mm, as the steps before its area have them.
Figures = tuple[float, float]


def triangle_piece(
    corners: np.ndarray,
    size: np.ndarray,
    steps: tuple[str, ...] = (),
    right: bool | None = None,
    figures: Figures | None = None,
) -> Piece:
    """A piece from the three corners of a triangle, its base chosen as a person would.

    corners : (3, 2) in mm, counter-clockwise
    size : (2, 2) lower left and upper right of the whole outline, in mm
    steps : how its base and height come about, where the cut that made it knows better
    right : True where it is known to have a right angle, None to find out
    figures : what those steps come to
    """
    turned, kind = _base_first(corners, right)
    turned.setflags(write=False)
    bare = Piece(turned, kind, "", ())
    if figures is None:
        base_words, base = _side_words(turned[0], turned[1], _("the base"))
        height_words, height = _height_words(bare)
        steps, figures = (base_words, height_words), (base, height)
    return _reckoned(bare, size, steps, figures)


def box_piece(
    corners: np.ndarray,
    size: np.ndarray,
    steps: tuple[str, ...] = (),
    figures: Figures | None = None,
) -> Piece:
    """A piece from the four corners of a rectangle; parameters as for :func:`triangle_piece`."""
    turned = np.array(corners, dtype=float)
    turned.setflags(write=False)
    bare = Piece(turned, BOX, "", ())
    if figures is None:
        words, base = _side_words(turned[0], turned[1], _("the base"))
        steps, figures = (words,), (base, shown(bare.height))
    return _reckoned(bare, size, steps, figures)


def _reckoned(bare: Piece, size: np.ndarray, steps: tuple[str, ...], figures: Figures) -> Piece:
    """The piece with its arithmetic, whose area is reckoned from the figures shown."""
    area = shown_area(math.prod(figures) * (1 if bare.kind == BOX else 0.5))
    template = _("half of {base} times {height} is {area}")
    if bare.kind == BOX:
        template = _("{base} times {height} is {area}")
    words = template.format(
        base=measured(figures[0]), height=measured(figures[1]), area=area_of_sum(area)
    )
    return replace(bare, where=where_in(bare, size), steps=(*steps, words), reckoned=area)


def is_right(corners: np.ndarray) -> bool:
    """Whether a triangle of (3, 2) corners has a right angle."""
    return bool(_cosines(corners).min() < _SAME)


def _cosines(corners: np.ndarray) -> np.ndarray:
    """(3,) size of the cosine of the angle at each corner."""
    ahead = np.roll(corners, -1, axis=0) - corners
    behind = np.roll(corners, 1, axis=0) - corners
    lengths = np.hypot(*ahead.T) * np.hypot(*behind.T)
    return np.abs((ahead * behind).sum(axis=1)) / lengths


def difference(a: float, b: float) -> float:
    """How far apart two places on one axis are, from the figures shown, as it is shown itself."""
    return shown(abs(shown(a) - shown(b)))


def difference_words(a: float, b: float, upright: bool = False) -> str:
    """The same as a sum in words, with its parts and its outcome.

    >>> difference_words(71, 9), difference_words(-6, 36), difference_words(-6, 0)
    ('71.0 across minus 9.0 leaves 62.0', '36.0 across plus 6.0 makes 42.0', '6.0 across')
    """
    far, near = (a, b) if abs(a) >= abs(b) else (b, a)
    if not shown(near):
        template = _("{far} up") if upright else _("{far} across")
    elif far * near > 0:
        template = _("{far} across minus {near} leaves {length}")
        template = _("{far} up minus {near} leaves {length}") if upright else template
    else:
        template = _("{far} across plus {near} makes {length}")
        template = _("{far} up plus {near} makes {length}") if upright else template
    return template.format(
        far=measured(shown(abs(far))),
        near=measured(shown(abs(near))),
        length=measured(difference(a, b)),
    )


def _base_first(corners: np.ndarray, right: bool | None) -> tuple[np.ndarray, str]:
    """The corners in turn so that the base comes first, and the kind of triangle."""
    edges = np.roll(corners, -1, axis=0) - corners
    sides = np.hypot(*edges.T)
    slope = np.abs(edges[:, 1]) / sides
    near = _SAME * sides.max()
    if right or (right is None and is_right(corners)):
        square = int(_cosines(corners).argmin())
        legs = (square, (square - 1) % 3)
        return np.roll(corners, -min(legs, key=lambda i: slope[i]), axis=0), RIGHT
    equal = [abs(sides[i] - sides[i - 1]) <= near for i in range(3)]
    if sum(equal) >= 2:
        return np.roll(corners, -int(slope.argmin()), axis=0), EQUILATERAL
    if any(equal):
        odd = (equal.index(True) + 1) % 3
        return np.roll(corners, -odd, axis=0), ISOSCELES
    return np.roll(corners, -_plain_base(edges, sides), axis=0), SCALENE


def _plain_base(edges: np.ndarray, sides: np.ndarray) -> int:
    """The level or else the upright side, if the height stands on it; else the longest."""
    for axis in (1, 0):
        straight = np.flatnonzero(np.abs(edges[:, axis]) <= _SAME * sides)
        if len(straight):
            i = int(straight[0])
            foot = -(edges[i] @ edges[i - 1]) / sides[i]
            if 0 <= foot <= sides[i]:
                return i
    return int(sides.argmax())


def _side_words(start: np.ndarray, end: np.ndarray, what: str) -> tuple[str, float]:
    """How long a side is and how that comes about; its length as shown."""
    across, up = np.abs(end - start)
    if min(across, up) <= _SAME * max(across, up):
        axis = 0 if across > up else 1
        words = difference_words(float(end[axis]), float(start[axis]), upright=axis == 1)
        told = _("{sum} for {what}").format(sum=words, what=what)
        return told, difference(float(end[axis]), float(start[axis]))
    across, up = shown(across), shown(up)
    length = shown_root(math.hypot(across, up))
    told = _("{across} across and {up} up make a slope of {length} for {what}").format(
        across=measured(across), up=measured(up), length=measured(length), what=what
    )
    return told, length


def _height_words(piece: Piece) -> tuple[str, float]:
    if piece.kind == RIGHT:
        square, far = (0, 2) if piece.apex < piece.base / 2 else (1, 2)
        return _side_words(piece.points[square], piece.points[far], _("the height"))
    height = shown(piece.height)
    return _("{height} is the height, square to the base").format(height=measured(height)), height


def where_in(piece: Piece, size: np.ndarray) -> str:
    """Which part of an outline of (2, 2) ``size`` a piece is in, in words."""
    (x0, y0), (x1, y1) = piece.points[0], piece.points[1]
    place = _place(piece.points, size)
    if abs(piece.tilt) < 1e-6:
        template = _("{place}: base from ({x0}, {y0}) to ({x1}, {y1})")
    else:
        template = _("{place}: base from ({x0}, {y0}) to ({x1}, {y1}), turned {tilt}°")
    if piece.kind in (SCALENE, ISOSCELES, EQUILATERAL):
        template = _("{base}; the height stands {apex} along it").format(
            base=template, apex=measured(piece.apex)
        )
    return template.format(
        place=place,
        x0=measured(x0),
        y0=measured(y0),
        x1=measured(x1),
        y1=measured(y1),
        tilt=number(piece.tilt, 1),
    )


def _place(points: np.ndarray, size: np.ndarray) -> str:
    """Which part of the outline it is in: a third of the way counts as a side."""
    span = size[1] - size[0]
    middle = (points.mean(axis=0) - size[0]) / span
    whole = np.ptp(points, axis=0) / span > 0.67
    across = 1 if whole[0] else int(min(2, middle[0] * 3))
    up = 1 if whole[1] else int(min(2, middle[1] * 3))
    words = (
        (_("bottom left"), _("bottom"), _("bottom right")),
        (_("left"), _("middle"), _("right")),
        (_("top left"), _("top"), _("top right")),
    )
    return words[up][across]
