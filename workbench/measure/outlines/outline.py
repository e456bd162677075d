"""An outline: straight sides, arcs and rounded corners in millimetres, as drawn on paper."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.outlines.path import (
    NEAREST,
    Corner,
    clockwise,
    path,
    plain,
    signed_area,
    spans,
    turned_round,
)
from workbench.measure.outlines.stretch import CHORD, Stretch
from workbench.measure.reading import Reading, parse_length
from workbench.words import _, sizes, with_unit

#: No outline is wider than this, in mm: 10 m.
WIDEST = 10_000.0

Length = float | str | Reading


@gate.asked
@dataclass(frozen=True, init=False, eq=False)
class Outline:
    """A closed outline without crossings; its corners run counter-clockwise.

    points : corners in mm, in order, either way round; the last may repeat the first. Each is

        - (x, y): a sharp corner
        - (x, y, radius): rounded off by that radius
        - (x, y, radius, bulge): and the side from it to the next corner is an arc of the radius
          ``bulge``, above 0 where it bulges out of the outline and below 0 where it bulges in
        - (x, y, radius, u, v): or the arc to the next corner goes through (u, v)

    Raises RepairError for fewer than 3 corners (2 with an arc), corners that coincide, no area, a
    crossing, a radius that does not fit, more than 10 m across, or numbers that are not finite.

    >>> Outline([(0, 0), (0, 3), (4, 0)]).area
    6.0
    >>> round(Outline([(0, 0), (0, 3, 0.5), (4, 0)]).area, 3)
    5.777
    >>> disc = Outline([(-1, 0, 0, 1), (1, 0, 0, 1)])
    >>> round(disc.area, 6), disc.size
    (3.141593, (2.0, 2.0))
    >>> Outline([(0, 0), (1, 1), (2, 2)])
    Traceback (most recent call last):
    workbench.errors.RepairError: outline has no area: its corners lie on one line; measure a height
    """

    points: np.ndarray
    corners: tuple[tuple[float, ...], ...]

    def __init__(self, points: Iterable[Iterable[float]]) -> None:
        corners = _as_corners(points)
        if clockwise(corners):
            corners = turned_round(corners)
        sharp = np.array([corner[:2] for corner in corners])
        sharp.setflags(write=False)
        object.__setattr__(self, "points", sharp)
        object.__setattr__(self, "corners", tuple(corners))
        self.path  # noqa: B018 - refuses a radius that does not fit
        _refuse_bad_shape(sharp, self.chords() if self.bent else sharp)

    def __len__(self) -> int:
        return len(self.points)

    def __iter__(self) -> Iterator[tuple[float, ...]]:
        return iter(self.corners)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Outline) and self.corners == other.corners

    def __hash__(self) -> int:
        return hash(self.corners)

    @property
    def bent(self) -> bool:
        """Whether a corner is rounded or a side is an arc."""
        return any(len(corner) > 2 for corner in self.corners)

    @cached_property
    def radii(self) -> np.ndarray:
        """(n,) radius of each corner in mm; 0 where it is sharp."""
        return np.array([corner[2] if len(corner) > 2 else 0.0 for corner in self.corners])

    @cached_property
    def spans(self) -> tuple[Stretch, ...]:
        """The n sides from each corner to the next, as if every corner were sharp."""
        return spans(self.corners)

    @cached_property
    def path(self) -> tuple[Stretch, ...]:
        """The outline as it runs: straight lines and arcs, with its corners rounded off."""
        return path(self.spans, self.radii)

    @cached_property
    def area(self) -> float:
        """Area in mm², arcs included."""
        starts = np.array([stretch.start for stretch in self.path])
        return signed_area(starts) + sum(stretch.cap for stretch in self.path)

    @cached_property
    def edges(self) -> np.ndarray:
        """(n, 2) vectors from each corner to the next, in mm."""
        return np.roll(self.points, -1, axis=0) - self.points

    @cached_property
    def sides(self) -> np.ndarray:
        """(n,) distance from each corner to the next in a straight line, in mm."""
        return np.hypot(*self.edges.T)

    @cached_property
    def angles(self) -> np.ndarray:
        """(n,) inside angle at each corner, in degrees; above 180 where the outline turns in."""
        ahead = np.array([span.heading(0) for span in self.spans])
        behind = -np.array([span.heading(1) for span in self.spans])
        behind = np.roll(behind, 1, axis=0)
        turn = np.arctan2(
            ahead[:, 0] * behind[:, 1] - ahead[:, 1] * behind[:, 0],
            (ahead * behind).sum(axis=1),
        )
        return np.degrees(turn) % 360.0

    @cached_property
    def box(self) -> np.ndarray:
        """(2, 2) lower left and upper right of all of it, in mm."""
        reach = np.concatenate([stretch.reach() for stretch in self.path])
        return np.array([reach.min(axis=0), reach.max(axis=0)])

    @cached_property
    def size(self) -> tuple[float, float]:
        """Overall width and height, in mm."""
        width, height = self.box[1] - self.box[0]
        return float(width), float(height)

    def chords(self, deviation: float = CHORD) -> np.ndarray:
        """(m, 2) points round it, arcs as chords within ``deviation`` mm of them."""
        deviation = max(gate.positive("deviation", deviation), 1e-6)  # finer than the kernel is
        return np.concatenate([stretch.points(deviation) for stretch in self.path])

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The same outline as a shapely polygon, arcs as chords within 0.01 mm."""
        return shapely.Polygon(self.chords())

    def moved(self, x: float, y: float) -> Outline:
        """The outline, shifted by (x, y) mm."""
        return Outline(
            (c[0] + x, c[1] + y, *c[2:3], *(c[3:] if len(c) < 5 else (c[3] + x, c[4] + y)))
            for c in self.corners
        )


@gate.asked
def trapezoid(bottom: Length, top: Length, height: Length, inset: Length = 0.0) -> Outline:
    """Outline with corners (0,0), (bottom,0), (inset+top,height), (inset,height).

    ::

           inset   top
          |----|-------|
               .-------.          height
              /         \\
             /           \\
            '-------------'
                bottom

    bottom, top, height : in mm, above 0; numbers, readings, or text such as "1 3/8 in"
    inset : where the top starts, in mm to the right of the bottom's left end; below 0 it
        leans out to the left

    Raises RepairError naming the size that is not a length, or not above 0.

    >>> trapezoid(46, 37, 71, -7).size
    (53.0, 71.0)
    """
    bottom = _length("bottom", bottom, positive=True)
    top = _length("top", top, positive=True)
    height = _length("height", height, positive=True)
    inset = _length("inset", inset)
    return Outline([(0, 0), (bottom, 0), (inset + top, height), (inset, height)])


def _length(field: str, value: Length, positive: bool = False) -> float:
    try:
        length = value.value if isinstance(value, Reading) else parse_length(value)
    except RepairError as error:
        raise RepairError(f"{field}: {error}") from None
    if positive and length <= 0:
        raise RepairError(
            _("{field} is {value}; give a number above 0").format(
                field=field, value=with_unit(length, 4)
            )
        )
    return length


def _as_corners(points: Iterable[Iterable[float]]) -> list[Corner]:
    try:
        corners = [tuple(float(value) for value in point) for point in points]
    except (TypeError, ValueError):
        corners = [()]
    if not corners or any(not 2 <= len(corner) <= 5 for corner in corners):
        raise RepairError(
            _(
                "outline corners must be pairs of numbers, in mm, such as (35, 0); a third is the corner's radius, as in (35, 0, 2)"
            )
        )
    for index, corner in enumerate(corners, 1):
        if not all(map(math.isfinite, corner)):
            raise RepairError(
                _("outline corner {index} is not finite; measure it again, in mm").format(
                    index=index
                )
            )
        if len(corner) > 2 and corner[2] < 0:
            raise RepairError(
                _("outline corner {index} has a radius of {radius}; give 0 or more").format(
                    index=index, radius=with_unit(corner[2])
                )
            )
    corners = [plain(corner) for corner in corners]
    if len(corners) > 1 and math.dist(corners[0][:2], corners[-1][:2]) < NEAREST:
        corners = corners[:-1]
    with np.errstate(over="ignore"):
        longest = max(map(np.ptp, zip(*(corner[:2] for corner in corners), strict=True)))
    if longest > WIDEST:
        raise RepairError(
            _("outline is {size} across; give corners in mm, at most {most} apart").format(
                size=with_unit(longest, 0), most=with_unit(WIDEST)
            )
        )
    least = 2 if any(len(corner) > 3 for corner in corners) else 3
    if len(corners) < least:
        if len(corners) == 1:
            raise RepairError(_("outline has one corner; give at least 3"))
        raise RepairError(
            _("outline has {count} corners; give at least 3").format(count=len(corners))
        )
    return corners


def _refuse_bad_shape(corners: np.ndarray, ring: np.ndarray) -> None:
    """Refuse (n, 2) corners, and the (m, 2) ring that they make, that are no outline."""
    longest = float(np.ptp(ring, axis=0).max())
    gaps = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    if (gaps < NEAREST).any():
        first = int(np.flatnonzero(gaps < NEAREST)[0])
        raise RepairError(
            _("outline corners {a} and {b} are the same point; leave one out").format(
                a=first + 1, b=(first + 1) % len(corners) + 1
            )
        )
    if len(ring) < 3 or shapely.MultiPoint(ring).convex_hull.area <= 1e-9 * longest**2:
        raise RepairError(_("outline has no area: its corners lie on one line; measure a height"))
    if not shapely.LinearRing(ring).is_simple:
        where = shapely.is_valid_reason(shapely.Polygon(ring))
        spot = where[where.find("[") + 1 : where.find("]")].split() if "[" in where else []
        place = sizes(map(float, spot), 1) or "?"
        raise RepairError(
            _(
                "outline crosses itself near ({place}) mm; list the corners in order round it"
            ).format(place=place)
        )
