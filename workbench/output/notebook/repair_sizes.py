"""The sizes of a repair by plain names, as a notebook's cell or a command line sets them.

A size is at (step, field); what it is to fit, where that was said, is at (step, "field.mating").
"""

from __future__ import annotations

import keyword
import re
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import count
from typing import Any

from workbench import _HOMES
from workbench.measure.reading import Reading
from workbench.solids.parameters import Parameter, Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import REPEAT
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import PREFIX, At
from workbench.solids.recipe.service import Fit
from workbench.words import _

Place = tuple[str, str]

#: A size nearer than this to the earlier one, in mm, was not changed.
SAME = 1e-9

_MATING = ".mating"

#: What the code that builds a repair calls its own things.
_TAKEN = frozenset({*_HOMES, "repair", "noted", "keep_readings", "Measured"})


def named_sizes(
    repair: Repair, kept: Mapping[str, Place] | None = None, every: bool = False
) -> dict[str, Place]:
    """For each size a Python name, such as ``blade_bottom``, and its place.

    kept : names that some sizes have already, and keep
    every : also the numbers of where a step stands that are 0, such as how far it is turned

    Those that were measured or chosen come first, step by step; then what each template adds
    by itself.

    >>> door = Repair("door").add("tab", name="foot", width=30)
    >>> named_sizes(door)["foot_width"]
    ('foot', 'width')
    """
    places = list(_places(repair, every))
    places += [p for p in (kept or {}).values() if p not in places and _is_number(repair, p)]
    names = {
        place: name for name, place in (kept or {}).items() if place in places and _usable(name)
    }
    # A shipped template's steps are in the user's language, the names that it has are not.
    stems = {s: n.removesuffix(f"_{f}") for (s, f), n in names.items() if n.endswith(f"_{f}")}
    for step, field in places:
        if (step, field) in names:
            continue
        # A blade with an inset of its own may be held by an inset too.
        short = field.removeprefix(PREFIX).removeprefix(REPEAT)
        called = field if short != field and short in repair.step(step).values else short
        stem = stems.get(step, step) if every else step
        base = re.sub(r"\W+", "_", unicodedata.normalize("NFKC", f"{stem}_{called}").lower())
        if not _usable(base):
            base = f"size_{base}"
        free = (base if n == 1 else f"{base}_{n}" for n in count(1))
        names[step, field] = next(name for name in free if name not in names.values())
    # The sort is stable: within each half the steps stay in order.
    in_order = sorted(places, key=lambda place: not comes_first(repair, place))
    return {names[place]: place for place in in_order}


def _usable(name: str) -> bool:
    """Whether Python takes it as a name, as it is, and the notebook's code does not need it."""
    return (
        name.isidentifier()
        and unicodedata.normalize("NFKC", name) == name
        and not keyword.iskeyword(name)
        and name not in _TAKEN
    )


def is_chosen(repair: Repair, place: Place) -> bool:
    """Whether a size was read, is to fit something, or differs from what its template has.

    One that follows others was not: there is nothing to measure.
    """
    if follows(repair, place) is not None:
        return False
    return reading(repair, place) is not None or bool(
        _fit(repair, place) or size(repair, place) != parameter(repair, place).default
    )


def follows(repair: Repair, place: Place) -> Same | None:
    """What the size at a place follows, or None where it stands by itself."""
    return repair.step(place[0]).follows.get(place[1])


def comes_first(repair: Repair, place: Place) -> bool:
    """Whether a size is among those to look at first, not among what the template adds."""
    others = ((place[0], field) for field in repair.step(place[0]).values)
    return is_chosen(repair, place) or not any(is_chosen(repair, other) for other in others)


def parameter(repair: Repair, place: Place) -> Parameter:
    """What stands at a place: its range, unit and what to measure."""
    step, field = place
    found = repair.step(step).parameter(field.removesuffix(_MATING))
    if not field.endswith(_MATING):
        return found
    kind = found.kind
    limits = kind if isinstance(kind, Size) else Size(0.1, 400)
    measure = _("across what it fits: the slot, the hole or the screw")
    low = max(limits.step, limits.low / 2)
    return Parameter(field, replace(limits, low=low, high=limits.high * 2, measure=measure), None)


def size(repair: Repair, place: Place) -> Any:
    """The value at a place."""
    fit = _fit(repair, place)
    if fit is not None and place[1].endswith(_MATING):
        return fit.mating.value
    return repair.step(place[0]).number(place[1])


def reading(repair: Repair, place: Place) -> Reading | None:
    """What was read for the size at a place, or None."""
    if place[1].endswith(_MATING):
        fit = _fit(repair, place)
        return fit.mating if fit is not None else None
    return repair.readings.get(".".join(place))


def set_sizes(repair: Repair, names: Mapping[str, Place], values: Mapping[str, Any]) -> Repair:
    """Lay values over a repair; a size that changes leaves its old readings behind.

    names : of the sizes, as :func:`named_sizes` gives them
    values : by name; numbers, text, Readings, or what the size is to follow

    Raises RepairError when a value cannot be used; the repair may then hold some of the others.
    """
    noted = dict(readings_noted(repair))
    changed: dict[str, dict[str, Any]] = {}
    for name, value in values.items():
        step, field = place = names[name]
        if isinstance(value, Same) or follows(repair, place) is not None:
            if value != follows(repair, place):
                changed.setdefault(step, {})[field] = value
            continue
        checked: Any = parameter(repair, place).kind.check(name, value)
        if isinstance(value, Reading) or not _same(size(repair, place), checked):
            new = value if isinstance(value, Reading) else checked
            noted.pop(".".join(place), None)
            if field.endswith(_MATING):
                _set_mating(repair, place, new if isinstance(new, Reading) else Reading(new))
            else:
                repair.readings.pop(".".join(place), None)
                changed.setdefault(step, {})[field] = new
    repair.change_all(changed)
    return keep_readings(repair, noted)


def readings_noted(repair: Repair) -> Iterator[tuple[str, tuple[Any, Reading]]]:
    """Each reading with where it belongs and the size that it led to, for keep_readings."""
    for step in repair.steps:
        for field in step.numbers():
            for place in ((step.name, field), (step.name, field + _MATING)):
                found = reading(repair, place)
                if found is not None:
                    yield ".".join(place), (size(repair, place), found)


def keep_readings(repair: Repair, noted: Mapping[str, tuple[Any, Reading]]) -> Repair:
    """Note the readings behind sizes, leaving out those of a size that has changed since.

    noted : for "step.field" the size in mm when it was saved, and its reading
    """
    for where, (saved, found) in noted.items():
        step, _dot, field = where.partition(".")
        if not _same(size(repair, (step, field)), saved):
            repair.readings.pop(where, None)
        elif field.endswith(_MATING):
            _set_mating(repair, (step, field), found)
        else:
            repair.readings[where] = found
    return repair


def _places(repair: Repair, every: bool) -> Iterator[Place]:
    base = next((step for step in repair.steps if not step.cuts), None)
    for step in repair.steps:
        for field in step.numbers():
            place = (step.name, field)
            if field.startswith((PREFIX, REPEAT)):
                own = field in step.follows or reading(repair, place) is not None
                set_so = own or not _as_laid(size(repair, place), parameter(repair, place).kind)
                # Where the first part stands by itself, all others stand with it.
                base_alone = step is base and isinstance(step.place, At)
                if set_so or (every and not (base_alone and field.startswith(PREFIX))):
                    yield place
                continue
            yield place
            if _fit(repair, place) is not None:
                yield step.name, field + _MATING


def _as_laid(value: float, kind: Any) -> bool:
    """Whether a number of a place is no size: nothing, or an angle that lays a part square."""
    return value % 90 == 0 if isinstance(kind, Size) and kind.unit == "°" else value == 0


def _is_number(repair: Repair, place: Place) -> bool:
    """Whether a place is a number of where its step stands now."""
    step, field = place
    there = any(other.name == step for other in repair.steps)
    return there and field.startswith((PREFIX, REPEAT)) and field in repair.step(step).numbers()


def _fit(repair: Repair, place: Place) -> Fit | None:
    step, field = place[0], place[1].removesuffix(_MATING)
    return next((fit for fit in repair.fits if (fit.step, fit.field) == (step, field)), None)


def _set_mating(repair: Repair, place: Place, mating: Reading) -> None:
    ours = _fit(repair, place)
    repair.fits = tuple(replace(fit, mating=mating) if fit is ours else fit for fit in repair.fits)


def _same(a: Any, b: Any) -> bool:
    numbers = isinstance(a, float) and isinstance(b, (int, float)) and not isinstance(b, bool)
    return abs(a - b) <= SAME if numbers else bool(a == b)
