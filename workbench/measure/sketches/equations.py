"""What each reading of a sketch says about where its corners are, as equations with slopes."""

from __future__ import annotations

import math
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from workbench.errors import RepairError
from workbench.measure.repeated_readings import hand_of, hurried
from workbench.measure.sketches.bowed_side import BowedSide
from workbench.measure.sketches.fillets import Arc, middles
from workbench.measure.sketches.sketch import Sketch, Trace
from workbench.measure.sketches.slopes import SQUARE, add_distances, add_spans, add_turns
from workbench.measure.sketches.table_row import STATEMENTS, Row
from workbench.words import _

#: Standard uncertainty that stands in for an exact statement until the corners are near.
_SOFT = {"mm": 0.01, "°": 0.02}

#: A diameter nobody has measured yet, in mm, to start from.
_SOME_DIAMETER = 5.0

#: A side that rises less than this part of the base counts as level.
_LEVEL = 1e-6


@dataclass
class _Terms:
    """Sizes of one sort: the row of each in the table of terms, and the points it is between."""

    rows: list[int] = field(default_factory=list)
    points: list[tuple[int, ...]] = field(default_factory=list)

    def add(self, row: int, *points: int) -> None:
        self.rows.append(row)
        self.points.append(points)

    def columns(self, count: int) -> tuple[np.ndarray, ...]:
        table = np.array(self.points, dtype=np.intp).reshape(-1, count)
        return (np.array(self.rows, dtype=np.intp), *table.T)


class Equations:
    """A sketch as m equations in p unknowns.

    The unknowns are the corners and circles (x, y each), then diameters, then radii of rounded
    corners, then four for the place of a trace and one for each thing that its corners share. The base's left corner stays at the origin and
    its right one level with it: those three are not ``free``.

    names : of the m readings, statements and traced coordinates
    observed : (m,) in mm or degrees
    sigma : (m,) standard uncertainty; for an exact statement what stands in for it at first
    exact : (m,) whether it must hold exactly
    hand : how far two settings of the jaws differ, standard, in mm: as supposed or as repeats tell
    start : (p,) the corners as drawn, to the scale of the readings
    free : (f,) indices of the unknowns that are solved for
    """

    def __init__(self, sketch: Sketch) -> None:
        self.sketch = sketch
        self.hand = hand_of(sketch.rows, sketch.setting)
        self.points = [*sketch.corners, *sketch.circles]
        self._index = {name: i for i, name in enumerate(self.points)}
        radii = [row.where for row in sketch.rows if row.kind == "radius"]
        self.rounded = list(dict.fromkeys(where[0] for where in radii if len(where) == 1))
        self.count = 2 * len(self.points)
        self._scalars = {("diameter", name): i for i, name in enumerate(sketch.circles)}
        for name in self.rounded:
            self._scalars["radius", name] = len(self._scalars)
        sized = [r for r in sketch.rows if r.kind in ("radius", "rise") and len(r.where) == 2]
        for row in sorted(sized, key=lambda row: row.kind == "radius"):
            kind, name = self._sized(row.kind, row.where)
            if ("rise of side", name) not in self._scalars:  # its radius follows from that
                self._scalars.setdefault((kind, name), len(self._scalars))
        for name in sketch.bows if sketch.trace is None and self._spanned(sketch.rows) else ():
            # What no radius or rise tells of an arc, a reading across it may.
            if all((f"{kind} of side", name) not in self._scalars for kind in ("radius", "rise")):
                self._scalars["rise of side", name] = len(self._scalars)
        self._spots = np.array([*sketch.corners.values(), *sketch.circles.values()], dtype=float)
        self._arcs = self._rounded_corners()
        self._bowed = [self._bowed_side(name, bow) for name, bow in sketch.bows.items()]
        shared = sketch.trace.ways if sketch.trace is not None else ()
        #: (k, n, 2) mm by which what the traced corners share may have moved them.
        self._ways = np.array(
            [[way.get(name, (0.0, 0.0)) for name in sketch.corners] for way in shared]
        ).reshape(len(shared), len(sketch.corners), 2)
        self._compile(sketch.rows, sketch.trace)
        self._start(sketch)

    def asking(self, rows: Sequence[Row]) -> Equations:
        """The same unknowns, asked for other sizes than those that were read."""
        other = copy(self)
        other._compile(rows, None)
        return other

    def widened(self, share: float) -> Equations:
        """The same equations with every reading less sure by a factor."""
        other = copy(self)
        other.sigma = self.sigma * share
        return other

    @cached_property
    def hurry(self) -> float:
        """By how much readings as a whole may be less sure than supposed, for a hurried hand.

        The hand is supposed where no uncertainty is given; repeats tell it.
        """
        rows = [row for row in self.sketch.rows if not row.exact]
        calm = [row.sigma(self.hand) for row in rows]
        most = hurried(self.sketch.rows, self.hand)
        fast = [row.sigma(most) for row in rows]
        shares = [f / c for f, c in zip(fast, calm, strict=True)]
        return float(np.median(shares)) if shares else 1.0

    # -- building ----------------------------------------------------------------------------

    def _compile(self, rows: Sequence[Row], trace: Trace | None) -> None:
        sketch = self.sketch
        self._trace_known = trace is not None
        self._distances, self._spans, self._turns = _Terms(), _Terms(), _Terms()
        self._extents: list[tuple[int, int, int, int]] = []
        self._rounds: list[tuple[int, int, int, int]] = []
        self._linear: list[tuple[int, int, float]] = []
        self._mix: list[tuple[int, int, float]] = []
        self._terms = 0
        observed: list[float] = []
        for i, row in enumerate(rows):
            observed.append(self._row(i, row))
        names = [row.name for row in rows]
        sigma = [row.sigma(self.hand) or _SOFT[row.measures] for row in rows]
        exact = [row.exact for row in rows]
        degrees = [row.measures == "°" for row in rows]
        self._traced = len(names)
        if trace is not None:
            for name, spot in sketch.corners.items():
                names += [
                    _("trace of {corner} across").format(corner=name),
                    _("trace of {corner} up").format(corner=name),
                ]
                observed += spot
            names.append(_("scale of the trace"))
            observed.append(1.0)
            shared = len(self._ways)
            names += [
                _("what the picture leaves open ({n})").format(n=n + 1) for n in range(shared)
            ]
            observed += [0.0] * shared
            traced = len(observed) - self._traced
            sigma += [trace.uncertainty] * (traced - 1 - shared) + [trace.scale] + [1.0] * shared
            exact += [False] * traced
            degrees += [False] * traced
        self.names = names
        self.observed = np.array(observed, dtype=float)
        self.sigma = np.array(sigma, dtype=float)
        self.exact = np.array(exact, dtype=bool)
        self.degrees = np.array(degrees, dtype=bool)
        self._freeze()

    def _freeze(self) -> None:
        self._distances_at = self._distances.columns(2)
        self._spans_at = self._spans.columns(5)
        self._turns_at = self._turns.columns(4)
        scalars = len(self._scalars)
        self._fixed = np.zeros((self._terms, scalars))
        for row, scalar, slope in self._linear:
            self._fixed[row, scalar] += slope
        self._mixing = np.zeros((self._traced, self._terms))
        for row, term, sign in self._mix:
            self._mixing[row, term] += sign
        # One term a reading, in order, is by far the commonest: then only signs are needed.
        plain = [(row, term) for row, term, _sign in self._mix]
        self._signs = (
            np.array([sign for *_rest, sign in self._mix])
            if plain == [(i, i) for i in range(self._traced)]
            else None
        )

    def _row(self, i: int, row: Row) -> float:
        """Add the terms of a reading; returns what was observed, signs settled as drawn."""
        if row.kind == "sum":
            for sign, kind, where in row.terms:
                self._length(i, kind, where, row.rim, float(sign))
            return row.value
        if row.kind in ("angle", *STATEMENTS):
            return self._statement(i, row)
        as_drawn = row.value >= 0
        self._length(i, row.kind, row.where, row.rim, 1.0, as_drawn)
        return row.value

    def _length(
        self,
        i: int,
        kind: str,
        where: tuple[str, ...],
        rim: str,
        sign: float,
        as_drawn: bool = True,
    ) -> None:
        if kind in ("radius", "rise", "diameter"):
            sized = self._sized(kind, where)
            rise = self._scalars.get(("rise of side", sized[1]))
            if sized not in self._scalars and rise is not None:
                start, end = (self._index[name] for name in where)
                self._rounds.append((self._term(i, sign), start, end, rise))
                return
            if sized not in self._scalars:
                raise RepairError(
                    _("nothing is known of {kind} {where}; read it first").format(
                        kind=_(kind), where=" ".join(where)
                    )
                )
            self._linear.append((self._term(i, sign), self._scalar(*sized), 1.0))
            return
        if kind.startswith("overall"):
            a, b = where or self.sketch.base
            upright = int(kind == "overall height")
            self._extents.append((self._term(i, sign), self._index[a], self._index[b], upright))
            return
        if kind in ("height", "offset"):
            self._span(i, kind, where, rim, sign, as_drawn)
            return
        term = self._term(i, sign)
        self._distances.add(term, self._index[where[0]], self._index[where[1]])
        self._add_rims(term, where, rim, 1.0)

    def _span(
        self, i: int, kind: str, where: tuple[str, ...], rim: str, sign: float, as_drawn: bool
    ) -> None:
        point, a, b = (self._index[name] for name in where)
        upright = kind == "height"
        edge = self._spots[b] - self._spots[a]
        across = edge @ SQUARE.T if upright else edge
        side = -1.0 if as_drawn and (self._spots[point] - self._spots[a]) @ across < 0 else 1.0
        term = self._term(i, sign * side)
        arc = self._arcs.get(where[0])
        if upright and arc is not None and arc.convex:
            # The jaws rest on the round, not on the sharp corner that is no longer there.
            self._linear.append((term, arc.radius - self.count, side))
            point = arc.middle
        self._spans.add(term, a, point, a, b, int(upright))
        self._add_rims(term, where[:1], rim, side)

    def _add_rims(self, term: int, where: tuple[str, ...], rim: str, side: float) -> None:
        reach = {"near": -0.5, "far": 0.5, "centre": 0.0}[rim]
        for name in where:
            if name in self.sketch.circles and reach:
                self._linear.append((term, self._scalar("diameter", name), side * reach))

    def _statement(self, i: int, row: Row) -> float:
        if row.kind == "equal":
            for sign, pair in ((1.0, row.where[:2]), (-1.0, row.where[2:])):
                self._length(i, "distance", pair, "centre", sign)
            return 0.0
        if row.kind == "in line":
            point, a, b = (self._index[name] for name in row.where)
            self._spans.add(self._term(i, 1.0), a, point, a, b, 1)
            return 0.0
        lines = [self._index[name] for name in self._lines(row)]
        a, b, c, d = lines
        one, other = self._spots[b] - self._spots[a], self._spots[d] - self._spots[c]
        drawn = math.degrees(math.atan2(one @ SQUARE.T @ other, one @ other))
        if row.kind == "angle":
            inside = len(row.where) == 1 or drawn >= 0
            self._turns.add(self._term(i, 1.0 if inside else -1.0), *lines)
            return row.value
        self._turns.add(self._term(i, 1.0), *lines)
        if row.kind == "parallel":
            return 0.0 if abs(drawn) <= 90 else 180.0
        return 90.0 if drawn >= 0 else -90.0

    def _lines(self, row: Row) -> tuple[str, ...]:
        """The two lines, from and to, that an angle or a statement turns between."""
        if len(row.where) == 4:
            return row.where
        if len(row.where) == 3:
            a, b, c = row.where
            return b, a, b, c
        (b,) = row.where
        before, after = self.sketch.neighbours(b)
        if not self.sketch.anticlockwise:
            before, after = after, before
        return b, after, b, before

    def _sized(self, kind: str, where: tuple[str, ...]) -> tuple[str, str]:
        """What a radius, a rise or a diameter is of: a corner, a circle or a side."""
        side = len(where) == 2
        return (f"{kind} of side", self.sketch.side_of(*where)) if side else (kind, where[0])

    def _scalar(self, kind: str, name: str) -> int:
        return self._scalars[kind, name]

    def _term(self, row: int, sign: float) -> int:
        self._mix.append((row, self._terms, sign))
        self._terms += 1
        return self._terms - 1

    @staticmethod
    def _spanned(rows: Sequence[Row]) -> bool:
        """Whether any reading is across the whole outline."""
        kinds = [*(row.kind for row in rows), *(kind for row in rows for _s, kind, _w in row.terms)]
        return any(kind.startswith("overall") for kind in kinds)

    def _bowed_side(self, name: str, bow: float) -> BowedSide:
        start, end = self._index[name], self._index[self.sketch.neighbours(name)[1]]
        told = [k for k in ("rise", "radius") if (f"{k} of side", name) in self._scalars]
        scalar = self._scalars[f"{told[0]} of side", name] if told else None
        outward = 1.0 if self.sketch.anticlockwise else -1.0
        return BowedSide(start, end, bow * outward, told[:1] == ["radius"], scalar)

    def _rounded_corners(self) -> dict[str, Arc]:
        arcs = {}
        turn = 1 if self.sketch.anticlockwise else -1
        for k, name in enumerate(self.rounded):
            before, after = (self._index[n] for n in self.sketch.neighbours(name))
            i = self._index[name]
            one, other = self._spots[after] - self._spots[i], self._spots[before] - self._spots[i]
            bend = float(one[0] * other[1] - one[1] * other[0])
            arcs[name] = Arc(
                i,
                before,
                after,
                self.count + self._scalars["radius", name],
                len(self.points) + k,
                bend * turn > 0,
            )
        return arcs

    def _start(self, sketch: Sketch) -> None:
        a, b = (self._index[name] for name in sketch.base)
        along = self._spots[b] - self._spots[a]
        unit = along / math.hypot(*along)
        drawn = (self._spots - self._spots[a]) @ np.array([unit, unit @ SQUARE.T]).T
        scalars = np.array([self._first_guess(*key) for key in self._scalars])
        trace = [unit[0], unit[1], *self._spots[a]] if sketch.trace is not None else []
        trace += [0.0] * len(self._ways)
        held = {2 * a, 2 * a + 1, 2 * b + 1}
        self.size = self.count + len(scalars) + len(trace)
        self.free = np.array([i for i in range(self.size) if i not in held], dtype=np.intp)
        self.start = np.concatenate([drawn.ravel(), scalars, trace])
        if sketch.trace is None:
            self.start[: self.count] *= self._scale()
        for side in self._bowed:
            if side.scalar is not None and scalars[side.scalar] == 0:
                chord = self.start[: self.count].reshape(-1, 2)[[side.start, side.end]]
                rise = abs(side.bow) * math.dist(*chord) / 2
                self.start[self.count + side.scalar] = rise
        self.reach = float(np.ptp(self.start[: self.count].reshape(-1, 2), axis=0).max())

    def _first_guess(self, kind: str, name: str) -> float:
        for row in self.sketch.rows:
            if row.kind in ("radius", "rise", "diameter") and self._sized(row.kind, row.where) == (
                kind,
                name,
            ):
                return row.value
        return 0.0 if kind == "rise of side" else _SOME_DIAMETER

    def _scale(self) -> float:
        """What the drawing must be multiplied by to be as large as the readings say."""
        fitted, _slopes = self.evaluate(self.start)
        lengths = ~self.degrees & (self.observed > 0) & (fitted > 1e-9)
        if not lengths.any():
            return 1.0
        return float(np.median(self.observed[lengths] / fitted[lengths]))

    # -- evaluating --------------------------------------------------------------------------

    def evaluate(self, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """What the readings would be, and their slopes, if the unknowns were x.

        x : (p,) unknowns in mm

        Returns
        fitted : (m,) in mm or degrees
        slopes : (m, p) of each fitted reading by each unknown
        """
        spots = x[: self.count].reshape(-1, 2)
        if self._arcs:
            centres, slopes_of_centres = middles(list(self._arcs.values()), x)
            spots = np.concatenate([spots, centres])
        scalars = x[self.count : self.count + len(self._scalars)]
        values = self._fixed @ scalars
        slopes = np.zeros((self._terms, 2 * len(spots)))
        by_scalar = self._fixed.copy() if self._extents or self._rounds else self._fixed
        add_distances(self._distances_at, spots, values, slopes)
        add_spans(self._spans_at, spots, values, slopes)
        add_turns(self._turns_at, spots, values, slopes)
        for extent in self._extents:
            self._add_extent(extent, spots, scalars, values, slopes, by_scalar)
        for term, start, end, scalar in self._rounds:
            chord, rise = spots[end] - spots[start], max(scalars[scalar], 1e-9)
            values[term] = float(chord @ chord) / (8 * rise) + rise / 2
            slopes[term, 2 * end : 2 * end + 2] += chord / (4 * rise)
            slopes[term, 2 * start : 2 * start + 2] -= chord / (4 * rise)
            by_scalar[term, scalar] += 1 - values[term] / rise
        whole = np.zeros((self._terms, self.size))
        whole[:, : self.count] = slopes[:, : self.count]
        whole[:, self.count : self.count + len(scalars)] = by_scalar
        if self._arcs:
            whole += slopes[:, self.count :] @ slopes_of_centres
        if self._signs is not None:
            values, whole = self._signs * values, self._signs[:, None] * whole
        else:
            values, whole = self._mixing @ values, self._mixing @ whole
        if self._trace_known:
            traced, slopes_of_trace = self._trace(x)
            values = np.concatenate([values, traced])
            whole = np.concatenate([whole, slopes_of_trace])
        return values, whole

    def misfit(self, fitted: np.ndarray) -> np.ndarray:
        """(m,) observed minus fitted; angles the short way round."""
        rest = self.observed - fitted
        rest[self.degrees] = (rest[self.degrees] + 180.0) % 360.0 - 180.0
        return rest

    def _add_extent(
        self,
        extent: tuple[int, int, int, int],
        spots: np.ndarray,
        scalars: np.ndarray,
        values: np.ndarray,
        slopes: np.ndarray,
        by_scalar: np.ndarray,
    ) -> None:
        """How far the outline reaches along or square to a b; rounds count as they are."""
        row, a, b, upright = extent
        edge = spots[b] - spots[a]
        length = max(math.hypot(*edge), 1e-12)
        unit = edge / length
        across = unit @ SQUARE.T if upright else unit
        touched = np.arange(len(self.sketch.corners))
        bulge = np.zeros(len(touched))
        sharp = spots[: len(touched)] @ across
        tops, feet = np.zeros(len(touched)), np.zeros(len(touched))
        for arc in self._arcs.values():
            if arc.convex:
                touched[arc.corner] = arc.middle
                bulge[arc.corner] = scalars[arc.radius - self.count]
                # A round reaches furthest only where both its sides lead back from there.
                beside = sharp[[arc.before, arc.after]] - sharp[arc.corner]
                tops[arc.corner] = -np.inf if beside.max() > _LEVEL * length else 0.0
                feet[arc.corner] = np.inf if beside.min() < -_LEVEL * length else 0.0
        along = spots[touched] @ across
        far, near = int((along + bulge + tops).argmax()), int((along - bulge + feet).argmin())
        ends = []
        for way, corner in ((1.0, far), (-1.0, near)):
            reach = way * float(along[corner]) + float(bulge[corner])
            bowed = max(
                (one for side in self._bowed if (one := side.reach(spots, scalars, way * across))),
                key=lambda one: one.reach,
                default=None,
            )
            if bowed is not None and bowed.reach > reach:
                values[row] += bowed.reach
                ends.append(bowed.touches)
                slopes[row, bowed.columns] += bowed.slopes
                if bowed.scalar is not None:
                    by_scalar[row, bowed.scalar] += bowed.by_scalar
                continue
            values[row] += reach
            point = touched[corner]
            ends.append(spots[point])
            slopes[row, 2 * point : 2 * point + 2] += way * across
            if point != corner:
                by_scalar[row, self._arcs[self.points[corner]].radius - self.count] += 1.0
        gap = ends[0] - ends[1]
        by_edge = ((-gap @ SQUARE.T if upright else gap) - float(gap @ across) * unit) / length
        slopes[row, 2 * b : 2 * b + 2] += by_edge
        slopes[row, 2 * a : 2 * a + 2] -= by_edge

    def _trace(self, x: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Where the trace would show the corners: turned, shifted and to its own scale."""
        corners, shared = len(self.sketch.corners), len(self._ways)
        spots = x[: 2 * corners].reshape(-1, 2)
        pose = slice(self.size - shared - 4, self.size - shared)
        a, b, right, up = x[pose]
        amounts = x[self.size - shared :]
        turn = np.array([[a, -b], [b, a]])
        seen = spots @ turn.T + (right, up) + np.tensordot(amounts, self._ways, 1)
        scale = math.hypot(a, b)
        values = np.concatenate([seen.ravel(), [scale], amounts])
        slopes = np.zeros((2 * corners + 1 + shared, self.size))
        for i, (px, py) in enumerate(spots):
            rows = slice(2 * i, 2 * i + 2)
            slopes[rows, rows] = turn
            slopes[rows, pose] = [[px, -py, 1, 0], [py, px, 0, 1]]
        slopes[2 * corners, pose.start : pose.start + 2] = np.array([a, b]) / max(scale, 1e-12)
        slopes[: 2 * corners, pose.stop :] = self._ways.reshape(shared, 2 * corners).T
        slopes[2 * corners + 1 :, pose.stop :] = np.eye(shared)
        return values, slopes

    def size_of_arc(self, name: str) -> int | None:
        """Which unknown tells the arc that starts at a corner, or None where nothing is read of it."""
        for kind in ("rise of side", "radius of side"):
            if (kind, name) in self._scalars:
                return self.count + self._scalars[kind, name]
        return None

    def arc_sizes(self, x: np.ndarray) -> dict[str, dict[str, float]]:
        """Of each side that is an arc, by the corner that it starts from: its radius or its rise."""
        sizes: dict[str, dict[str, float]] = {}
        for (kind, name), i in self._scalars.items():
            if kind.endswith(" of side"):
                sizes.setdefault(name, {})[kind.split()[0]] = float(x[self.count + i])
        return sizes

    def arc_of(self, x: np.ndarray) -> dict[str, tuple[np.ndarray, float]]:
        """Middle (2,) and radius of each rounded corner, in mm."""
        if not self._arcs:
            return {}
        centres, _slopes = middles(list(self._arcs.values()), x)
        return {
            name: (centres[k], float(x[arc.radius]))
            for k, (name, arc) in enumerate(self._arcs.items())
        }
