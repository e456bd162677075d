"""Sizes that follow others are worked out, before anything is built."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids.parameters import Count, Size
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.step import Step
from workbench.words import _

Held = TypeVar("Held")


def taken_apart(given: Mapping[str, Any]) -> tuple[dict[str, Any], dict[str, Same]]:
    """What was given for sizes: plain values, and those that follow others."""
    follows = {name: value for name, value in given.items() if isinstance(value, Same)}
    return {name: value for name, value in given.items() if name not in follows}, follows


def held_taken_apart(holder: Held, prefix: str) -> tuple[Held, dict[str, Same], dict[str, Reading]]:
    """A place or a pattern in plain numbers, with what follows others and what was read.

    These are named as the step names them, with ``prefix``.
    """
    numbers: Any = holder
    plain, follows = taken_apart(numbers.numbers())
    read = {name: value for name, value in plain.items() if isinstance(value, Reading)}
    settled = {n: numbers.blank(n) for n in follows} | {n: one.value for n, one in read.items()}
    return (
        numbers.with_numbers(settled) if settled else holder,
        {prefix + name: same for name, same in follows.items()},
        {prefix + name: found for name, found in read.items()},
    )


def resolved(steps: Sequence[Step]) -> tuple[Step, ...]:
    """The steps with every size that follows others worked out.

    Raises
    ------
    RepairError
        Where sizes follow each other in a circle, one follows a size that is not there, or one
        comes out of its range; the sentence names them.

    >>> base = Step("base", "box", {"width": 20.0})
    >>> up = Step("upright", "box", {"width": 0.0}, follows={"width": Same("base.width / 2")})
    >>> resolved([up, base])[0].values["width"]
    10.0
    """
    if not any(step.follows for step in steps):
        return tuple(steps)
    by_name = {step.name: step for step in steps}
    known: dict[tuple[str, str], Any] = {}

    def look(step: str, field: str, chain: tuple[tuple[str, str], ...] = ()) -> Any:
        place = (step, field)
        if place in chain:
            raise RepairError(_circle((*chain[chain.index(place) :], place)))
        if place not in known:
            owner = by_name.get(step)
            if chain and (owner is None or field not in owner.numbers()):
                raise _nothing(chain[-1], by_name[chain[-1][0]], f"{step}.{field}", steps)
            assert owner is not None
            same = owner.follows.get(field)
            known[place] = (
                owner.number(field) if same is None else _followed(owner, field, same, chain)
            )
        return known[place]

    def _followed(owner: Step, field: str, same: Same, chain: tuple[tuple[str, str], ...]) -> Any:
        asked = owner.parameter(field)
        name = f"{owner.name}: {asked.said}"
        if not isinstance(asked.kind, (Size, Count)):
            raise RepairError(
                _("{field} is not a number, so it cannot follow {text}; choose it").format(
                    field=name, text=same.text
                )
            )
        here = (*chain, (owner.name, field))

        def size(step: str, other: str) -> float:
            value = look(step, other, here)
            if isinstance(value, bool) or not isinstance(value, (int, float)):
                raise RepairError(
                    _(
                        "{field} follows {text}, but {step}.{other} is not a number; choose another"
                    ).format(field=name, text=same.text, step=step, other=other)
                )
            return value

        amount = same.value(size)
        amount = round(amount) if isinstance(asked.kind, Count) and _whole(amount) else amount
        return asked.kind.check(
            _("{field}, which follows {text},").format(field=name, text=same.text), amount
        )

    return tuple(
        step.with_numbers({field: look(step.name, field) for field in step.follows})
        if step.follows
        else step
        for step in steps
    )


def followers(steps: Sequence[Step], step: str) -> list[tuple[str, str]]:
    """The sizes of other steps that follow one of ``step``, as (step, field)."""
    return [
        (other.name, field)
        for other in steps
        for field, same in other.follows.items()
        if other.name != step and any(owner == step for owner, _field in same.sizes)
    ]


def renamed(step: Step, name: Callable[[str], str]) -> Step:
    """The step with what its sizes follow under the names that steps have now."""
    return replace(step, follows={f: same.renamed(name) for f, same in step.follows.items()})


def _whole(amount: float) -> bool:
    return abs(amount - round(amount)) < 1e-9


def _circle(chain: Sequence[tuple[str, str]]) -> str:
    names = [f"{step}.{field}" for step, field in chain]
    return _(
        "{names}: these sizes follow each other in a circle; give one of them a number"
    ).format(names=" → ".join(names))


def _nothing(
    place: tuple[str, str], owner: Step, wanted: str, steps: Sequence[Step]
) -> RepairError:
    """Say that a followed size is not there, and which sizes its step has, or which steps there are."""
    found = next((step for step in steps if step.name == wanted.partition(".")[0]), None)
    known = gate.listed([*found.numbers()] if found else [step.name for step in steps])
    return RepairError(
        (
            _("{size} follows {text}, but there is no size {wanted}; its step has {known}")
            if found
            else _("{size} follows {text}, but there is no step for {wanted}; steps: {known}")
        ).format(
            size=".".join(place), text=owner.follows[place[1]].text, wanted=wanted, known=known
        )
    )
