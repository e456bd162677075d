"""A part as it lies on the bed: what hangs and where the brim runs, worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.jupyter.picture.on_bed import on_bed
from workbench.solids.building.build import build
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat


def table() -> tuple[np.ndarray, np.ndarray]:
    """A post of 10 x 10 x 20 mm under a top of 30 x 20 x 2 mm."""
    repair = Repair("table").add("box", name="post", width=10, depth=10, height=20)
    repair.add("box", name="top", seat=Seat("top of post"), width=30, depth=20, height=2)
    return mesh(build(repair))


def area(vertices: np.ndarray, faces: np.ndarray) -> float:
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    return float(np.linalg.norm(np.cross(b - a, c - a), axis=1).sum() / 2)


def test_what_hangs_is_the_underside_beyond_the_post():
    vertices, faces = table()
    found = on_bed(vertices, faces, (0, 0, -1))
    assert area(vertices, faces[found.hangs]) == pytest.approx(30 * 20 - 10 * 10)
    assert not on_bed(vertices, faces, (0, 0, 1)).hangs.any()


def test_the_part_lies_in_the_middle_of_the_bed_on_the_side_that_was_chosen():
    vertices, faces = table()
    found = on_bed(vertices, faces, (0, 0, 1))
    low, high = found.vertices.min(axis=0), found.vertices.max(axis=0)
    np.testing.assert_allclose([low[2], high[2]], [0, 22], atol=1e-9)
    np.testing.assert_allclose(low[:2] + high[:2], 0, atol=1e-9)


@pytest.mark.parametrize(("down", "foot"), [((0, 0, -1), (10, 10)), ((0, 0, 1), (30, 20))])
def test_the_brim_runs_so_far_round_what_touches_the_bed(down, foot):
    vertices, faces = table()
    edge = on_bed(vertices, faces, down, brim=5).brim
    np.testing.assert_allclose(np.ptp(edge.reshape(-1, 3), axis=0), [foot[0] + 10, foot[1] + 10, 0])
    assert on_bed(vertices, faces, down).brim.shape == (0, 2, 3)
