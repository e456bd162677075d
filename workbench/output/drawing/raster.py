"""Triangles to pixels: which triangle each pixel of a picture shows, and how deep it lies."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True)
class Camera:
    """An eye that looks at a place.

    out : (3,) unit vector from the place to the eye
    centre : (3,) the place, in mm, in the middle of the picture
    scale : pixels for each mm at the place
    size : width and height of the picture in pixels
    distance : of the eye from the place, in mm; infinite for a parallel projection
    """

    out: np.ndarray
    centre: np.ndarray
    scale: float
    size: tuple[int, int]
    distance: float = np.inf

    @property
    def axes(self) -> np.ndarray:
        """(3, 3) with rows right, up and out."""
        right = np.cross([0.0, 0.0, 1.0], self.out)
        if np.linalg.norm(right) < 1e-9:
            right = np.array([1.0, 0.0, 0.0])
        right = right / np.linalg.norm(right)
        return np.array([right, np.cross(self.out, right), self.out])

    def project(self, points: np.ndarray) -> np.ndarray:
        """(n, 3): pixel right, pixel down, and nearness, which grows towards the eye.

        Nearness runs evenly across a triangle's pixels, with a parallel projection or without.
        """
        seen = (points - self.centre) @ self.axes.T
        if np.isfinite(self.distance):
            near = self.distance / np.maximum(self.distance - seen[:, 2], 1e-3 * self.distance)
            seen = np.column_stack([seen[:, :2] * near[:, None], near])
        right = self.size[0] / 2 + self.scale * seen[:, 0]
        down = self.size[1] / 2 - self.scale * seen[:, 1]
        return np.column_stack([right, down, seen[:, 2]])

    def on_ground(self, level: float) -> np.ndarray:
        """(h, w, 2): where the ray through each pixel meets the plane z = level; NaN for the sky."""
        right, up, out = self.axes
        width, height = self.size
        x = (np.arange(width) + 0.5 - width / 2) / self.scale
        y = (height / 2 - np.arange(height) - 0.5) / self.scale
        spot = self.centre + x[None, :, None] * right + y[:, None, None] * up
        ray = -out[None, None, :]
        if np.isfinite(self.distance):
            ray = spot - (self.centre + self.distance * out)
        with np.errstate(divide="ignore", invalid="ignore"):
            far = (level - spot[..., 2]) / ray[..., 2]
            met = spot[..., :2] + far[..., None] * ray[..., :2]
        if np.isfinite(self.distance):
            met[far < -1] = np.nan
        return met


@dataclass(frozen=True)
class Pixels:
    """What each pixel of a picture shows.

    triangle : (h, w) index of the triangle in front, -1 where there is none
    near : (h, w) nearness of that place, -inf where there is none
    weights : (h, w, 3) how much of each corner of the triangle
    """

    triangle: np.ndarray
    near: np.ndarray
    weights: np.ndarray


def rasterise(projected: np.ndarray, faces: np.ndarray, size: tuple[int, int]) -> Pixels:
    """Find, for each pixel, the nearest of the triangles that face the eye.

    projected : (n, 3) corners as :meth:`Camera.project` gives them
    faces : (m, 3) indices into them, counter-clockwise seen from outside
    size : width and height in pixels
    """
    width, height = size
    a, b, c = (projected[faces[:, i]] for i in range(3))
    doubled = (b[:, 0] - a[:, 0]) * (c[:, 1] - a[:, 1]) - (b[:, 1] - a[:, 1]) * (c[:, 0] - a[:, 0])
    # The picture's y runs down, so what faces the eye turns the other way here.
    facing = np.flatnonzero(doubled < -1e-9)
    which, row, first, last = _spans(projected[faces[facing]], width, height)
    counts = np.maximum(last - first + 1, 0)
    owner = facing[np.repeat(which, counts)]
    down = np.repeat(row, counts)
    start = np.repeat(np.cumsum(counts) - counts, counts)
    right = np.repeat(first, counts) + np.arange(len(owner)) - start
    # Nearness runs evenly across a triangle, so it is one number and two slopes for each.
    second, third = _shares(a, b, c, np.where(doubled == 0, 1, doubled))
    slopes = (b[:, 2] - a[:, 2])[:, None] * second + (c[:, 2] - a[:, 2])[:, None] * third
    slopes[:, 2] += a[:, 2]
    near = _at(slopes[owner], right, down)
    place = down * width + right
    nearest = np.full(width * height, -np.inf)
    np.maximum.at(nearest, place, near)
    front = np.flatnonzero(near >= nearest[place])
    place, owner, right, down = place[front], owner[front], right[front], down[front]
    triangle = np.full(width * height, -1, dtype=np.int32)
    triangle[place] = owner
    shares = np.zeros((width * height, 3), dtype=np.float32)
    shares[place, 1] = _at(second[owner], right, down)
    shares[place, 2] = _at(third[owner], right, down)
    shares[place, 0] = 1 - shares[place, 1] - shares[place, 2]
    return Pixels(
        triangle.reshape(height, width),
        nearest.reshape(height, width),
        shares.reshape(height, width, 3),
    )


def covered(projected: np.ndarray, faces: np.ndarray, size: tuple[int, int]) -> np.ndarray:
    """(h, w) whether any triangle, whichever way it faces, covers the pixel."""
    width, height = size
    _which, row, first, last = _spans(projected[faces], width, height)
    kept = last >= first
    change = np.zeros((height, width + 1), dtype=np.int64)
    np.add.at(change, (row[kept], first[kept]), 1)
    np.add.at(change, (row[kept], last[kept] + 1), -1)
    return np.cumsum(change, axis=1)[:, :width] > 0


def _spans(
    corners: np.ndarray, width: int, height: int
) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """For triangles (m, 3, 3), each row that they cross: triangle, row, first and last pixel."""
    low = np.clip(np.ceil(corners[:, :, 1].min(axis=1) - 0.5), 0, height).astype(np.int64)
    high = np.clip(np.floor(corners[:, :, 1].max(axis=1) - 0.5), -1, height - 1).astype(np.int64)
    counts = np.maximum(high - low + 1, 0)
    which = np.repeat(np.arange(len(corners)), counts)
    row = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts) + low[which]
    level = row + 0.5
    left = np.full(len(which), np.inf)
    right = np.full(len(which), -np.inf)
    for i in range(3):
        start, end = corners[which, i], corners[which, (i + 1) % 3]
        rise = end[:, 1] - start[:, 1]
        share = (level - start[:, 1]) / np.where(rise == 0, np.inf, rise)
        crosses = (share >= 0) & (share <= 1) & (rise != 0)
        x = np.where(crosses, start[:, 0] + share * (end[:, 0] - start[:, 0]), np.nan)
        left, right = np.fmin(left, x), np.fmax(right, x)
    met = left <= right
    first = np.clip(np.ceil(np.where(met, left, 1) - 0.5), 0, width).astype(np.int64)
    last = np.clip(np.floor(np.where(met, right, -1) - 0.5), -1, width - 1).astype(np.int64)
    return which, row, first, last


def _shares(
    a: np.ndarray, b: np.ndarray, c: np.ndarray, doubled: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """How much of the second and of the third corner a place in a triangle is: each as slopes (n, 3)."""
    second = np.column_stack([c[:, 1] - a[:, 1], a[:, 0] - c[:, 0]]) / doubled[:, None]
    third = np.column_stack([a[:, 1] - b[:, 1], b[:, 0] - a[:, 0]]) / doubled[:, None]
    return tuple(  # type: ignore[return-value]
        np.column_stack([slope, -(slope * a[:, :2]).sum(axis=1)]) for slope in (second, third)
    )


def _at(slopes: np.ndarray, right: np.ndarray, down: np.ndarray) -> np.ndarray:
    """What runs evenly, given as slopes right and down and what it is at 0, in the middles of pixels."""
    return slopes[:, 0] * (right + 0.5) + slopes[:, 1] * (down + 0.5) + slopes[:, 2]
