"""A solved sketch becomes steps of a repair, which follow when it is measured again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any

import numpy as np

from workbench import gate, units
from workbench.errors import RepairError
from workbench.measure.outlines.quadrilateral import as_trapezoid
from workbench.measure.outlines.triangles import decompose
from workbench.measure.photos.trace_result import Hole
from workbench.measure.sketches.solve import Solution, solve
from workbench.solids.drawn.holes import cut_holes, pulled
from workbench.solids.drawn.piece_steps import add_pieces
from workbench.solids.measured import AS_FIN, WHOLE, Measured
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At
from workbench.solids.recipe.step import Step
from workbench.words import _

#: Sizes that go through the part, which no reading of its outline tells.
_THROUGH = ("thickness", "depth")


def add_measured(
    repair: Repair,
    solution: Solution,
    thickness: float,
    name: str | None = None,
    form: str = WHOLE,
    holes: Iterable[Hole] = (),
) -> Repair:
    """Add a measured outline to a repair, and keep its readings there.

    repair : edited in place, and returned; a refusal leaves it as it was
    solution : the outline, as :func:`workbench.solve` found it
    thickness : through the part, in mm
    name : of the steps, and of what is kept
    form : "whole" for one panel, "fin" for one whose sizes have names, or a way to split the
        outline, as ``decompose`` takes
    holes : round holes to cut, in mm in the sketch plane

    Raises RepairError when a name is taken, a size cannot be, or the outline is no fin.
    """
    before = repair.steps
    try:
        if form == AS_FIN:
            sizes = {
                field: units.chosen().rounded(size)
                for field, size in as_trapezoid(solution.outline).items()
            }
            fin: dict[str, Any] = {"thickness": thickness, **sizes}
            repair.add("fin", name=name, **fin)
        elif form == WHOLE:
            repair.add("panel", name=name, outline=_corners(solution), thickness=thickness)
        else:
            name = name or _("piece")
            add_pieces(repair, decompose(solution.outline, form), thickness, name)
        made = _names(repair.steps[len(before) :])
        label = name or made[0]
        cut_holes(repair, holes, thickness, label)
    except RepairError:
        repair.steps = before
        raise
    cut = _names(repair.steps[len(before) + len(made) :])
    repair.sketches[label] = Measured(solution.sketch.copy(), made, form, cut)
    return repair


def measure_again(repair: Repair, name: str, solution: Solution) -> Repair:
    """Let the steps that a measured outline became follow its new readings.

    What the outline does not tell stays: thickness, where a panel or a fin is seated, and
    everything else in the repair. Holes move and grow as the corners about them do.

    repair : edited in place, and returned; a refusal leaves it as it was
    name : of what is kept in ``repair.sketches``
    solution : the new outline

    Raises RepairError when nothing of that name was measured, some of its steps are gone, or the
    new outline splits into other pieces than the old one.
    """
    kept = repair.sketches.get(name)
    if kept is None:
        raise gate.unknown(
            _("there is no sketch {name!r}; sketches: {known}"), name, repair.sketches
        )
    changed = repair.copy()
    there = {step.name: step for step in changed.steps}
    fresh = add_measured(Repair(repair.name), solution, 1.0, name, kept.form).steps
    if [(there[n].template if n in there else None) for n in kept.steps] != [
        step.template for step in fresh
    ]:
        raise RepairError(
            _(
                "{name} no longer gives the same steps as before; remove these and add it again"
            ).format(name=name)
        )
    single = len(fresh) == 1
    for old, step in zip(kept.steps, fresh, strict=True):
        values = {k: v for k, v in step.values.items() if k not in _THROUGH}
        changed.change(old, place=None if single else step.place, **values)
    for hole, place, diameter in _moved_holes(changed, kept, solution):
        changed.change(hole, place=place, diameter=diameter)
    repair.steps = changed.steps
    repair.sketches[name] = replace(kept, sketch=solution.sketch.copy())
    return repair


def set_fin(repair: Repair, fin: str, solution: Solution) -> Repair:
    """Give a fin of the repair the sizes of a measured outline, and keep its readings with it.

    Raises RepairError when there is no such step, or the outline is no fin.
    """
    sizes: dict[str, Any] = _sizes(solution)
    repair.change(fin, None, **sizes)
    repair.sketches[fin] = Measured(solution.sketch.copy(), (fin,), AS_FIN)
    return repair


def _moved_holes(
    repair: Repair, kept: Measured, solution: Solution
) -> Iterator[tuple[str, At, float]]:
    """Each hole that is still there: its step, where it comes to lie, and its diameter in mm."""
    places = {
        step.name: step.place
        for step in repair.steps
        if step.name in kept.holes and isinstance(step.place, At)
    }
    if not places or list(kept.sketch.corners) != list(solution.corners):
        return
    holes = [
        Hole(at.x, at.z, repair.step(name).values["diameter"], 0.0) for name, at in places.items()
    ]
    before, after = (np.array(list(one.corners.values())) for one in (solve(kept.sketch), solution))
    for (name, at), hole in zip(places.items(), pulled(holes, before, after), strict=True):
        yield name, replace(at, x=hole.x, z=hole.y), hole.diameter


def _sizes(solution: Solution) -> dict[str, float]:
    return {
        name: units.chosen().rounded(size) for name, size in as_trapezoid(solution.outline).items()
    }


def _corners(solution: Solution) -> list[tuple[float, ...]]:
    """Corners as a person would write them; an arc is kept exact, or it meets its line at a bend."""
    digits = 3 if not solution.sketch.bows else 9
    return [tuple(round(value, digits) for value in corner) for corner in solution.outline]


def _names(steps: Iterable[Step]) -> tuple[str, ...]:
    return tuple(step.name for step in steps)
