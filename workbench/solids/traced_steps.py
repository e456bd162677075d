"""A traced outline becomes steps: a panel or pieces of its shape, with its round holes cut."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from workbench.errors import RepairError
from workbench.measure.trace_result import Hole, Traced
from workbench.measure.triangles import decompose
from workbench.solids.piece_steps import add_pieces
from workbench.solids.repair import Repair
from workbench.solids.seat import At
from workbench.words import _

#: How far a hole's cut reaches beyond each face, in mm.
_BEYOND = 1.0


def add_traced(
    repair: Repair, traced: Traced, thickness: float, name: str = "part", into: str | None = None
) -> Repair:
    """Add a traced part to a repair, upright in the sketch plane, and cut its holes.

    Parameters
    ----------
    repair : edited in place, and returned; a refusal leaves it as it was
    traced : what :func:`workbench.trace` found; its arcs are chords within 0.01 mm
    thickness : through the part, in mm
    name : of the steps
    into : None for one panel, or a way to split the outline, as ``decompose`` takes

    Raises
    ------
    RepairError
        When the thickness, a name or a hole's size cannot be.
    """
    before = repair.steps
    try:
        if into is None:
            repair.add("panel", name=name, outline=traced.outline.points, thickness=thickness)
        else:
            add_pieces(repair, decompose(traced.outline, into), thickness, name=name)
        cut_holes(repair, traced.holes, thickness, name)
    except RepairError:
        repair.steps = before
        raise
    return repair


def cut_holes(repair: Repair, holes: Iterable[Hole], thickness: float, name: str) -> Repair:
    """Cut round holes, in mm in the sketch plane, through a part of that thickness centred on it."""
    depth = thickness + 2 * _BEYOND
    for number, hole in enumerate(holes, start=1):
        repair.cut(
            "cylinder",
            name=_("{part} hole {number}").format(part=name, number=number),
            # Tilted and turned, a standing cylinder runs from back to front.
            seat=At(x=hole.x, y=depth / 2, z=hole.y, tilt=90, turn=90),
            diameter=hole.diameter,
            height=depth,
        )
    return repair


def holes_pulled(traced: Traced, corners: np.ndarray) -> tuple[Hole, ...]:
    """The traced holes, moved and scaled as calipers moved the traced corners to ``corners`` (n, 2)."""
    return pulled(traced.holes, traced.corners, corners)


def pulled(holes: Iterable[Hole], before: np.ndarray, after: np.ndarray) -> tuple[Hole, ...]:
    """Holes, moved and scaled as the corners about them are from ``before`` to ``after``, (n, 2)."""
    if len(before) != len(after):
        return ()
    known = np.column_stack([before, np.ones(len(before))])
    pull, *_rest = np.linalg.lstsq(known, np.asarray(after, dtype=float), rcond=None)
    scale = float(np.sqrt(abs(np.linalg.det(pull[:2]))))
    moved = [(np.array([hole.x, hole.y, 1.0]) @ pull, hole) for hole in holes]
    return tuple(
        Hole(float(x), float(y), hole.diameter * scale, hole.uncertainty) for (x, y), hole in moved
    )
