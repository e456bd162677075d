"""A peg: round or D-shaped, that enters a hole."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Choice, Size, checked
from workbench.solids.shapes.profile import LEAST_WALL, Bend, Profile, prism, turned
from workbench.words import _, lengths, sized, with_unit

if TYPE_CHECKING:
    from build123d import Shape, Solid

SECTIONS = ("round", "D")


@facts(holds=True, quick=lambda values: values["section"] == "D" and not values["slot"])
@checked
def peg(
    section: Annotated[str, Choice(SECTIONS, measure="looking at the peg's end")] = "round",
    diameter: Annotated[float, Size(1, 60, 0.05, measure="across the round")] = 5.0,
    across_flat: Annotated[
        float, Size(0.5, 60, 0.05, measure="from the flat to the far side, where it is a D")
    ] = 4.2,
    length: Annotated[float, Size(1, 200, measure="how far it goes in")] = 10.0,
    chamfer: Annotated[
        float, Size(0, 10, 0.05, measure="off the edge of the tip; 0 for none")
    ] = 0.0,
    collar: Annotated[float, Size(0, 80, measure="across the collar; 0 for none")] = 0.0,
    collar_thickness: Annotated[float, Size(0.4, 40, 0.05, measure="through the collar")] = 2.0,
    slot: Annotated[
        float, Size(0, 20, 0.05, measure="across the slot that splits it; 0 for none")
    ] = 0.0,
    slot_depth: Annotated[float, Size(0.2, 200, measure="from the tip down to the slot's end")] = (
        6.0
    ),
) -> Shape:
    """A peg that stands on its root, or on its collar, and enters a hole with its tip.

    ``length`` counts from the root or from the top of the collar. The flat of a D looks to the
    front. A slot runs from front to back and ends in a round, so that the halves can spring
    without tearing. Seen from the front::

             .--. .--.      chamfer
            |   | |   |     --
            |   | |   |     |  slot_depth
            |   '.'   |     --
            |         |
        .---'         '---.
        |                 |  collar_thickness
        '-----------------'
              collar

    Raises RepairError when the collar is no wider than the peg, the flat lies outside it, the
    chamfer takes the tip away, or the slot leaves nothing beside or below it.
    """
    flat = across_flat - diameter / 2 if section == "D" else diameter / 2
    if section == "D":
        refuse_flat(diameter, across_flat)
    _refuse_chamfer(diameter / 2 + flat, length, chamfer)
    if collar:
        _refuse_collar(diameter, collar)
    root = collar_thickness if collar else 0.0
    tip = root + length
    radius = diameter / 2
    foot = (
        [(0.0, 0.0), (collar / 2, 0.0), (collar / 2, root), (radius, root)]
        if collar
        else [(0.0, 0.0), (radius, 0.0)]
    )
    solid = turned([*foot, (radius, tip - chamfer), (radius - chamfer, tip), (0.0, tip)])
    cuts = []
    if section == "D":
        cuts.append(beyond_flat(diameter + collar, flat, root, tip, chamfer))
        if quick.wanted() and not slot:
            stands = [turned([*foot[:3], (0, root)])] if collar else []
            if chamfer < length:
                stands.append(d_prism(radius, flat, root, tip - chamfer))
            if chamfer:
                stands.append(d_prism(radius - chamfer, flat - chamfer, tip - chamfer, tip))
            return quick.instead(quick.less(solid, cuts), *stands)
    if slot:
        _refuse_slot(_tip_width(radius - chamfer, flat - chamfer), length, slot, slot_depth)
        cuts.append(_slot(diameter + collar, slot, tip - slot_depth, tip))
    return quick.cut(solid, cuts) if cuts else solid


def beyond_flat(span: float, flat: float, root: float, tip: float, chamfer: float) -> Solid:
    """What a D lacks of a round: all in front of its flat, which is chamfered too."""
    shoulder = tip - chamfer
    slope = [(-flat, shoulder), (-flat + 2 * chamfer, shoulder + 2 * chamfer)] if chamfer else []
    above = max(tip, shoulder + 2 * chamfer) + 1
    face = [(-flat, root), *slope, (slope[-1][0] if slope else -flat, above)]
    return prism([*face, (-span, above), (-span, root)], span, along="x")


def d_prism(radius: float, flat: float, low: float, high: float) -> Solid:
    """A D with its flat to the front, so far from its middle, between two levels."""
    from build123d import Location

    half = math.sqrt(radius**2 - flat**2)
    profile: Profile = [(half, -flat), Bend((0, radius), (-half, -flat))]
    return prism(profile, high - low, "z").moved(Location((0, 0, low)))


def _slot(span: float, slot: float, end: float, tip: float) -> Solid:
    half = slot / 2
    return prism(
        [
            (half, tip + 1),
            (-half, tip + 1),
            (-half, end + half),
            Bend((0, end), (half, end + half)),
        ],
        span,
    )


def _tip_width(radius: float, flat: float) -> float:
    """Width of a D of that radius with its flat so far from the centre, or behind it."""
    return 2 * (radius if flat >= 0 else math.sqrt(max(radius**2 - flat**2, 0)))


def refuse_flat(diameter: float, across_flat: float) -> None:
    """Refuse a D whose flat lies outside its round or beyond its middle."""
    if not diameter / 2 <= across_flat <= diameter - LEAST_WALL / 4:
        raise RepairError(
            _(
                "across_flat is {flat} on a diameter of {diameter}; give {low} to {high}, or make the section round"
            ).format(
                low=sized(diameter / 2),
                **lengths(flat=across_flat, diameter=diameter, high=diameter - LEAST_WALL / 4),
            )
        )


def _refuse_chamfer(across: float, length: float, chamfer: float) -> None:
    most = min((across - LEAST_WALL) / 2, length)
    if chamfer > most:
        raise RepairError(
            _(
                "chamfer is {chamfer} and would take the tip away; give at most {most} or a thicker or longer peg"
            ).format(chamfer=with_unit(chamfer), most=with_unit(most))
        )


def _refuse_collar(diameter: float, collar: float) -> None:
    if collar < diameter + LEAST_WALL:
        raise RepairError(
            _(
                "collar is {collar} across and the peg {diameter}; give a collar of at least {least}, or 0 for none"
            ).format(**lengths(collar=collar, diameter=diameter, least=diameter + LEAST_WALL))
        )


def _refuse_slot(tip_width: float, length: float, slot: float, slot_depth: float) -> None:
    most = tip_width - 2 * LEAST_WALL
    if slot < LEAST_WALL / 4:
        raise RepairError(
            _("slot is {slot}; give at least {least} or 0 for none").format(
                slot=with_unit(slot, 4), least=with_unit(LEAST_WALL / 4)
            )
        )
    if slot > most:
        raise RepairError(
            _(
                "slot is {slot} and the tip is {tip} across; give at most {most} or 0 for none"
            ).format(slot=with_unit(slot), tip=with_unit(tip_width), most=with_unit(max(most, 0)))
        )
    if not slot / 2 <= slot_depth <= length - LEAST_WALL:
        raise RepairError(
            _(
                "slot_depth is {depth} on a slot of {slot} and a length of {length}; give {low} to {high}"
            ).format(
                low=sized(slot / 2),
                **lengths(depth=slot_depth, slot=slot, length=length, high=length - LEAST_WALL),
            )
        )
