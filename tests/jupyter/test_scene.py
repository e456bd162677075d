"""What the preview shows, as plain arrays."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

from workbench.jupyter.picture import scene
from workbench.solids.catalogue import find
from workbench.solids.mesh import mesh


def shape(name: str, **values: float):
    template = find(name)
    return mesh(template.function(**template.complete(values)))


def test_a_box_has_twelve_edges_of_its_own_lengths():
    edges = scene.edges(*shape("box", width=20, depth=10, height=5))
    lengths = np.sort(np.linalg.norm(edges[:, 1] - edges[:, 0], axis=1))
    np.testing.assert_allclose(lengths, [5] * 4 + [10] * 4 + [20] * 4, rtol=1e-6)


def test_a_cylinder_shows_its_two_rims_and_no_seams_along_its_side():
    edges = scene.edges(*shape("cylinder", diameter=10, height=10))
    level = np.isclose(edges[:, 0, 2], edges[:, 1, 2])
    assert level.all()
    np.testing.assert_allclose(np.unique(edges[..., 2].round(6)), [0, 10], atol=1e-6)


def test_pieces_apart_do_not_overlap_where_they_were_stacked():
    stacked = [np.array([[0, 0, 10.0 * n], [10, 10, 10.0 * n + 10]]) for n in range(3)]
    moves = scene.apart(stacked)
    moved = [box + move for box, move in zip(stacked, moves, strict=True)]
    for lower, upper in pairwise(moved):
        assert upper[0, 2] - lower[1, 2] >= 1.0


def test_a_hole_comes_out_of_its_plate_and_the_plate_stays():
    plate = np.array([[-20, -20, 0], [20, 20, 4.0]])
    hole = np.array([[-3, -3, -1], [3, 3, 5.0]])
    moves = scene.apart([plate, hole])
    assert np.linalg.norm(moves[0]) < 1e-9
    assert (hole + moves[1])[1, 1] < plate[0, 1]


def test_joined_meshes_keep_their_faces_and_owners():
    box = shape("box")
    ball = shape("sphere")
    vertices, faces, owner = scene.joined([box, ball])
    assert len(vertices) == len(box[0]) + len(ball[0]) == len(owner)
    np.testing.assert_array_equal(vertices[faces[-1]], ball[0][ball[1][-1]])
    np.testing.assert_array_equal(np.bincount(owner), [len(box[0]), len(ball[0])])


def test_dimension_lines_say_the_part_s_own_sizes_in_mm():
    part = np.array([[0, 0, 0], [34.85, 1.6, 71.0]])
    lines = scene.dimensions(part, part)
    assert lines.texts == ("34.85 mm", "1.6 mm", "71 mm")
    assert len(lines.places) == 3
    spans = np.linalg.norm(lines.segments[::5, 1] - lines.segments[::5, 0], axis=1)
    np.testing.assert_allclose(spans, [34.85, 1.6, 71.0])


def test_dimension_lines_keep_clear_of_the_whole():
    part = np.array([[10, 0, 10], [20, 5, 20.0]])
    whole = np.array([[0, 0, 0], [40, 5, 60.0]])
    lines = scene.dimensions(part, whole)
    across, deep, high = lines.segments[::5]
    assert (across[:, 1] < whole[0, 1]).all()
    assert (deep[:, 0] > whole[1, 0]).all()
    assert (high[:, 0] < whole[0, 0]).all()


def test_the_bed_lies_under_the_part_with_lines_each_10_mm():
    bounds = np.array([[-17.5, -1.2, -4.0], [17.5, 1.2, 71.0]])
    fine, strong = scene.bed_grid(bounds)
    lines = np.concatenate([fine.segments, strong])
    np.testing.assert_allclose(lines[..., 2], -4.0)
    np.testing.assert_allclose(lines[..., :2] / 10, np.round(lines[..., :2] / 10), atol=1e-9)
    assert lines[..., 0].min() <= -17.5 and lines[..., 0].max() >= 17.5
    for segments, strongly in ((strong, True), (fine.segments, False)):
        fixed = [ends[0, axis] for ends in segments for axis in (0, 1) if not np.ptp(ends[:, axis])]
        assert len(fixed) == len(segments) > 0
        assert all((value % 50 == 0) == strongly for value in fixed)


def test_the_numbers_on_the_bed_stay_few_and_the_last_has_its_unit():
    for width in (10.0, 60.0, 300.0, 2000.0):
        grid, _strong = scene.bed_grid(np.array([[0, 0, 0], [width, width, 10.0]]))
        assert 2 <= len(grid.texts) <= 11
        assert grid.texts[-1].endswith(" mm")


@pytest.mark.parametrize("view", scene.VIEWS)
def test_a_camera_has_every_corner_in_sight(view: str):
    bounds = np.array([[-20, -3, -4], [60, 3, 71.0]])
    opening = 10.0
    eye, target, up = np.array(scene.camera(bounds, view, opening)).reshape(3, 3)
    corners = np.array(np.meshgrid(*bounds.T)).reshape(3, -1).T
    sight = (target - eye) / np.linalg.norm(target - eye)
    towards = corners - eye
    cosines = towards @ sight / np.linalg.norm(towards, axis=1)
    assert np.degrees(np.arccos(cosines)).max() <= opening / 2
    assert np.linalg.norm(np.cross(sight, up)) > 1e-4
