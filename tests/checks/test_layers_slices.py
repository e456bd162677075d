"""Cutting a laid part into layers: areas, repeats, places, and what cannot be cut."""

from __future__ import annotations

import numpy as np
import pytest
import trimesh
from bodies import arrays, ball, block, drilled, plate_with_holes, ring, tee
from hypothesis import assume, given
from hypothesis import strategies as st
from manifold3d import Manifold, Mesh64

from workbench.checks.layers.contours import contours
from workbench.checks.layers.sections import inner_point, middle, narrowest, perimeter
from workbench.checks.layers.slices import cut, overhang_angles
from workbench.solids.lay import laid
from workbench.solids.meshes.mesh import volume

DOWN = (0.0, 0.0, -1.0)
BODIES = {"ball": ball, "ring": ring, "tee": tee, "drilled": lambda: drilled(6)}

directions = st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1))


@pytest.mark.parametrize("name", BODIES)
def test_sections_agree_with_the_mesh_kernel(name):
    slices = cut(*arrays(BODIES[name]()), (0.3, -0.4, -0.8))
    kernel = Manifold(Mesh64(slices.placed, slices.faces.astype(np.uint64)))
    for i in range(0, len(slices), 7):
        expected = kernel.slice((i + 0.49) * slices.layer)
        assert slices.areas[i] == pytest.approx(expected.area(), abs=1e-4)
        assert slices.perimeters[i] == pytest.approx(perimeter(expected), abs=1e-3)
        assert slices.section(i).area() == pytest.approx(expected.area(), abs=0.05)


@given(directions)
def test_layers_add_up_to_the_volume(down):
    assume(np.linalg.norm(down) > 0.1)
    vertices, faces = arrays(ring(24))
    slices = cut(vertices, faces, down, 0.1)
    assert slices.areas.sum() * 0.1 == pytest.approx(slices.volume, rel=0.01)
    assert slices.volume == pytest.approx(volume(vertices, faces), rel=1e-9)


@given(directions)
def test_centre_of_mass_is_that_of_trimesh(down):
    assume(np.linalg.norm(down) > 0.1)
    vertices, faces = arrays(tee())
    slices = cut(vertices, faces, down)
    solid = trimesh.Trimesh(laid(vertices, down), faces, process=False)
    assert slices.centre == pytest.approx(solid.center_mass, abs=1e-6)


def test_layers_of_upright_walls_are_cut_once():
    slices = cut(*arrays(tee(stem=30)), DOWN)
    assert len(slices) == 170
    assert np.flatnonzero(~slices.repeats).tolist() == [0, 150]
    assert slices.section(3) is slices.section(149)
    assert slices.top_of_run(0) == 149


def test_nothing_repeats_on_a_slope():
    assert not cut(*arrays(ball()), DOWN).repeats.any()


@pytest.mark.parametrize("thick", [0.2, 0.3, 0.5, 0.7])
def test_level_faces_in_the_middle_of_a_layer_leave_whole_layers(thick):
    """Steps at odd tenths lie exactly half-way up a layer of 0.2 mm."""
    body = block(20, 10, thick) + block(5, 5, thick + 3)
    slices = cut(*arrays(body), (1e-9, 0, -1))
    assert set(np.round(slices.areas, 6)) == {200.0, 25.0}


@pytest.mark.parametrize("planes", [[0.0], [10.0], [0.0, 5.0, 10.0], [5.0, 10.0 - 1e-12]])
def test_planes_through_corners_leave_closed_contours(planes):
    vertices, faces = arrays(block(10, 10, 10))
    found = contours(vertices, faces, np.array(planes))
    for i in range(len(planes)):
        for ring_found in found.rings(i):
            assert len(ring_found) >= 3
    assert np.sort(found.ahead).tolist() == list(range(len(found.nodes)))


def test_outer_edges_run_counter_clockwise_and_holes_clockwise():
    vertices, faces = arrays(drilled(6))
    slices = contours(laid(vertices, (0, -1, 0)), faces, np.array([4.0]))
    outer, hole = sorted(slices.rings(0), key=len)
    signed = [
        np.sum(p[:, 0] * np.roll(p[:, 1], -1) - np.roll(p[:, 0], -1) * p[:, 1]) / 2
        for p in (outer, hole)
    ]
    assert signed[0] == pytest.approx(900)
    assert -np.pi * 9 < signed[1] < -0.99 * np.pi * 9


def test_a_slice_outside_the_part_is_empty():
    vertices, faces = arrays(tee())
    slices = contours(laid(vertices, DOWN), faces, np.array([40.0, -0.1]))
    assert slices.rings(0) == slices.rings(1) == []


@given(directions)
def test_laid_points_come_back_to_the_bench(down):
    assume(np.linalg.norm(down) > 0.1)
    vertices, faces = arrays(tee())
    slices = cut(vertices, faces, down, 0.5)
    assert np.allclose(slices.on_bench(slices.placed), vertices, atol=1e-9)


def test_overhang_angles_of_a_leaning_block():
    vertices, faces = arrays(block(10, 10, 10).rotate((0, 30, 0)))
    angles = overhang_angles(vertices, faces, DOWN)
    assert sorted(set(np.round(angles, 6))) == [0.0, 30.0, 60.0]


def test_what_lies_on_the_bed_does_not_hang():
    assert set(overhang_angles(*arrays(block(10, 10, 10)), DOWN)) == {0.0}


def test_places_lie_inside_a_ring():
    section = cut(*arrays(drilled(20)), (0, -1, 0)).section(5)
    assert middle(section) == pytest.approx((0, 0), abs=1e-3)
    x, y = inner_point(section)
    assert 10 < np.hypot(x, y) < 15 * np.sqrt(2)


def test_narrowest_is_the_gap_between_two_rulers():
    section = cut(*arrays(block(30, 4, 5).rotate((0, 0, 33))), DOWN).section(0)
    assert narrowest(section) == pytest.approx(4, abs=0.01)


@pytest.mark.parametrize("layer", [0, -0.2, np.nan, np.inf])
def test_a_layer_height_that_makes_no_sense_is_refused(layer, refused):
    with refused("layer", "mm"):
        cut(*arrays(tee()), DOWN, layer)


def test_a_part_of_ten_metres_is_refused(refused):
    with refused("10000 mm high", "layers", "check its sizes"):
        cut(*arrays(block(10, 10, 10_000)), DOWN)


def test_a_part_lower_than_a_layer_is_refused(refused):
    with refused("0.05 mm high", "half a layer of 0.2 mm"):
        cut(*arrays(block(10, 10, 0.05)), DOWN)


def test_an_open_mesh_is_refused(refused):
    vertices, faces = arrays(tee())
    with refused("does not close"):
        cut(vertices, faces[1:], DOWN)


def test_a_mesh_inside_out_is_refused(refused):
    vertices, faces = arrays(tee())
    with refused("inside out"):
        cut(vertices, faces[:, ::-1], DOWN)


def test_an_empty_or_broken_mesh_is_refused(refused):
    vertices, faces = arrays(tee())
    with refused("empty"):
        cut(np.empty((0, 3)), np.empty((0, 3), dtype=int), DOWN)
    with refused("not finite"):
        cut(np.where(vertices == vertices[0], np.nan, vertices), faces, DOWN)


def test_many_holes_give_as_many_contours():
    slices = cut(*arrays(plate_with_holes(32)), DOWN)
    assert len(slices.polygons(0)) == 31
    assert slices.section(0).num_contour() == 31
