"""A sketch: corners as drawn on paper, and what the calipers said between them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import count as counted
from itertools import islice
from typing import Any

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline, signed_area
from workbench.measure.outlines.stretch import Stretch
from workbench.measure.reading import SETTING
from workbench.measure.sketches.corners import drawn_at, names_of, point_name
from workbench.measure.sketches.table_row import (
    Row,
    Term,
    check_kind,
    check_row,
    in_words,
    read_values,
    split_sum,
    sum_text,
)
from workbench.words import _

#: An arc that rises further than this over half its chord is nearly a whole circle.
_MOST_BOWED = 100.0


@dataclass(frozen=True)
class Trace:
    """That the corners are drawn to scale, as a scan or a photo gave them.

    uncertainty : of each corner's place, standard, in mm
    scale : relative standard uncertainty of the scale, the same for all corners
    ways : what else all corners share, such as how far the edges are broken: for each such thing,
        (x, y) in mm by which it may have moved each corner, standard
    """

    uncertainty: float
    scale: float = 0.01
    ways: tuple[Mapping[str, tuple[float, float]], ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """Plain data, without what is as usual."""
        data: dict[str, Any] = {"uncertainty": self.uncertainty, "scale": self.scale}
        if self.ways:
            data["ways"] = [{name: list(off) for name, off in way.items()} for way in self.ways]
        return data

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Trace:
        ways = tuple(
            {str(name): (float(x), float(y)) for name, (x, y) in way.items()}
            for way in data.get("ways", ())
        )
        return cls(float(data["uncertainty"]), float(data.get("scale", 0.01)), ways)


@gate.asked
class Sketch:
    """Corners with names, not to scale, and readings between them.

    corners : name -> (x, y) as drawn, in order round the outline, either way round
    setting : how far two settings of the jaws differ, standard, in mm; 0 if it is known that
        the instrument's step is all the doubt there is
    trace : where the corners come from a scan: how well they are known

    Each edit changes the sketch in place and returns it; a refused edit changes nothing.

    >>> sketch = Sketch({"A": (0, 0), "B": (30, 0), "C": (30, 20)})
    >>> sketch.read("side", "A B", 40).read("side", "BC", "30,0 mm").read("square", "B")
    Sketch(3 corners, 3 readings)
    >>> sketch.read("side", "A D", 50)
    Traceback (most recent call last):
    workbench.errors.RepairError: side A D: there is no corner 'D'; corners: A, B, C
    """

    def __init__(
        self,
        corners: Mapping[str, tuple[float, float]] | None = None,
        setting: float = SETTING,
        trace: Trace | None = None,
    ) -> None:
        self.corners: dict[str, tuple[float, float]] = {}
        self.circles: dict[str, tuple[float, float]] = {}
        self.bows: dict[str, float] = {}
        self.rows: tuple[Row, ...] = ()
        self.trace = trace
        if trace is not None:
            gate.needed(trace, Trace, "trace", "Trace(0.2)")
        if not (isinstance(setting, (int, float)) and math.isfinite(setting) and setting >= 0):
            raise RepairError(
                _("setting is {value!r} mm; give 0 or more, such as 0.02").format(value=setting)
            )
        self.setting = float(setting)
        for spot in _spots(corners or {}):
            self.corner(*spot)

    def __repr__(self) -> str:
        return f"Sketch({len(self.corners)} corners, {len(self.rows)} readings)"

    def __str__(self) -> str:
        return "\n".join(str(row) for row in self.rows) or repr(self)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sketch) and self.to_dict() == other.to_dict()

    __hash__ = None  # type: ignore[assignment]

    # -- edits -------------------------------------------------------------------------------

    def corner(self, name: str, x: float, y: float) -> Sketch:
        """Draw the next corner round the outline, or move one that is there."""
        self.corners[point_name(name, self.circles)] = drawn_at(name, x, y, self.corners)
        return self

    def circle(self, name: str, x: float, y: float) -> Sketch:
        """Draw a hole or a round boss by its middle, or move one that is there."""
        self.circles[point_name(name, self.corners)] = drawn_at(name, x, y, self.circles)
        return self

    def arc(self, side: str | Iterable[str], bow: float = 0.3) -> Sketch:
        """Draw a side as an arc; it takes a radius or a rise to say how large it is.

        side : the corners at its ends, such as "A B"
        bow : how far it rises from the straight line, as a share of half that line: above 0
            where it bulges out of the part, below 0 where it bulges in, above 1 for more than
            half a circle. Only a trace's is to scale

        >>> lens = Sketch({"A": (0, 0), "B": (40, 0), "C": (40, 20), "D": (0, 20)}).arc("B C")
        >>> lens.bows
        {'B': 0.3}
        """
        a, b = self._names("side", side)
        if not (isinstance(bow, (int, float)) and 0 < abs(bow) < _MOST_BOWED):
            raise RepairError(
                _(
                    "the arc {a} {b} bows by {bow}; give a share of half its width, such as 0.3 out or -0.3 in"
                ).format(a=a, b=b, bow=bow)
            )
        self.bows[self.side_of(a, b)] = float(bow)
        return self

    def erase(self, name: str) -> Sketch:
        """Take a corner or a circle out of the drawing; refused while a reading names it."""
        if name not in self.corners and name not in self.circles:
            raise self._no_corner(name)
        named = [
            row.name
            for row in self.rows
            if name in row.where or any(name in where for _sign, _kind, where in row.terms)
        ]
        if named:
            raise RepairError(
                _("{name} is in {readings}; remove these first").format(
                    name=name, readings=", ".join(named)
                )
            )
        if name in self.corners:
            self.bows.pop(name, None)
            self.bows.pop(self.neighbours(name)[0], None)
        (self.corners if name in self.corners else self.circles).pop(name)
        return self

    def read(
        self,
        kind: str,
        where: str | Iterable[str] = "",
        value: Any = None,
        *,
        instrument: str | None = None,
        unit: str | None = None,
        uncertainty: float | None = None,
        rim: str = "near",
        name: str | None = None,
    ) -> Sketch:
        """Add a reading, or a statement that needs no value.

        ::

              D .-----------. C       side        A B            between neighbours
               /|          / \\       diagonal    A C
              / | height  /   \\      height      D over A B     square to the line A B
             /  |        /     \\     offset      D along A B    from A to below D
          A '---+-------'-------' B   angle       B              inside, in degrees
            offset

        kind : a reading: side, diagonal, distance (also between holes), height, offset,
            overall width, overall height (along and square to a side, the lowest as drawn
            unless given), angle (one corner: inside the outline; three: at the middle one),
            radius (of a rounded corner, or of a side drawn as an arc), rise (how far such a
            side rises over the straight line between its ends), diameter, sum; or a
            statement: parallel, square, equal, in line
        where : corners and circles by name: "A B", "AB", "C over A B", ("A", "B"); for a sum
            "side A B plus offset C along A B"; take one away with "minus"
        value : number, text ("1 3/8 in"), several of them, or a Reading; none for a statement
        instrument, unit : of values that name none
        uncertainty : standard, in mm or degrees, if you know it; it softens a statement
        rim : of a hole: "near" or "far" side or "centre"
        name : for messages; made from kind and place unless given

        Raises RepairError naming the reading and what is wrong with its place, value or unit.
        """
        label, names, terms = self._place(kind, where)
        label = name or label
        values, unit, instrument = read_values(label, kind, value, instrument, unit)
        return self._take(
            Row(label, kind, names, values, instrument, unit, uncertainty, rim, terms)
        )

    def change(
        self,
        name: str,
        value: Any = None,
        *,
        instrument: str | None = None,
        unit: str | None = None,
        uncertainty: float | None = None,
        rim: str | None = None,
    ) -> Sketch:
        """Read again: what is given replaces what there was, in the same place."""
        old = self.row(name)
        row = replace(
            old,
            instrument=instrument or old.instrument,
            uncertainty=old.uncertainty if uncertainty is None else uncertainty,
            rim=rim or old.rim,
        )
        if value is not None:
            values, unit, instrument = read_values(name, old.kind, value, row.instrument, unit)
            row = replace(row, values=values, unit=unit, instrument=instrument)
        check_row(row)
        self.rows = tuple(row if other is old else other for other in self.rows)
        return self

    def remove(self, name: str) -> Sketch:
        """Take a reading or a statement out."""
        self.row(name)
        self.rows = tuple(row for row in self.rows if row.name != name)
        return self

    def without(self, *names: str) -> Sketch:
        """A copy that lacks these readings."""
        other = self.copy()
        for name in names:
            other.remove(name)
        return other

    def copy(self) -> Sketch:
        """An independent sketch with the same data."""
        other = Sketch(self.corners, self.setting, self.trace)
        other.circles, other.bows = dict(self.circles), dict(self.bows)
        other.rows = self.rows
        return other

    def drawn_as(self, spots: Mapping[str, np.ndarray]) -> Sketch:
        """A copy drawn with its corners and circles elsewhere, such as one of two shapes that fit.

        Its readings stay as they are meant: those along the lowest side name it where another
        side now lies lowest.
        """
        other = self.copy()
        for drawn in (other.corners, other.circles):
            drawn |= {n: drawn_at(n, x, y, {}) for n, x, y in _spots(spots) if n in drawn}
        if other.base != self.base:
            other.rows = tuple(_along(row, self.base) for row in self.rows)
        return other

    # -- questions ---------------------------------------------------------------------------

    def row(self, name: str) -> Row:
        """The reading called ``name``, or RepairError listing those there are."""
        for row in self.rows:
            if row.name == name:
                return row
        names = (row.name for row in self.rows)
        raise gate.unknown(_("there is no reading {name!r}; readings: {known}"), name, names)

    @property
    def base(self) -> tuple[str, str]:
        """The side that lies lowest as drawn, its left end first."""
        names = list(self.corners)
        sides = zip(names, [*names[1:], *names[:1]], strict=True)

        def low(side: tuple[str, str]) -> float:
            return self.corners[side[0]][1] + self.corners[side[1]][1]

        a, b = min(sides, key=low)
        return (a, b) if self.corners[a][0] <= self.corners[b][0] else (b, a)

    @property
    def anticlockwise(self) -> bool:
        """Which way round the corners are drawn."""
        return signed_area(np.array(list(self.corners.values()))) >= 0

    def ring(self) -> np.ndarray:
        """(n, 2) points round the outline as drawn, an arc as chords."""
        outward = 1.0 if self.anticlockwise else -1.0
        stretches = []
        for name, spot in self.corners.items():
            start, end = np.array(spot), np.array(self.corners[self.neighbours(name)[1]])
            bow = self.bows.get(name)
            stretches.append(
                Stretch(start, end) if bow is None else Stretch.bowed(start, end, bow * outward)
            )
        return np.concatenate([stretch.points() for stretch in stretches])

    def neighbours(self, name: str) -> tuple[str, str]:
        """The corners before and after one."""
        names = list(self.corners)
        if name not in names:
            raise self._no_corner(name)
        i = names.index(name)
        return names[i - 1], names[(i + 1) % len(names)]

    # -- the record --------------------------------------------------------------------------

    def to_dict(self) -> dict[str, Any]:
        """Plain data, from which :meth:`from_dict` makes an equal sketch."""
        data: dict[str, Any] = {
            "corners": {name: list(spot) for name, spot in self.corners.items()},
            "setting": self.setting,
            "readings": [row.to_dict() for row in self.rows],
        }
        if self.circles:
            data["circles"] = {name: list(spot) for name, spot in self.circles.items()}
        if self.bows:
            data["arcs"] = dict(self.bows)
        if self.trace is not None:
            data["trace"] = self.trace.to_dict()
        return data

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Sketch:
        """Read a sketch back; RepairError says which line of it is damaged."""
        line = "corners"
        try:
            trace = Trace.from_dict(data["trace"]) if data.get("trace") else None
            sketch = cls(data["corners"], data.get("setting", SETTING), trace)
            for name, (x, y) in data.get("circles", {}).items():
                sketch.circle(name, x, y)
            for name, bow in data.get("arcs", {}).items():
                sketch.arc((name, sketch.neighbours(name)[1]), bow)
            for count, given in enumerate(data.get("readings", ()), 1):
                line = f"readings {count}"
                sketch._take(sketch._placed(Row.from_dict(given)))
        except RepairError:
            raise
        except (KeyError, TypeError, ValueError, AttributeError):
            raise RepairError(
                _("sketch is damaged at {line}; enter that line again").format(line=line)
            ) from None
        return sketch

    # -- checking ----------------------------------------------------------------------------

    def _take(self, row: Row) -> Sketch:
        check_row(row)
        if any(other.name == row.name for other in self.rows):
            raise RepairError(
                _("there is already a reading {name!r}; add to its values or rename one").format(
                    name=row.name
                )
            )
        self.rows = (*self.rows, row)
        return self

    def _placed(self, row: Row) -> Row:
        """The row, its place checked: for one that comes from a record."""
        where = sum_text(row.terms) if row.terms else row.where
        label, names, terms = self._place(row.kind, where)
        return replace(row, where=names, terms=terms, name=row.name or label)

    def _place(
        self, kind: str, where: str | Iterable[str]
    ) -> tuple[str, tuple[str, ...], tuple[Term, ...]]:
        """A free name for a row, the corners it names and the terms of a sum."""
        check_kind(kind)
        if kind == "sum":
            text = where if isinstance(where, str) else " ".join(where)
            terms = tuple((sign, k, self._names(k, place)) for sign, k, place in split_sum(text))
            return self._free_name(sum_text(terms)), (), terms
        names = self._names(kind, where)
        return self._free_name(in_words(kind, names)), names, ()

    def _free_name(self, base: str) -> str:
        taken = {row.name for row in self.rows}
        label, count = base, 2
        while label in taken:
            label, count = f"{base} ({count})", count + 1
        return label

    def _names(self, kind: str, where: str | Iterable[str]) -> tuple[str, ...]:
        names = names_of(kind, where, list(self.corners), list(self.circles))
        if kind == "rise" or (kind == "radius" and len(names) == 2):
            self._refuse_straight(*names)
        return names

    def _no_corner(self, name: Any) -> RepairError:
        names = [*self.corners, *self.circles]
        return gate.unknown(_("there is no corner {name!r}; corners: {known}"), name, names)

    def _refuse_straight(self, a: str, b: str) -> None:
        if self.side_of(a, b) not in self.bows:
            raise RepairError(
                _("side {a} {b} is drawn straight; draw it as an arc first, out or in").format(
                    a=a, b=b
                )
            )

    def side_of(self, a: str, b: str) -> str:
        """Which of two neighbours the side between them starts from."""
        names_of("side", (a, b), list(self.corners), ())
        return a if self.neighbours(a)[1] == b else b


@gate.asked
def sketch_of(
    outline: Outline,
    names: Iterable[str] | None = None,
    uncertainty: float | None = None,
    scale: float = 0.01,
    ways: Iterable[np.ndarray] = (),
) -> Sketch:
    """A sketch with the corners of an outline that was traced or typed in.

    outline : its corners are drawn as they are, and its arcs; a rounded corner becomes an arc
        between two
    names : of the corners in order; A, B, C ... unless given
    uncertainty : of each corner's place, standard, in mm, if the outline was traced: the
        trace then counts as a reading of every corner, and caliper readings correct it
    scale : relative standard uncertainty of the trace's scale: two caliper readings pull the
        whole trace to size
    ways : what else the corners share, as (n, 2) mm by which it may have moved them, standard;
        readings settle it as well
    """
    path = gate.needed(outline, Outline, _("outline"), "Outline([(0, 0), (30, 0), (0, 20)])").path
    if len(path) < 3:
        # Two corners leave nothing to measure across: each arc gets one in its middle.
        path = tuple(
            half
            for stretch in path
            for half in (
                [stretch]
                if stretch.through is None
                else [stretch.part(0, 1 / 2), stretch.part(1 / 2, 1)]
            )
        )
    gate.positive("scale", scale, length=False)
    labels = list(names) if names is not None else corner_names(len(path))
    if len(labels) != len(path):
        raise RepairError(
            _("{given} names for {count} corners; give one for each").format(
                given=len(labels), count=len(path)
            )
        )
    starts = {n: (float(s.start[0]), float(s.start[1])) for n, s in zip(labels, path, strict=True)}
    if len(starts) != len(labels):
        raise RepairError(_("two corners have the same name; give each its own"))
    sketch = Sketch(starts)
    sketch.bows = {n: s.bow for n, s in zip(labels, path, strict=True) if s.through is not None}
    if uncertainty is None:
        return sketch
    gate.positive("uncertainty", uncertainty)
    shared = tuple(
        {
            name: (round(float(x), 5), round(float(y), 5))
            for name, (x, y) in zip(labels, way, strict=True)
        }
        for way in ways
    )
    sketch.trace = Trace(float(uncertainty), float(scale), shared)
    return sketch


def corner_names(count: int) -> list[str]:
    """The first ``count`` of :func:`letters`.

    >>> corner_names(10)
    ['A', 'B', 'C', 'D', 'E', 'F', 'G', 'H', 'J', 'K']
    """
    return list(islice(letters(), count))


def letters() -> Iterator[str]:
    """A, B ... Z, A1, B1 ...: without I and O, which look like digits."""
    for turn in counted():
        for letter in "ABCDEFGHJKLMNPQRSTUVWXYZ":
            yield letter + (str(turn) if turn else "")


def _spots(given: Any) -> list[tuple[Any, Any, Any]]:
    """Names and where each is drawn, or RepairError where they are something else."""
    try:
        return [(name, x, y) for name, (x, y) in dict(given).items()]
    except (TypeError, ValueError):
        raise RepairError(
            _('corners are names with two numbers each, such as {{"A": (0, 0)}}').format()
        ) from None


def _along(row: Row, base: tuple[str, str]) -> Row:
    """The row with the lowest side named where an overall size only implies it."""

    def named(kind: str, where: tuple[str, ...]) -> tuple[str, ...]:
        return base if kind.startswith("overall") and not where else where

    terms = tuple((sign, kind, named(kind, where)) for sign, kind, where in row.terms)
    return replace(row, where=named(row.kind, row.where), terms=terms)
