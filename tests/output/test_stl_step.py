"""Binary STL, STEP, and the rounding that mesh files share."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from parts import cube, door

from workbench.errors import RepairError
from workbench.output.files.stl_step import read_step, read_stl, rounded, step, stl
from workbench.solids.building.build import build
from workbench.solids.meshes.mesh import closes, mesh, volume


def test_stl_reads_back_with_the_same_corners():
    vertices, faces = cube()
    assert np.array_equal(read_stl(stl(vertices, faces)), vertices[faces].astype(np.float32))


def test_stl_normals_point_outwards():
    vertices, faces = cube()
    content = stl(vertices, faces)
    normals = np.frombuffer(content, np.uint8, offset=84).reshape(-1, 50)[:, :12].copy()
    normals = normals.view("<f4")
    outwards = vertices[faces].mean(axis=1) - vertices.mean(axis=0)
    assert ((normals * outwards).sum(axis=1) > 0).all()
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1, abs=1e-6)


def test_stl_header_never_looks_like_the_text_form():
    vertices, faces = cube()
    for title in ("solid ground", "x" * 200, "Türstopper ☃"):
        content = stl(vertices, faces, title)
        assert not content.startswith(b"solid")
        assert len(content) == 684


def test_damaged_stl_is_refused_in_words():
    content = stl(*cube())
    with pytest.raises(RepairError, match="683 bytes instead of 684"):
        read_stl(content[:-1])
    with pytest.raises(RepairError, match="fewer than its header"):
        read_stl(content[:50])


def test_rounding_welds_what_single_precision_cannot_tell_apart():
    """A corner of the cube is split into two that lie 1e-7 mm apart, at 300 mm from the origin."""
    vertices, faces = cube()
    vertices = vertices + 300.0
    near = vertices[7] + (1e-7, 0, 0)
    split = np.vstack([vertices, near])
    # The new corner takes over two triangles; two slivers close the gap along the edge 7-8.
    around = [i for i, face in enumerate(faces) if 7 in face]
    changed = faces.copy()
    apart = set(changed[around[0]]) - {7}
    moved = [i for i in around if set(changed[i]) - {7} == apart] or [around[0]]
    changed[moved] = np.where(changed[moved] == 7, 8, changed[moved])
    a, b = (int(v) for v in changed[moved[0]][changed[moved[0]] != 8])
    order = list(changed[moved[0]])
    turn = order.index(8)
    after, before = order[(turn + 1) % 3], order[(turn + 2) % 3]
    slivers = np.array([[7, 8, before], [8, 7, after]])
    assert {a, b} == {after, before}
    opened = np.vstack([changed, slivers])
    assert closes(opened)
    corners, kept = rounded(split, opened)
    assert len(corners) == 8 and len(kept) == 12
    assert closes(kept)


def test_rounding_keeps_every_corner_used_and_the_volume():
    vertices, faces = mesh(build(door()))
    corners, kept = rounded(vertices, faces)
    assert corners.dtype == np.float32
    assert set(np.unique(kept)) == set(range(len(corners)))
    assert volume(corners.astype(float), kept) == pytest.approx(volume(vertices, faces), rel=1e-5)


def test_open_or_endless_meshes_are_refused():
    vertices, faces = cube()
    with pytest.raises(RepairError, match="does not close"):
        rounded(vertices, faces[:-1])
    vertices[0, 0] = np.nan
    with pytest.raises(RepairError, match="not finite"):
        rounded(vertices, faces)


@given(st.floats(0.05, 5000), st.floats(-5000, 5000))
def test_any_cube_survives_rounding(side, away):
    corners, faces = cube(side)
    _corners, kept = rounded(corners + away, faces)
    assert closes(kept)


def test_step_reads_back_with_its_volume():
    solid = build(door())
    again = read_step(step(solid, "battery-door"))
    assert again.volume == pytest.approx(solid.volume, rel=1e-6)
    assert solid.label == ""


def test_a_step_file_without_a_solid_is_refused():
    with pytest.raises(RepairError, match="no solid"):
        read_step(b"ISO-10303-21;\nnothing\n")
