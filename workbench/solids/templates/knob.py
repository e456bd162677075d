"""A knob for a shaft, round or with a flat."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Choice, Count, Size, checked
from workbench.solids.shapes.profile import LEAST_WALL, Bend, Point, Profile, prism, turned
from workbench.solids.templates.peg import SECTIONS, refuse_flat
from workbench.words import _, lengths, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: How deep the pointer's groove is, and what the top is thick at least above the bore, in mm.
POINTER_DEPTH, LEAST_TOP = 0.8, 0.4


@facts(duty="control", quick=lambda _values: True)
@checked
def knob(
    diameter: Annotated[float, Size(6, 120, measure="across the grip")] = 24.0,
    height: Annotated[float, Size(3, 80, measure="from the panel to the top")] = 16.0,
    section: Annotated[str, Choice(SECTIONS, measure="looking at the shaft's end")] = "D",
    shaft: Annotated[
        float, Size(1, 40, 0.05, measure="across the bore, for the round part of the shaft")
    ] = 6.2,
    across_flat: Annotated[
        float, Size(0.5, 40, 0.05, measure="of the bore, from its flat to the far side")
    ] = 4.7,
    depth: Annotated[float, Size(1, 60, measure="how far the shaft goes in")] = 11.0,
    flutes: Annotated[int, Count(0, 24, measure="hollows round the grip; 0 for none")] = 8,
    flute: Annotated[float, Size(0.5, 30, measure="across a hollow")] = 4.0,
    pointer: Annotated[
        float, Size(0, 10, measure="across the groove on top that points; 0 for none")
    ] = 1.2,
) -> Solid:
    """A knob that stands on the side that its shaft enters from.

    The flat of a D and the pointer on top look to the front. Cut open, seen from the right::

         pointer
           _      ______
          | |____|      |         --
          |             |         |
          |    .---.    |   --    |  height
          |    |   |    |   | depth
          |    |   |    |   |     |
          '----'   '----'   --    --
               shaft
             diameter

    Raises RepairError when the bore leaves no wall or no top, hollows run into each other or into
    the bore, or the pointer finds no room.
    """
    if section == "D":
        refuse_flat(shaft, across_flat)
    _refuse_bore(diameter, height, shaft, depth, bool(pointer))
    if flutes:
        _refuse_flutes(diameter, shaft, flutes, flute)
    _refuse_pointer(diameter, pointer)
    radius = diameter / 2
    grip = (
        prism(_fluted(radius, flutes, flute / 2), height, along="z")
        if flutes
        else turned([(0, 0), (radius, 0), (radius, height), (0, height)])
    )
    cuts = [_bore(section, shaft / 2, across_flat - shaft / 2, depth)]
    if pointer:
        cuts.append(_groove(radius, pointer / 2, height))
    return quick.cut(grip, cuts)


def _fluted(radius: float, count: int, hollow: float) -> Profile:
    """A round with hollows whose middles lie on its rim, the front left between two of them."""
    # Half the angle that a hollow takes of the rim.
    half = 2 * math.asin(hollow / (2 * radius))
    middles = [(index + 0.5) * 2 * math.pi / count - math.pi / 2 for index in range(count)]

    def at(angle: float, far: float = radius) -> Point:
        return far * math.cos(angle), far * math.sin(angle)

    profile: list[Point | Bend] = []
    for before, middle in zip([middles[-1] - 2 * math.pi, *middles[:-1]], middles, strict=True):
        profile.append(Bend(at((before + middle) / 2), at(middle - half)))
        profile.append(Bend(at(middle, radius - hollow), at(middle + half)))
    return profile


def _bore(section: str, radius: float, flat: float, depth: float) -> Solid:
    from build123d import Location

    if section == "round":
        return turned([(0, -1), (radius, -1), (radius, depth), (0, depth)])
    half = math.sqrt(radius**2 - flat**2)
    d: Profile = [(half, -flat), Bend((0, radius), (-half, -flat))]
    return prism(d, depth + 1, along="z").moved(Location((0, 0, -1)))


def _groove(radius: float, half: float, height: float) -> Solid:
    from build123d import Location

    corners: list[Point] = [
        (-half, -radius - 1),
        (half, -radius - 1),
        (half, -radius / 3),
        (-half, -radius / 3),
    ]
    tool = prism(corners, POINTER_DEPTH + 1, along="z")
    return tool.moved(Location((0, 0, height - POINTER_DEPTH)))


def _refuse_bore(diameter: float, height: float, shaft: float, depth: float, pointed: bool) -> None:
    if shaft + 2 * LEAST_WALL > diameter:
        raise RepairError(
            _(
                "shaft is {shaft} across and the grip's diameter {diameter}; give a diameter of at least {least}"
            ).format(**lengths(shaft=shaft, diameter=diameter, least=shaft + 2 * LEAST_WALL))
        )
    most = height - LEAST_TOP - (POINTER_DEPTH if pointed else 0)
    if depth > most:
        raise RepairError(
            _(
                "depth is {depth}, too deep for a knob {height} high; give at most {most} or a taller knob"
            ).format(depth=with_unit(depth), height=with_unit(height), most=with_unit(most))
        )


def _refuse_flutes(diameter: float, shaft: float, count: int, flute: float) -> None:
    apart = diameter * math.sin(math.pi / count) if count > 1 else diameter
    most = min(apart - LEAST_WALL, diameter - shaft - 2 * LEAST_WALL)
    if flute > most:
        raise RepairError(
            _(
                "flute is {flute} across and {count} of them leave no wall between them or round the bore; give at most {most}, or fewer flutes"
            ).format(flute=with_unit(flute), count=count, most=with_unit(max(most, 0)))
        )


def _refuse_pointer(diameter: float, pointer: float) -> None:
    if pointer > diameter / 4:
        raise RepairError(
            _("pointer is {pointer} across; give at most {most}, a quarter of the grip").format(
                pointer=with_unit(pointer), most=with_unit(diameter / 4)
            )
        )
