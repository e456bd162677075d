"""Round holes through an outline, and where they go when its corners move."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from workbench.measure.photos.trace_result import Hole
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At
from workbench.words import _

#: How far a hole's cut reaches beyond each face, in mm.
_BEYOND = 1.0


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
