"""A traced outline becomes steps: a panel or pieces of its shape, with its round holes cut."""

from __future__ import annotations

import numpy as np

from workbench import gate
from workbench.measure.photos.trace_result import Hole, Traced
from workbench.measure.sketches.solution import Solution
from workbench.measure.sketches.solve import solve
from workbench.solids.drawn.holes import pulled
from workbench.solids.drawn.sketched_steps import add_measured
from workbench.solids.measured import WHOLE
from workbench.solids.recipe.repair import Repair, a_repair


@gate.asked
def add_traced(
    repair: Repair,
    traced: Traced,
    thickness: float,
    name: str = "part",
    into: str | None = None,
    solution: Solution | None = None,
) -> Repair:
    """Add a traced part to a repair, upright in the sketch plane, and cut its holes.

    repair : edited in place, and returned; a refusal leaves it as it was
    traced : what :func:`workbench.trace` found, its arcs as arcs
    thickness : through the part, in mm
    name : of the steps
    into : None for one panel, or a way to split the outline, as ``decompose`` takes
    solution : the trace's own sketch, pulled to size by readings, as ``solve`` gave it

    Raises RepairError when the thickness, a name or a hole's size cannot be.
    """
    a_repair(repair)
    gate.needed(traced, Traced, "traced", 'trace("photo.jpg")')
    solution = solution or solve(traced.sketch())
    holes = holes_pulled(traced, np.array(list(solution.corners.values())))
    return add_measured(repair, solution, thickness, name, into or WHOLE, holes)


def holes_pulled(traced: Traced, corners: np.ndarray) -> tuple[Hole, ...]:
    """The traced holes, moved and scaled as calipers moved the traced corners to ``corners`` (n, 2)."""
    before = np.array(list(traced.sketch().corners.values()))
    return pulled(traced.holes, before, corners)
