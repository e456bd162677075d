"""How a step is held, where a hand loads it, and what it stands against."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.strength.beam_model import Cut, Member, member
from workbench.checks.subject import Subject
from workbench.solids.building.build import frame
from workbench.solids.facts import facts_of
from workbench.solids.meshes.body import body_of
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.step import Step

if TYPE_CHECKING:
    from manifold3d import Manifold


def beam(subject: Subject, step: Step) -> Member | None:
    """The step as a beam, held where it is; None where no formula fits it."""
    held = held_by(subject, step)
    return member(step, subject.printer.line_width, held, cuts=cuts_of(subject, step))


def cuts_of(subject: Subject, step: Step) -> tuple[Cut, ...]:
    """What later steps cut out of a step, in its own axes."""
    steps = subject.repair.steps
    where = frame(subject.repair, step.name)
    low, high = _box(subject, step)
    found = []
    for other in steps[steps.index(step) + 1 :]:
        under, over = _box(subject, other)
        if other.cuts and (low < over).all() and (high > under).all():
            corners, faces = subject.part_mesh(other.name)
            own = (np.asarray(corners, dtype=float) - where[:3, 3]) @ where[:3, :3]
            found.append((own.tobytes(), np.asarray(faces, dtype=int).tobytes()))
    return tuple(found)


def _box(subject: Subject, step: Step) -> tuple[np.ndarray, np.ndarray]:
    corners = subject.part_mesh(step.name)[0]
    return corners.min(axis=0), corners.max(axis=0)


def carriers(subject: Subject, step: Step) -> list[Step]:
    """The steps that a load on a step goes through: what it sits on, what that sits on, ..."""
    found = []
    while isinstance(step.place, Seat):
        step = subject.repair.step(step.place.step)
        if step.cuts:
            break
        found.append(step)
    return found


def necked(subject: Subject, root: Step, child: Step) -> bool:
    """Whether a load on what sits on a step goes through less of that than of what sits there."""
    own = beam(subject, child)
    solid = _solid(subject, root, child)
    if own is None or solid is None:
        return False
    for step in subject.repair.steps:
        if step.cuts and (cut := _solid(subject, step, child)) is not None:
            solid -= cut
    z = np.unique(np.round(np.asarray(solid.to_mesh64().vert_properties)[:, 2], 3))
    areas = [solid.slice(float(at)).area() for at in (z[1:] + z[:-1]) / 2 if at < 0]
    return bool(areas) and min(areas) < own.root.section.area


def _solid(subject: Subject, step: Step, child: Step) -> Manifold | None:
    """A step's own shape, in the axes of what sits on it."""
    where = frame(subject.repair, child.name)
    corners, faces = subject.part_mesh(step.name)
    return body_of((np.asarray(corners, dtype=float) - where[:3, 3]) @ where[:3, :3], faces)


def held_by(subject: Subject, step: Step) -> str:
    """The side by which a step is held: where it sits, else where a tab or a peg sits on it."""
    if isinstance(step.place, Seat):
        return step.place.by
    for other, seat in neighbours(subject, step):
        if facts_of(step.template).hangs and facts_of(other.template).holds:
            return seat.face
    return "bottom"


def neighbours(subject: Subject, step: Step) -> list[tuple[Step, Seat]]:
    """The steps that sit on a step and add to it, each with its seat."""
    return [
        (other, other.place)
        for other in subject.repair.steps
        if isinstance(other.place, Seat) and other.place.step == step.name and not other.cuts
    ]


def loaded_point(subject: Subject, step: Step) -> np.ndarray:
    """Where the load acts, on the bench: the free end of a beam, else the middle of the part."""
    own = beam(subject, step)
    if own is None:
        middle = subject.assembly.parts[step.name].bounding_box().center()
        return np.array([middle.X, middle.Y, middle.Z])
    where = frame(subject.repair, step.name)
    return where[:3, :3] @ np.array(own.end) + where[:3, 3]


def walls_of(subject: Subject, step: Step) -> tuple[float, float]:
    """How far the neighbour at the root reaches along the step's x and y axes, mm; 0 for none."""
    if isinstance(step.place, Seat):
        wall = step.place.step
    else:
        held = held_by(subject, step)
        there = [other.name for other, seat in neighbours(subject, step) if seat.face == held]
        if not there:
            return 0.0, 0.0
        wall = there[0]
    size = subject.assembly.parts[wall].bounding_box().size
    axes = np.abs(frame(subject.repair, step.name)[:3, :2])
    x, y = np.array([size.X, size.Y, size.Z]) @ axes
    return float(x), float(y)
