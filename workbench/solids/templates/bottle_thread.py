"""The thread of a bottle's neck: a ridge with room between its turns, wider than a screw's."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.parameters import Flag, Size, checked
from workbench.solids.templates.thread import wound
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Solid

#: The flanks lean so far from square, in degrees: printed standing, each turn holds the next.
_FLANK = 45.0

#: Between two turns at least so much stays at the core, in mm: the ridge of what screws onto it.
_BETWEEN = 0.4


@facts(
    axial=True,
    ridged=True,
    one_hand=True,
    quick=lambda _values: True,
    read=("diameter", "core", "pitch"),
)
@checked
def bottle_thread(
    diameter: Annotated[float, Size(8, 120, 0.1, measure="over the ridges of the neck")] = 27.4,
    core: Annotated[float, Size(6, 118, 0.1, measure="of the neck between its ridges")] = 25.4,
    pitch: Annotated[float, Size(1.5, 10, 0.05, measure="from ridge to ridge, up the neck")] = 3.2,
    ridge: Annotated[float, Size(0.4, 6, 0.1, measure="width of a ridge at its top")] = 0.8,
    length: Annotated[float, Size(2, 60, 0.5, measure="of the thread, end to end")] = 9.0,
    allowance: Annotated[
        float, Size(0, 1, 0.05, measure="off the diameter of a neck, onto that of a cap")
    ] = 0.4,
    hole: Annotated[bool, Flag(measure="whether it cuts a cap's thread")] = False,
) -> Solid:
    """A right-handed bottle thread, standing on its end.

    A neck has ridges with wide room between them. A step that cuts a cap is given ``hole``: it is
    larger all round by half of the allowance, its ridges wider by half of it too.

    ::

          __      __
         /  \\    /  \\      ridge, and flanks 45 degrees from square
        |    \\__/    \\__    core

    Raises RepairError when the ridges are too low, or leave no room between them.
    """
    if core > diameter - 0.4:
        raise RepairError(
            _("core is {core} and diameter {diameter}; give a core of at most {most}").format(
                core=with_unit(core), diameter=with_unit(diameter), most=with_unit(diameter - 0.4)
            )
        )
    more = allowance if hole else -allowance
    top = ridge + (allowance / 2 if hole else 0.0)
    flank = (diameter - core) / 2 * math.tan(math.radians(_FLANK))
    least = top + 2 * flank + _BETWEEN
    if pitch < least:
        raise RepairError(
            _(
                "pitch is {pitch}, too little for ridges of {ridge} that are {high} high; give at least {least}, or measure ridge and core again"
            ).format(
                pitch=with_unit(pitch),
                ridge=with_unit(ridge),
                high=with_unit((diameter - core) / 2),
                least=with_unit(math.ceil(20 * least) / 20),
            )
        )
    ends = (top, top + flank, pitch - flank, pitch)
    shares = tuple(end / pitch for end in ends)
    return wound((diameter + more) / 2, (core + more) / 2, pitch, length, shares)
