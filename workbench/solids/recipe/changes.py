"""What differs between two states of a repair: value by value, and in the words of the bench.

Repairs are compared as the plain data of :meth:`Repair.to_json`, so that whatever a repair comes
to hold is taken along. A size and the reading behind it are one value here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Set
from contextlib import suppress
from typing import Any

from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.words import _

Row = dict[str, Any]

#: Where a value stands, such as ``("steps", "foot", "values", "width")``.
Where = tuple[str, ...]

#: Numbers nearer to each other than this, in mm or degrees, are the same value.
SAME = 1e-9

#: Stands for a number of a place that follows sizes, with what it follows.
FOLLOWS = "follows"

#: What a list's entries are told apart by; entries of other lists by all that they hold.
_MARKS = {"fits": ("step", "field"), "rounds": ("where",)}


def same(a: Any, b: Any) -> bool:
    """Whether two values are the same to anybody with calipers.

    >>> same({"at": [0.1 + 0.2]}, {"at": [0.3]}), same(1, True), same(2, 2.1)
    (True, False, False)
    """
    if isinstance(a, bool) or isinstance(b, bool):
        return a is b
    if isinstance(a, (int, float)) and isinstance(b, (int, float)):
        return abs(a - b) <= SAME
    if isinstance(a, Mapping) and isinstance(b, Mapping):
        return a.keys() == b.keys() and all(same(a[key], b[key]) for key in a)
    if isinstance(a, (list, tuple)) and isinstance(b, (list, tuple)):
        return len(a) == len(b) and all(map(same, a, b))
    return bool(a == b)


def values_of(row: Row) -> dict[Where, Any]:
    """Every value of a repair by where it stands.

    A size is [value, its reading or None, what it follows or None], the value None where it
    follows; a place is {"seat": {...}} or {"at": {...}}; an entry of a list stands at what tells
    it apart; ("order",) has the names of the steps.
    """
    found: dict[Where, Any] = {("order",): [step["name"] for step in row["steps"]]}
    for step in row["steps"]:
        name = step["name"]
        found |= {("steps", name, *at): value for at, value in _of_step(step).items()}
        for field, value in step["values"].items():
            reading = row.get("readings", {}).get(f"{name}.{field}")
            follows = step.get("follows", {}).get(field)
            found["steps", name, "values", field] = [
                value if follows is None else None,
                reading,
                follows,
            ]
    for key, value in row.items():
        if key in ("format", "steps", "readings"):
            continue
        if isinstance(value, Mapping):
            found |= {(key, str(name)): inner for name, inner in value.items()}
        elif isinstance(value, list) and value and not isinstance(value[0], float):
            found |= {(key, _mark(key, entry)): entry for entry in value}
        elif value not in (None, []):
            found[(key,)] = value
    return found


def _of_step(step: Row) -> dict[Where, Any]:
    """The values of one step besides its name and sizes."""
    follows = step.get("follows", {})
    place = {
        kind: {
            key: {FOLLOWS: follows[f"place.{key}"]} if f"place.{key}" in follows else number
            for key, number in step[kind].items()
        }
        for kind in ("seat", "at")
        if kind in step
    }
    apart = ("name", "values", "seat", "at", "follows")
    rest: dict[Where, Any] = {(key,): value for key, value in step.items() if key not in apart}
    return {("place",): place, **rest}


def _mark(key: str, entry: Any) -> str:
    if not isinstance(entry, Mapping):
        return str(entry)
    marks = _MARKS.get(key, tuple(entry))
    return ".".join(str(entry.get(mark)) for mark in marks)


def differences(before: Row, after: Row) -> list[Where]:
    """Where two repairs differ; a step that came or went counts once, as ("steps", name)."""
    a, b = values_of(before), values_of(after)
    steps = set(a["order",]) ^ set(b["order",])
    found: list[Where] = [("steps", name) for name in (*a["order",], *b["order",]) if name in steps]
    if [n for n in a["order",] if n not in steps] != [n for n in b["order",] if n not in steps]:
        found.append(("order",))
    for where in dict.fromkeys((*a, *b)):
        if where == ("order",) or (where[0] == "steps" and where[1] in steps):
            continue
        if (where in a) != (where in b) or not same(a.get(where), b.get(where)):
            found.append(where)
    return found


def renamed(before: Row, after: Row) -> dict[str, str]:
    """Steps that have only another name: for each old name the new one."""
    old = {step["name"]: step for step in before["steps"]}
    new = {step["name"]: step for step in after["steps"]}
    found: dict[str, str] = {}
    gone = [(name, _core(step)) for name, step in old.items() if name not in new]
    for other, step in new.items():
        alike = (name for name, core in gone if name not in found and same(core, _core(step)))
        if other not in old and (name := next(alike, None)) is not None:
            found[name] = other
    return found


def _core(step: Row) -> Row:
    place = {key: value for key, value in step.get("seat", {}).items() if key != "on"}
    return {**step, "name": "", **({"seat": place} if "seat" in step else {})}


def in_words(where: Where, *rows: Row) -> str:
    """A value's name as a person says it: "width of foot"; ``rows`` are repairs that have it."""
    if where == ("order",):
        return _("order of the steps")
    if where[0] == "steps" and len(where) == 2:
        return where[1]
    if where[0] == "steps" and where[2] == "values":
        return _("{field} of {step}").format(field=_said(where[1], where[3], rows), step=where[1])
    if where[0] == "steps":
        known = {"place": _("place"), "cuts": _("adds or takes away"), "template": _("shape")}
        field = known.get(where[2], where[2].replace("_", " "))
        return _("{field} of {step}").format(field=field, step=where[1])
    if where[0] == "fits":
        step, _dot, field = where[1].partition(".")
        return _("fit of {field} of {step}").format(field=_said(step, field, rows), step=step)
    known = {
        "name": _("name of the part"),
        "material": _("material"),
        "printer": _("printer"),
        "down": _("way up"),
        "uses": _("use"),
        "shows": _("sides that show"),
        "loads": _("load"),
        "trials": _("trial"),
        "rounding": _("rounding"),
        "limits": _("limit"),
        "statements": _("statement"),
        "sketches": _("sketch"),
        "counterparts": _("other part"),
        "loose": _("loose body"),
    }
    return known.get(where[0], where[0].replace("_", " "))


def _said(step: str, field: str, rows: Iterable[Row]) -> str:
    """A size's own word, which its template knows."""
    templates = {one["name"]: one["template"] for row in rows for one in row["steps"]}
    with suppress(KeyError, RepairError):
        return catalogue.find(templates[step]).parameter(field).said
    return _(field.replace("_", " "))


def edit_in_words(before: Row, after: Row) -> str:
    """What one edit was about: "width of foot", "add rib", "remove rib"."""
    found = differences(before, after)
    old = {step["name"] for step in before["steps"]}
    new = {step["name"] for step in after["steps"]}
    names = renamed(before, after)
    if len(names) == 1 and new - old == set(names.values()) and old - new == set(names):
        return _("rename {step}").format(step=next(iter(names)))
    if new - old and not old - new:
        return _("add {step}").format(step=_several(after, new - old))
    if old - new and not new - old:
        return _("remove {step}").format(step=_several(before, old - new))
    told = list(dict.fromkeys(in_words(where, before, after) for where in found))
    if len(told) == 1:
        return told[0]
    steps = {where[1] for where in found if where[0] == "steps"}
    if len(steps) == 1 and all(where[0] in ("steps", "fits") for where in found):
        return _("sizes of {step}").format(step=next(iter(steps)))
    return _("{count} values").format(count=len(told))


#: So many steps are named where one edit is about several.
_NAMED = 2


def _several(row: Row, names: Set[str]) -> str:
    """The first of some steps by name, in the order of the list."""
    told = [step["name"] for step in row["steps"] if step["name"] in names]
    return ", ".join(told[:_NAMED]) + (", …" if len(told) > _NAMED else "")
