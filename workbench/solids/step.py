"""One step of a repair: a template, its values and its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.parameters import Parameter
from workbench.solids.same import Same
from workbench.solids.seat import PREFIX, At, Place, Seat
from workbench.words import _


@dataclass(frozen=True)
class Step:
    """One template with its values, where it sits, and whether it adds or cuts.

    follows : for each number that follows others, as :meth:`number` names it, what it follows;
        values and place hold what that came to
    """

    name: str
    template: str
    values: Mapping[str, Any]
    place: Place = field(default_factory=At)
    cuts: bool = False
    follows: Mapping[str, Same] = field(default_factory=dict)

    def numbers(self) -> Iterator[str]:
        """The names of its sizes and of its place's numbers, such as "width", "place.inset"."""
        yield from self.values
        yield from (PREFIX + name for name in self.place.numbers())

    def number(self, name: str) -> Any:
        """The value of a size, or of a number of its place; RepairError where there is none."""
        held = self.place.numbers() if name.startswith(PREFIX) else self.values
        if name.removeprefix(PREFIX) not in held:
            self.parameter(name)  # which says what there is
        return held[name.removeprefix(PREFIX)]

    def parameter(self, name: str) -> Parameter:
        """What a size or a number of the place is: its range, unit and what to measure."""
        if not name.startswith(PREFIX):
            return catalogue.find(self.template).parameter(name)
        numbers = self.place.numbers()
        if name.removeprefix(PREFIX) not in numbers:
            raise RepairError(
                _("the place of {step} has no {name!r}; it has {known}").format(
                    step=self.name, name=name.removeprefix(PREFIX), known=", ".join(numbers)
                )
            )
        return self.place.parameter(name.removeprefix(PREFIX))

    def with_numbers(self, numbers: Mapping[str, Any]) -> Step:
        """The step with other numbers, named as :meth:`number` names them."""
        placed = {
            name.removeprefix(PREFIX): size
            for name, size in numbers.items()
            if name.startswith(PREFIX)
        }
        values = {name: size for name, size in numbers.items() if not name.startswith(PREFIX)}
        place = self.place.with_numbers(placed) if placed else self.place
        return replace(self, values={**self.values, **values}, place=place)

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        kind = "seat" if isinstance(self.place, Seat) else "at"
        row = {
            "name": self.name,
            "template": self.template,
            "values": dict(self.values),
            kind: self.place.to_dict(),
            "cuts": self.cuts,
        }
        if self.follows:
            row["follows"] = {name: same.text for name, same in self.follows.items()}
        return row

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Step:
        """Read back what :meth:`to_dict` wrote; values are checked against the template."""
        place: Place = Seat(**row["seat"]) if "seat" in row else At(**row.get("at", {}))
        name = step_name(row["name"])
        values = catalogue.find(row["template"]).complete(row["values"], name)
        follows = {key: Same(text) for key, text in row.get("follows", {}).items()}
        return cls(name, row["template"], values, place, bool(row.get("cuts", False)), follows)


def step_name(name: Any) -> str:
    """The name itself, or RepairError where a seat or a reading could not tell of it."""
    if not isinstance(name, str) or not name.strip() or "." in name or " of " in name:
        raise RepairError(
            _('step name is {name!r}; give a word or two without a full stop or "of"').format(
                name=name
            )
        )
    return gate.name(_("step name"), name)
