"""Rows of screw holes through parts that are not flat plates, and the room that heads need."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.errors import RepairError
from workbench.solids.geometry import quick
from workbench.solids.shapes.profile import LEAST_WALL, Point, turned
from workbench.solids.shapes.screws import clearance_hole
from workbench.words import _, lengths

if TYPE_CHECKING:
    from build123d import Solid

#: How far a tool is drawn on past a face, so that it cuts cleanly through it, in mm.
PAST = 1.0


def hole_under(screw: str, head: float) -> float:
    """Diameter in mm of the hole, ISO 273 medium, for a screw whose head must not slip through.

    Raises RepairError when the head is no wider than the hole.
    """
    across = clearance_hole(screw)
    if head < across + 2 * LEAST_WALL:
        raise RepairError(
            _(
                "head is {head} across and the hole for {screw} is {across}; give at least {least}, or a smaller screw"
            ).format(
                screw=screw, **lengths(head=head, across=across, least=across + 2 * LEAST_WALL)
            )
        )
    return across


def row(count: int, low: float, high: float) -> list[float]:
    """Places spread evenly between two ends, each in the middle of its share.

    >>> row(2, 0, 10), row(0, 0, 10)
    ([2.5, 7.5], [])
    """
    return [low + (high - low) * (index + 0.5) / count for index in range(count)]


def refuse_heads(count: int, head: float, along: float, across: float, remedy: str) -> None:
    """Refuse screw heads that have no room in a field of ``along`` by ``across`` mm.

    Raises RepairError with ``remedy`` as what to do.
    """
    if count and (count * (head + LEAST_WALL) > along + 1e-9 or head > across + 1e-9):
        raise RepairError(
            _(
                "head is {head} across and {count} of them have only {along} by {across} to sit on; {remedy}"
            ).format(
                count=count,
                remedy=remedy,
                **lengths(head=head, along=max(along, 0.0), across=across),
            )
        )


def drilled(
    solid: Solid, centres: Sequence[Point], across: float, top: float, head: float = 0.0
) -> Solid:
    """The solid with round holes from its underside at z = 0 up to ``top``, in mm.

    centres : (x, y) of each hole
    head : across countersinks of 90 degrees that open at ``top``; 0 for none
    """
    from build123d import Location

    if not centres:
        return solid
    bore, rim = across / 2, head / 2
    profile: list[Point] = [(0.0, -PAST), (bore, -PAST)]
    if head:
        profile += [(bore, top - rim + bore), (rim + PAST, top + PAST), (0.0, top + PAST)]
    else:
        profile += [(bore, top), (0.0, top)]
    tool = turned(profile)
    return quick.cut(solid, [tool.moved(Location((x, y, 0.0))) for x, y in centres])
