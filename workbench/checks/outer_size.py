"""What was taken off the outside: a part that comes out smaller than its sizes say is told so."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.solids.building.build import sharp
from workbench.solids.geometry import kernel
from workbench.words import _, with_unit

if TYPE_CHECKING:
    from build123d import Shape

#: What is taken off a side is told from here on, in mm: a quarter of what calipers show by hand.
#: Our choice.
TOLD = 0.05

RULE = "outer size"


def taken_off(subject: Subject) -> Iterator[Finding]:
    """Neither rounding nor cutting makes the part shorter, deeper or lower than its steps are."""
    repair, assembly = subject.repair, subject.assembly
    cuts = [step.name for step in repair.steps if step.cuts]
    eased = bool(repair.rounding or repair.eases)
    if not cuts and not eased:
        return
    whole = _box([assembly.solid])
    before = _box([sharp(repair)]) if eased else whole
    if eased:
        text = _("Rounds or chamfers make {name} smaller: {sizes}.")
        text = text.format(name=repair.name, sizes=_sizes(before, whole))
        remedy = _("To keep its size, round it less, or make it longer by what is lost.")
        told = Finding(
            severity="warning", rule=RULE, where=repair.name, text=text, remedy=remedy, unit="mm"
        )
        yield from _measured(told, before, whole)
    if cuts:
        parts = [assembly.parts[step.name] for step in repair.steps if not step.cuts]
        added = _box(parts)
        text = _("{cuts} makes {name} smaller: {sizes}.")
        text = text.format(cuts=", ".join(cuts), name=repair.name, sizes=_sizes(added, before))
        remedy = _("If you did not mean that, move the cut or make it smaller.")
        told = Finding(
            severity="note", rule=RULE, where=cuts[0], text=text, remedy=remedy, unit="mm"
        )
        yield from _measured(told, added, before)


def _measured(told: Finding, before: np.ndarray, after: np.ndarray) -> Iterator[Finding]:
    lost = float(_lost(before, after).max())
    if lost > TOLD:
        yield replace(told, number=lost, limit=TOLD)


def _sizes(before: np.ndarray, after: np.ndarray) -> str:
    """Each size that is less now, as it was and as it is."""
    names = (_("from left to right"), _("from front to back"), _("in height"))
    was, now = before[1] - before[0], after[1] - after[0]
    rows = zip(names, was, now, _lost(before, after), strict=True)
    told = _("{side} {now} instead of {was}")
    return ", ".join(
        told.format(side=name, now=with_unit(float(is_now)), was=with_unit(float(is_was)))
        for name, is_was, is_now, lost in rows
        if lost > TOLD
    )


def _lost(before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """(3,): what is off the two sides of each axis together, in mm."""
    return np.clip(after[0] - before[0], 0, None) + np.clip(before[1] - after[1], 0, None)


def _box(shapes: Iterable[Shape]) -> np.ndarray:
    return np.array(kernel.extent([shape.wrapped for shape in shapes]))
