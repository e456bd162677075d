"""Two hands on one repair: the change made in the cells and the one made on the bench, together.

What changed on one side only is taken from there. What changed on both is the cells', and where
that was is returned, so that a line can say which value of the bench gave way.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from workbench.errors import RepairError
from workbench.solids.recipe.changes import FOLLOWS, Row, Where, in_words, renamed, same, values_of
from workbench.solids.recipe.repair import Repair
from workbench.words import _, number

_NONE: Any = object()


@dataclass(frozen=True)
class Merged:
    """Both changes together, and what of the bench gave way, a line each."""

    repair: Repair
    lines: tuple[str, ...] = ()


def merged(base: Repair | Row, cells: Repair | Row, bench: Repair | Row) -> Merged:
    """Lay what the cells changed and what the bench changed over what both began from.

    Where both together come to no repair, the cells' is taken whole, and a line says so.
    """
    a, c, b = map(row_of, (base, cells, bench))
    if same(c, a) or same(c, b):
        return Merged(repair_of(b))  # to the last digit, which a cell may not have
    if same(b, a):
        return Merged(repair_of(c))
    row, gave = _merged(a, c, b)
    try:
        return Merged(repair_of(row), tuple(_line(where, c, b) for where in gave))
    except RepairError as error:
        whole = _(
            "The cells and the bench do not match ({reason}); the cells' part is shown, "
            "and Undo brings the bench's back."
        )
        return Merged(repair_of(c), (whole.format(reason=error),))


def row_of(repair: Repair | Row) -> Row:
    """A repair as plain data."""
    return json.loads(repair.to_json()) if isinstance(repair, Repair) else repair


def repair_of(row: Row) -> Repair:
    """A repair from plain data; RepairError as :meth:`Repair.from_json`."""
    return Repair.from_json(json.dumps(row))


def _merged(base: Row, cells: Row, bench: Row) -> tuple[Row, list[Where]]:
    # A step with a new name is the same step to the other side.
    on_bench, in_cells = renamed(base, bench), renamed(base, cells)
    names = {**on_bench, **in_cells}
    base, cells = _following(base, names), _following(cells, names)
    again = {on_bench[old]: new for old, new in in_cells.items() if old in on_bench}
    bench = _following(bench, {**names, **again})
    a, c, b = map(values_of, (base, cells, bench))
    gave: list[Where] = []
    steps = _steps(a, c, b, gave)
    for name, (step, _readings) in steps.items():
        known = {s["name"]: s["values"] for s in (*bench["steps"], *cells["steps"])}.get(name, {})
        for field in step["follows"].keys() & step["values"].keys():
            step["values"][field] = known[field]  # which is worked out anew
    order = _order(steps, a["order",], c["order",], b["order",])
    row: Row = {
        "format": cells.get("format", 0),
        "steps": [{"name": name, **steps[name][0]} for name in order],
        "readings": {
            f"{name}.{field}": reading
            for name in order
            for field, reading in steps[name][1].items()
            if reading is not None
        },
    }
    lists = {key for side in (base, cells, bench) for key, v in side.items() if type(v) is list}
    for where in dict.fromkeys((*c, *b, *a)):
        if where[0] in ("steps", "order") or (value := _value(where, (a, c, b), gave)) is _NONE:
            continue
        if len(where) == 1:
            row[where[0]] = value
        elif where[0] not in lists:
            row.setdefault(where[0], {})[where[1]] = value
        elif where[0] not in ("fits", "loads") or value["step"] in order:
            row.setdefault(where[0], []).append(value)
    return row, gave


def _following(row: Row, names: dict[str, str]) -> Row:
    """The row with steps called by new names, wherever they are named."""
    taken = {step["name"] for step in row["steps"]}
    names = {old: new for old, new in names.items() if old in taken and new not in taken}
    if not names:
        return row
    try:
        repair = repair_of(row)
        for old, new in names.items():
            repair.rename(old, new)
    except RepairError:
        return row
    return row_of(repair)


def _value(where: Where, sides: Sequence[Mapping[Where, Any]], gave: list[Where]) -> Any:
    """What both changes of one value come to; ``sides`` are base, cells and bench."""
    base, cell, hand = (side.get(where, _NONE) for side in sides)
    if _alike(cell, base):
        return hand
    if not _alike(hand, base) and not _alike(hand, cell):
        if where[-1] == "place" and (both := _place(base, cell, hand)):
            return both
        gave.append(where)
    return cell


def _alike(a: Any, b: Any) -> bool:
    return a is b or (a is not _NONE and b is not _NONE and same(a, b))


def _place(base: Any, cell: Any, hand: Any) -> Row | None:
    """Two moves of one seat in two directions, or None where they are not that."""
    if _NONE in (base, cell, hand) or not list(base) == list(cell) == list(hand):
        return None
    (kind,) = base
    sides = [side[kind] for side in (base, cell, hand)]
    if any(side.get("on") != sides[0].get("on") for side in sides):
        return None
    lost: list[Where] = []
    rows: list[dict[Where, Any]] = [{(k,): v for k, v in side.items()} for side in sides]
    keys = dict.fromkeys(key for row in rows for key in row)
    both = {key[0]: _value(key, rows, lost) for key in keys}
    return None if lost else {kind: {k: v for k, v in both.items() if v is not _NONE}}


def _steps(
    a: dict[Where, Any], c: dict[Where, Any], b: dict[Where, Any], gave: list[Where]
) -> dict[str, tuple[Row, Row]]:
    """By name each step that stays, and the readings behind its sizes."""
    base, cells, bench = map(_by_step, (a, c, b))
    found: dict[str, tuple[Row, Row]] = {}
    for name in dict.fromkeys((*cells, *bench)):
        three = [side.get(name, _NONE) for side in (base, cells, bench)]
        shapes = [side is not _NONE and side["template",] for side in three]
        if _NONE not in three[1:] and shapes[1] == shapes[2]:
            lost: list[Where] = []
            sides = [{} if side is _NONE else side for side in three]
            values = {
                where: value
                for where in dict.fromkeys(where for side in sides for where in side)
                if (value := _value(where, sides, lost)) is not _NONE
            }
            found[name] = _step(values)
            gave += [("steps", name, *where) for where in lost]
        else:
            whole: list[dict[Where, Any]] = [{("steps", name): side} for side in three]
            if (values := _value(("steps", name), whole, gave)) is not _NONE:
                found[name] = _step(values)
    # Nothing sits on a step that is gone: what the cells need comes back, what the bench set goes.
    while lost_ones := [n for n, (step, _r) in found.items() if _seat(step) not in (None, *found)]:
        for name in lost_ones:
            under = str(_seat(found[name][0]))
            if name in cells and under in cells:
                found[under] = _step(cells[under])
                gave.append(("steps", under))
            else:
                del found[name]
                gave.append(("steps", name))
    return found


def _seat(step: Mapping[str, Any]) -> str | None:
    on = step.get("seat", {}).get("on")
    return None if on is None else str(on).partition(" of ")[2]


def _by_step(values: dict[Where, Any]) -> dict[str, dict[Where, Any]]:
    found: dict[str, dict[Where, Any]] = {name: {} for name in values["order",]}
    for where, value in values.items():
        if where[0] == "steps":
            found[where[1]][where[2:]] = value
    return found


def _step(values: dict[Where, Any]) -> tuple[Row, Row]:
    """A step's row without its name, and its readings; a number that follows others is 0 so far."""
    step: Row = {"values": {}, "follows": {}}
    readings: Row = {}
    for where, value in values.items():
        if where[0] == "values":
            size, readings[where[1]], follows = value
            step["values"][where[1]] = size
            if follows is not None:
                step["follows"][where[1]] = follows
        elif where == ("place",):
            ((kind, place),) = value.items()
            held = {key for key, one in place.items() if isinstance(one, Mapping)}
            step["follows"] |= {f"place.{key}": place[key][FOLLOWS] for key in held}
            step[kind] = {key: 0.0 if key in held else one for key, one in place.items()}
        else:
            step[where[0]] = value
    return step, readings


def _order(names: Iterable[str], base: list[str], cells: list[str], bench: list[str]) -> list[str]:
    """The steps in the order of the side that changed it, each new one after its predecessor."""
    there = set(names)

    def common(order: list[str]) -> list[str]:
        return [name for name in order if name in base and name in cells and name in bench]

    moved = common(cells) != common(base)
    first, second = (cells, bench) if moved else (bench, cells)
    order = [name for name in first if name in there]
    for i, name in enumerate(second):
        if name in there and name not in order:
            before = [other for other in second[:i] if other in order]
            order.insert(order.index(before[-1]) + 1 if before else 0, name)
    return order


def _line(where: Where, cells: Row, bench: Row) -> str:
    if len(where) == 2 and where[0] == "steps":
        return _("{step}: the cells' version is used, not the bench's.").format(step=where[1])
    a, b = (values_of(row).get(where) for row in (cells, bench))
    if where[2:3] == ("values",) and a and b:
        return _("{what}: {cells} from the cell is used, not {bench} from the bench.").format(
            what=in_words(where, cells, bench), cells=_shown(*a), bench=_shown(*b)
        )
    return _("{what}: the cells' value is used, not the bench's.").format(
        what=in_words(where, cells, bench)
    )


def _shown(value: Any, _reading: Any, follows: str | None) -> str:
    if follows is not None:
        return follows
    return number(value, 4) if isinstance(value, float) else str(value)
