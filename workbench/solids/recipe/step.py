"""One step of a repair: a template, its values and its place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.facts import facts_of
from workbench.solids.geometry.cache import Key
from workbench.solids.parameters import Parameter
from workbench.solids.recipe.repeats import REPEAT, Repeat, Ring, mirror_of, repeat_from
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import PREFIX, At, Place, Seat
from workbench.words import _

#: Numbers of a place that change their sign in a mirror between left and right.
_TURNED_BACK = tuple(PREFIX + name for name in ("along", "x", "turn", "tilt"))


@dataclass(frozen=True)
class Step:
    """One template with its values, where it sits, and whether it adds or cuts.

    follows : for each number that follows others, as :meth:`number` names it, what it follows;
        values and place hold what that came to
    repeat : the row or ring in which it stands several times, or None
    mirror : the sides that it stands on as a pair, such as "left-right"; empty for one
    other_hand : whether the template's shape is mirrored left to right before it is placed
    """

    name: str
    template: str
    values: Mapping[str, Any]
    place: Place = field(default_factory=At)
    cuts: bool = False
    follows: Mapping[str, Same] = field(default_factory=dict)
    repeat: Repeat | None = None
    mirror: str = ""
    other_hand: bool = False

    def __post_init__(self) -> None:
        for name in ("cuts", "other_hand"):
            gate.needed(getattr(self, name), bool, name, "True")

    @cached_property
    def shape(self) -> Key:
        """What its shape depends on besides its template."""
        return Key(tuple(sorted(self.values.items())), self.other_hand)

    @cached_property
    def placing(self) -> Key:
        """What its place depends on besides that of the step that it sits on."""
        return Key(self.place, self.repeat, self.mirror)

    def numbers(self) -> Iterator[str]:
        """The names of its sizes, of its place's numbers and of its pattern's.

        Such as "width", "place.inset" and "repeat.pitch".
        """
        yield from self.values
        for prefix, holder in self._holders():
            yield from (prefix + name for name in holder.numbers())

    def number(self, name: str) -> Any:
        """The value of a size, or of a number of its place or pattern."""
        if name in self.values:
            return self.values[name]
        self.parameter(name)  # which says what there is
        for prefix, holder in self._holders():
            if name.startswith(prefix):
                return holder.numbers()[name.removeprefix(prefix)]
        return self.values[name]

    def parameter(self, name: str) -> Parameter:
        """What a number is: its range, unit and what to measure; RepairError where there is none."""
        for prefix, holder in self._holders():
            if name.removeprefix(prefix) in holder.numbers() and name.startswith(prefix):
                return holder.parameter(name.removeprefix(prefix))
        if not name.startswith((PREFIX, REPEAT)):
            from workbench.solids.told_in_place import told_in_place  # numpy, where it is needed

            return told_in_place(catalogue.find(self.template).parameter(name), self.place)
        raise RepairError(
            _("{step} has no {name!r}; it has {known}").format(
                step=self.name,
                name=name,
                known=", ".join(one for one in self.numbers() if one not in self.values),
            )
        )

    def said(self, name: str) -> str:
        """What a number is called in the user's language."""
        return self.parameter(name).said

    def with_numbers(self, numbers: Mapping[str, Any]) -> Step:
        """The step with other numbers, named as :meth:`number` names them."""
        changed: dict[str, Any] = {}
        for field_name, (prefix, holder) in zip(("place", "repeat"), self._holders(), strict=False):
            own = {n.removeprefix(prefix): v for n, v in numbers.items() if n.startswith(prefix)}
            if own:
                changed[field_name] = holder.with_numbers(own)
        values = {n: v for n, v in numbers.items() if not n.startswith((PREFIX, REPEAT))}
        return replace(self, values={**self.values, **values}, **changed)

    def mirrored(self) -> Step:
        """The step of the other hand, left and right changed over."""
        place, repeat, ahead = self.place.mirrored(), self.repeat, set(_TURNED_BACK)
        if isinstance(repeat, Ring):
            # Mirrored, each looks the other way: the ring begins on the other side, turned about.
            repeat = replace(repeat, start=(180 - repeat.start + 360) % 360 - 0.0)
            place = replace(place, turn=place.turn + 180)
        follows = {
            name: Same(f"-({same.text})") if name in ahead else same
            for name, same in self.follows.items()
        }
        return replace(
            self,
            place=place,
            repeat=repeat,
            follows=follows,
            other_hand=self.other_hand is facts_of(self.template).one_hand,
        )

    def _holders(self) -> list[tuple[str, Place | Repeat]]:
        held: list[tuple[str, Place | Repeat]] = [(PREFIX, self.place)]
        return [*held, (REPEAT, self.repeat)] if self.repeat else held

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
        if self.repeat:
            row["repeat"] = self.repeat.to_dict()
        if self.mirror:
            row["mirror"] = self.mirror
        if self.other_hand:
            row["other_hand"] = True
        return row

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Step:
        """Read back what :meth:`to_dict` wrote; values are checked against the template."""
        place: Place = Seat(**row["seat"]) if "seat" in row else At(**row.get("at", {}))
        name = step_name(row["name"])
        values = catalogue.find(row["template"]).complete(row["values"], name)
        follows = {key: Same(text) for key, text in row.get("follows", {}).items()}
        return cls(
            name,
            row["template"],
            values,
            place,
            bool(row.get("cuts", False)),
            follows,
            repeat_from(row["repeat"]) if row.get("repeat") else None,
            mirror_of(row.get("mirror")),
            bool(row.get("other_hand", False)),
        )


def step_name(name: Any) -> str:
    """The name itself, or RepairError where a seat or a reading could not tell of it."""
    if not isinstance(name, str) or not name.strip() or "." in name or " of " in name:
        raise RepairError(
            _('step name is {name!r}; give a word or two without a full stop or "of"').format(
                name=name
            )
        )
    return gate.name(_("step name"), name)
