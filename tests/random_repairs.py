"""Random repairs of 1 to 8 steps, with patterns, cuts, hollows and eased edges; and what is wrong with one."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

import numpy as np

from workbench.checks.outer_size import TOLD, taken_off
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.building.build import assemble
from workbench.solids.geometry import kernel
from workbench.solids.meshes import mesh
from workbench.solids.parameters import Choice, Count, Flag, Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Ring, Row
from workbench.solids.recipe.seat import FACES, At, Seat, edges_of

PLAIN = ("box", "wedge", "triangular_prism", "cylinder", "tube", "cone", "sphere")

#: Shapes that take a second or more each, and one that only a bed is given.
LEFT_OUT = ("thread", "gear", "coupon_tile", "number_plate")

SHAPES = tuple(name for name in catalogue.SHIPPED if name not in LEFT_OUT)


def values(template: str, chance: random.Random) -> dict[str, Any]:
    """Values for a template: each as it is, near it, at an end of its range, or anywhere in it."""
    made = {}
    for parameter in catalogue.find(template).parameters:
        kind, how = parameter.kind, chance.random()
        if how < 0.4:
            continue
        if isinstance(kind, Size):
            low, high, usual = kind.low, kind.high, parameter.default
            if how < 0.85:
                low, high = max(low, usual / 2), min(high, usual * 2)
            value = chance.choice((low, high)) if how > 0.97 else chance.uniform(low, high)
            made[parameter.name] = (
                round(value, chance.choice((0, 1, 1, 3))) if how < 0.97 else value
            )
        elif isinstance(kind, Count):
            made[parameter.name] = chance.randint(kind.low, min(kind.high, kind.low + 4))
        elif isinstance(kind, Choice):
            made[parameter.name] = chance.choice(kind.options)
        elif isinstance(kind, Flag):
            made[parameter.name] = chance.random() < 0.5
    return made


def place(repair: Repair, chance: random.Random) -> Any:
    if not repair.steps or chance.random() < 0.1:
        return At(*(round(chance.uniform(-15, 15), 1) for _axis in range(3)))
    face, under = chance.choice(FACES), chance.choice(repair.steps).name
    given: dict[str, Any] = {"sink": round(chance.choice((0, 0, 0.5, chance.uniform(0, 8))), 2)}
    if chance.random() < 0.3:
        given["turn"] = chance.choice((45, 90, round(chance.uniform(-180, 180), 1)))
    if chance.random() < 0.1:
        given["tilt"] = round(chance.uniform(-40, 40), 1)
    if chance.random() < 0.3:
        given |= {"edge": chance.choice(edges_of(face)), "inset": round(chance.uniform(0, 6), 1)}
    elif chance.random() < 0.5:
        given["along"] = round(chance.uniform(-8, 8), 1)
    return Seat(f"{face} of {under}", **given)


def pattern(chance: random.Random) -> dict[str, Any]:
    how = chance.random()
    if how < 0.08:
        pitch = round(chance.uniform(3, 15), 1)
        ways = ("along", "across", "out")
        return {"repeat": Row(chance.randint(2, 4), pitch, chance.choice(ways))}
    if how < 0.14:
        return {"repeat": Ring(chance.randint(2, 6), round(chance.uniform(3, 20), 1))}
    if how < 0.2:
        return {"mirror": chance.choice(("left-right", "front-back"))}
    return {}


def ease(repair: Repair, chance: random.Random) -> None:
    names = [step.name for step in repair.steps]
    step = chance.choice(names)
    which = [f"all of {step}", f"{chance.choice(FACES)} of {step}"]
    if len(names) > 1:
        which.append("between {} and {}".format(*chance.sample(names, 2)))
    size = round(chance.choice((0.2, 0.5, 1, chance.uniform(0.2, 6))), 2)
    (repair.round if chance.random() < 0.6 else repair.chamfer)(chance.choice(which), size)


def repair_of(seed: int) -> Repair:
    """The repair of that number: of what is refused on the way, another is drawn a few times."""
    chance = random.Random(seed)
    made = Repair(f"number {seed}")
    for number in range(chance.choice((1, 2, 2, 3, 3, 4, 5, 6, 8))):
        made = _with(made, partial(step, number=number, chance=chance), 6)
    for _turn in range(chance.choice((0, 1, 1, 2, 3))):
        made = _with(made, partial(ease, chance=chance), 3)
    if chance.random() < 0.5:
        made.round(round(chance.choice((0.2, 0.5, 1, 2, chance.uniform(0.2, 5))), 2))
    return made


def step(repair: Repair, number: int, chance: random.Random) -> None:
    template = chance.choice(PLAIN if chance.random() < 0.6 else SHAPES)
    add = repair.cut if number and chance.random() < 0.3 else repair.add
    given = values(template, chance)
    add(template, place(repair, chance), f"s{number}", **pattern(chance), **given)


def _with(repair: Repair, change: Callable[[Repair], None], tries: int) -> Repair:
    for _try in range(tries):
        changed = repair.copy()
        try:
            change(changed)
            assemble(changed)
        except RepairError as error:
            said = str(error)
            assert "\n" not in said and re.search("[;.,]", said), said
        else:
            return changed
    return repair


def faults(repair: Repair) -> Iterator[str]:
    """What is wrong with what a repair came to.

    Raises
    ------
    RepairError
        Where it is refused.
    """
    solid = assemble(repair).solid
    if not kernel.sound(solid) or solid.volume <= 0:
        yield "the solid is not valid"
    if len(list(kernel.solids_of(solid))) != 1 + len(repair.loose):
        yield "it is not one solid"
    corners, faces = mesh.mesh(solid)
    if not mesh.closes(faces):
        yield "the mesh does not close"
    longest = float(np.subtract(*kernel.extent([solid.wrapped])[::-1]).max())
    allowed = max(0.02 * solid.volume, solid.area * mesh.deviation_for(longest))
    if abs(mesh.volume(corners, faces) - solid.volume) > allowed:
        yield f"the mesh has {mesh.volume(corners, faces)} mm3 of {solid.volume}"
    plain = repair.copy()
    plain.eases, plain.rounding = (), 0.0
    subject = Subject.of(repair)
    sharp = Subject.of(plain).assembly
    told = sum(finding.number for finding in taken_off(subject))
    was, now = (np.array(kernel.extent([one.wrapped])) for one in (sharp.solid, solid))
    grown = max((was[0] - now[0]).max(), (now[1] - was[1]).max())
    if grown > TOLD:
        yield f"easing made it larger by {grown}"
    added = [sharp.parts[step.name].wrapped for step in repair.steps if not step.cuts]
    whole = np.array(kernel.extent(added))
    lost = max((now[0] - whole[0]).max(), (whole[1] - now[1]).max())
    if lost > TOLD + 1e-6 and not told:
        yield f"it lost {lost} mm of its outside, unsaid"
    if solid.volume > sharp.solid.volume * (1 + 1e-6) and not any(
        one.which == "between" for one in repair.eases
    ):
        yield f"easing outer edges made it heavier: {sharp.solid.volume} to {solid.volume}"
