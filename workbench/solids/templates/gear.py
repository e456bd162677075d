"""A spur gear with involute teeth."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Count, Size, checked
from workbench.solids.shapes.profile import (
    LEAST_WALL,
    Bend,
    Opening,
    Point,
    Profile,
    mapped,
    prism,
    pushed,
)
from workbench.words import _, number, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: Height of a tooth over and under the pitch circle, in modules (ISO 53, basic rack).
ADDENDUM, DEDENDUM = 1.0, 1.25

#: Arcs along a flank, each through three points of the involute.
_ARCS = 3


@facts(axial=True, quick=lambda _values: True)
@checked
def gear(
    teeth: Annotated[int, Count(6, 120, measure="counted once round")] = 12,
    module: Annotated[
        float, Size(0.5, 5, 0.05, measure="diameter over the tips divided by the teeth plus 2")
    ] = 1.5,
    thickness: Annotated[float, Size(1, 60, 0.1, measure="of the teeth, along the axis")] = 6.0,
    bore: Annotated[float, Size(0, 100, 0.05, measure="of the hole; 0 for none")] = 4.0,
    pressure_angle: Annotated[
        float, Size(14.5, 25, 0.5, unit="°", measure="20 on nearly every modern gear")
    ] = 20.0,
    backlash: Annotated[
        float, Size(0, 0.5, 0.01, measure="taken off each tooth's thickness, for printing")
    ] = 0.1,
) -> Solid:
    """A spur gear that lies flat, its bore upright in its middle.

    Two gears run together where module and pressure angle are the same; their axes stand half
    of the sum of their teeth times the module apart.

    Raises RepairError when the bore leaves no rim, or a tooth comes to a point below its tip.
    """
    pitch, base, tip, root = radii(teeth, module, pressure_angle)
    if bore / 2 + max(LEAST_WALL, 0.5 * module) > root:
        raise RepairError(
            _("bore is {bore} and the teeth begin {root} across; give at most {most}").format(
                bore=with_unit(bore),
                root=with_unit(2 * root),
                most=with_unit(math.floor(20 * (root - max(LEAST_WALL, 0.5 * module))) / 10),
            )
        )
    half = math.pi / (2 * teeth) - backlash / (2 * pitch) + involute(math.radians(pressure_angle))
    start = max(base, root)
    if half - _roll(base, tip) < 0.05 * module / tip:
        raise RepairError(
            _(
                "teeth is {teeth}: with {angle}° they come to a point below their tips; give more teeth or a smaller pressure_angle, and at most {most} of backlash"
            ).format(teeth=teeth, angle=number(pressure_angle), most=with_unit(backlash / 2))
        )
    tooth = _tooth(half, base, start, root, tip, math.pi / teeth)
    profile = [c for k in range(teeth) for c in _turned(tooth, math.tau * k / teeth)]
    openings = [Opening(bore)] if bore else []
    if quick.wanted():
        round_ = prism([Bend((0, tip), (-tip, 0)), Bend((0, -tip), (tip, 0))], thickness, "z")
        return quick.known(round_, pushed(profile, thickness, "z", openings))
    return prism(profile, thickness, "z", openings)


def radii(teeth: int, module: float, pressure_angle: float) -> tuple[float, float, float, float]:
    """Radius of the pitch, base, tip and root circle, in mm.

    >>> [round(r, 4) for r in radii(20, 2, 20)]
    [20.0, 18.7939, 22.0, 17.5]
    """
    pitch = teeth * module / 2
    base = pitch * math.cos(math.radians(pressure_angle))
    return pitch, base, pitch + ADDENDUM * module, pitch - DEDENDUM * module


def involute(angle: float) -> float:
    """The involute function, tan a - a, in radians.

    >>> round(involute(math.radians(20)), 6)
    0.014904
    """
    return math.tan(angle) - angle


def _roll(base: float, radius: float) -> float:
    """How far the involute has turned from its base circle at a radius, in radians."""
    return involute(math.acos(min(1.0, base / radius)))


def _tooth(
    half: float, base: float, start: float, root: float, tip: float, reach: float
) -> Profile:
    """The tooth about the x axis, counter-clockwise, from the root before it to the one behind it."""

    def at(radius: float, angle: float) -> Point:
        return radius * math.cos(angle), radius * math.sin(angle)

    # Radii spaced as the square root of the roll, so that the bend near the base is followed.
    rolls = [math.sqrt(max(0.0, (r / base) ** 2 - 1)) for r in (start, tip)]
    steps = [rolls[0] + (rolls[1] - rolls[0]) * k / (2 * _ARCS) for k in range(2 * _ARCS + 1)]
    flank = [(r, half - _roll(base, r)) for r in (base * math.hypot(1, s) for s in steps)]
    up = [at(radius, -off) for radius, off in flank]
    down = [at(radius, off) for radius, off in reversed(flank)]
    foot = half - _roll(base, start)
    parts: list[Point | Bend] = [
        Bend(at(root, -(reach + foot) / 2), at(root, -foot)),
        up[0],
        *(Bend(up[k], up[k + 1]) for k in range(1, len(up), 2)),
        Bend(at(tip, 0.0), down[0]),
        *(Bend(down[k], down[k + 1]) for k in range(1, len(down), 2)),
        at(root, foot),
        Bend(at(root, (reach + foot) / 2), at(root, reach)),
    ]
    return parts


def _turned(profile: Profile, angle: float) -> Profile:
    """A profile turned about the origin, in radians."""
    sine, cosine = math.sin(angle), math.cos(angle)
    return mapped(
        profile, lambda at: (at[0] * cosine - at[1] * sine, at[0] * sine + at[1] * cosine)
    )
