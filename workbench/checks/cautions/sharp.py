"""Sharp edges and points of a closed mesh, from the angles between its triangles."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Edges:
    """The edges of a closed mesh.

    ends : (k, 2) vertex indices
    angles : (k,) of the material there, in degrees
    sides : (k, 2) the triangles that meet there
    """

    ends: np.ndarray
    angles: np.ndarray
    sides: np.ndarray


def edges(vertices: np.ndarray, faces: np.ndarray) -> Edges:
    """Every edge with the angle of the material at it: 90 along a box, more in a hollow.

    vertices : (n, 3) in mm
    faces : (m, 3) counter-clockwise from outside, each edge shared by two
    """
    corners = vertices[faces]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normals = cross / np.linalg.norm(cross, axis=1, keepdims=True).clip(1e-300)
    start, end = faces.reshape(-1), np.roll(faces, -1, axis=1).reshape(-1)
    far = np.roll(faces, -2, axis=1).reshape(-1)
    face = np.repeat(np.arange(len(faces)), 3)
    count = len(vertices)
    forward, back = start * count + end, end * count + start
    # Each edge runs once each way: sorted by both keys, the two halves stand side by side.
    one, other = np.argsort(forward), np.argsort(back)
    first = start[one] < end[one]
    one, other = one[first], other[first]
    a, b = normals[face[one]], normals[face[other]]
    turn = np.degrees(np.arctan2(np.linalg.norm(np.cross(a, b), axis=1), (a * b).sum(axis=1)))
    lies_above = ((vertices[far[other]] - vertices[start[one]]) * a).sum(axis=1) > 0
    angles = np.where(lies_above, 180 + turn, 180 - turn)
    sides = np.stack([face[one], face[other]], axis=1)
    return Edges(np.stack([start[one], end[one]], axis=1), angles, sides)


def solid_angles(found: Edges, count: int) -> np.ndarray:
    """(count,) solid angle of the material at each vertex, in steradian: pi/2 at a box's corner.

    The spherical excess: interior angles of the edges that meet there, less (k - 2) pi.
    """
    ends = found.ends.reshape(-1)
    total = np.bincount(ends, weights=np.repeat(np.radians(found.angles), 2), minlength=count)
    return total - (np.bincount(ends, minlength=count) - 2) * np.pi


def cone_angles(solid: np.ndarray) -> np.ndarray:
    """Full angle in degrees of a cone with that solid angle in steradian: 83 at a box's corner.

    solid : (n,) from 0 to 4 pi; what is less or more is taken as the nearest
    """
    share = np.clip(1 - np.asarray(solid) / (2 * np.pi), -1, 1)
    return 2 * np.degrees(np.arccos(share))
