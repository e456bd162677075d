"""One step of a repair: a template, its values and its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any

from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.seat import At, Place, Seat
from workbench.words import _


@dataclass(frozen=True)
class Step:
    """One template with its values, where it sits, and whether it adds or cuts."""

    name: str
    template: str
    values: Mapping[str, Any]
    place: Place = field(default_factory=At)
    cuts: bool = False

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        kind = "seat" if isinstance(self.place, Seat) else "at"
        return {
            "name": self.name,
            "template": self.template,
            "values": dict(self.values),
            kind: asdict(self.place),
            "cuts": self.cuts,
        }

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Step:
        """Read back what :meth:`to_dict` wrote; values are checked against the template."""
        place: Place = Seat(**row["seat"]) if "seat" in row else At(**row.get("at", {}))
        name = step_name(row["name"])
        values = catalogue.find(row["template"]).complete(row["values"], name)
        return cls(name, row["template"], values, place, bool(row.get("cuts", False)))


def step_name(name: Any) -> str:
    """The name itself, or RepairError where a seat or a reading could not tell of it."""
    if not isinstance(name, str) or not name.strip() or "." in name or " of " in name:
        raise RepairError(
            _('step name is {name!r}; give a word or two without a full stop or "of"').format(
                name=name
            )
        )
    return name
