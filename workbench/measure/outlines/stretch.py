"""A stretch of an outline: a straight line or a circular arc, from one point to the next."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np

#: How far a chord may stay inside or outside of an arc it stands for, in mm.
CHORD = 0.01

#: An arc that rises less than this over its chord, in mm, is straight.
FLAT = 1e-6


@dataclass(frozen=True, eq=False)
class Stretch:
    """From ``start`` to ``end``, (2,) each in mm; an arc where it goes ``through`` a third point.

    ::

              through
             .---*---.
            /         \\        sweep is negative here: clockwise from start to end
        start         end
    """

    start: np.ndarray
    end: np.ndarray
    through: np.ndarray | None = None

    @classmethod
    def bowed(cls, start: np.ndarray, end: np.ndarray, bow: float) -> Stretch:
        """The arc whose rise over its chord is ``bow`` times half the chord, to the right.

        It is the tangent of a quarter of its sweep, so it stays when the ends are pulled to size.
        """
        way = (end - start) / 2
        return cls(start, end, (start + end) / 2 + bow * np.array([way[1], -way[0]]))

    @cached_property
    def bow(self) -> float:
        """Rise over half the chord, above 0 where it is to the right; 0 for a straight line."""
        return math.tan(self.sweep / 4)

    @cached_property
    def centre(self) -> np.ndarray:
        """(2,) middle of the arc's circle, in mm."""
        a, b = self._through - self.start, self.end - self.start
        twice = 2 * _cross(a, b)
        aa, bb = float(a @ a), float(b @ b)
        return self.start + np.array([b[1] * aa - a[1] * bb, a[0] * bb - b[0] * aa]) / twice

    @cached_property
    def radius(self) -> float:
        """Radius of the arc in mm; infinite for a straight line."""
        return math.inf if self.through is None else math.dist(self.centre, self.start)

    @cached_property
    def sweep(self) -> float:
        """Angle that the arc turns through in radians, above 0 counter-clockwise; 0 if straight."""
        if self.through is None:
            return 0.0
        a, b = self._through - self.start, self.end - self._through
        return 2 * math.atan2(_cross(a, b), float(a @ b))

    @cached_property
    def length(self) -> float:
        """Along it, in mm."""
        if self.through is None:
            return math.dist(self.start, self.end)
        return self.radius * abs(self.sweep)

    @cached_property
    def cap(self) -> float:
        """Area in mm² between the arc and its chord, above 0 where it is to the right."""
        if self.through is None:
            return 0.0
        return self.radius**2 / 2 * (self.sweep - math.sin(self.sweep))

    def at(self, share: float) -> np.ndarray:
        """(2,) point at a share of the way, 0 for the start and 1 for the end."""
        if self.through is None:
            return self.start + share * (self.end - self.start)
        turn = share * self.sweep
        spoke = self.start - self.centre
        cosine, sine = math.cos(turn), math.sin(turn)
        return self.centre + np.array(
            [cosine * spoke[0] - sine * spoke[1], sine * spoke[0] + cosine * spoke[1]]
        )

    def share(self, point: np.ndarray) -> float:
        """Which share of the way a point on it, or on its line or circle, is at."""
        if self.through is None:
            way = self.end - self.start
            return float((point - self.start) @ way / (way @ way))
        a, b = self.start - self.centre, point - self.centre
        turn = math.atan2(_cross(a, b), float(a @ b)) / self.sweep
        # Of the two ways round, the one that ends nearer to the middle of the arc.
        other = turn + math.copysign(math.tau / abs(self.sweep), -turn)
        return min(turn, other, key=lambda share: abs(share - 0.5))

    def heading(self, share: float) -> np.ndarray:
        """(2,) unit vector along it at a share of the way."""
        if self.through is None:
            way = self.end - self.start
            return way / math.hypot(*way)
        spoke = (self.at(share) - self.centre) / self.radius
        return math.copysign(1.0, self.sweep) * np.array([-spoke[1], spoke[0]])

    def part(self, first: float, last: float) -> Stretch:
        """From one share of the way to another."""
        middle = None if self.through is None else self.at((first + last) / 2)
        return Stretch(self.at(first), self.at(last), middle)

    def points(self, deviation: float = CHORD) -> np.ndarray:
        """(n, 2) from its start on, without its end; chords within ``deviation`` mm of an arc."""
        if self.through is None:
            return self.start[None, :]
        step = 2 * math.acos(max(0.5, 1 - deviation / self.radius))
        count = max(2, math.ceil(abs(self.sweep) / step))
        return np.array([self.at(k / count) for k in range(count)])

    def reach(self) -> np.ndarray:
        """(n, 2) points on it whose box is its own."""
        ends = [self.start, self.end]
        if self.through is not None:
            for way in ((1, 0), (0, 1), (-1, 0), (0, -1)):
                point = self.centre + self.radius * np.array(way, dtype=float)
                if 0 < self.share(point) < 1:
                    ends.append(point)
        return np.array(ends)

    def beside(self, apart: float) -> tuple[np.ndarray, np.ndarray | float] | None:
        """The line or circle that runs ``apart`` mm to the left of it.

        A point and a direction (2,) of a line, or the centre and the radius of a circle; None
        where a circle of that radius is none.
        """
        if self.through is None:
            way = self.heading(0)
            return self.start + apart * np.array([-way[1], way[0]]), way
        radius = self.radius - math.copysign(apart, apart * self.sweep)
        return (self.centre, radius) if radius > 0 else None

    def foot(self, point: np.ndarray) -> np.ndarray:
        """(2,) point of its line or circle that is nearest to a point."""
        if self.through is None:
            way = self.heading(0)
            return self.start + way * float((point - self.start) @ way)
        out = point - self.centre
        return self.centre + out * (self.radius / math.hypot(*out))

    @property
    def _through(self) -> np.ndarray:
        assert self.through is not None
        return self.through


def rounded_off(before: Stretch, after: Stretch, radius: float) -> Stretch | None:
    """The arc of ``radius`` mm that touches two stretches near the corner where they meet.

    None where there is none: they run on without a corner, or they turn away too soon.
    """
    corner = after.start
    turn = _cross(before.heading(1), after.heading(0))
    if abs(turn) < 1e-9:
        return None
    apart = math.copysign(radius, turn)
    one, other = before.beside(apart), after.beside(apart)
    if one is None or other is None:
        return None
    middles = _crossings(one, other)
    if not middles:
        return None
    middle = min(middles, key=lambda spot: math.dist(spot, corner))
    start, end = before.foot(middle), after.foot(middle)
    out = start + end - 2 * middle
    return Stretch(start, end, middle + out * (radius / math.hypot(*out)))


Curve = tuple[np.ndarray, np.ndarray | float]


def _crossings(one: Curve, other: Curve) -> list[np.ndarray]:
    """Where two lines or circles meet."""
    (a, way), (b, along) = one, other
    if isinstance(way, np.ndarray) and isinstance(along, np.ndarray):
        return [a + way * (_cross(b - a, along) / _cross(way, along))]
    if isinstance(along, np.ndarray):
        return _crossings(other, one)
    if isinstance(way, np.ndarray):
        foot = a + way * float((b - a) @ way)
        half = along**2 - float((foot - b) @ (foot - b))
        return [] if half < 0 else [foot + s * math.sqrt(half) * way for s in (-1, 1)]
    gap = b - a
    apart = math.hypot(*gap)
    if not apart:
        return []
    reach = (apart**2 + way**2 - along**2) / (2 * apart)
    half = way**2 - reach**2
    unit = gap / apart
    side = np.array([-unit[1], unit[0]])
    return [] if half < 0 else [a + reach * unit + s * math.sqrt(half) * side for s in (-1, 1)]


def _cross(a: np.ndarray, b: np.ndarray) -> float:
    return float(a[0] * b[1] - a[1] * b[0])
