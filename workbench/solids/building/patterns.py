"""Where a step stands that stands several times: the moves from its own place to each."""

from __future__ import annotations

import numpy as np

from workbench.errors import RepairError
from workbench.solids.building.order import Part
from workbench.solids.building.seating import DIRECTIONS, cross
from workbench.solids.geometry.kernel import extent, moved
from workbench.solids.recipe.repeats import MIRRORS, WAYS, Row, reflection
from workbench.solids.recipe.seat import Seat, runs
from workbench.solids.recipe.step import Step
from workbench.words import _

#: The squares of how many others each one overlaps come to this at most: joining them then
#: takes half a minute, and soon for ever.
MOST_OVERLAPS = 40_000


def moves(step: Step, under: Part | None, about: np.ndarray) -> list[np.ndarray]:
    """(4, 4) moves that take the step from its own place to each of its places, in order.

    Parameters
    ----------
    under : the part that it sits on, or None where it stands by itself
    about : (4, 4) frame of its place: along, across and out of the face, and the origin
    """
    back = np.linalg.inv(about)
    every = [np.eye(4)]
    if step.repeat is not None:
        every = [about @ one @ back for one in step.repeat.moves(inward(step, about))]
    if step.mirror:
        mirror = _mirror(step.mirror, under)
        every += [mirror @ one for one in every]
    return every


def inward(step: Step, about: np.ndarray) -> float:
    """The sign of the way that a row goes from the edge that holds it; 0 where none does."""
    place, row = step.place, step.repeat
    if isinstance(place, Seat) and isinstance(row, Row):
        for edge in place.edges:
            if runs(place.face, edge) == row.direction:
                axis = about[:3, WAYS.index(row.direction)]
                return -float(np.sign(DIRECTIONS[edge] @ axis))
    return 0.0


def refuse_crowd(step: Step, part: Part) -> None:
    """Refuse a step that stands so often in one place that it would take for ever to join."""
    low, high = part.boxes[:, None, 0], part.boxes[None, :, 1]
    meets = (low < high).all(axis=2)
    overlaps = (meets & meets.T).sum(axis=1) - 1
    if (overlaps**2).sum() > MOST_OVERLAPS:
        raise RepairError(
            _(
                "{name}: each overlaps up to {count} others; use fewer, space them further apart, or make one long part"
            ).format(name=step.name, count=int(overlaps.max()))
        )


def _mirror(name: str, under: Part | None) -> np.ndarray:
    """The reflection in the middle of the part below, square to its own axis that runs that way."""
    axis = np.eye(3)[MIRRORS[name]]
    if under is None:
        return reflection(axis, 0.0)
    axes = under.matrix[:3, :3]
    axis = axes[:, np.abs(axes.T @ axis).argmax()]
    turn = np.eye(4)
    level = cross(axis, np.eye(3)[np.abs(axis).argmin()])
    level /= np.linalg.norm(level)
    turn[:3, :3] = [axis, level, cross(axis, level)]
    low, high = extent([moved(solid.wrapped, turn) for solid in under.solids])
    return reflection(axis, float(low[0] + high[0]) / 2)
