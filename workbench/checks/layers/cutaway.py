"""A part with everything above one height taken away, to look into it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from workbench.errors import RepairError
from workbench.solids.lay import laid, unit
from workbench.words import _, with_unit


def below(
    vertices: np.ndarray, faces: np.ndarray, down: Sequence[float], z: float
) -> tuple[np.ndarray, np.ndarray]:
    """What lies less than ``z`` mm above the bed of a part laid on ``down``, as a closed mesh.

    The part stays where it stands; the cut is closed with a level face.

    vertices, faces : closed mesh, (n, 3) in mm and (m, 3)
    down : the direction, as the part stands, that lies on the bed
    z : height of the cut above the bed, in mm

    Raises RepairError when the cut is not above the bed.

    >>> from workbench.solids.building.build import build
    >>> from workbench.solids.meshes.mesh import mesh, volume
    >>> from workbench.solids.recipe.repair import Repair
    >>> box = mesh(build(Repair("box").add("box", width=10, depth=10, height=10)))
    >>> round(volume(*below(*box, (0, 0, -1), 4)), 6)
    400.0
    """
    from manifold3d import Manifold, Mesh64

    if not z > 0:
        raise RepairError(
            _("nothing of the part lies below {z}; cut it higher").format(z=with_unit(z))
        )
    points = np.asarray(vertices, dtype=float)
    if z >= float(laid(points, down)[:, 2].max()):
        return points, np.asarray(faces)
    direction = unit(down)
    # Copies, since the kernel takes no read-only arrays.
    whole = Manifold(Mesh64(points.copy(order="C"), np.array(faces, dtype=np.uint64, order="C")))
    # What is kept lies at least this far along ``down``: all within z of the lowest point.
    depth = float((points @ direction).max()) - z
    kept = whole.trim_by_plane(tuple(direction), depth).to_mesh64()
    return np.array(kept.vert_properties[:, :3]), np.array(kept.tri_verts, dtype=np.int64)
