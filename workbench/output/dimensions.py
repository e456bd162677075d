"""Which sizes a drawing gives, and between which points: each step's own, its place, and the whole."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from workbench.measure.reading import Reading
from workbench.output.features import Features, Meaning, Round, Span, Turn, features, meaning
from workbench.output.views import Direction
from workbench.solids import catalogue
from workbench.solids.build import Assembly, frame
from workbench.solids.parameters import Flag, Size
from workbench.solids.repair import At, Repair, Seat, Step
from workbench.words import _, number

#: Directions nearer than this, as a sine, are parallel.
_PARALLEL = 1e-6

#: Sizes nearer than this are one size, in mm.
_SAME = 1e-4


@dataclass(frozen=True)
class Length:
    """A length between two groups of points, level along an axis.

    text : what the drawing says
    start, end : (n, 3) points in mm, each group level along the axis
    axis : (3,) unit vector from start to end
    about : (step, field) names; the field is empty for a place, both for the whole
    profile : the direction from which the step shows its shape
    """

    text: str
    start: np.ndarray
    end: np.ndarray
    axis: np.ndarray
    about: tuple[str, str] = ("", "")
    profile: tuple[float, float, float] | None = None


@dataclass(frozen=True)
class Circle:
    """A diameter or radius of ``len(centres)`` equal circles with one axis.

    centres, middles : (n, 3) in mm: centres, and points half way along each arc
    """

    text: str
    centres: np.ndarray
    middles: np.ndarray
    axis: np.ndarray
    radius: float
    full: bool
    about: tuple[str, str] = ("", "")


@dataclass(frozen=True)
class Angle:
    """An angle between a straight edge, as its two ends (2, 3), and an axis (3,)."""

    text: str
    edge: np.ndarray
    axis: np.ndarray
    value: float
    about: tuple[str, str] = ("", "")


Dimension = Length | Circle | Angle


@dataclass(frozen=True)
class Dimensions:
    """All sizes of a repair.

    drawn : those to draw
    listed : as text, those that no edge shows
    idle : (step, field) of values that change nothing as the others stand
    round_axes : centre lines, as (one end, other end, radius)
    """

    drawn: tuple[Dimension, ...] = ()
    listed: tuple[str, ...] = ()
    idle: frozenset[tuple[str, str]] = frozenset()
    round_axes: tuple[tuple[np.ndarray, np.ndarray, float], ...] = ()


def dimensions(repair: Repair, assembly: Assembly) -> Dimensions:
    """Work out the sizes that a drawing of the repair gives.

    Each step gives those of its values that hold points of its shape apart, then how far it
    stands from the side of what it sits on; last come the overall sizes, in brackets because
    they follow from the others. Values that no edge shows, such as a screw's thread, are listed.
    """
    drawn: list[Dimension] = []
    listed: list[str] = []
    idle: set[tuple[str, str]] = set()
    axes: list[tuple[np.ndarray, np.ndarray, float]] = []
    whole = _Box.of(assembly.solid)
    for step in repair.steps:
        place = frame(repair, step.name)
        own = features(assembly.parts[step.name]).moved(np.linalg.inv(place))
        known = meaning(catalogue.find(step.template), step.values, own)
        idle |= {(step.name, field) for field in known.idle}
        sizes, rest = _of_step(repair, step, known, own.moved(place), place, whole)
        drawn += sizes
        drawn += _of_place(repair, assembly, step, own.moved(place), whole)
        if rest:
            listed.append(_("{step}: {sizes}").format(step=step.name, sizes=", ".join(rest)))
        axes += _axes(own.moved(place), whole)
    return Dimensions(
        tuple([*drawn, *_overall(whole, drawn)]),
        tuple(listed),
        frozenset(idle),
        tuple(axes),
    )


def value_text(value: float, reading: Reading | None = None) -> str:
    """A size as the drawing gives it; one that was read bears its standard uncertainty.

    >>> value_text(34.0), value_text(34.95, Reading([34.9, 35.0, 34.95]))
    ('34', '34.95 ± 0.03')
    """
    if reading is None:
        return number(value)
    return _("{value} ± {uncertainty}").format(
        value=number(value), uncertainty=rounded_up(reading.uncertainty)
    )


def rounded_up(uncertainty: float) -> str:
    """An uncertainty to one significant digit, or two where the first is a 1.

    >>> rounded_up(0.0289), rounded_up(0.00289), rounded_up(0.0144)
    ('0.03', '0.003', '0.014')
    """
    if uncertainty <= 0:
        return "0"
    power = math.floor(math.log10(uncertainty))
    lead = uncertainty / 10**power
    return number(uncertainty, max(0, (1 if lead < 1.95 else 0) - power))


def reading_of(repair: Repair, step: Step, field_name: str) -> Reading | None:
    """The reading that a value came from, unless the value was changed since."""
    reading = repair.readings.get(f"{step.name}.{field_name}")
    value = step.values.get(field_name)
    if reading is None or not isinstance(value, (int, float)):
        return None
    return reading if abs(reading.value - value) < _SAME else None


@dataclass(frozen=True)
class _Box:
    low: np.ndarray
    high: np.ndarray

    @classmethod
    def of(cls, shape: Any) -> _Box:
        box = shape.bounding_box()
        return cls(np.array([*box.min]), np.array([*box.max]))

    def holds(self, points: np.ndarray) -> bool:
        """Whether one of the points (n, 3) is within."""
        within = (points >= self.low - _SAME) & (points <= self.high + _SAME)
        return bool(within.all(axis=1).any())


def _of_step(
    repair: Repair,
    step: Step,
    known: Meaning,
    here: Features,
    place: np.ndarray,
    whole: _Box,
) -> tuple[list[Dimension], list[str]]:
    template = catalogue.find(step.template)
    drawn: list[Dimension] = []
    profile = _profile(here)
    for mark in known.marks:
        value = step.values[mark.field]
        text = value_text(abs(value), reading_of(repair, step, mark.field))
        about = (step.name, mark.field)
        if isinstance(mark, Span):
            start, end = here.points[list(mark.start)], here.points[list(mark.end)]
            if whole.holds(start) and whole.holds(end):
                drawn.append(Length(text, start, end, place[:3, mark.axis], about, profile))
        elif isinstance(mark, Round):
            drawn.append(_round(text, mark, here, about, profile, step.cuts))
        else:
            drawn.append(_turned(text, mark, here, place, value, about))
    drawn += _holes(step, here, known.marks)
    shown = {dimension.about[1] for dimension in drawn}
    rest = [
        _named(p.label, step.values[p.name], p.kind.unit if isinstance(p.kind, Size) else "")
        for p in template.parameters
        if p.name not in shown | known.idle
        and not isinstance(p.kind, Flag)
        and isinstance(step.values[p.name], (int, float, str))
        and step.values[p.name]
    ]
    return drawn, rest


def _named(label: str, value: float | str, unit: str) -> str:
    text = value if isinstance(value, str) else number(value)
    space = "" if unit in ("", "°") else " "
    return f"{_(label)} {text}{space}{unit}"


def _round(
    text: str,
    mark: Round,
    here: Features,
    about: tuple[str, str],
    profile: tuple[float, float, float],
    cuts: bool,
) -> Dimension:
    which = list(mark.circles)
    radius = float(here.radii[which[0]])
    if mark.radius:
        centres, middles = _once(here, which)
        return Circle(
            _times(len(centres), f"R{text}"),
            centres,
            middles,
            here.axes[which[0]],
            radius,
            False,
            about,
        )
    if not cuts and not here.bore[which[0]]:
        # Round outside: dimensioned from the side, between its outermost points.
        axis = _level_axis(here.axes[which[0]])
        centres = here.centres[which]
        return Length(
            f"⌀{text}", centres - radius * axis, centres + radius * axis, axis, about, profile
        )
    centres, middles = _once(here, which)
    return Circle(
        _times(len(centres), f"⌀{text}"),
        centres,
        middles,
        here.axes[which[0]],
        radius,
        True,
        about,
    )


def _turned(
    text: str, mark: Turn, here: Features, place: np.ndarray, value: float, about: tuple[str, str]
) -> Angle:
    return Angle(f"{text}°", here.edges[mark.edge], place[:3, mark.axis], value, about)


def _holes(step: Step, here: Features, found: Sequence[Span | Round | Turn]) -> list[Dimension]:
    """Round holes of which no value is the diameter, such as those for a screw by its name."""
    known = {index for mark in found if isinstance(mark, Round) for index in mark.circles}
    radii = {round(float(here.radii[i]), 4) for i in known}
    by_radius: dict[float, list[int]] = {}
    for index in np.flatnonzero(here.bore):
        size = round(float(here.radii[index]), 4)
        if size not in radii:
            by_radius.setdefault(size, []).append(int(index))
    drawn: list[Dimension] = []
    for size, which in sorted(by_radius.items()):
        centres, middles = _once(here, which)
        text = _times(len(centres), f"⌀{number(2 * size)}")
        axis = here.axes[which[0]]
        drawn.append(Circle(text, centres, middles, axis, size, True, (step.name, "")))
    return drawn


def _once(here: Features, which: Sequence[int]) -> tuple[np.ndarray, np.ndarray]:
    """Centres and middles, one of each that lie behind one another along the axis."""
    axis = here.axes[which[0]]
    seen: dict[tuple[float, ...], int] = {}
    for index in which:
        flat = here.middles[index] - axis * (here.middles[index] @ axis)
        seen.setdefault(tuple(np.round(flat, 3) + 0.0), index)
    kept = list(seen.values())
    return here.centres[kept], here.middles[kept]


def _times(count: int, text: str) -> str:
    return text if count == 1 else f"{count} × {text}"


def _level_axis(axis: np.ndarray) -> np.ndarray:
    """A direction square to an axis: x where it can be, else y, else z."""
    for way in np.eye(3):
        level = way - axis * (way @ axis)
        length = float(np.linalg.norm(level))
        if length > 0.5:
            return level / length
    return np.array([0.0, 0.0, 1.0])


def _profile(here: Features) -> tuple[float, float, float]:
    """The direction along which most edges of a part run: from there it shows its shape."""
    ways = {"front": (0.0, -1.0, 0.0), "top": (0.0, 0.0, 1.0), "side": (-1.0, 0.0, 0.0)}
    along = here.edges[:, 1] - here.edges[:, 0]
    lengths = np.linalg.norm(along, axis=1)
    extent = np.ptp(here.points, axis=0)

    def rank(way: tuple[float, float, float]) -> tuple[int, float]:
        running = np.abs(along @ np.array(way)) > (1 - 1e-6) * lengths
        square = extent[np.abs(way) < 0.5]
        return int(running.sum()), float(square.prod())

    return max(ways.values(), key=rank)


def _axes(here: Features, whole: _Box) -> list[tuple[np.ndarray, np.ndarray, float]]:
    """Centre lines, as (one end, other end, radius), of everything round all the way."""
    lines: dict[tuple[float, ...], list[int]] = {}
    for index in np.flatnonzero(here.full):
        axis = here.axes[index]
        axis = axis * (1.0 if axis[np.abs(axis).argmax()] > 0 else -1.0)
        foot = here.centres[index] - axis * (here.centres[index] @ axis)
        key = (*np.round(axis, 4), *np.round(foot, 4))
        lines.setdefault(tuple(np.array(key) + 0.0), []).append(int(index))
    found = []
    for which in lines.values():
        axis = here.axes[which[0]]
        along = here.centres[which] @ axis
        low, high = here.centres[which[along.argmin()]], here.centres[which[along.argmax()]]
        if _along_a_main_axis(axis):  # what is cut may run far past the part
            low, high = np.clip([low, high], whole.low, whole.high)
        found.append((low, high, float(here.radii[which].max())))
    return found


def _of_place(
    repair: Repair, assembly: Assembly, step: Step, here: Features, whole: _Box
) -> Iterator[Length]:
    """How far a step stands from the left, front or bottom of what it sits on."""
    if not len(here.points):
        return
    under = whole
    ways = np.eye(3)
    moved = np.zeros(3)
    if isinstance(step.place, Seat):
        under = _Box.of(assembly.parts[step.place.step])
        ways, moved = _seat_ways(repair, step)
    elif isinstance(step.place, At):
        moved = np.array([step.place.x, step.place.y, step.place.z])
    for way, shift in zip(ways, moved, strict=True):
        if abs(shift) < _SAME or not _along_a_main_axis(way):
            continue
        axis = np.abs(np.round(way))
        along = int(axis.argmax())
        place = _own_place(here, along, step.cuts, whole)
        start = float(under.low[along])
        if place is None or abs(place[0, along] - start) < _SAME:
            continue
        foot = place.copy()
        foot[:, along] = start
        ends = (foot, place) if place[0, along] > start else (place, foot)
        text = number(abs(place[0, along] - start))
        yield Length(text, *ends, axis, (step.name, ""), _round_way(here) or _profile(here))


def _seat_ways(repair: Repair, step: Step) -> tuple[np.ndarray, np.ndarray]:
    """The directions of a seat's offsets as the repair stands, and the offsets."""
    assert isinstance(step.place, Seat)
    place = step.place
    if not place.along and not place.across:
        return np.eye(3)[:2], np.zeros(2)
    origin = frame(repair, step.name)[:3, 3]
    ways, moved = [], []
    for name in ("along", "across"):
        other = repair.copy()
        other.change(step.name, place=replace(place, **{name: getattr(place, name) + 1.0}))
        ways.append(frame(other, step.name)[:3, 3] - origin)
        moved.append(getattr(place, name))
    return np.array(ways), np.array(moved)


def _along_a_main_axis(way: np.ndarray) -> bool:
    return bool(np.abs(way).max() > 1 - _PARALLEL)


def _own_place(here: Features, along: int, cuts: bool, whole: _Box) -> np.ndarray | None:
    """Points (n, 3) that say where a part is along an axis: its centre if round, else its edge.

    None where the part runs past both sides of the whole, so that its place does not show.
    """
    low, high = here.points[:, along].min(), here.points[:, along].max()
    if cuts and low <= whole.low[along] + _SAME and high >= whole.high[along] - _SAME:
        return None
    if here.full.any():
        largest = int(np.where(here.full, here.radii, 0).argmax())
        if abs(here.axes[largest][along]) < 0.5:
            return here.centres[[largest]]
    return here.points[here.points[:, along] < low + _SAME]


def _round_way(here: Features) -> tuple[float, float, float] | None:
    """The direction from which a part with a whole circle looks round."""
    if not here.full.any():
        return None
    x, y, z = here.axes[int(np.where(here.full, here.radii, 0).argmax())]
    return float(x), float(y), float(z)


def _overall(whole: _Box, drawn: Sequence[Dimension]) -> Iterator[Length]:
    """Overall sizes that no step gives by itself, in brackets."""
    for along in range(3):
        axis = np.eye(3)[along]
        low, high = whole.low[along], whole.high[along]
        if any(isinstance(d, Length) and _gives(d, along, low, high) for d in drawn):
            continue
        corners = np.array(
            [[x, y, z] for x in _ends(whole, 0) for y in _ends(whole, 1) for z in _ends(whole, 2)]
        )
        start = corners[np.isclose(corners[:, along], low)]
        end = corners[np.isclose(corners[:, along], high)]
        yield Length(f"({number(float(high - low))})", start, end, axis)


def _gives(length: Length, along: int, low: float, high: float) -> bool:
    """Whether a length says how far it is from ``low`` to ``high`` along x, y or z."""
    ends = np.array([length.start[0], length.end[0]])
    across = float(np.linalg.norm(ends[1] - ends[0]))
    if length.text.startswith("⌀"):  # as wide in every direction
        middle = float(ends[:, along].mean())
        return abs(across - (high - low)) < _SAME and abs(middle - (low + high) / 2) < _SAME
    return bool(
        abs(abs(length.axis[along]) - 1) < _PARALLEL
        and abs(ends[:, along].min() - low) < _SAME
        and abs(ends[:, along].max() - high) < _SAME
    )


def _ends(box: _Box, along: int) -> tuple[float, float]:
    return float(box.low[along]), float(box.high[along])


def in_view(dimension: Dimension, direction: Direction) -> bool:
    """Whether a dimension shows its true size in a view."""
    out = np.array(direction.out)
    if isinstance(dimension, Length):
        return bool(abs(dimension.axis @ out) < _PARALLEL)
    if isinstance(dimension, Circle):
        return bool(abs(abs(dimension.axis @ out) - 1) < _PARALLEL)
    along = dimension.edge[1] - dimension.edge[0]
    return bool(
        abs(along @ out) < _PARALLEL * np.linalg.norm(along)
        and abs(dimension.axis @ out) < _PARALLEL
    )


def shared_out(
    drawn: Sequence[Dimension], directions: Sequence[Direction]
) -> tuple[list[list[Dimension]], list[Dimension]]:
    """Each dimension to the one view that shows it best, each size once; and those left over."""
    shares: list[list[Dimension]] = [[] for _direction in directions]
    left: list[Dimension] = []
    for dimension in drawn:
        fitting = [i for i, d in enumerate(directions) if in_view(dimension, d)]
        if not fitting:
            left.append(dimension)
            continue
        profile = getattr(dimension, "profile", None)
        best = next(
            (i for i in fitting if profile is not None and _sees(directions[i], profile)),
            fitting[0],
        )
        twin = next(
            (k for k, other in enumerate(shares[best]) if _same_length(dimension, other)), None
        )
        if twin is None:
            shares[best].append(dimension)
        elif "±" in dimension.text and "±" not in shares[best][twin].text:
            shares[best][twin] = dimension
    return shares, left


def _sees(direction: Direction, profile: tuple[float, float, float]) -> bool:
    return bool(abs(np.dot(direction.out, profile)) > 1 - _PARALLEL)


def _same_length(one: Dimension, other: Dimension) -> bool:
    if not (isinstance(one, Length) and isinstance(other, Length)):
        return False
    if abs(abs(one.axis @ other.axis) - 1) > _PARALLEL:
        return False
    ends = sorted([float(one.start[0] @ one.axis), float(one.end[0] @ one.axis)])
    others = sorted([float(other.start[0] @ one.axis), float(other.end[0] @ one.axis)])
    return bool(np.allclose(ends, others, rtol=0, atol=_SAME))
