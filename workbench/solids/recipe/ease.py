"""Which edges a hand wants rounded or chamfered, as plain data."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.parameters import Size
from workbench.solids.recipe.seat import FACES, OTHER_SIDE
from workbench.words import _, number

#: What edges are rounded or chamfered by.
EASING = Size(0, 50, 0.1, measure="0.5 mm is easy on the hands")

#: All edges of a step, and the inside corner between two.
ALL, BETWEEN = "all", "between"

Point = tuple[float, float, float]


@dataclass(frozen=True)
class Ease:
    """A round, or a chamfer, on edges that are chosen.

    which : "top" and the like for the edges of that face of a step, "all" for all of a step's,
        "between" for the inside corner of two steps, or "" for the edge nearest to ``at``
    steps : the names of the steps, one or two
    size : radius of the round, or width of the chamfer on each face, in mm
    chamfer : whether it is a chamfer
    at : (x, y, z) mm, near the edge that was picked
    """

    which: str
    steps: tuple[str, ...]
    size: float
    chamfer: bool = False
    at: Point | None = None

    @property
    def where(self) -> str:
        """The edges in words, as :meth:`read` takes them."""
        if self.at is not None:
            return _("edge at {place}").format(place=", ".join(map(number, self.at)))
        if self.which == BETWEEN:
            return f"{BETWEEN} {' and '.join(self.steps)}"
        return f"{self.which} of {self.steps[0]}"

    @classmethod
    def read(cls, where: Any, size: Any, chamfer: bool, steps: Iterable[str]) -> Ease:
        """What was asked for: "top of key", "all of key", "between upright and base", or a point.

        steps : the names that there are

        Raises RepairError when the words name no edges, a step is not there, or the size cannot be
        used.
        """
        known = list(steps)
        label = _("chamfer of {where}") if chamfer else _("round of {where}")
        amount = EASING.check(label.format(where=gate.short(where)), size)
        if not isinstance(where, str):
            return cls("", (), amount, chamfer, _point(where))
        which, _of, step = where.partition(" of ")
        if which in (*FACES, ALL) and step in known:
            return cls(which, (step,), amount, chamfer)
        first, _space, rest = where.partition(" ")
        pairs = [(a, b) for a in known for b in known if a != b and rest == f"{a} and {b}"]
        if first == BETWEEN and pairs:
            return cls(BETWEEN, pairs[0], amount, chamfer)
        raise RepairError(
            _(
                'edges to ease are {where!r}; write "top of {step}", "all of {step}" or "between {step} and another"; steps: {known}'
            ).format(where=where, step=known[0] if known else "key", known=gate.listed(known))
        )

    def renamed(self, name: Callable[[str], str]) -> Ease:
        """The same with each step's name as ``name`` has it now."""
        return replace(self, steps=tuple(map(name, self.steps)))

    def mirrored(self) -> Ease:
        """The same on the other hand of the part, left and right changed over."""
        at = None if self.at is None else (0.0 - self.at[0], *self.at[1:])
        return replace(self, which=OTHER_SIDE.get(self.which, self.which), at=at)

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        row = {"which": self.which, "steps": list(self.steps), "size": self.size}
        return row | {"chamfer": self.chamfer, "at": list(self.at) if self.at else None}

    @classmethod
    def from_dict(cls, row: Mapping[str, Any], steps: Iterable[str]) -> Ease:
        """Read back what :meth:`to_dict` wrote."""
        at = row.get("at")
        words = cls(row["which"], tuple(row["steps"]), row["size"]).where if not at else tuple(at)
        return cls.read(words, row["size"], bool(row.get("chamfer", False)), steps)


def _point(where: Any) -> Point:
    try:
        x, y, z = (float(one) for one in where)
        if not all(map(math.isfinite, (x, y, z))):
            raise ValueError
    except (TypeError, ValueError, OverflowError):
        raise RepairError(
            _("edge to ease is {where!r}; give words, or x, y and z in mm").format(
                where=gate.short(where)
            )
        ) from None
    return x, y, z
