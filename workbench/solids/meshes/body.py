"""Triangles as a body for booleans of meshes, by manifold3d."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from manifold3d import Manifold


def body_of(vertices: np.ndarray, faces: np.ndarray) -> Manifold | None:
    """The body of a closed mesh, (n, 3) in mm and (m, 3); None where it touches itself or is empty."""
    import manifold3d

    # Copies: it takes no array that may not be written to.
    corners, triangles = np.array(vertices, float, order="C"), np.array(faces, np.uint64, order="C")
    made = manifold3d.Manifold(manifold3d.Mesh64(corners, triangles))
    return made if made.status() == manifold3d.Error.NoError and not made.is_empty() else None
