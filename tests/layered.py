"""Bodies cut into layers: by workbench, by the usual libraries, and by the mesh kernel alone."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import shapely
import trimesh
from bodies import arrays, ball, plate_with_holes, ring
from manifold3d import JoinType, Manifold, Mesh64

from workbench.checks.layers.layer_analysis import Settings, layers
from workbench.checks.layers.slices import CUT_AT
from workbench.solids.lay import laid

DOWN = (0.0, 0.0, -1.0)

BODIES = {
    "plate with 30 countersunk holes": lambda: arrays(plate_with_holes(110)),
    "ball": lambda: arrays(ball(30, 200)),
    "leaning ring": lambda: arrays(ring(100)),
}


def everything(mesh: tuple[np.ndarray, np.ndarray], layer: float = 0.2) -> float:
    """All that the layers tell; the overhanging area is returned."""
    found = layers(*mesh, DOWN, Settings(layer=layer))
    hangs = found.overhangs
    for part in (found.stance, found.towers, found.thin, found.slices.areas, hangs.islands):
        assert part is not None
    return hangs.area


def sections(mesh: tuple[np.ndarray, np.ndarray], layer: float = 0.2) -> tuple[float, float]:
    """Total area of the layers and of what reaches beyond the one below, with trimesh and shapely."""
    placed = laid(mesh[0], DOWN)
    cuts = trimesh.Trimesh(placed, mesh[1], process=False).section_multiplane(
        [0, 0, 0], [0, 0, 1], _heights(placed, layer)
    )
    shapes = [shapely.build_area(shapely.MultiLineString(path.discrete)) for path in cuts]
    beyond = [
        above.difference(below.buffer(layer, join_style="mitre", mitre_limit=2)).area
        for below, above in pairwise(shapes)
    ]
    return sum(shape.area for shape in shapes), sum(beyond)


def tight(mesh: tuple[np.ndarray, np.ndarray], layer: float = 0.2) -> tuple[float, float]:
    """The same two areas by the mesh kernel, in as few calls as it takes: the floor for whoever
    cuts, grows and subtracts each layer with it."""
    placed = laid(mesh[0], DOWN)
    body = Manifold(Mesh64(np.array(placed), np.array(mesh[1], dtype=np.uint64)))
    shapes = [body.slice(height) for height in _heights(placed, layer)]
    beyond = [
        (above - below.offset(layer, JoinType.Miter, 2.0)).area()
        for below, above in pairwise(shapes)
    ]
    return sum(shape.area() for shape in shapes), sum(beyond)


def _heights(placed: np.ndarray, layer: float) -> np.ndarray:
    return np.asarray((np.arange(round(placed[:, 2].max() / layer)) + CUT_AT) * layer)
