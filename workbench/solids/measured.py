"""What was read of an outline, kept with the steps that were made from it.

Saved notebooks import it from here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from workbench.measure.sketches.sketch import Sketch

#: How an outline becomes steps: one panel, or one fin whose sizes have names; else in pieces, by
#: the ways of ``decompose``.
WHOLE, AS_FIN = "whole", "fin"


@dataclass(frozen=True)
class Measured:
    """A sketch and the steps that stand for it.

    sketch : corners and readings; take a copy of it before editing
    steps : names of the steps that are the outline
    form : "whole", "fin", or a way to split
    holes : names of the steps that are its round holes
    """

    sketch: Sketch
    steps: tuple[str, ...]
    form: str = WHOLE
    holes: tuple[str, ...] = ()

    def without(self, step: str) -> Measured | None:
        """What is left when a step is taken out; None where no step of the outline is left."""
        steps = tuple(name for name in self.steps if name != step)
        holes = tuple(name for name in self.holes if name != step)
        return Measured(self.sketch, steps, self.form, holes) if steps else None

    def following(self, old: str, new: str) -> Measured:
        """The same after a step was renamed from ``old`` to ``new``."""
        steps, holes = (
            tuple(new if name == old else name for name in names)
            for names in (self.steps, self.holes)
        )
        return replace(self, steps=steps, holes=holes)

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        return {
            "sketch": self.sketch.to_dict(),
            "steps": list(self.steps),
            "form": self.form,
            "holes": list(self.holes),
        }

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Measured:
        """Read back what :meth:`to_dict` wrote."""
        return cls(
            Sketch.from_dict(row["sketch"]),
            tuple(row["steps"]),
            row["form"],
            tuple(row.get("holes", ())),
        )
