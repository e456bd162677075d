"""The outline of a part as it is seen from one of its sides."""

from __future__ import annotations

import numpy as np

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline
from workbench.solids.building.seating import DIRECTIONS
from workbench.solids.meshes.body import body_of
from workbench.solids.meshes.mesh import Mesh
from workbench.solids.recipe.seat import ways_of
from workbench.words import _

#: Chords of a round border that turn by less are one side, in mm: a fifth of what a print shows.
_STRAIGHT = 0.02


def silhouette(part: Mesh, side: str) -> Outline:
    """The largest border that a closed mesh has, seen from a side; holes are left out.

    part : vertices (n, 3) in mm and faces (m, 3)
    side : "top", "bottom", "left", "right", "front" or "back": where the eye is

    Raises RepairError when the surface touches itself.

    >>> from workbench import Repair, build, mesh
    >>> silhouette(mesh(build(Repair("x").add("box", width=30, depth=20, height=4))), "front").size
    (30.0, 4.0)
    """
    right, _left, up, _down = ways_of(side)
    seen = np.array([DIRECTIONS[right], DIRECTIONS[up], DIRECTIONS[side]])
    body = body_of(part[0] @ seen.T, part[1])
    if body is None:
        raise RepairError(_("The surface touches itself; change a size a little and build again."))
    rings = body.project().simplify(_STRAIGHT).to_polygons()
    return max(map(Outline, rings), key=lambda outline: outline.area)
