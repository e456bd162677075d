"""Limits between sizes: what must hold for a part to do its job, whatever its sizes are."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from workbench.errors import RepairError
from workbench.solids.same import Same
from workbench.words import _, with_unit

#: A size that misses its limit by less than this, in mm, meets it.
_SAME = 1e-6


@dataclass(frozen=True)
class Limit:
    """A size that is at least, or at most, what others come to.

    size : "step.field", such as "lip.depth", or a sum of sizes
    at_least, at_most : plain arithmetic of other sizes; either may be left out
    """

    size: Same
    at_least: Same | None = None
    at_most: Same | None = None

    def refusal(self, look: Callable[[str, str], float]) -> RepairError | None:
        """Why the sizes as they are do not keep the limit, or None where they do."""
        value = self.size.value(look)
        least = self.at_least and self.at_least.value(look)
        most = self.at_most and self.at_most.value(look)
        if least is not None and value < least - _SAME:
            text = _(
                "{size} is {value} and must be at least {limit}, which is {least}; change one of these sizes"
            )
        elif most is not None and value > most + _SAME:
            text = _(
                "{size} is {value} and must be at most {limit}, which is {most}; change one of these sizes"
            )
        else:
            return None
        limit = self.at_least if least is not None and value < least - _SAME else self.at_most
        return RepairError(
            text.format(
                size=self.size.text,
                value=with_unit(value),
                limit=limit and limit.text,
                least=with_unit(least or 0.0),
                most=with_unit(most or 0.0),
            )
        )

    @property
    def steps(self) -> frozenset[str]:
        """The names of the steps whose sizes it is about."""
        every = (self.size, self.at_least, self.at_most)
        return frozenset(step for same in every if same for step, _field in same.sizes)

    def renamed(self, name: Callable[[str], str]) -> Limit:
        """The limit with each step's name as ``name`` has it now."""
        new = [same and same.renamed(name) for same in (self.size, self.at_least, self.at_most)]
        assert new[0] is not None
        return Limit(new[0], *new[1:])

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        texts = {"size": self.size, "at_least": self.at_least, "at_most": self.at_most}
        return {name: same.text for name, same in texts.items() if same}

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Limit:
        """Read back what :meth:`to_dict` wrote."""
        return cls(**{name: Same(text) for name, text in row.items()})


def kept(limits: Iterable[Limit], look: Callable[[str, str], float]) -> None:
    """Raise RepairError for the first limit that the sizes do not keep."""
    for limit in limits:
        refused = limit.refusal(look)
        if refused is not None:
            raise refused
