"""How a size of a step is printed: what it is, which way it lies, and whether it rests on the bed."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.building.build import frame
from workbench.solids.facts import facts_of
from workbench.solids.geometry import facing
from workbench.solids.geometry.features import TOGETHER, Features
from workbench.solids.measured_faces import Round, Span, Turn, mark_of
from workbench.solids.parameters import Count, Size, Template
from workbench.solids.recipe.step import Step
from workbench.words import _

#: A direction within this cosine of the vertical runs up through the layers. Our choice.
_UPRIGHT = 0.7

#: A chamfer of this on the tip that rests on the bed takes up the first layer's spread, in mm;
#: common practice, no source.
EASED = 0.3

#: A part that ends within this of the bed, in mm, is printed with the first layer, which is 0.2 mm
#: thick: the layer whose middle is nearest takes it. Our choice.
_RESTS = 0.1


@dataclass(frozen=True)
class Printed:
    """A size as it is printed.

    feature : "outside", "hole", "slot", "height" or "gap"
    at_bed : whether the first layer on the bed is part of it
    """

    feature: str
    at_bed: bool


@dataclass(frozen=True)
class Measured:
    """What a size is on the template's own shape.

    axis : 0, 1 or 2, along which it runs straight from face to face; None where it does not
    round : whether it goes across a round
    inside : whether it goes round its counterpart: its faces look at each other
    square : whether a face square to it ends it, as caliper jaws need
    radius : whether it is half of what goes across a round
    """

    axis: int | None = None
    round: bool = False
    inside: bool = False
    square: bool = False
    radius: bool = False


def field_of(step: Step, field: str) -> str:
    """The field that holds the size: what is chosen by a word stands for a size.

    Raises RepairError when the template does not ask for the field, or it is no length.
    """
    parameter = catalogue.find(step.template).parameter(field)
    standing = facts_of(step.template).stands_for
    if field in standing:
        return standing[field]
    if not isinstance(parameter.kind, Size) or parameter.kind.unit != "mm":
        raise RepairError(
            _(
                "{step}: {field} is not a length, so it cannot have a fit; choose a size in mm"
            ).format(step=step.name, field=field)
        )
    return field


def size_of(step: Step, field: str) -> float:
    """The size in mm that the step has now."""
    wanted = field_of(step, field)
    return float(facts_of(step.template).chosen(step.values).get(wanted, step.values[wanted]))


def with_size(step: Step, field: str, size: float) -> dict[str, Any]:
    """The values that give the step this size, to be handed to ``repair.change``."""
    wanted = field_of(step, field)
    return {**facts_of(step.template).freed.get(wanted, {}), wanted: size}


def limits(step: Step, field: str) -> tuple[float, float]:
    """The smallest and the largest size in mm that the template takes."""
    kind = catalogue.find(step.template).parameter(field_of(step, field)).kind
    assert isinstance(kind, Size)
    return kind.low, kind.high


def measured(step: Step, field: str) -> Measured:
    """What a size measures on its shape, found by changing it by a hair."""
    wanted = field_of(step, field)
    template = catalogue.find(step.template)
    values = {**step.values, **with_size(step, wanted, size_of(step, wanted))}
    found = _measured(template, tuple(values.items()), wanted)
    none = [p.name for p in template.parameters if isinstance(p.kind, Count) and not values[p.name]]
    if found == Measured() and none:  # what there is none of has no face to be found
        found = _measured(template, tuple({**values, **dict.fromkeys(none, 1)}.items()), wanted)
    return found


@lru_cache(maxsize=256)
def _measured(template: Template, items: tuple[tuple[str, Any], ...], field: str) -> Measured:
    values = dict(items)
    mark, found = mark_of(template, values, field)
    if mark is None or found is None or isinstance(mark, Turn):
        return Measured()
    shape = template.function(**values)
    circle = mark.circles[0] if isinstance(mark, Round) else _across(mark, found, values[field])
    if circle is not None:
        return Measured(
            round=True,
            square=True,
            inside=facing.is_hollow(shape, found.centres[circle], found.radii[circle]),
            radius=isinstance(mark, Round) and mark.radius,
        )
    assert isinstance(mark, Span)
    at = [float(found.points[list(ends), mark.axis].mean()) for ends in (mark.start, mark.end)]
    points = [found.points[list(ends)] for ends in (mark.start, mark.end)]
    low, high = (0, 1) if at[0] <= at[1] else (1, 0)
    up = facing.looks(shape, mark.axis, at[low], points[low])
    down = facing.looks(shape, mark.axis, at[high], points[high])
    # What a template stands on looks up at it.
    on_root = mark.axis == 2 and abs(at[low]) < TOGETHER
    inside = (down < 0 and (up >= 0 or on_root)) or (up > 0 and down == 0)
    ends = {
        facing.looks(shape, mark.axis, at[end], points[end], facing.SQUARE) != 0
        for end in (low, high)
    }
    square = ends == {True} or (True in ends and 0 in (up, down))
    return Measured(mark.axis, inside=inside, square=square)


def _across(mark: Span, found: Features, size: float) -> int | None:
    """The circle, more than half of it there, that the points of a straight size belong to."""
    ends = [found.points[list(end), mark.axis].mean() for end in (mark.start, mark.end)]
    same = np.isclose(found.radii, size / 2, rtol=0, atol=TOGETHER) & (found.round | found.full)
    same &= np.abs(found.centres[:, mark.axis] - sum(ends) / 2) < TOGETHER
    same &= np.abs(found.axes[:, mark.axis]) < TOGETHER
    return int(np.flatnonzero(same)[0]) if same.any() else None


def is_round(step: Step, field: str) -> bool:
    """Whether the size goes across a round."""
    return measured(step, field).round


def is_straight(step: Step, field: str) -> bool:
    """Whether the size runs straight from face to face."""
    return measured(step, field).axis is not None


def is_inside(step: Step, field: str) -> bool:
    """Whether the size goes round its counterpart; what a step cuts away turns inside out."""
    return measured(step, field).inside != step.cuts


def printed_as(subject: Subject, step: str, field: str) -> Printed:
    """How a size comes to lie on the bed with the side that is chosen for it.

    A size of which it cannot be told what it measures counts as level and outside.

    Raises RepairError when the size is a radius: what is fitted and read goes across.
    """
    from workbench.checks.orientation.orient import chosen_down

    found = subject.repair.step(step)
    what = measured(found, field)
    if what.radius:
        text = _("{step}: {field} is a radius; a fit needs the diameter, so ask for that instead")
        raise RepairError(text.format(step=step, field=field))
    down = np.asarray(chosen_down(subject), dtype=float)
    axes = frame(subject.repair, step)[:3, :3]
    inside = what.inside != found.cuts
    if what.axis is not None and abs(axes[:, what.axis] @ down) > _UPRIGHT:
        return Printed("gap" if inside else "height", False)
    at_bed = _rests(subject, step, down) and not _eased(found, float(axes[:, 2] @ down))
    level = ("hole" if what.round else "slot") if inside else "outside"
    return Printed(level, at_bed)


def _rests(subject: Subject, step: str, down: np.ndarray) -> bool:
    """Whether the step's shape reaches the bed, or goes through it where it cuts."""
    part = subject.assembly.parts[step]
    lowest = max(float(np.dot((v.X, v.Y, v.Z), down)) for v in part.vertices())
    return lowest > float((subject.mesh[0] @ down).max()) - _RESTS


def _eased(step: Step, tip_down: float) -> bool:
    """Whether a chamfer at the tip takes up the first layer's spread."""
    return tip_down > _UPRIGHT and float(step.values.get("chamfer", 0.0)) >= EASED
