"""Small changes of the shape that save support or a brim: a chamfer under a ledge, a flat below."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.checks.fix import apply
from workbench.checks.orientation.candidates import Facets
from workbench.checks.orientation.orient import chosen_down
from workbench.checks.orientation.side_names import side_of
from workbench.checks.orientation.step_at_point import step_at
from workbench.checks.orientation.way_up import Judge, Orientation
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids.building.eased_edges import UNREAD
from workbench.solids.facts import facts_of

if TYPE_CHECKING:
    from workbench.checks.fix import Fix

#: What a small change of the shape must save to be worth a word, as a part of the minutes.
#: Our choice.
SAVES = 0.15

#: The longest ledge that a chamfer is offered for, in mm: more changes the shape too much.
#: Our choice.
LEDGE = 6.0

#: How deep a flat may be, in mm, tried in turn. Our choice.
FLATS = (0.3, 0.6, 1.0, 1.5)

#: How many corners a chamfer is tried in. Our choice.
_CORNERS = 3

#: Steps nearer than this touch, in mm. Our choice.
_TOUCH = 0.05

#: The step that a flat is.
_FLAT = "flat"


@dataclass(frozen=True)
class Saving:
    """A small change of the shape: the fix, its size in mm, and the minutes that it saves."""

    fix: Fix
    size: float
    minutes: float


def judged(subject: Subject, fix: Fix, down: Sequence[float] | np.ndarray) -> Orientation | None:
    """The way up of the part as the fix makes it; None where it cannot be built."""
    unread = UNREAD.set(True)
    try:
        changed = Subject.of(apply(fix, subject.repair.copy()))
        x, y, z = (float(part) for part in down)
        return Judge(changed).closely((x, y, z))
    except RepairError:
        return None
    finally:
        UNREAD.reset(unread)


def chamfered(subject: Subject, found: Orientation) -> Saving | None:
    """A chamfer of 45° in the corner under the worst ledge, where it saves the support.

    A ledge on all sides reaches further at its corners; both reaches are tried.
    """
    worst = found.figures.hanging[0]
    if worst.kind != "ledge" or worst.length > LEDGE:
        return None
    ledge = step_at(subject, found.down, worst.place)
    for where in islice(_corners(subject, ledge), _CORNERS):
        for reach in (worst.length / math.sqrt(2), worst.length):
            # A little is left of the ledge: a chamfer as wide as it is has no room.
            size = math.floor(10 * reach - 0.5) / 10
            fix = {"chamfer": {where: size}}
            way = judged(subject, fix, found.down)
            if way and not way.figures.hanging and way.minutes < found.minutes:
                return Saving(fix, size, found.minutes - way.minutes)
    return None


def _corners(subject: Subject, ledge: str) -> Iterator[str]:
    """The corners between a step and those that it touches, without those that have to fit."""
    if not ledge or ledge in _fitting(subject):
        return
    boxes = dict(zip(*subject.part_boxes, strict=True))
    low, high = boxes[ledge]
    for name, (least, most) in boxes.items():
        touches = bool(((least <= high + _TOUCH) & (most >= low - _TOUCH)).all())
        if touches and name != ledge and name not in _fitting(subject):
            yield f"between {ledge} and {name}"


def _fitting(subject: Subject) -> set[str]:
    repair = subject.repair
    holds = {step.name for step in repair.steps if facts_of(step.template).holds}
    return holds | {fit.step for fit in repair.fits}


def flattened(subject: Subject) -> Saving | None:
    """A flat under a round side that the part is laid on, so that it needs neither brim nor support."""
    side = chosen_down(subject)
    down = np.array(side)
    taken = _FLAT in {step.name for step in subject.repair.steps}
    if taken or side_of(side)[1] > 1e-3:
        return None
    if not Facets.of(*subject.mesh).round_below(down):
        return None
    before = Judge(subject).closely(side)
    for depth in FLATS:
        fix = {"steps": {_FLAT: _slab(subject, down, depth)}}
        way = judged(subject, fix, side)
        firm = way and way.figures.brim is None and not way.figures.hanging
        if way and firm and way.minutes < (1 - SAVES) * before.minutes:
            return Saving(fix, depth, before.minutes - way.minutes)
    return None


def _slab(subject: Subject, down: np.ndarray, depth: float) -> dict[str, Any]:
    """The box that takes the lowest so many mm of the part away, as a step of a fix."""
    vertices = subject.mesh[0]
    low, high = vertices.min(axis=0) - 1, vertices.max(axis=0) + 1
    inner = float((vertices @ down).max()) - depth
    axis = int(np.argmax(abs(down)))
    (low if down[axis] > 0 else high)[axis] = inner * down[axis]
    width, length, height = (round(float(size), 2) for size in high - low)
    x, y = (float(part) for part in ((low + high) / 2)[:2])
    return {
        "template": "box",
        "at": {"x": round(x, 2), "y": round(y, 2), "z": round(float(low[2]), 2)},
        "values": {"width": width, "depth": length, "height": height},
    }
