"""An outline: a simple polygon in millimetres, as drawn on paper."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely

from workbench.errors import RepairError
from workbench.measure.reading import Reading, parse_length
from workbench.words import _, number, sizes

#: Two corners nearer than this are one corner, in mm.
NEAREST = 1e-6

#: No outline is wider than this, in mm: 10 m.
WIDEST = 10_000.0

Length = float | str | Reading


@dataclass(frozen=True, init=False, eq=False)
class Outline:
    """A closed outline without crossings; its corners run counter-clockwise.

    Parameters
    ----------
    points : (n, 2) corners in mm, in order, either way round; the last may repeat the first

    Raises
    ------
    RepairError
        For fewer than 3 corners, corners that coincide, no area, a crossing, more than 10 m
        across, or numbers that are not finite.

    >>> Outline([(0, 0), (0, 3), (4, 0)]).area
    6.0
    >>> Outline([(0, 0), (1, 1), (2, 2)])
    Traceback (most recent call last):
    workbench.errors.RepairError: outline has no area: its corners lie on one line; measure a height
    """

    points: np.ndarray

    def __init__(self, points: Iterable[Iterable[float]]) -> None:
        corners = _as_corners(points)
        if signed_area(corners) < 0:
            corners = corners[::-1].copy()
        corners.setflags(write=False)
        object.__setattr__(self, "points", corners)

    def __len__(self) -> int:
        return len(self.points)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Outline) and np.array_equal(self.points, other.points)

    def __hash__(self) -> int:
        return hash(self.points.tobytes())

    @cached_property
    def area(self) -> float:
        """Area in mm²."""
        return signed_area(self.points)

    @cached_property
    def edges(self) -> np.ndarray:
        """(n, 2) vectors from each corner to the next, in mm."""
        return np.roll(self.points, -1, axis=0) - self.points

    @cached_property
    def sides(self) -> np.ndarray:
        """(n,) length of the side from each corner to the next, in mm."""
        return np.hypot(*self.edges.T)

    @cached_property
    def angles(self) -> np.ndarray:
        """(n,) inside angle at each corner, in degrees; above 180 where the outline turns in."""
        ahead = self.edges
        behind = -np.roll(self.edges, 1, axis=0)
        turn = np.arctan2(
            ahead[:, 0] * behind[:, 1] - ahead[:, 1] * behind[:, 0],
            (ahead * behind).sum(axis=1),
        )
        return np.degrees(turn) % 360.0

    @cached_property
    def size(self) -> tuple[float, float]:
        """Overall width and height, in mm."""
        width, height = np.ptp(self.points, axis=0)
        return float(width), float(height)

    @cached_property
    def polygon(self) -> shapely.Polygon:
        """The same outline as a shapely polygon."""
        return shapely.Polygon(self.points)

    def moved(self, x: float, y: float) -> Outline:
        """The outline, shifted by (x, y) mm."""
        return Outline(self.points + np.array([x, y]))


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

    Parameters
    ----------
    bottom, top, height : in mm, above 0; numbers, readings, or text such as "1 3/8 in"
    inset : where the top starts, in mm to the right of the bottom's left end; below 0 it
        leans out to the left

    Raises
    ------
    RepairError
        Naming the size that is not a length, or not above 0.

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
            _("{field} is {value} mm; give a number above 0 mm").format(
                field=field, value=number(length, 4)
            )
        )
    return length


def _as_corners(points: Iterable[Iterable[float]]) -> np.ndarray:
    try:
        corners = np.array([tuple(point) for point in points], dtype=float)
    except (TypeError, ValueError):
        corners = np.empty((0, 0))
    if corners.ndim != 2 or corners.shape[1] != 2:
        raise RepairError(_("outline corners must be pairs of numbers, in mm, such as (35, 0)"))
    if not np.isfinite(corners).all():
        bad = int(np.flatnonzero(~np.isfinite(corners).all(axis=1))[0])
        raise RepairError(
            _("outline corner {index} is not finite; measure it again, in mm").format(index=bad + 1)
        )
    if len(corners) > 1 and np.allclose(corners[0], corners[-1], rtol=0, atol=NEAREST):
        corners = corners[:-1]
    if len(corners) < 3:
        raise RepairError(
            _("outline has {count} corners; give at least 3").format(count=len(corners))
        )
    _refuse_bad_shape(corners)
    return corners


def _refuse_bad_shape(corners: np.ndarray) -> None:
    with np.errstate(over="ignore"):
        longest = float(np.ptp(corners, axis=0).max())
    if longest > WIDEST:
        raise RepairError(
            _("outline is {size} mm across; give corners in mm, at most {most} mm apart").format(
                size=f"{longest:.6g}", most=number(WIDEST)
            )
        )
    gaps = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    if (gaps < NEAREST).any():
        first = int(np.flatnonzero(gaps < NEAREST)[0])
        raise RepairError(
            _("outline corners {a} and {b} are the same point; leave one out").format(
                a=first + 1, b=(first + 1) % len(corners) + 1
            )
        )
    if shapely.MultiPoint(corners).convex_hull.area <= 1e-9 * longest**2:
        raise RepairError(_("outline has no area: its corners lie on one line; measure a height"))
    if not shapely.LinearRing(corners).is_simple:
        where = shapely.is_valid_reason(shapely.Polygon(corners))
        spot = where[where.find("[") + 1 : where.find("]")].split() if "[" in where else []
        place = sizes(map(float, spot), 1) or "?"
        raise RepairError(
            _(
                "outline crosses itself near ({place}) mm; list the corners in order round it"
            ).format(place=place)
        )


def signed_area(corners: np.ndarray) -> float:
    """Area in mm² of (n, 2) corners, negative where they run clockwise."""
    x, y = (corners - corners[0]).T
    return float(0.5 * (x * np.roll(y, -1) - y * np.roll(x, -1)).sum())
