"""Which sizes a drawing gives, and between which points: each step's own, its place, and the whole."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from workbench.measure.reading import Reading
from workbench.output.drawing.corner_dimensions import (
    MOST,
    from_zero,
    numbered,
    outlined,
    rounds,
    told,
)
from workbench.output.drawing.dimension_kinds import (
    PARALLEL,
    SAME,
    Angle,
    Box,
    Circle,
    Corner,
    Dimension,
    Length,
    times,
    value_text,
)
from workbench.output.drawing.location_dimensions import (
    along_a_main_axis,
    overall,
    pitch_of,
    place_of,
    profile_of,
)
from workbench.solids import catalogue
from workbench.solids.building.build import Assembly, Placed, frame
from workbench.solids.facts import facts_of
from workbench.solids.geometry.features import Features, features
from workbench.solids.measured_faces import Meaning, Round, Span, Turn, meaning
from workbench.solids.parameters import Flag, Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.step import Step
from workbench.words import _, number, quantity, sized


@dataclass(frozen=True)
class Dimensions:
    """All sizes of a repair.

    drawn : those to draw
    listed : as text, those that no edge shows
    idle : (step, field) of values that change nothing as the others stand
    round_axes : centre lines, as (one end, other end, radius)
    corners : the corners of outlines with their numbers, for a drawing without their places
    """

    drawn: tuple[Dimension, ...] = ()
    listed: tuple[str, ...] = ()
    idle: frozenset[tuple[str, str]] = frozenset()
    round_axes: tuple[tuple[np.ndarray, np.ndarray, float], ...] = ()
    corners: tuple[Corner, ...] = ()


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
    named: list[Corner] = []
    whole = Box.of(assembly.solid)
    for step in repair.steps:
        place, own, known = _known(repair, assembly, step)
        idle |= {(step.name, field) for field in known.idle}
        sizes, rest = _of_step(repair, step, known, own.moved(place), place, whole)
        drawn += [_counted(size, assembly.counts[step.name]) for size in sizes]
        drawn += pitch_of(repair, assembly, step, profile_of(own.moved(place)))
        for field, outline in outlined(step, own):
            about, corners = (step.name, field), outline.points
            drawn += rounds(about, outline, place)
            names = list(numbered(about, corners, place))
            named += names
            if len(corners) > MOST:
                drawn += names
                listed.append(told(step.name, corners))
            else:
                drawn += from_zero(about, corners, place)
        drawn += place_of(repair, assembly, step, own.moved(place), whole)
        if rest:
            listed.append(_("{step}: {sizes}").format(step=step.name, sizes=", ".join(rest)))
        several = assembly.counts[step.name] > 1
        round_all = features(assembly.parts[step.name]) if several else own.moved(place)
        axes += _axes(round_all, whole)
    return Dimensions(
        tuple([*drawn, *overall(whole, drawn)]),
        tuple(listed),
        frozenset(idle),
        tuple(axes),
        tuple(named),
    )


def sizes_of(repair: Repair, steps: Placed, name: str, whole: Box) -> list[Dimension]:
    """The sizes of one step by itself, those that :func:`dimensions` gives of it."""
    step = repair.step(name)
    place, own, known = _known(repair, steps, step)
    return _of_step(repair, step, known, own.moved(place), place, whole)[0]


def idle(repair: Repair, steps: Placed, name: str) -> frozenset[str]:
    """The sizes of a step that change nothing as its others stand; none for a step not there."""
    if name not in steps.parts:
        return frozenset()
    return _known(repair, steps, repair.step(name))[2].idle


def _known(repair: Repair, steps: Placed, step: Step) -> tuple[np.ndarray, Features, Meaning]:
    """Where a step stands, its features on its own origin, and what its values measure."""
    place = frame(repair, step.name)
    # Of a step that stands several times, the first is dimensioned, and the sizes counted.
    own = features(steps.first[step.name]).moved(np.linalg.inv(place))
    return place, own, meaning(catalogue.find(step.template), step.values, own)


def reading_of(repair: Repair, step: Step, field_name: str) -> Reading | None:
    """The reading that a value came from, unless the value was changed since."""
    reading = repair.readings.get(f"{step.name}.{field_name}")
    value = step.values.get(field_name)
    if reading is None or not isinstance(value, (int, float)):
        return None
    return reading if abs(reading.value - value) < SAME else None


def _of_step(
    repair: Repair, step: Step, known: Meaning, here: Features, place: np.ndarray, whole: Box
) -> tuple[list[Dimension], list[str]]:
    template = catalogue.find(step.template)
    drawn: list[Dimension] = []
    profile = profile_of(here)
    # Two edges of a letter may be as far apart as it is high, by chance and the other way.
    for mark in (mark for mark in known.marks if mark.field not in facts_of(template).read):
        value = step.values[mark.field]
        about = (step.name, mark.field)
        if isinstance(mark, Turn):
            drawn.append(_turned(f"{number(abs(value))}°", mark, here, place, value, about))
            continue
        text = value_text(abs(value), reading_of(repair, step, mark.field))
        if isinstance(mark, Span):
            axis = place[:3, mark.axis]
            if _shows(here, mark.start, whole) and _shows(here, mark.end, whole):
                start, end = here.points[list(mark.start)], here.points[list(mark.end)]
                sign = "⌀" if _is_diameter(here, start, end, axis) else ""
                drawn.append(Length(f"{sign}{text}", start, end, axis, about, profile))
        else:
            drawn.append(_round(text, mark, here, about, profile, step.cuts))
    drawn += _holes(step, here, known.marks)
    shown = {dimension.about[1] for dimension in drawn}
    rest = [
        _named(p.said, step.values[p.name], p.kind.unit if isinstance(p.kind, Size) else "")
        for p in template.parameters
        if p.name not in shown | known.idle
        and not isinstance(p.kind, Flag)
        and isinstance(step.values[p.name], (int, float, str))
        and step.values[p.name]
    ]
    return drawn, rest


def _shows(here: Features, group: Sequence[int], whole: Box) -> bool:
    """Whether one of the points is within the whole, or none is there and all are only aimed at."""
    points = list(group)
    return not here.there[points].any() or whole.holds(here.points[points])


def _is_diameter(here: Features, start: np.ndarray, end: np.ndarray, axis: np.ndarray) -> bool:
    """Whether a length runs right across a round of which a flat or hollows left only arcs."""
    low, high = float(start[0] @ axis), float(end[0] @ axis)
    arcs = ~here.full & (np.abs(here.axes @ axis) < PARALLEL)
    arcs &= np.isclose(here.radii, abs(high - low) / 2, rtol=0, atol=SAME)
    arcs &= np.isclose(here.centres @ axis, (low + high) / 2, rtol=0, atol=SAME)
    _centres, counts = np.unique(np.round(here.centres[arcs], 4), axis=0, return_counts=True)
    return bool(here.round[arcs].any() or (counts > 1).any())


def _named(label: str, value: float | str, unit: str) -> str:
    return f"{label} {value if isinstance(value, str) else quantity(value, unit)}"


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
    full = bool(here.full[which[0]]) and not mark.radius
    if full and not cuts and not here.bore[which[0]]:
        # Round outside: dimensioned from the side, between its outermost points.
        ball = np.linalg.matrix_rank(here.axes[which], tol=1e-6) == 3
        axis = np.array([1.0, 0.0, 0.0]) if ball else _level_axis(here.axes[which[0]])
        centres = here.centres[which]
        sign, seen = ("S⌀", (0.0, -1.0, 0.0)) if ball else ("⌀", profile)
        ends = centres - radius * axis, centres + radius * axis
        return Length(f"{sign}{text}", *ends, axis, about, seen)
    centres, middles = _once(here, which)
    told = times(len(centres), f"{'R' if mark.radius else '⌀'}{text}")
    return Circle(told, centres, middles, here.axes[which[0]], radius, full, about)


def _turned(
    text: str, mark: Turn, here: Features, place: np.ndarray, value: float, about: tuple[str, str]
) -> Angle:
    return Angle(text, here.edges[mark.edge], place[:3, mark.axis], value, about)


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
        text = times(len(centres), f"⌀{sized(2 * size)}")
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


def _counted(size: Dimension, count: int) -> Dimension:
    """A size of a step that stands several times, as the trade counts it: 10 × ⌀4.5."""
    if count == 1:
        return size
    found = re.fullmatch(r"(\d+) × (.*)", size.text)
    each, text = (int(found[1]), found[2]) if found else (1, size.text)
    return replace(size, text=times(count * each, text))


def _level_axis(axis: np.ndarray) -> np.ndarray:
    """A direction square to an axis: x where it can be, else y, else z."""
    for way in np.eye(3):
        level = way - axis * (way @ axis)
        length = float(np.linalg.norm(level))
        if length > 0.5:
            return level / length
    return np.array([0.0, 0.0, 1.0])


def _axes(here: Features, whole: Box) -> list[tuple[np.ndarray, np.ndarray, float]]:
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
        if along_a_main_axis(axis):  # what is cut may run far past the part
            low, high = np.clip([low, high], whole.low, whole.high)
        found.append((low, high, float(here.radii[which].max())))
    return found
