"""The search for a fix: other sizes of a step, or another place, tried until the part passes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from itertools import islice, product
from typing import Any

import numpy as np

from workbench.checks.fix import Fix, apply, moved, resized
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.overtaken import leave_if_overtaken
from workbench.solids import catalogue
from workbench.solids.building.build import frame
from workbench.solids.parameters import Size
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.step import Step

#: So many changes of a size are tried. Our choice.
_TRIES = 16

#: A move this much smaller than another is rounding.
_LITTLE = 0.1


def resizing(
    subject: Subject, name: str, by: Sequence[float], passes: Callable[[Subject], bool]
) -> Fix | None:
    """The fix that changes one size of a step by one of some amounts in mm.

    passes : whether the part with it is as it should be
    """
    now = sizes(subject, name)
    tried = (
        resized(name, **{field: round(now[field] + finely(wanted), 2)})
        for wanted, field in product(by, now)
    )
    return next((fix for fix in islice(tried, _TRIES) if passing(subject, fix, passes)), None)


def sizes(subject: Subject, name: str) -> dict[str, float]:
    """The lengths of a step that are not 0, in mm; none where there is no such step."""
    return {
        parameter.name: float(step.values[parameter.name])
        for step in subject.repair.steps
        if step.name == name
        for parameter in catalogue.find(step.template).parameters
        if isinstance(parameter.kind, Size) and parameter.kind.unit == "mm"
        if step.values[parameter.name]
    }


def moving(subject: Subject, step: Step, by: np.ndarray) -> dict[str, Any] | None:
    """The fix that moves a step by a vector (3,) in mm, where its place can do that alone."""
    place = step.place
    names: tuple[str, ...] = ("x", "y", "z")
    if isinstance(place, Seat):
        # From an edge it is moved by how far inside of it it stands.
        names = ("along", "across", *("inset",) * bool(place.edge), *("sink",) * step.cuts)
    here = frame(subject.repair, step.name)[:3, 3]
    can, ways = [], []
    for name in names:
        tried = subject.repair.copy()
        try:
            changed = {**vars(place), name: getattr(place, name) + 1.0}
            tried.change(step.name, type(place)(**changed))
        except RepairError:  # it follows from the edge
            continue
        can.append(name)
        ways.append(frame(tried, step.name)[:3, 3] - here)
    shift, *_rest = np.linalg.lstsq(np.array(ways).T, by, rcond=None)
    if np.linalg.norm(np.array(ways).T @ shift - by) > 0.01:
        return None
    change = {}
    for name, amount in zip(can, shift.tolist(), strict=True):
        if abs(amount) > _LITTLE * abs(shift).max():
            step_by = math.copysign(math.ceil(abs(amount) * 100 - 1e-6) / 100, amount)
            change[name] = round(float(getattr(step.place, name)) + step_by, 2)
    return moved(step, **change) if change.get("sink", 0.0) >= 0 else None


def passing(subject: Subject, fix: Fix, passes: Callable[[Subject], bool]) -> bool:
    """Whether the part is as it should be once a fix is carried out on a copy of it."""
    leave_if_overtaken()
    try:
        return passes(Subject.of(apply(fix, subject.repair.copy())))
    except RepairError:  # a size that cannot be
        return False


def finely(amount: float) -> float:
    """An amount in whole twentieths of a mm, away from 0."""
    return math.copysign(math.ceil(abs(amount) * 20 - 1e-6) / 20, amount)
