"""Random repairs, and random edits of one, as a hand on the bench might make them; seeded."""

from __future__ import annotations

from contextlib import suppress
from random import Random
from typing import Any

from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.solids import catalogue
from workbench.solids.parameters import Choice, Count, Flag, Size, Words
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import FACES, At, Seat

SHAPES = ("box", "fin", "tab", "cylinder", "wedge", "plate", "peg", "cone")


def random_repair(rng: Random, steps: int) -> Repair:
    """A repair of so many steps; whether it comes to one solid is not looked at."""
    repair = Repair(f"part {rng.randrange(1000)}").add(
        "box", name="base", width=60, depth=40, height=8
    )
    while len(repair.steps) < steps:
        _try(add_step, rng, repair)
    for _n in range(rng.randrange(3)):
        edit(rng, repair)
    return repair


def edit(rng: Random, repair: Repair) -> str:
    """One edit, in place; what it was, for a failing test to tell."""
    while True:
        kind = rng.choice((set_size, set_size, set_size, add_step, remove, place, other, read_size))
        done = _try(kind, rng, repair)
        if done:
            return done


def _try(kind: Any, rng: Random, repair: Repair) -> str:
    before = repair.to_json()
    with suppress(RepairError):
        kind(rng, repair)
    return "" if repair.to_json() == before else f"{kind.__name__}"


def value(rng: Random, repair: Repair, step: str, field: str) -> Any:
    """Another value for a size, near the one that it has."""
    kind = catalogue.find(repair.step(step).template).parameter(field).kind
    now = repair.step(step).values[field]
    if isinstance(kind, Size):
        return round(min(max(now + rng.uniform(-2, 2), kind.low), kind.high), rng.choice((1, 2, 9)))
    if isinstance(kind, Count):
        return rng.randint(kind.low, min(kind.high, kind.low + 6))
    if isinstance(kind, Choice):
        return rng.choice(kind.options)
    if isinstance(kind, Words):
        return rng.choice(("Oven", "Key 3"))
    assert isinstance(kind, Flag)
    return not now


def set_size(rng: Random, repair: Repair) -> None:
    step = rng.choice(repair.steps)
    field = rng.choice(list(step.values))
    repair.readings.pop(f"{step.name}.{field}", None)
    repair.change(step.name, **{field: value(rng, repair, step.name, field)})


def read_size(rng: Random, repair: Repair) -> None:
    step = rng.choice(repair.steps)
    sizes = [
        p.name
        for p in catalogue.find(step.template).parameters
        if isinstance(p.kind, Size) and p.kind.unit == "mm"
    ]
    field = rng.choice(sizes)
    about = abs(value(rng, repair, step.name, field)) + 1
    unit = rng.choice(("mm", "in"))
    spread = [round((about + rng.uniform(-0.05, 0.05)) / (25.4 if unit == "in" else 1), 3)]
    spread += [spread[0]] * rng.randrange(3)
    repair.change(step.name, **{field: Reading(spread, unit=unit)})
    if rng.random() < 0.3:
        repair.fit(step.name, field, Reading([about + 0.2, about + 0.3]))


def add_step(rng: Random, repair: Repair) -> None:
    name = rng.choice((None, f"piece {rng.randrange(99)}", f'o"dd é {rng.randrange(99)}'))
    cuts = rng.random() < 0.25 and bool(repair.steps)
    where: Any = At(x=rng.randrange(-20, 20), z=rng.choice((0, 4)), turn=rng.choice((0, 15)))
    if repair.steps and rng.random() < 0.7:
        seat = f"{rng.choice(FACES)} of {rng.choice(repair.steps).name}"
        where = Seat(seat, along=rng.randrange(-4, 5), sink=rng.choice((0, 0.4)))
    (repair.cut if cuts else repair.add)(rng.choice(SHAPES), seat=where, name=name)


def remove(rng: Random, repair: Repair) -> None:
    if len(repair.steps) > 1:
        repair.remove(rng.choice(repair.steps).name)


def place(rng: Random, repair: Repair) -> None:
    from dataclasses import replace

    step = rng.choice(repair.steps)
    field = rng.choice(("along", "across", "sink") if isinstance(step.place, Seat) else "xyz")
    moved = replace(step.place, **{field: round(rng.uniform(-6, 6), 1)})
    repair.change(step.name, place=moved)


def other(rng: Random, repair: Repair) -> None:
    what = rng.randrange(4)
    if what == 0:
        repair.material = rng.choice(("PLA", "PETG", "ABS"))
    elif what == 1:
        repair.uses = (*repair.uses, rng.choice(("outdoors", "heat")))[:2]
    elif what == 2:
        repair.statements = {"heat": f"note {rng.randrange(99)}"}
    else:
        repair.down = (0.0, float(rng.choice((-1, 1))), 0.0)
