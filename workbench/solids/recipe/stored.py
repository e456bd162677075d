"""A repair as JSON, read field by field: what is damaged is named."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids.counterpart import Counterpart, Loose
from workbench.solids.measured import Measured
from workbench.solids.recipe.ease import Ease
from workbench.solids.recipe.limits import Limit
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.service import Fit, Load, Trial
from workbench.solids.recipe.step import Step
from workbench.words import _

#: Version of the JSON form; readers refuse a newer one in words. Before 2, every cut took from
#: everything that adds, wherever it stood.
FORMAT = 2


def fields_of(text: str) -> dict[str, Any]:
    """The fields of a repair that a JSON text holds.

    Raises RepairError naming the field that is damaged or missing.
    """
    row = _row(text)
    return {name: _held(name, read, row) for name, read in _READERS.items() if name in row}


def _row(text: str) -> dict[str, Any]:
    """The record as plain data, or RepairError where it is none of this form."""
    try:
        row = gate.json_in(text, _("the record"))
    except json.JSONDecodeError as error:
        raise RepairError(
            _("record is damaged at line {line}; use an earlier revision ({reason})").format(
                line=error.lineno, reason=error.msg
            )
        ) from None
    except RepairError:
        raise
    except (TypeError, ValueError, AttributeError):
        raise gate.damaged("record", text) from None
    if not isinstance(row, dict):
        raise gate.damaged("record", row)
    form = row.setdefault("format", 0)
    if isinstance(form, bool) or not isinstance(form, int):
        raise gate.damaged("format", form)
    if form > FORMAT:
        raise RepairError(
            _("record has format {found}, newer than {known}; update workbench").format(
                found=form, known=FORMAT
            )
        )
    for name in ("name", "steps"):
        if name not in row:
            raise gate.lacking(name)
    return row


def _held(name: str, read: Callable[[Any, Mapping[str, Any]], Any], row: Mapping[str, Any]) -> Any:
    """What a field of a record holds, or RepairError naming the field."""
    try:
        with gate.rebuilt(name, row[name]):
            return read(row[name], row)
    except gate.Misfit:
        raise gate.damaged(name, row[name]) from None


def _as_it_is(given: Any, _row: Any) -> Any:
    return given


def _each(read: Callable[[Any], Any]) -> Callable[[Any, Any], tuple[Any, ...]]:
    """Reads each of a list."""

    def every(given: Any, _row: Any) -> tuple[Any, ...]:
        if not isinstance(given, (list, tuple)):
            raise TypeError
        return tuple(map(read, given))

    return every


def _by_name(read: Callable[[Any], Any]) -> Callable[[Any, Any], dict[str, Any]]:
    """Reads each of what has names."""
    return lambda given, _row: {name: read(one) for name, one in given.items()}


def _steps(given: Any, row: Mapping[str, Any]) -> tuple[Step, ...]:
    return _in_order(map(Step.from_dict, given), row["format"])


def _eases(given: Any, row: Mapping[str, Any]) -> tuple[Ease, ...]:
    names = [step["name"] for step in row["steps"]]
    return tuple(Ease.from_dict(ease, names) for ease in given)


def _in_order(steps: Iterable[Step], form: int) -> tuple[Step, ...]:
    """The steps, or RepairError where names repeat or a seat leads nowhere or round in a ring."""
    listed = tuple(steps)
    if form < 2:
        listed = cuts_last(listed)
    by_name = {step.name: step for step in listed}
    if len(by_name) != len(listed):
        raise RepairError(_("record has two steps of the same name; use an earlier revision"))
    for step in listed:
        seen = {step.name}
        place = step.place
        while isinstance(place, Seat):
            if place.step not in by_name or place.step in seen:
                raise RepairError(
                    _("{step} sits on {on!r}, which cannot be; use an earlier revision").format(
                        step=step.name, on=place.on
                    )
                )
            seen.add(place.step)
            place = by_name[place.step].place
    return listed


def cuts_last(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Steps of the old form, in which each cut took from all that adds, as they now stand."""
    return tuple(sorted(steps, key=lambda step: step.cuts))


#: How each field of a record is read.
_READERS: dict[str, Callable[[Any, Mapping[str, Any]], Any]] = {
    "name": _as_it_is,
    "material": _as_it_is,
    "printer": _as_it_is,
    "steps": _steps,
    "readings": _by_name(Reading.from_dict),
    "down": lambda given, _row: tuple(given) if given else None,
    "uses": _each(lambda word: word),
    "shows": _each(lambda side: side),
    "loads": _each(lambda load: Load(**load)),
    "fits": _each(Fit.from_dict),
    "trials": _each(lambda trial: Trial(**trial)),
    "statements": lambda given, _row: dict(given),
    "rounding": _as_it_is,
    "sketches": _by_name(Measured.from_dict),
    "limits": _each(Limit.from_dict),
    "counterparts": _each(Counterpart.from_dict),
    "loose": _each(Loose.from_dict),
    "eases": _eases,
}
