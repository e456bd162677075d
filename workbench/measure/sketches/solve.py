"""More readings than needed become the outline that fits them best."""

from __future__ import annotations

import math
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.sketches.adjust import Adjusted, adjust, as_drawn
from workbench.measure.sketches.equations import Equations
from workbench.measure.sketches.next_reading import Next, to_hold
from workbench.measure.sketches.outliers import Doubt, chance, find_doubt
from workbench.measure.sketches.sketch import Sketch
from workbench.measure.sketches.solution import Solution
from workbench.measure.sketches.solution_report import AGREES, SCATTERED
from workbench.words import _

if TYPE_CHECKING:
    from threadpoolctl import ThreadpoolController

#: From so many readings on arithmetic would take several threads, which need twice the processor's
#: time for the same clock (a ring of 100 corners). Our own measurement.
_MANY = 60


class Undetermined(RepairError):
    """Too few readings: ``free`` corners can still move; ``take`` holds them."""

    def __init__(self, message: str, free: tuple[str, ...], take: tuple[Next, ...]) -> None:
        super().__init__(message)
        self.free = free
        self.take = take


@gate.asked
def solve(sketch: Sketch) -> Solution:
    """The outline that fits a sketch's readings best, by weighted least squares.

    sketch : corners as drawn, and readings between them; see :meth:`Sketch.read`

    The solution has ``outline``, ``residuals``, ``uncertainty`` of each corner, ``suspect`` and more.

    Raises
    ------
    Undetermined
        When corners are free to move: it says which, and what to read next.
    RepairError
        When there are fewer than 3 corners, statements contradict each other, or the outline
        that fits best crosses itself.

    >>> sketch = Sketch({"A": (0, 0), "B": (4, 0), "C": (4, 3)})
    >>> sketch = sketch.read("side", "AB", 40).read("side", "BC", 30).read("side", "AC", 50)
    >>> solution = solve(sketch)
    >>> round(solution.outline.area, 6), solution.suspect
    (600.0, None)
    """
    if not isinstance(sketch, Sketch):
        raise RepairError(_("solve takes a Sketch; make one with Sketch or sketch_of"))
    if len(sketch.corners) < 3:
        if len(sketch.corners) == 1:
            raise RepairError(_("sketch has one corner; draw at least 3"))
        raise RepairError(
            _("sketch has {count} corners; draw at least 3").format(count=len(sketch.corners))
        )
    if len(sketch.rows) < _MANY:
        return _solved(sketch)
    with _threads().limit(limits=1):
        return _solved(sketch)


@cache
def _threads() -> ThreadpoolController:
    """Of the arithmetic: several would wait for each other longer than they work."""
    import scipy.linalg.lapack  # noqa: F401 - it has threads of its own, to be loaded by now
    from threadpoolctl import ThreadpoolController

    return ThreadpoolController()


def _solved(sketch: Sketch) -> Solution:
    adjusted = adjust(Equations(sketch))
    _refuse_unread_arcs(adjusted)
    _refuse_contradictions(adjusted)
    if adjusted.movable.shape[1]:
        adjusted = _flattened(adjusted)
    doubt = find_doubt(adjusted)
    solution = Solution(sketch, _without_suspects(adjusted, doubt), adjusted, doubt)
    try:
        solution.outline  # noqa: B018 - refuses an outline that crosses itself
    except RepairError:
        if solution.p_value > AGREES:
            raise
        raise _contradictory(adjusted) from None
    return solution


def _refuse_unread_arcs(adjusted: Adjusted) -> None:
    """A sketch is not to scale: how far an arc rises must be read, unless a trace shows it."""
    sketch = adjusted.equations.sketch
    for a in sketch.bows if sketch.trace is None else ():
        size = adjusted.equations.size_of_arc(a)
        if size is None or np.abs(adjusted.movable[size]).max(initial=0.0) > 0.3:
            raise RepairError(
                _(
                    "side {a} {b} is an arc; read its rise over the straight line, or its radius"
                ).format(a=a, b=sketch.neighbours(a)[1])
            )


def _contradictory(adjusted: Adjusted) -> RepairError:
    equations = adjusted.equations
    worst = np.argsort(-np.abs(adjusted.misfit) / equations.sigma)[:4]
    return RepairError(
        _(
            "these readings cannot all be true: {names}; take them again, or put their corners "
            "right in the sketch"
        ).format(names=", ".join(equations.names[i] for i in sorted(worst)))
    )


def _without_suspects(adjusted: Adjusted, doubt: Doubt) -> Adjusted:
    """The fit without what is wrong; where the rest still disagrees, with everything less sure."""
    fit = adjusted
    if doubt.left_out:
        active = np.array([name not in doubt.left_out for name in adjusted.equations.names])
        without = adjust(adjusted.equations, doubt.x, active)
        fit = adjusted if without.movable.shape[1] else without
    elif doubt.undecided:
        return adjusted
    if chance(fit.chi_square, fit.spare) >= SCATTERED:
        return fit
    # Few readings tell their scatter badly: a Student's t, as for the repeats of a Reading.
    return fit.widened(math.sqrt(fit.chi_square / fit.spare * (fit.spare + 2) / fit.spare))


def _flattened(adjusted: Adjusted) -> Adjusted:
    """What to judge a sketch by that its own readings have pulled flat.

    Two sides too short to meet pull their corner onto a line; there it seems free to move,
    though the readings would hold it.
    """
    if as_drawn(adjusted.equations).movable.shape[1]:
        raise _undetermined(adjusted)
    held = adjusted.held()
    if find_doubt(held) == Doubt():
        if (np.abs(held.misfit) / held.equations.sigma).max() < 2:
            raise _undetermined(adjusted)
        raise _contradictory(held)
    return held


def _refuse_contradictions(adjusted: Adjusted) -> None:
    equations = adjusted.equations
    off = np.abs(adjusted.misfit) * equations.exact
    if off.max(initial=0.0) > 1e-6:
        names = [equations.names[i] for i in np.flatnonzero(off > 1e-6)]
        raise RepairError(
            _("these cannot all be true: {names}; take one of them out").format(
                names=", ".join(names)
            )
        )


def _undetermined(adjusted: Adjusted) -> Undetermined:
    equations = adjusted.equations
    moves = np.hypot.reduce(adjusted.movable, axis=1)
    spots = np.hypot.reduce(moves[: equations.count].reshape(-1, 2), axis=1)
    free = tuple(
        name for name, move in zip(equations.points, spots, strict=True) if move > 0.3 * moves.max()
    )
    take = tuple(to_hold(adjusted))
    read = _(" and ").join(str(reading) for reading in take) or _("more")
    if not free:
        message = _("the readings leave the sketch open; read {next} next").format(next=read)
    elif len(free) == 1:
        message = _("{corner} is free to move; read {next} next").format(corner=free[0], next=read)
    else:
        message = _("{corners} are free to move; read {next} next").format(
            corners=", ".join(free), next=read
        )
    return Undetermined(message, free, take)
