"""What a template's values measure on its shape: which corners each value holds apart.

Nobody writes down, for each template, what its width is the width of. Instead a value is
changed by a hair and the shape built again: two corners that lie as far apart as the value says,
and that part by the same hair, are what it measures. So a function of the user's own gets a
dimensioned drawing as a shipped one does.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from workbench.solids.geometry.features import TOGETHER, Features, features
from workbench.solids.parameters import Choice, Count, Flag, Parameter, Size, Template

#: The hair by which a value is changed, in its unit, and how closely a corner must follow.
_HAIR = 1e-3
_FOLLOWS = 0.02


@dataclass(frozen=True)
class Span:
    """A value that holds two groups of points apart, along an axis of the part.

    start, end : indices of points; ``end`` lies further along the axis
    """

    field: str
    axis: int
    start: tuple[int, ...]
    end: tuple[int, ...]


@dataclass(frozen=True)
class Round:
    """A value that is a diameter, or a radius, of circles of the part, given by their indices."""

    field: str
    circles: tuple[int, ...]
    radius: bool


@dataclass(frozen=True)
class Turn:
    """A value that is the angle between a straight edge and an axis of the part.

    edge : index of the edge; its ``start`` end is where the angle is drawn
    """

    field: str
    edge: int
    axis: int


Mark = Span | Round | Turn


@dataclass(frozen=True)
class Meaning:
    """What the values of a template are on its shape.

    marks : those that measure something
    idle : names of those that change nothing as the others stand
    """

    marks: tuple[Mark, ...]
    idle: frozenset[str]


_known: OrderedDict[Hashable, Meaning] = OrderedDict()
_marks: OrderedDict[Hashable, tuple[Mark | None, Features | None]] = OrderedDict()
_MOST_KNOWN = 128


def meaning(template: Template, values: Mapping[str, Any], found: Features) -> Meaning:
    """What each value of a template measures on its shape, where that can be told.

    template : with its parameters
    values : all of its values
    found : the features of the shape that they make, on its own origin

    What was found out once is used again while the shape keeps its form and the sizes still
    agree, so that a slider does not pay for it.
    """
    lengths = {p.name for p in template.parameters if isinstance(p.kind, Size)}
    key = (
        template.function,
        tuple(sorted((k, v if k not in lengths else bool(v)) for k, v in values.items())),
        found.size,
    )
    known = _known.get(key)
    if known is None or not all(_agrees(m, values[m.field], found) for m in known.marks):
        known = _find_out(template, values, found)
        _known[key] = known
        while len(_known) > _MOST_KNOWN:
            _known.popitem(last=False)
    return known


def mark_of(
    template: Template, values: Mapping[str, Any], field: str
) -> tuple[Mark | None, Features | None]:
    """What one value measures, and the features of the shape; None where that cannot be told."""
    key = (template.function, tuple(sorted(values.items())), field)
    if key not in _marks:
        found = _features_with(template, values, field, values[field])
        mark = None
        if found is not None and values[field]:
            mark, _tried, _matters = _looked_for(template, values, template.parameter(field), found)
        _marks[key] = mark, found
        while len(_marks) > _MOST_KNOWN:
            _marks.popitem(last=False)
    return _marks[key]


def _find_out(template: Template, values: Mapping[str, Any], found: Features) -> Meaning:
    found_marks: list[Mark] = []
    idle = set()
    for parameter in template.parameters:
        mark, tried, matters = _looked_for(template, values, parameter, found)
        if mark is not None:
            found_marks.append(mark)
        elif tried and not matters:
            idle.add(parameter.name)
    return Meaning(tuple(found_marks), frozenset(idle))


def _looked_for(
    template: Template, values: Mapping[str, Any], parameter: Parameter, found: Features
) -> tuple[Mark | None, bool, bool]:
    """What a value measures, whether it could be changed, and whether that changed the shape."""
    field, value = parameter.name, values[parameter.name]
    matters = tried = False
    for changed in _changes(parameter, value):
        other = _features_with(template, values, field, changed)
        if other is None:
            continue
        tried = True
        matters = matters or not _same(found, other)
        if isinstance(parameter.kind, Size) and value and other.size == found.size:
            mark = _mark(parameter, value, found, other, changed - value)
            if mark is not None:
                return mark, tried, True
        if matters and not isinstance(parameter.kind, Size):
            break
    return None, tried, matters


def _changes(parameter: Parameter, value: Any) -> list[Any]:
    """Values next to a value: a hair more or less, one more or less, or the other choices."""
    kind = parameter.kind
    if isinstance(kind, Size):
        return [value + _HAIR, value - _HAIR]
    if isinstance(kind, Count):
        return [other for other in (value + 1, value - 1) if kind.low <= other <= kind.high]
    if isinstance(kind, Flag):
        return [not value]
    if isinstance(kind, Choice):
        return [option for option in kind.options if option != value]
    return []


def _features_with(
    template: Template, values: Mapping[str, Any], field: str, value: Any
) -> Features | None:
    """The features of the shape with one value changed, if it can be built."""
    try:
        return features(template.function(**{**values, field: value}))
    except Exception:  # refused, or one of the geometry kernel's own errors
        return None


def _same(one: Features, other: Features) -> bool:
    return one.size == other.size and bool(
        np.allclose(one.points, other.points, rtol=0, atol=_HAIR / 100)
        and np.allclose(one.edges, other.edges, rtol=0, atol=_HAIR / 100)
        and np.allclose(one.radii, other.radii, rtol=0, atol=_HAIR / 100)
    )


def _mark(
    parameter: Parameter, value: float, found: Features, other: Features, hair: float
) -> Mark | None:
    name = parameter.name
    if isinstance(parameter.kind, Size) and parameter.kind.unit == "mm":
        return (
            _round(name, value, found, other, hair, found.full)
            or _span(name, value, found, other, hair)
            or _round(name, value, found, other, hair, ~found.full)
        )
    return _turn(name, value, found, other, hair)


def _round(
    field: str, value: float, found: Features, other: Features, hair: float, whole: np.ndarray
) -> Mark | None:
    """Circles of that diameter, of those that are ``whole`` (m,); else of that radius, any."""
    rates = (other.radii - found.radii) / hair
    for radius in (False, True):
        share = 1.0 if radius else 0.5
        fits = np.isclose(found.radii, share * value, rtol=0, atol=TOGETHER)
        fits &= np.isclose(rates, share, rtol=0, atol=_FOLLOWS)
        if not radius:
            fits &= whole
        if fits.any():
            return Round(field, tuple(map(int, np.flatnonzero(fits))), radius)
    return None


def _span(field: str, value: float, found: Features, other: Features, hair: float) -> Mark | None:
    """The two groups of points, along one axis, that the value holds apart."""
    rates = (other.points - found.points) / hair
    best: tuple[tuple[float, ...], Span] | None = None
    for axis in range(3):
        groups = _groups(found.points[:, axis], rates[:, axis])
        for at, rate, members in groups:
            for end_at, end_rate, end_members in groups:
                if abs(end_at - at - value) > TOGETHER or abs(end_rate - rate - 1) > _FOLLOWS:
                    continue
                near = found.points[list(members)][:, None] - found.points[list(end_members)]
                near[..., axis] = 0
                rank = (
                    float(sum(not found.there[list(g)].any() for g in (members, end_members))),
                    float(np.round(np.linalg.norm(near, axis=2).min(), 3)),
                    float(np.round(abs(at + end_at), 3)),
                )
                span = Span(field, axis, members, end_members)
                if value < 0:
                    span = Span(field, axis, end_members, members)
                if best is None or rank < best[0]:
                    best = rank, span
    return best[1] if best else None


def _groups(at: np.ndarray, rate: np.ndarray) -> list[tuple[float, float, tuple[int, ...]]]:
    """Points that lie level along an axis and move alike, as (place, rate, indices)."""
    together: dict[tuple[float, float], list[int]] = {}
    for index, (place, speed) in enumerate(zip(at.tolist(), rate.tolist(), strict=True)):
        together.setdefault((round(place, 4), round(speed, 2)), []).append(index)
    return [
        (float(at[members[0]]), float(rate[members[0]]), tuple(members))
        for members in together.values()
    ]


def _turn(field: str, value: float, found: Features, other: Features, hair: float) -> Mark | None:
    """The straight edge that stands at that angle to an axis of the part."""
    best: tuple[float, Turn] | None = None
    for index, (edge, changed) in enumerate(zip(found.edges, other.edges, strict=True)):
        before, after = _angles(edge), _angles(changed)
        for axis in range(3):
            if (
                abs(before[axis] - value) < 1e-4
                and abs((after[axis] - before[axis]) / hair - 1) < _FOLLOWS
            ):
                length = float(np.linalg.norm(edge[1] - edge[0]))
                if best is None or length > best[0] + TOGETHER:
                    best = length, Turn(field, index, axis)
    return best[1] if best else None


def _angles(edge: np.ndarray) -> np.ndarray:
    """Angles (3,) of an edge to the three axes, 0 to 90 degrees."""
    way = edge[1] - edge[0]
    return np.degrees(np.arccos(np.clip(np.abs(way) / np.linalg.norm(way), 0, 1)))


def _agrees(mark: Mark, value: float, found: Features) -> bool:
    """Whether a mark found earlier still measures the value on this shape."""
    if isinstance(mark, Span):
        start = found.points[list(mark.start), mark.axis]
        end = found.points[list(mark.end), mark.axis]
        return (
            float(np.ptp(start)) < TOGETHER
            and float(np.ptp(end)) < TOGETHER
            and abs(end[0] - start[0] - abs(value)) < TOGETHER
        )
    if isinstance(mark, Round):
        share = 1.0 if mark.radius else 0.5
        radii = found.radii[list(mark.circles)]
        return bool(np.allclose(radii, share * value, rtol=0, atol=TOGETHER))
    return bool(abs(_angles(found.edges[mark.edge])[mark.axis] - value) < 1e-4)
