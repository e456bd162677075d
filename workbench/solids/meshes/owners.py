"""Which step each triangle of the whole came from, found by comparing surfaces alone."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

#: A triangle belongs to a step's surface if its middle lies this near, in mm: a little more than
#: two meshes of one curved face may lie apart.
NEAR = 0.06

#: Distances that differ by less than this are equal, in mm; the smaller surface then has it.
_EQUAL = 1e-3

#: Least cosine between the normals of two meshes of one curved face.
_ALONG = 0.9

_BLOCK = 2_000_000


@dataclass(frozen=True)
class Surface:
    """The planes of a body's facets, those of one plane as one.

    normals : (p, 3) unit vectors out of the body, or into it where it is taken away
    offsets : (p,) distance of each plane from the origin along its normal, in mm
    low, high : (p, 3) the extent of its facets, in mm
    """

    normals: np.ndarray
    offsets: np.ndarray
    low: np.ndarray
    high: np.ndarray

    @classmethod
    def of(cls, vertices: np.ndarray, faces: np.ndarray, cuts: bool = False) -> Surface:
        """The surface of a mesh: vertices (n, 3) in mm and faces (m, 3); ``cuts`` takes it away."""
        corners, normals = _facets(vertices, faces[:, ::-1] if cuts else faces)
        offsets = (normals * corners[:, 0]).sum(axis=1)
        key = np.column_stack([np.round(normals * 1e3), np.round(offsets * 1e2)])
        _key, first, group = np.unique(key, axis=0, return_index=True, return_inverse=True)
        group = group.reshape(-1)
        low = np.full((len(first), 3), np.inf)
        high = -low
        np.minimum.at(low, group, corners.min(axis=1))
        np.maximum.at(high, group, corners.max(axis=1))
        return cls(normals[first], offsets[first], low, high)


def owners(vertices: np.ndarray, faces: np.ndarray, bodies: Sequence[Surface]) -> np.ndarray:
    """(m,) for each triangle the number of the body on whose surface it lies.

    A hole's wall belongs to the body that was taken away there. Where two bodies share a plane,
    the one with the smaller face has the triangles that lie on it. What lies on no body, such as
    a rounded edge, goes to the owner of the nearest triangle that does.

    vertices, faces : mesh of the whole, (n, 3) in mm and (m, 3)
    bodies : at least one
    """
    corners, normals = _facets(vertices, faces)
    middles = corners.mean(axis=1)
    best = np.full(len(faces), np.inf)
    owner = np.zeros(len(faces), dtype=np.int64)
    for number, body in enumerate(bodies):
        low, high = body.low.min(axis=0) - NEAR, body.high.max(axis=0) + NEAR
        inside = np.flatnonzero(((middles >= low) & (middles <= high)).all(axis=1))
        for part in np.array_split(inside, 1 + len(inside) * len(body.offsets) // _BLOCK):
            score = _score(middles[part], normals[part], body)
            better = score < best[part]
            best[part[better]] = score[better]
            owner[part[better]] = number
    lost = ~np.isfinite(best)
    if lost.any() and not lost.all():
        from scipy.spatial import cKDTree

        _distance, nearest = cKDTree(middles[~lost]).query(middles[lost])
        owner[lost] = owner[~lost][nearest]
    return owner


def _score(middles: np.ndarray, normals: np.ndarray, body: Surface) -> np.ndarray:
    """(k,) how far each middle lies from the body, the smaller face first; infinite for too far."""
    if not len(middles):
        return np.zeros(0)
    far = np.abs(middles @ body.normals.T - body.offsets)
    fits = (far < NEAR) & (normals @ body.normals.T > _ALONG)
    row, plane = np.nonzero(fits)
    spot = middles[row]
    within = ((spot >= body.low[plane] - NEAR) & (spot <= body.high[plane] + NEAR)).all(axis=1)
    row, plane = row[within], plane[within]
    size = np.linalg.norm(body.high - body.low, axis=1)
    score = np.full(len(middles), np.inf)
    np.minimum.at(
        score, row, np.maximum(far[row, plane] - _EQUAL, 0) + 1e-6 * np.minimum(size[plane], 999)
    )
    return score


def _facets(vertices: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Corners (m, 3, 3) and unit normals (m, 3)."""
    corners = np.asarray(vertices, dtype=float)[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(normals, axis=1, keepdims=True)
    return corners, normals / np.maximum(length, 1e-300)
