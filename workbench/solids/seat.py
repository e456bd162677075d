"""Where a part stands: on a face of an earlier one, or by itself."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from workbench.errors import RepairError
from workbench.words import _

FACES = ("top", "bottom", "left", "right", "front", "back")


@dataclass(frozen=True)
class Seat:
    """Where a part sits: on a face of an earlier step.

    ``on`` reads "bottom of blade": the face of that step that looks down as the repair stands
    on the bench. The part's own ``by`` face (its bottom) is laid on it, centred.

    along, across : offsets in the face, in mm. On an upright face ``along`` runs level and
        ``across`` runs up; on top and bottom ``along`` runs to the right.
    turn : degrees about the line that points out of the face
    sink : how far the part is pushed into the face, in mm
    """

    on: str
    along: float = 0.0
    across: float = 0.0
    turn: float = 0.0
    sink: float = 0.0
    by: str = "bottom"

    def __post_init__(self) -> None:
        face, _of, step = str(self.on).partition(" of ")
        if not isinstance(self.on, str) or face not in FACES or not step:
            raise RepairError(
                _(
                    'seat is {on!r}; write a face and a step, such as "bottom of blade"; faces: {faces}'
                ).format(on=self.on, faces=", ".join(FACES))
            )
        if self.by not in FACES:
            raise RepairError(
                _("by is {by!r}; give one of {faces}").format(by=self.by, faces=", ".join(FACES))
            )
        _require_finite(self, ("along", "across", "turn", "sink"))

    @property
    def face(self) -> str:
        """The face's name."""
        return self.on.partition(" of ")[0]

    @property
    def step(self) -> str:
        """The name of the step that it sits on."""
        return self.on.partition(" of ")[2]

    def following(self, old: str, new: str) -> Seat:
        """The seat after its step was renamed from ``old`` to ``new``."""
        return replace(self, on=f"{self.face} of {new}") if self.step == old else self


@dataclass(frozen=True)
class At:
    """Where a part stands by itself: its own origin at (x, y, z) mm.

    tilt : degrees about the y axis, in the plane of the sketch, from x towards z
    turn : degrees about the z axis, after the tilt
    """

    x: float = 0.0
    y: float = 0.0
    z: float = 0.0
    turn: float = 0.0
    tilt: float = 0.0

    def __post_init__(self) -> None:
        _require_finite(self, ("x", "y", "z", "turn", "tilt"))

    def following(self, _old: str, _new: str) -> At:
        """The place itself: it is on no step."""
        return self


Place = Seat | At


def _require_finite(holder: Any, names: Iterable[str]) -> None:
    for name in names:
        value = getattr(holder, name)
        try:
            finite = math.isfinite(value)
        except TypeError:
            finite = False
        if not finite:
            unit = "°" if name in ("turn", "tilt") else " mm"
            raise RepairError(
                _("{name} is {value!r}{unit}; give a finite number").format(
                    name=name, value=value, unit=unit
                )
            )
        object.__setattr__(holder, name, float(value))
