"""Pairs and patterns: one step that stands several times, in a row, in a ring or mirrored."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from typing import Any, ClassVar

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.parameters import Count, Parameter, Size, one_of
from workbench.solids.recipe.same import Same
from workbench.words import _

#: What stands before the name of a pattern's number where a step's own sizes are named too.
REPEAT = "repeat."

#: Ends a pattern.
ONCE = "once"

#: A step stands so often at most: more would be told apart by nobody, and take minutes to join.
MOST = 400

#: Directions of a row: level along the face, up it or to the back, and out of it. For a step
#: that stands by itself they are x, y and z.
WAYS = ("along", "across", "out")

#: Pairs of sides that a step may be mirrored to: the axis that it is mirrored along.
MIRRORS = {"left-right": 0, "front-back": 1, "top-bottom": 2}

_COUNT = Count(1, MOST, measure="how many there are")


class _Pattern:
    """What rows and rings have in common: their numbers are sizes of the step."""

    kinds: ClassVar[Mapping[str, Count | Size]]
    words: ClassVar[tuple[str, ...]] = ()

    def numbers(self) -> dict[str, Any]:
        """Its numbers by name."""
        return {name: getattr(self, name) for name in self.kinds}

    def parameter(self, name: str) -> Parameter:
        """What a number is: its range, unit and what to measure."""
        kind = one_of(self.kinds, name, type(self).__name__)
        return Parameter(name, kind, 1 if name == "n" else 0.0)

    def with_numbers(self, numbers: Mapping[str, Any]) -> Any:
        """The pattern with other numbers."""
        return replace(self, **numbers)  # type: ignore[type-var]

    def blank(self, name: str) -> float:
        """What a number is until what it follows is worked out."""
        return self.kinds[name].low

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        found = {f.name: getattr(self, f.name) for f in fields(self)}  # type: ignore[arg-type]
        return {"kind": type(self).__name__.lower(), **found}

    def _check(self) -> None:
        for name, kind in self.kinds.items():
            value = getattr(self, name)
            if not isinstance(value, Same):
                label = _("repeat: {name}").format(name=_(name))
                object.__setattr__(self, name, kind.check(label, value))


@gate.asked
@dataclass(frozen=True)
class Row(_Pattern):
    """A step that stands ``n`` times in a row, ``pitch`` mm from middle to middle.

    The row as a whole sits where the step alone would: about its middle, or where an edge in
    the row's direction holds the step, with the first so far inside that edge and the others
    further in.

    direction : "along" or "across" the face, or "out" of it
    """

    n: int
    pitch: float
    direction: str = "along"

    kinds: ClassVar[Mapping[str, Count | Size]] = {
        "n": _COUNT,
        "pitch": Size(0.1, 400, 0.1, measure="from the middle of one to the middle of the next"),
    }

    def __post_init__(self) -> None:
        gate.choice("direction", self.direction, WAYS)
        self._check()

    def moves(self, inward: float = 0.0) -> list[np.ndarray]:
        """(4, 4) moves of each in the face's frame; ``inward`` is the sign of the way from an edge."""
        gate.needed(inward, (int, float), "inward", "1")
        axis = WAYS.index(self.direction)
        shifts = np.arange(self.n) * self.pitch
        shifts = shifts * inward if inward else shifts - shifts.mean()
        moves = []
        for shift in shifts:
            move = np.eye(4)
            move[axis, 3] = shift
            moves.append(move)
        return moves


@gate.asked
@dataclass(frozen=True)
class Ring(_Pattern):
    """A step that stands ``n`` times round a circle, each turned to look outwards.

    The circle's middle sits where the step alone would. An edge holds the middle.

    radius : from the circle's middle to the middle of each, in mm
    start : where the first stands, in degrees from along towards across
    """

    n: int
    radius: float
    start: float = 0.0

    kinds: ClassVar[Mapping[str, Count | Size]] = {
        "n": _COUNT,
        "radius": Size(0.1, 200, 0.1, measure="from the circle's middle to the middle of each"),
        "start": Size(
            -360, 360, 1, unit="°", measure="where the first stands, from along towards across"
        ),
    }

    def __post_init__(self) -> None:
        self._check()

    def moves(self, inward: float = 0.0) -> list[np.ndarray]:
        """(4, 4) moves of each in the face's frame."""
        moves = []
        for number in range(self.n):
            angle = math.radians(self.start + 360 * number / self.n)
            sine, cosine = math.sin(angle), math.cos(angle)
            move = np.eye(4)
            move[:2, :2] = [[cosine, -sine], [sine, cosine]]
            move[:2, 3] = self.radius * cosine, self.radius * sine
            moves.append(move)
        return moves


Repeat = Row | Ring


def repeat_from(row: Mapping[str, Any]) -> Repeat:
    """Read back what ``to_dict`` wrote."""
    kinds: dict[str, type[Repeat]] = {"row": Row, "ring": Ring}
    given = dict(row)
    return kinds[given.pop("kind")](**given)


def repeat_of(given: Any) -> Repeat | None:
    """The pattern itself, None for one that stands once; RepairError where it is no pattern."""
    if given is None or given == ONCE or isinstance(given, Repeat):
        return None if given == ONCE else given
    raise RepairError(
        _("repeat is {value!r}; give Row(n, pitch), Ring(n, radius) or {once!r}").format(
            value=given, once=ONCE
        )
    )


def mirror_of(name: Any) -> str:
    """The name of a mirror, empty for none; RepairError where there is no such mirror."""
    return gate.choice("mirror", name, MIRRORS) if name else ""


def reflection(axis: np.ndarray, middle: float) -> np.ndarray:
    """(4, 4) reflection in the plane square to ``axis`` (3,) that lies ``middle`` mm along it."""
    move = np.eye(4)
    move[:3, :3] -= 2 * np.outer(axis, axis)
    move[:3, 3] = 2 * middle * axis
    return move
