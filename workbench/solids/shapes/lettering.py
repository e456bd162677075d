"""Letters as outlines: what the font draws, in mm, and how thin its thinnest stroke comes out."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from importlib import import_module
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING
from unicodedata import bidirectional

import numpy as np

from workbench.errors import RepairError
from workbench.measure.compiled import alone, folder_of
from workbench.solids.shapes.profile import Bend, Point, Profile, mapped
from workbench.words import _

if TYPE_CHECKING:
    from matplotlib.ft2font import FT2Font
    from shapely import Polygon

#: Comes with matplotlib, which is needed anyway: an even, bold face with over 6,000 signs.
FONT = "DejaVuSans-Bold.ttf"

#: A capital of the font is so many of its units high, and a unit is 64 of what it draws in.
_CAPITAL, _UNIT = 1493, 64

#: Codes of what the font draws: a new contour, a line, a curve with one control point, the end.
_MOVE, _LINE, _CURVE, _CLOSE = 1, 2, 3, 79

#: Straight stretches for each curve where a sign's strokes are measured or its contours cross.
_STRETCHES = 8

Contour = list[Point | tuple[Point, Point]]


@dataclass(frozen=True)
class Piece:
    """One connected piece of a text, in mm: its outline, and the openings in it."""

    outline: Profile
    openings: tuple[Profile, ...]


def pieces(text: str, height: float) -> list[Piece]:
    """The pieces of a text whose capitals are ``height`` mm high, its box centred about 0, 0.

    Raises RepairError naming a letter that the font lacks.

    >>> [len(piece.openings) for piece in pieces("Bi", 10.0)]
    [2, 0, 0]
    """
    found: list[tuple[Piece, float]] = []
    left = 0.0
    for sign, after in zip(text, [*text[1:], ""], strict=True):
        glyph = _glyph(sign)
        found += [(piece, left) for piece in glyph.pieces]
        left += glyph.advance + (_kerning(sign, after) if after else 0.0)
    if not found:
        raise RepairError(_("{text!r} has nothing to show; give letters").format(text=text))
    corners = np.array([(x + at, y) for piece, at in found for x, y in passed(piece.outline)])
    middle = (corners.min(axis=0) + corners.max(axis=0)) / 2
    return [scaled(piece, (at - middle[0], -middle[1]), (height, height)) for piece, at in found]


def thinnest(text: str) -> tuple[str, float]:
    """The letter with the thinnest stroke, and that stroke as a share of a capital's height.

    >>> letter, share = thinnest("IE")
    >>> letter, round(share, 2)
    ('E', 0.19)
    """
    return min(((sign, _glyph(sign).stroke) for sign in text if sign.strip()), key=lambda s: s[1])


@dataclass(frozen=True, eq=False)
class _Glyph:
    """A sign by a capital's height: its contours, and how far the next one stands to the right."""

    contours: tuple[Contour, ...]
    advance: float

    @cached_property
    def pieces(self) -> list[Piece]:
        """Its pieces; where contours cross, as in some accents, their curves become straights."""
        rings = [_polygon(contour) for contour in self.contours]
        crossing = any(
            a.boundary.intersects(b.boundary) for n, a in enumerate(rings) for b in rings[:n]
        )
        if crossing:
            return [
                Piece(
                    list(body.exterior.coords[:-1]),
                    tuple(list(ring.coords[:-1]) for ring in body.interiors),
                )
                for body in self.bodies
            ]
        found = []
        for contour, ring in zip(self.contours, rings, strict=True):
            if ring.exterior.is_ccw == self._out:
                inside = [
                    _profile(other)
                    for other, hole in zip(self.contours, rings, strict=True)
                    if hole.exterior.is_ccw != self._out and ring.contains(hole)
                ]
                found.append(Piece(_profile(contour), tuple(inside)))
        return found

    @cached_property
    def bodies(self) -> list[Polygon]:
        """The same in straight stretches."""
        import shapely

        rings = [_polygon(contour) for contour in self.contours]
        outer = [ring for ring in rings if ring.exterior.is_ccw == self._out]
        inner = [ring for ring in rings if ring.exterior.is_ccw != self._out]
        shape = shapely.union_all(outer).difference(shapely.union_all(inner))
        return [body for body in shapely.get_parts(shape) if body.area > 0]

    @property
    def _out(self) -> bool:
        """Which way round its outer contours run: the way of its largest."""
        return bool(max(map(_polygon, self.contours), key=lambda ring: ring.area).exterior.is_ccw)

    @cached_property
    def stroke(self) -> float:
        """Width of its thinnest stroke: the widest pen that can draw all of it."""
        low, high = 0.0, 1.0
        while high - low > 1e-3:
            middle = (low + high) / 2
            low, high = (
                (middle, high) if all(_drawn(b, middle) for b in self.bodies) else (low, middle)
            )
        return low


def _drawn(body: Polygon, pen: float) -> bool:
    """Whether a pen draws all of a body but for what is left in its corners."""
    import shapely

    inner = body.buffer(-pen / 2, join_style="mitre")
    outer = inner.buffer(pen / 2, join_style="mitre")
    left = shapely.get_parts(body.difference(outer))
    return not inner.is_empty and all(part.area < pen * pen / 4 for part in left)


def reader() -> ModuleType:
    """What reads fonts, without the rest of matplotlib."""
    part = alone("matplotlib", "ft2font")
    return part if part and hasattr(part, "LoadFlags") else import_module("matplotlib.ft2font")


def face(file: str) -> FT2Font:
    """A font that comes with matplotlib."""
    found = folder_of("matplotlib") / "mpl-data" / "fonts" / "ttf" / file
    if not found.exists():
        from matplotlib import get_data_path

        found = Path(get_data_path(), "fonts", "ttf", file)
    return reader().FT2Font(str(found))


@lru_cache(maxsize=1)
def _font() -> FT2Font:
    return face(FONT)


@lru_cache(maxsize=512)
def _glyph(sign: str) -> _Glyph:
    font = _font()
    # Signs that run from right to left change their shape with their neighbours.
    if font.get_char_index(ord(sign)) == 0 or bidirectional(sign) in ("R", "AL"):
        raise RepairError(
            _(
                "{sign!r} (U+{code:04X}) cannot be drawn with this font; write it another way"
            ).format(sign=sign, code=ord(sign))
        )
    drawn = font.load_char(ord(sign), flags=reader().LoadFlags.NO_SCALE)
    spots, codes = font.get_path()
    spots = spots * _UNIT / _CAPITAL
    return _Glyph(tuple(_contours(spots, codes)), drawn.horiAdvance / _CAPITAL)


def _kerning(sign: str, after: str) -> float:
    font = _font()
    pair = font.get_char_index(ord(sign)), font.get_char_index(ord(after))
    return float(font.get_kerning(*pair, reader().Kerning.UNSCALED)) / _CAPITAL


def _contours(spots: np.ndarray, codes: np.ndarray) -> list[Contour]:
    """Closed contours: corners, and for a curve its control point and its end."""
    found: list[Contour] = []
    at = 0
    points: list[Point] = [(float(x), float(y)) for x, y in spots]
    while at < len(codes):
        if codes[at] == _MOVE:
            found.append([points[at]])
        elif codes[at] == _LINE:
            found[-1].append(points[at])
        elif codes[at] == _CURVE:
            found[-1].append((points[at], points[at + 1]))
            at += 1
        at += 1
    return [_closed(contour) for contour in found]


def _closed(contour: Contour) -> Contour:
    """A contour that begins where its last stretch ends, without that corner twice."""
    start, last = _end(contour[0]), _end(contour[-1])
    return contour[1:] if math.dist(start, last) < 1e-9 else contour


def _end(stretch: Point | tuple[Point, Point]) -> Point:
    return stretch[1] if isinstance(stretch[0], tuple) else stretch


def _on_curve(start: Point, control: Point, end: Point, share: float) -> Point:
    a, b, c = (1 - share) ** 2, 2 * share * (1 - share), share**2
    return (a * start[0] + b * control[0] + c * end[0], a * start[1] + b * control[1] + c * end[1])


def _polygon(contour: Contour) -> Polygon:
    from shapely import Polygon

    corners: list[Point] = []
    before = _end(contour[-1])
    for stretch in contour:
        if isinstance(stretch[0], tuple):
            control, end = stretch
            shares = [k / _STRETCHES for k in range(1, _STRETCHES)]
            corners += [_on_curve(before, control, end, share) for share in shares]
        before = _end(stretch)
        corners.append(before)
    return Polygon(corners)


def _profile(contour: Contour) -> Profile:
    """The contour of lines and arcs: two arcs for each curve, through points of it."""
    found: list[Point | Bend] = []
    before = _end(contour[-1])
    for stretch in contour:
        end = _end(stretch)
        if isinstance(stretch[0], tuple):
            control: Point = stretch[0]
            spots = [_on_curve(before, control, end, share) for share in (0.25, 0.5, 0.75)]
            if _straight(before, control, end):
                found.append(end)
            else:
                found += [Bend(spots[0], spots[1]), Bend(spots[2], end)]
        else:
            found.append(end)
        before = end
    return found


def _straight(start: Point, control: Point, end: Point) -> bool:
    """Whether a curve leaves its chord by less than a thousandth of a capital's height."""
    across = (end[0] - start[0]) * (control[1] - start[1])
    across -= (end[1] - start[1]) * (control[0] - start[0])
    return abs(across) < 2e-3 * math.dist(start, end)


def passed(profile: Profile) -> list[Point]:
    """The points that a profile runs through."""
    return [
        spot
        for one in profile
        for spot in ([one.through, one.to] if isinstance(one, Bend) else [one])
    ]


def scaled(piece: Piece, shift: Point, by: Point) -> Piece:
    """A piece, shifted and then stretched along both axes."""

    def put(spot: Point) -> Point:
        return float(by[0] * (spot[0] + shift[0])), float(by[1] * (spot[1] + shift[1]))

    return Piece(mapped(piece.outline, put), tuple(mapped(ring, put) for ring in piece.openings))
