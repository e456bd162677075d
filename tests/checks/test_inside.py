"""Points inside closed meshes."""

from __future__ import annotations

import numpy as np
import pytest
from bodies import arrays, ball, block, ring

from workbench.checks import inside as module
from workbench.checks.inside import inside


@pytest.mark.parametrize("pairs", [0, 10**9])
def test_points_in_a_ball_are_nearer_to_its_middle(pairs, monkeypatch):
    monkeypatch.setattr(module, "_PAIRS", pairs)
    points = np.random.default_rng(1).uniform((-6, -6, -1), (6, 6, 11), (400, 3))
    away = np.linalg.norm(points - np.array([0, 0, 5]), axis=1)
    # The facets lie a little within the ball.
    sure = (away < 4.9) | (away > 5)
    assert (inside(*arrays(ball(5, 96)), points) == (away < 5))[sure].all()


@pytest.mark.parametrize("pairs", [0, 10**9])
def test_lines_through_corners_and_along_edges_count_once(pairs, monkeypatch):
    monkeypatch.setattr(module, "_PAIRS", pairs)
    body = block(4, 4, 4) + block(2, 2, 2, (5, 0, 0))
    grid = np.stack(np.meshgrid(*[np.arange(-3.5, 8, 0.5)] * 3), axis=-1).reshape(-1, 3)
    off = np.array([0.25, 0.0, 0.0])  # beside every face, level with many corners and edges
    x, y, z = (grid + off).T
    large = (abs(x) < 2) & (y >= -2) & (y < 2) & (z >= 0) & (z < 4)
    small = (abs(x - 5) < 1) & (y >= -1) & (y < 1) & (z >= 0) & (z < 2)
    found = inside(*arrays(body), grid + off)
    within = (abs(y) < 0.9) & (z > 0.1) & (z < 1.9) | (abs(x) < 2) & (abs(y) < 1.9) & (z > 0.1) & (z < 3.9)  # fmt: skip
    assert (found == (large | small))[within].all()
    assert not found[(x < -2) | (x > 6) | (z > 4) | (z < 0)].any()


def test_the_hole_of_a_ring_is_outside():
    vertices, faces = arrays(ring(40))
    assert not inside(vertices, faces, vertices.mean(axis=0)[None])[0]
