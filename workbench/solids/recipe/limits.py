"""Limits between sizes: what must hold for a part to do its job, whatever its sizes are."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from workbench.errors import RepairError
from workbench.solids.recipe.same import Same
from workbench.words import _, number, with_unit

#: A size that misses its limit by less than this, in mm, meets it.
_SAME = 1e-6


@dataclass(frozen=True)
class Limit:
    """A size that is at least, or at most, what others come to.

    size : "step.field", such as "lip.depth", or a sum of sizes
    at_least, at_most : a number, or plain arithmetic of other sizes; either may be left out
    """

    size: Same
    at_least: Same | float | None = None
    at_most: Same | float | None = None

    def refusal(self, look: Callable[[str, str], float]) -> RepairError | None:
        """Why the sizes as they are do not keep the limit, or None where they do."""
        value = self.size.value(look)
        told = (
            number if all(isinstance(look(*size), int) for size in self.size.sizes) else with_unit
        )
        for least, bound in ((True, self.at_least), (False, self.at_most)):
            if bound is None:
                continue
            limit = bound.value(look) if isinstance(bound, Same) else bound
            if (limit - value if least else value - limit) > _SAME:
                names = {"size": self.size.text, "value": told(value), "limit": told(limit)}
                return RepairError(_sentence(least, bound, names))
        return None

    @property
    def steps(self) -> frozenset[str]:
        """The names of the steps whose sizes it is about."""
        every = (self.size, self.at_least, self.at_most)
        found = (same.sizes for same in every if isinstance(same, Same))
        return frozenset(step for sizes in found for step, _field in sizes)

    def renamed(self, name: Callable[[str], str]) -> Limit:
        """The limit with each step's name as ``name`` has it now."""
        least, most = (
            one.renamed(name) if isinstance(one, Same) else one
            for one in (self.at_least, self.at_most)
        )
        return Limit(self.size.renamed(name), least, most)

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        held = {"size": self.size, "at_least": self.at_least, "at_most": self.at_most}
        return {
            name: one.text if isinstance(one, Same) else one
            for name, one in held.items()
            if one is not None
        }

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Limit:
        """Read back what :meth:`to_dict` wrote."""
        held: dict[str, Any] = {
            name: Same(one) if isinstance(one, str) or name == "size" else _finite(name, one)
            for name, one in row.items()
        }
        return cls(**held)


def _sentence(least: bool, bound: Same | float, names: Mapping[str, str]) -> str:
    if not isinstance(bound, Same):
        text = (
            _("{size} is {value}; it must be at least {limit}")
            if least
            else _("{size} is {value}; it must be at most {limit}")
        )
        return text.format(**names)
    text = (
        _(
            "{size} is {value} and must be at least {others}, which is {limit}; change one of these sizes"
        )
        if least
        else _(
            "{size} is {value} and must be at most {others}, which is {limit}; change one of these sizes"
        )
    )
    return text.format(others=bound.text, **names)


def _finite(name: str, value: Any) -> float:
    if isinstance(value, (int, float)) and math.isfinite(value):
        return float(value)
    raise RepairError(
        _("{name} is {value!r}; give a number, or sizes such as base.width").format(
            name=name, value=value
        )
    )


def kept(limits: Iterable[Limit], look: Callable[[str, str], float]) -> None:
    """Raise RepairError for the first limit that the sizes do not keep."""
    for limit in limits:
        refused = limit.refusal(look)
        if refused is not None:
            raise refused
