"""What the preview shows, as plain arrays."""

from __future__ import annotations

import re
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np

from workbench.jupyter.picture import scene
from workbench.solids.catalogue import find
from workbench.solids.meshes.mesh import mesh


def shape(name: str, **values: float):
    template = find(name)
    return mesh(template.function(**template.complete(values)))


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


def test_a_hole_beside_the_middle_and_a_stud_within_it_come_out_of_their_plate():
    plate = np.array([[-22, -12, 0], [22, 12, 3.0]])
    hole = np.array([[4, -4, 0], [12, 4, 3.0]])
    stud = np.array([[6, -2, 0.5], [10, 2, 2.0]])
    boxes = [plate, hole, stud]
    moved = [box + move for box, move in zip(boxes, scene.apart(boxes), strict=True)]
    for one, other in combinations(moved, 2):
        room = np.minimum(one[1], other[1]) - np.maximum(one[0], other[0])
        assert room.min() <= 0, "they have no room in common"
    np.testing.assert_array_equal(moved[0], plate)


def test_joined_meshes_keep_their_faces_and_owners():
    box = shape("box")
    ball = shape("sphere")
    vertices, faces, owner = scene.joined([box, ball])
    assert len(vertices) == len(box[0]) + len(ball[0]) == len(owner)
    np.testing.assert_array_equal(vertices[faces[-1]], ball[0][ball[1][-1]])
    np.testing.assert_array_equal(np.bincount(owner), [len(box[0]), len(ball[0])])


def test_the_bed_lies_under_the_part_with_lines_each_10_mm():
    bed = scene.bed_under(np.array([[-17.5, -1.2, -4.0], [17.5, 1.2, 71.0]]))
    assert (bed.level, bed.pitch, bed.strong) == (-4.0, 10.0, 5)
    for corner in (bed.low, bed.high):
        np.testing.assert_allclose(corner / 10, np.round(corner / 10), atol=1e-9)
    assert (bed.low <= [-47.5, -31.2]).all() and (bed.low > [-57.5, -41.2]).all()
    assert (bed.high >= [47.5, 31.2]).all() and (bed.high < [57.5, 41.2]).all()


def test_the_numbers_on_the_bed_stay_few_and_the_last_has_its_unit():
    for width in (10.0, 60.0, 300.0, 2000.0):
        grid = scene.bed_under(np.array([[0, 0, 0], [width, width, 10.0]]))
        assert 2 <= len(grid.texts) <= 11
        assert grid.texts[-1].endswith(" mm")


def test_the_still_picture_is_seen_from_where_the_live_one_begins():
    source = (Path(scene.__file__).parent / "src" / "turning.js").read_text(encoding="utf-8")
    found = re.search(r"corner: \[(-?\d+), (-?\d+)\]", source)
    azimuth, elevation = np.radians([float(found[1]), float(found[2])])
    flat = np.cos(elevation)
    out = [flat * np.cos(azimuth), flat * np.sin(azimuth), np.sin(elevation)]
    np.testing.assert_allclose(scene.CORNER, out, atol=1e-3)
