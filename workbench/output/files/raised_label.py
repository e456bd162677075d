"""A label raised on a part as it lies on the bed, so that everyone finds theirs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from workbench.output.files.letter_rings import Lettering
from workbench.solids.lay import rotation
from workbench.solids.meshes.mesh import closes

#: In mm: how far letters stand out of a face that looks up and of one that is upright (there a
#: line's width prints in the air), how far they reach into the part, and the margin round them.
UP, OUT, INTO, MARGIN = 0.6, 0.4, 0.2, 0.6

#: How many faces are tried, largest first, and places along each side of one.
_FACES, _PLACES = 4, 8

Mesh = tuple[np.ndarray, np.ndarray]


def raised(
    vertices: np.ndarray, faces: np.ndarray, text: Lettering, keep_off: Sequence[np.ndarray] = ()
) -> Mesh | None:
    """The part with letters on a flat face, one that looks up if possible, else an upright one.

    vertices : (n, 3) in mm, as the part lies on the bed
    faces : (m, 3) indices, counter-clockwise seen from outside
    text : what to raise
    keep_off : (n, 3) corners in mm of what the letters are to stay clear of, each

    Returns the new vertices and faces, or None where no face has room.
    """
    points = np.asarray(vertices, dtype=float)
    for normal, out in _ways(points, faces):
        turn = rotation(-normal)
        turned, clear = points @ turn.T, [corners @ turn.T for corners in keep_off]
        found = _place(turned, faces, text, clear)
        if found is not None:
            made = _joined(turned, faces, text, found, out)
            return (made[0] @ turn, made[1]) if made is not None else None
    return None


def _ways(points: np.ndarray, faces: np.ndarray) -> Iterator[tuple[np.ndarray, float]]:
    """Where to look: up, then the ways in which the largest upright faces look."""
    up = np.array([0.0, 0.0, 1.0])
    yield up, UP
    normals, areas = _normals(points, faces)
    upright = (np.abs(normals[:, 2]) < 1e-6) & (areas > 0)
    looks, which = np.unique(np.round(normals[upright], 4), axis=0, return_inverse=True)
    total = np.bincount(which.reshape(-1), weights=areas[upright], minlength=len(looks))
    for index in np.argsort(-total, kind="stable")[:_FACES]:
        # The face's own normal: the rounded one would turn it a little.
        first = np.flatnonzero(which.reshape(-1) == index)[0]
        yield normals[upright][first], OUT


def _normals(points: np.ndarray, faces: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    corners = points[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    doubled = np.linalg.norm(normals, axis=1)
    return normals / np.maximum(doubled, 1e-12)[:, None], doubled / 2


def _place(
    points: np.ndarray, faces: np.ndarray, text: Lettering, keep_off: Sequence[np.ndarray]
) -> tuple[float, float, float, float] | None:
    """Height of the letters and the lower left corner (x, y, z) of the text, largest first."""
    clear = [
        shapely.box(*corners[:, :2].min(axis=0), *corners[:, :2].max(axis=0))
        for corners in keep_off
    ]
    regions = [
        (level, region.difference(shapely.union_all(clear)).buffer(-MARGIN))
        for level, region in _level_faces(points, faces)
    ]
    for height in text.heights:
        wide, high = text.size(height)
        for level, region in regions:
            corner = _room(region, wide, high)
            if corner is not None:
                return height, *corner, level
    return None


def _level_faces(points: np.ndarray, faces: np.ndarray) -> Iterator[tuple[float, shapely.Geometry]]:
    """The faces that look straight up with nothing above, largest first: height and region."""
    corners = points[faces]
    normals, areas = _normals(points, faces)
    level = (areas > 0) & (normals[:, 2] > 1 - 1e-6)
    heights = np.round(corners[:, :, 2].mean(axis=1), 3)
    total = {h: areas[level & (heights == h)].sum() for h in np.unique(heights[level])}
    for height in sorted(total, key=lambda h: (-total[h], -h))[:_FACES]:
        mine = corners[level & (heights == height)]
        over = corners[(corners[:, :, 2].max(axis=1) > height + 0.01) & (normals[:, 2] > 1e-6)]
        region = shapely.union_all(shapely.polygons(mine[:, :, :2]), grid_size=1e-5)
        yield (
            float(height),
            region.difference(shapely.union_all(shapely.polygons(over[:, :, :2]), grid_size=1e-5)),
        )


def _room(free: shapely.Geometry, wide: float, high: float) -> tuple[float, float] | None:
    """The lower left corner of a rectangle inside a region, near the region's widest place."""
    if free.is_empty or free.area < wide * high:
        return None
    middle = shapely.maximum_inscribed_circle(free, 0.5).coords[0]
    left, front, right, back = free.bounds
    grid = np.meshgrid(np.linspace(left, right, _PLACES), np.linspace(front, back, _PLACES))
    spots = np.concatenate([[middle], np.column_stack([axis.ravel() for axis in grid])])
    away = np.hypot(*(spots - middle).T)
    shapely.prepare(free)
    for x, y in spots[np.argsort(away, kind="stable")]:
        corner = float(x) - wide / 2, float(y) - high / 2
        if free.covers(shapely.box(*corner, corner[0] + wide, corner[1] + high)):
            return corner
    return None


def _joined(
    points: np.ndarray,
    faces: np.ndarray,
    text: Lettering,
    at: tuple[float, float, float, float],
    out: float,
) -> Mesh | None:
    from manifold3d import CrossSection, Error, FillRule, Manifold
    from manifold3d import Mesh as Triangles

    height, x, y, level = at
    part = Manifold(Triangles(points.astype(np.float32), np.asarray(faces).astype(np.uint32)))
    letters = CrossSection(text.rings(height), FillRule.NonZero).extrude(out + INTO)
    part += letters.translate((x, y, level - INTO))
    made = part.to_mesh()
    corners, triangles = np.asarray(made.vert_properties)[:, :3], np.asarray(made.tri_verts)
    sound = part.status() == Error.NoError and closes(triangles)
    return (corners.astype(float), triangles.astype(np.int64)) if sound else None
