"""The sides on which a part can be laid.

A part rests on a facet of its convex hull; a plane face of its own that is no facet may still be
worth laying level.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from workbench.solids.lay import unit

#: The six directions of the bench, which every part is tried in.
AXES = ((0, 0, -1), (0, -1, 0), (0, 1, 0), (-1, 0, 0), (1, 0, 0), (0, 0, 1))

#: Two normals nearer than this are one direction, as the cosine of the angle (1 degree).
SAME = np.cos(np.radians(1.0))

#: What bends up from the bed by less than this, as the cosine (30 degrees), and begins no higher
#: than HIGH, in mm, may be a round side. Our choice.
BENDS = np.cos(np.radians(30.0))
HIGH = 0.5

#: A facet this near to the bed, in mm, lies on it. Our choice.
ON_BED = 0.02


@dataclass(frozen=True)
class Facets:
    """Triangles as the checks read them: unit normals (m, 3), areas (m,) mm², corners (m, 3, 3);
    and the mesh's vertices (n, 3), of which ``ends`` (3, m) are each triangle's corners."""

    corners: np.ndarray
    normals: np.ndarray
    areas: np.ndarray
    vertices: np.ndarray
    ends: np.ndarray

    @classmethod
    def of(cls, vertices: np.ndarray, faces: np.ndarray) -> Facets:
        """Normals and areas of a mesh; triangles without area have a zero normal."""
        vertices, faces = np.asarray(vertices, dtype=float), np.asarray(faces)
        corners = vertices[faces]
        cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        double = np.linalg.norm(cross, axis=1)
        normals = cross / np.where(double > 0, double, 1)[:, None]
        return cls(corners, normals, double / 2, vertices, np.ascontiguousarray(faces.T))

    def along(self, direction: np.ndarray) -> np.ndarray:
        """(3, m) how far the corners of each triangle lie along a direction, in mm."""
        return np.take(self.vertices @ direction, self.ends)

    def round_below(self, down: np.ndarray) -> bool:
        """Whether the part, laid on ``down``, rests on a round side: more of its surface bends up
        from the bed than lies on it."""
        facing = self.normals @ down
        depth = self.along(down)
        rests = (facing > SAME) & (depth.min(axis=0) > depth.max() - ON_BED)
        bends = (facing < SAME) & (facing > BENDS) & (depth.max(axis=0) > depth.max() - HIGH)
        return bool(self.areas[bends].sum() > self.areas[rests].sum())


def candidates(
    vertices: np.ndarray, faces: np.ndarray, most: int = 26
) -> list[tuple[float, float, float]]:
    """Up to ``most`` directions worth laying down: hull facets and plane faces, largest first.

    The six directions of the bench always come along, as long as ``most`` allows.
    """
    resting = Facets.of(*hull(vertices))
    own = Facets.of(vertices, faces)
    # A face that is no facet of the hull cannot bear the part; it counts half.
    weighed = _grouped(
        np.concatenate([resting.normals, own.normals]),
        np.concatenate([resting.areas, own.areas / 2]),
    )
    chosen: list[np.ndarray] = [unit(axis) for axis in AXES[:most]]
    for direction in weighed:
        if len(chosen) >= most:
            break
        if all(direction @ other < SAME for other in chosen):
            chosen.append(unit(direction))
    return [_as_tuple(direction) for direction in chosen]


def hull(vertices: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Corners (n, 3) and triangles (m, 3) of the convex hull of points."""
    from manifold3d import Manifold

    found = Manifold.hull_points(np.asarray(vertices, dtype=float)).to_mesh64()
    return np.asarray(found.vert_properties)[:, :3], np.asarray(found.tri_verts)


def _grouped(normals: np.ndarray, areas: np.ndarray) -> np.ndarray:
    """Directions (k, 3) that share a normal to a thousandth, by total area, largest first."""
    # In whole thousandths, x, y and z as one number.
    keys = np.rint(1000 * normals).astype(np.int64) @ [10**8, 10**4, 1]
    keys, index = np.unique(keys, return_inverse=True)
    total = np.bincount(index, weights=areas, minlength=len(keys))
    mean = np.stack(
        [np.bincount(index, weights=areas * normals[:, i], minlength=len(keys)) for i in range(3)],
        axis=1,
    )
    good = (total > 0) & (np.linalg.norm(mean, axis=1) > 0)
    order = np.argsort(-total[good], kind="stable")
    found = mean[good][order]
    return found / np.linalg.norm(found, axis=1)[:, None]


def _as_tuple(direction: np.ndarray) -> tuple[float, float, float]:
    x, y, z = (float(v) for v in direction)
    return x, y, z
