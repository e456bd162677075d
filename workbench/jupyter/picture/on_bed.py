"""The part as it will lie on the printer's bed: what hangs, and the brim."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.checks.layers.overhang_patches import ANGLE
from workbench.checks.layers.slices import overhang_angles
from workbench.solids.lay import laid

#: A triangle lies on the bed if all of it is this near, in mm.
_ON_BED = 1e-3


@dataclass(frozen=True)
class OnBed:
    """A laid part.

    vertices : (n, 3) in mm, the bed at z = 0
    hangs : (m,) whether a triangle leans out further than is printed without support
    brim : (k, 2, 3) the brim's edge, in mm; none where no brim is advised
    """

    vertices: np.ndarray
    hangs: np.ndarray
    brim: np.ndarray


def on_bed(
    vertices: np.ndarray, faces: np.ndarray, down: Sequence[float], brim: float = 0.0
) -> OnBed:
    """Lay a part on the bed.

    vertices, faces : closed mesh, (n, 3) in mm and (m, 3)
    down : the direction, as the part stands, that lies on the bed
    brim : width of the brim in mm, 0 for none
    """
    spots = laid(vertices, down)
    hangs = overhang_angles(vertices, faces, down) > ANGLE + 1.0
    edge = _brim(spots, faces, brim) if brim > 0 else np.zeros((0, 2, 3))
    return OnBed(spots, hangs, edge)


def _brim(spots: np.ndarray, faces: np.ndarray, width: float) -> np.ndarray:
    """The line ``width`` round what touches the bed."""
    from manifold3d import CrossSection, FillRule, JoinType

    foot = faces[(spots[faces][..., 2] < _ON_BED).all(axis=1)]
    if not len(foot):
        return np.zeros((0, 2, 3))
    # Whichever way round the facets run, seen from above, they are filled.
    section = CrossSection(list(spots[foot][..., :2]), FillRule.NonZero)
    lines = []
    for ring in section.offset(width, JoinType.Round, circular_segments=48).to_polygons():
        ends = np.column_stack([ring, np.zeros(len(ring))])
        lines.append(np.stack([ends, np.roll(ends, -1, axis=0)], axis=1))
    return np.concatenate(lines) if lines else np.zeros((0, 2, 3))
