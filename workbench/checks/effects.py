"""How much each step does to the part, by the triangles of the steps that its shape reaches."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.overtaken import leave_if_overtaken
from workbench.solids.building.build import frame, sharp
from workbench.solids.meshes import mesh as meshes
from workbench.solids.recipe.step import Step

if TYPE_CHECKING:
    from manifold3d import Manifold

#: A step that changes less than this, in mm³, changes nothing: a cube of 0.1 mm, which no nozzle
#: draws. Our choice.
NOTHING = 1e-3

#: A step whose shape stands out of all others by this, in mm, adds something. Our choice.
OUT = 0.1

#: A step is worth a word when less than this share of it is left in the end. Our choice.
HALF = 0.5

#: Seen along an axis, a shape of which this share is still there looks whole. Our choice.
WHOLE = 0.98

#: Of a step's own volume: a neighbour that shares less of it has nothing to do with it. Our choice.
SHARE = 0.01


@dataclass(frozen=True)
class Effect:
    """What one step does; volumes in mm³.

    own : of the step's shape
    first : of that, what its shape adds, or takes from what stands above it
    left : of that, what is still so in the end
    nothing : whether the part would be the same without it
    hollow : whether less than half is left, and that still looks whole from two of three sides
    above, below : the steps that share something with its shape, as they stand in the list
    """

    step: Step
    own: float
    first: float
    left: float
    nothing: bool
    hollow: bool
    above: tuple[Step, ...]
    below: tuple[Step, ...]


class Bodies:
    """The steps as closed meshes, and the boxes round them."""

    def __init__(self, subject: Subject) -> None:
        self._subject = subject
        self.steps = subject.repair.steps
        self._made: dict[str, Manifold] = {}

    @cached_property
    def boxes(self) -> np.ndarray:
        """(n, 2, 3) lowest and highest corner of each step, in mm."""
        points = (self._subject.part_mesh(step.name)[0] for step in self.steps)
        return np.array([[found.min(axis=0), found.max(axis=0)] for found in points])

    def near(self, number: int) -> list[int]:
        """The steps whose boxes meet that of a step, itself among them."""
        (low, high), (lows, highs) = self.boxes[number], self.boxes.transpose(1, 0, 2)
        return np.flatnonzero(np.all((lows < high) & (highs > low), axis=1)).tolist()

    def reach(self, number: int, other: int) -> float:
        """Volume in mm³ that the boxes of two steps share: their shapes share no more."""
        (low, high), (lows, highs) = self.boxes[number], self.boxes[other]
        return float(np.prod(np.maximum(np.minimum(high, highs) - np.maximum(low, lows), 0.0)))

    def stands_out(self, number: int, others: Sequence[int]) -> bool:
        """Whether a step reaches beyond the box round others."""
        if not others:
            return True
        low, high = self.boxes[number]
        lows, highs = self.boxes[list(others)].transpose(1, 0, 2)
        return bool(np.any(low < lows.min(axis=0) - OUT) or np.any(high > highs.max(axis=0) + OUT))

    def body(self, number: int) -> Manifold:
        """A step's own shape."""
        from manifold3d import Manifold, Mesh64

        name = self.steps[number].name
        if name not in self._made:
            points, faces = self._subject.part_mesh(name)
            # The library takes arrays that may be written to only.
            triangles = np.array(faces, dtype=np.uint64, order="C")
            self._made[name] = Manifold(Mesh64(np.array(points, order="C"), triangles))
        return self._made[name]

    def carried_out(self, numbers: Iterable[int]) -> Manifold:
        """What some of the steps come to, in the order of the list."""
        from manifold3d import Manifold, OpType

        whole = Manifold()
        for cuts, run in groupby(numbers, lambda number: self.steps[number].cuts):
            how = OpType.Subtract if cuts else OpType.Add
            whole = Manifold.batch_boolean([whole, *map(self.body, run)], how)
        return whole


def effects(subject: Subject, most: float) -> Iterator[Effect]:
    """What each step does, the last first, without those that surely do something and keep more
    than ``most`` of it, as a share; one that does nothing is left out for those above it."""
    bodies, idle = Bodies(subject), set[str]()
    for number in reversed(range(len(bodies.steps))):
        leave_if_overtaken()
        effect = _effect(subject, bodies, number, idle, most)
        if effect is not None:
            idle |= {effect.step.name} if effect.nothing else set()
            yield effect


def _effect(
    subject: Subject, bodies: Bodies, number: int, idle: set[str], most: float
) -> Effect | None:
    """What a step does; None where it surely does something and most of that is left, which costs
    least to say."""
    step, steps = bodies.steps[number], bodies.steps
    near = [n for n in bodies.near(number) if steps[n].name not in idle]
    others = [n for n in near if n != number]
    cut_later = any(steps[n].cuts for n in others if n > number)
    adding = [n for n in others if not steps[n].cuts]
    if not step.cuts and not cut_later and bodies.stands_out(number, adding):
        return None
    own = bodies.body(number)
    # What is less than the triangles' own distance from the surface is asked of the kernel.
    unsure = NOTHING + meshes.DEVIATION * float(own.surface_area())
    if _surely(bodies, number, others, unsure, most):
        return None
    with_it, without = bodies.carried_out(near), bodies.carried_out(others)
    taken = own ^ bodies.carried_out(n for n in others if n < number) if step.cuts else own
    left = taken - with_it if step.cuts else own ^ with_it
    first, remains = float(taken.volume()), float(left.volume())
    change = abs(float(with_it.volume() - without.volume()))
    nothing = change < unsure and _changes_nothing(subject, step.name, idle)
    enough = SHARE * float(own.volume())
    sharing = [n for n in others if float((own ^ bodies.body(n)).volume()) > enough]
    return Effect(
        step,
        float(own.volume()),
        first,
        remains,
        nothing,
        remains < HALF * first and _hollow(taken, left, frame(subject.repair, step.name)),
        tuple(steps[n] for n in sharing if n < number),
        tuple(steps[n] for n in sharing if n > number),
    )


def _hollow(before: Manifold, left: Manifold, here: np.ndarray) -> bool:
    """Whether a shape was only hollowed: a tube and a box look whole but from where they open,
    and so does the room round a loose pin."""
    whole = 0
    for axis in range(3):
        turned = np.roll(here[:3, :3].T, axis, axis=0)  # each axis of the step upright in turn
        turned = np.column_stack([turned, np.zeros(3)])
        areas = [float(shape.transform(turned).project().area()) for shape in (before, left)]
        whole += areas[1] >= WHOLE * areas[0] > 0
    return whole >= 2


def _surely(bodies: Bodies, number: int, others: Sequence[int], unsure: float, most: float) -> bool:
    """Whether a step does more than ``unsure`` mm³ and keeps enough of it, whatever others share
    of it within their boxes; a cut, by what it takes of one step, if no other cuts or follows."""
    own = bodies.body(number)
    if not bodies.steps[number].cuts:
        left = float(own.volume()) - sum(bodies.reach(number, other) for other in others)
        return left > max(unsure, most * float(own.volume()))
    if any(other > number or bodies.steps[other].cuts for other in others):
        return False
    largest = max(others, key=lambda other: bodies.reach(number, other), default=number)
    return largest != number and float((own ^ bodies.body(largest)).volume()) > unsure


def _changes_nothing(subject: Subject, name: str, idle: set[str]) -> bool:
    try:
        without = sharp(subject.repair, {*idle, name})
    except RepairError:  # it holds the others together
        return False
    return abs(sharp(subject.repair, idle).volume - without.volume) < NOTHING
