"""Walls and gaps too narrow for the nozzle: where they are and how many lines fit.

A wall is thin where it vanishes when the section is worn away by half the width on every side
and built up again, or where the section falls apart then and is held together nowhere else, as at
a neck; a gap where it closes when the section is built up first. Layers are looked at after every
level face and otherwise at least every millimetre of height.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.overhang_chains import chained, meet
from workbench.checks.layers.sections import grown, inner_point, narrowest
from workbench.checks.layers.slices import Slices

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Layers are looked at no further apart than this, in mm. Our choice.
APART = 1.0

#: A wall this little below whole lines still holds them, as a share of a line. Our choice.
_SHORT = 0.05

#: Corners nearer than this to a straight edge do not matter here, in mm. Our choice.
_FINE = 0.01

#: A pin whose top has less than this of its bottom's area runs out into a point. Our choice.
_POINTED = 0.5

#: Smaller islands than this are rounding, in mm².
_SPECK = 0.01

#: Corners sharper than 15 degrees count as thin. Our choice.
_SHARP = 8.0


@dataclass(frozen=True)
class Thin:
    """A wall or a gap narrower than asked for, on the laid part.

    kind : "wall" or "gap"
    layer, last : numbers of the lowest and the highest layer in which it was seen
    height : of its lowest layer above the bed, in mm
    tall : how far up it goes, in mm
    width : where it is narrowest, in mm
    lines : how many lines fit side by side
    length : of the longest of its layers, in mm
    place : (x, y, z) of a point inside it on the laid part, in mm
    pin : whether it stands free and does not run out into a point, as a pin does
    neck : whether two pieces are held together there alone
    """

    kind: str
    layer: int
    last: int
    height: float
    tall: float
    width: float
    lines: int
    length: float
    place: tuple[float, float, float]
    pin: bool = False
    neck: bool = False


def thin(slices: Slices, line: float = 0.4, lines: int = 2) -> tuple[Thin, ...]:
    """Walls and gaps narrower than ``lines`` lines of ``line`` mm, narrowest first."""
    limit = (lines - _SHORT) * line
    sampled = samples(slices)
    coarse = [
        (step, section.simplify(_FINE))
        for step, section in enumerate(map(slices.section, sampled))
        if not _plain(section, limit)
    ]
    found = []
    for kind, leftover in (("wall", _worn), ("gap", _filled)):
        steps, sections = [], []
        for step, section in coarse:
            for part in leftover(section, limit).decompose():
                # Less than a line's own square is a corner, not a wall, unless it stands free.
                if part.area() > line**2 or (kind == "wall" and _free(section, part)):
                    steps.append(step)
                    sections.append(part)
        for chain in chained(steps, sections):
            seen = [(sampled[steps[i]], sections[i]) for i in chain]
            found.append(_described(slices, kind, leftover, seen, line, limit))
    found += _necks(slices, [(sampled[step], section) for step, section in coarse], line, limit)
    return tuple(sorted(found, key=lambda place: place.width))


def samples(slices: Slices) -> list[int]:
    """The layers that are looked at: each after a step, and one at least every millimetre."""
    fresh = slices.stepped()
    chosen: list[int] = []
    for i in np.flatnonzero(~slices.repeats).tolist():
        far = not chosen or (i - chosen[-1]) * slices.layer >= APART - 1e-9
        if far or fresh[i]:
            chosen.append(i)
    return chosen


def _plain(section: CrossSection, limit: float) -> bool:
    """Whether a section is convex and wide: nothing in it can be thin."""
    if section.num_contour() != 1:
        return False
    hull = section.hull()
    if hull.area() - section.area() > 1e-6:
        return False
    # A convex figure is at least as wide as its area over its greatest length.
    x0, y0, x1, y1 = hull.bounds()
    return hull.area() > limit * np.hypot(x1 - x0, y1 - y0) or narrowest(hull) > limit


def _worn(section: CrossSection, width: float) -> CrossSection:
    """What of a section is narrower than ``width``."""
    return section - grown(grown(section, -width / 2, _SHARP), width / 2, _SHARP)


@dataclass(frozen=True)
class _Meeting:
    """Where two pieces of a layer's section meet along less than the limit, and leave nothing over."""

    step: int
    layer: int
    place: CrossSection
    pieces: tuple[CrossSection, CrossSection]


def _necks(
    slices: Slices, seen: list[tuple[int, CrossSection]], line: float, limit: float
) -> list[Thin]:
    """Where two pieces are held together along less than the limit, and not above or below."""
    met = [
        meeting
        for step, (layer, section) in enumerate(seen)
        for meeting in _meetings(step, layer, section, line, limit)
    ]
    found = []
    for chain in chained([one.step for one in met], [one.place for one in met]):
        low, high = met[chain[0]], met[chain[-1]]
        first, last = low.layer, slices.top_of_run(high.layer)
        beside = [(first - 1, low)] * (first > 0) + [(last + 1, high)] * (last + 1 < len(slices))
        if any(_joined(slices.section(layer), one.pieces, limit) for layer, one in beside):
            continue
        width, at = min(
            ((_neck(slices.section(met[i].layer), met[i], limit), met[i]) for i in chain),
            key=lambda item: item[0],
        )
        found.append(
            _thin(slices, line, (first, last), width, at.layer, at.place, kind="wall", neck=True)
        )
    return found


def _meetings(
    step: int, layer: int, section: CrossSection, line: float, limit: float
) -> Iterator[_Meeting]:
    pieces = grown(section, -limit / 2, _SHARP).decompose()
    if len(pieces) <= len(section.decompose()):
        return
    walls = [wall for wall in _worn(section, limit).decompose() if wall.area() > line**2]
    wide = [(piece, grown(piece, (limit + line) / 2, _SHARP)) for piece in pieces]
    for (one, round_one), (other, round_other) in combinations(wide, 2):
        if not meet(round_one, round_other):
            continue
        for place in (round_one ^ round_other ^ section).decompose():
            made = _Meeting(step, layer, place, (one, other))
            as_wall = place.is_empty() or any(meet(place, wall) for wall in walls)
            if not as_wall and _joins(section, made, 0.0, limit):
                yield made


def _joined(section: CrossSection, pair: Sequence[CrossSection], width: float) -> bool:
    """Whether two pieces are of one in a section that is worn away by half a width."""
    worn = grown(section, -width / 2, _SHARP).decompose() if width else section.decompose()
    return any(all(meet(whole, piece) for piece in pair) for whole in worn)


def _joins(section: CrossSection, at: _Meeting, width: float, limit: float) -> bool:
    """Whether the section round a meeting joins its pieces at that width."""
    return _joined(section ^ _frame(at.place.bounds(), 4 * limit), at.pieces, width)


def _neck(section: CrossSection, at: _Meeting, limit: float) -> float:
    """The width at which two pieces no longer hold together, in mm."""
    low, high = 0.0, limit
    while high - low > 0.005:
        half = (low + high) / 2
        low, high = (half, high) if _joins(section, at, half, limit) else (low, half)
    return high


def _filled(section: CrossSection, width: float) -> CrossSection:
    """Gaps in and between the parts of a section that are narrower than ``width``."""
    return grown(grown(section, width / 2, _SHARP), -width / 2, _SHARP) - section


def _free(section: CrossSection, part: CrossSection) -> bool:
    """Whether a part of a section is all that there is round about."""
    if part.area() < _SPECK:
        return False
    x0, y0, x1, y1 = part.bounds()
    return bool((section ^ _frame((x0, y0, x1, y1), 0.1)).area() < part.area() + _SPECK)


def _frame(bounds: tuple[float, float, float, float], pad: float) -> CrossSection:
    from manifold3d import CrossSection

    x0, y0, x1, y1 = bounds
    window = CrossSection.square((x1 - x0 + 2 * pad, y1 - y0 + 2 * pad))
    return window.translate((x0 - pad, y0 - pad))


def _described(
    slices: Slices,
    kind: str,
    leftover: Callable[[CrossSection, float], CrossSection],
    seen: list[tuple[int, CrossSection]],
    line: float,
    limit: float,
) -> Thin:
    layer, widest = max(seen, key=lambda item: item[1].area())
    width = _width(slices.section(layer), widest, leftover, limit)
    first, last = seen[0][0], slices.top_of_run(seen[-1][0])
    blunt = seen[-1][1].area() > _POINTED * seen[0][1].area()
    pin = kind == "wall" and blunt and _free(slices.section(layer), widest)
    length = float(widest.area() / width)
    return _thin(
        slices, line, (first, last), width, layer, widest, kind=kind, length=length, pin=pin
    )


def _thin(
    slices: Slices,
    line: float,
    layers: tuple[int, int],
    width: float,
    layer: int,
    place: CrossSection,
    kind: str,
    length: float = 0.0,
    pin: bool = False,
    neck: bool = False,
) -> Thin:
    """What goes from layer to layer, with a place of it in one of them."""
    first, last = layers
    height, tall = float(slices.levels[first]), float((last - first + 1) * slices.layer)
    x, y = inner_point(place)
    spot = x, y, float(slices.levels[layer])
    lines = int(width / line + _SHORT)
    return Thin(kind, first, last, height, tall, width, lines, length, spot, pin, neck)


def _width(
    section: CrossSection,
    place: CrossSection,
    leftover: Callable[[CrossSection, float], CrossSection],
    limit: float,
) -> float:
    """The width below which a tenth of the place is: its narrowest stretch, in mm."""
    near = section ^ _frame(place.bounds(), 4 * limit)
    low, high = 0.0, limit
    while high - low > 0.005:
        half = (low + high) / 2
        share = (leftover(near, half) ^ place).area() / place.area()
        low, high = (low, half) if share > 0.1 else (half, high)
    return high
