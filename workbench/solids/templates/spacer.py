"""A spacer ring: keeps two things apart on a screw or a shaft."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import quick
from workbench.solids.parameters import Size, checked
from workbench.solids.shapes.profile import LEAST_WALL, Bend, Profile, prism, turned
from workbench.words import _, lengths, with_unit

if TYPE_CHECKING:
    from build123d import Solid


@facts(duty="clamped", quick=lambda values: values["gap"])
@checked
def spacer(
    inside: Annotated[
        float, Size(1, 200, 0.05, measure="across the bore, for what goes through it")
    ] = 5.5,
    outside: Annotated[float, Size(2, 300, 0.05, measure="across the ring")] = 12.0,
    height: Annotated[float, Size(0.4, 200, 0.05, measure="of the gap that it keeps")] = 6.0,
    bore_chamfer: Annotated[
        float, Size(0, 10, 0.05, measure="off both edges of the bore; 0 for none")
    ] = 0.4,
    gap: Annotated[
        float, Size(0, 100, 0.05, measure="across the opening at its side; 0 for a whole ring")
    ] = 0.0,
) -> Solid:
    """A ring that keeps two things apart on a screw or a shaft, standing on its end.

    With a gap it is pushed on from the side; the gap opens to the right. Cut open, seen from
    the front::

         .----.      .----.
         |     \\    /     |   bore_chamfer
         |      |  |      |
         |      |  |      |   height
         |     /    \\     |
         '----'      '----'
                inside
               outside

    Raises RepairError when the bore or its chamfers leave no ring, or the gap is as wide as the
    bore.
    """
    _refuse(inside, outside, height, bore_chamfer, gap)
    bore, rim, cut = inside / 2, outside / 2, bore_chamfer
    slope = [(bore, height - cut), (bore, cut)] if cut else []
    ring = turned([(bore + cut, 0), (rim, 0), (rim, height), (bore + cut, height), *slope])
    if not gap:
        return ring
    y = gap / 2
    opening = prism([(0, -y), (rim + 1, -y), (rim + 1, y), (0, y)], height, along="z")
    if quick.wanted():
        far, near = (math.sqrt(radius**2 - y**2) for radius in (rim, bore))
        open_ring: Profile = [
            (far, y),
            Bend((-rim, 0), (far, -y)),
            (near, -y),
            Bend((-bore, 0), (near, y)),
        ]
        return quick.known(prism(open_ring, height, along="z"), quick.less(ring, [opening]))
    return quick.cut(ring, [opening])


def _refuse(inside: float, outside: float, height: float, cut: float, gap: float) -> None:
    if outside < inside + 2 * LEAST_WALL:
        raise RepairError(
            _(
                "inside is {inside} and outside {outside}, which leaves no ring; give an outside of at least {least}"
            ).format(**lengths(inside=inside, outside=outside, least=inside + 2 * LEAST_WALL))
        )
    most = min((outside - inside) / 2 - LEAST_WALL / 2, (height - LEAST_WALL) / 2)
    if cut > most:
        raise RepairError(
            _(
                "bore_chamfer is {cut} and would take the ring's end away; give at most {most} or a thicker or taller ring"
            ).format(cut=with_unit(cut), most=with_unit(most))
        )
    if 0 < gap < LEAST_WALL / 4:
        raise RepairError(
            _("gap is {gap}; give at least {least} or 0 for a whole ring").format(
                gap=with_unit(gap, 4), least=with_unit(LEAST_WALL / 4)
            )
        )
    if gap > inside - LEAST_WALL:
        raise RepairError(
            _(
                "gap is {gap} and the bore {inside}, so the ring would not hold on; give at most {most} or 0 for a whole ring"
            ).format(
                gap=with_unit(gap), inside=with_unit(inside), most=with_unit(inside - LEAST_WALL)
            )
        )
