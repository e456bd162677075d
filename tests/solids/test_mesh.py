"""Meshes are welded and watertight, whatever was meshed before."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.solids.building.seating import freely
from workbench.solids.geometry.kernel import solid_moved, union
from workbench.solids.meshes import mesh as meshes
from workbench.solids.meshes.mesh import closes, mesh, volume
from workbench.solids.meshes.weld import Welded
from workbench.solids.recipe.seat import At
from workbench.solids.shapes.primitives import box, cone, cylinder, sphere

TETRAHEDRON = np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])


def at(solid, *place):
    return solid_moved(solid, freely(At(*place)))


def test_a_box_is_twelve_triangles():
    vertices, faces = mesh(box(3, 4, 5))
    assert vertices.shape == (8, 3)
    assert faces.shape == (12, 3)
    assert vertices.dtype == np.float64
    assert volume(vertices, faces) == pytest.approx(60)


def test_arrays_are_kept_and_not_to_be_written_to():
    solid = box(3, 4, 5)
    vertices, faces = mesh(solid)
    assert mesh(solid)[0] is vertices
    with pytest.raises(ValueError, match="read-only"):
        vertices[0] = 0
    with pytest.raises(ValueError, match="read-only"):
        faces[0] = 0


@given(diameter=st.floats(0.5, 60), deviation=st.floats(0.01, 0.2))
def test_a_finer_mesh_is_nearer_to_the_round(diameter, deviation):
    """Facets lie within the ball and, with room for the kernel, within twice the distance."""
    vertices, faces = mesh(sphere(diameter), deviation, 30)
    radius = diameter / 2
    whole, least = 4 / 3 * np.pi * radius**3, 4 / 3 * np.pi * max(radius - 2 * deviation, 0) ** 3
    assert least <= volume(vertices, faces) <= whole * (1 + 1e-9)
    distance = np.linalg.norm(vertices - [0, 0, radius], axis=1)
    assert distance == pytest.approx(np.full(len(vertices), radius), abs=1e-5)


def test_the_distance_grows_with_a_large_solid():
    assert len(mesh(sphere(200))[1]) < len(mesh(sphere(200), 0.02)[1])


def test_meshes_of_another_fineness_do_not_break_the_weld():
    """The kernel leaves triangles on faces that solids share."""
    rod = cylinder(10, 20)
    plain = mesh(rod)
    for deviation, angle in ((0.5, 40), (0.002, 3), (0.3, 25)):
        assert closes(mesh(rod, deviation, angle)[1])
        both = union([rod, at(box(30, 4, 4), 0, 0, 18)])[0]
        assert closes(mesh(both)[1])
    meshes._SMALL.clear()
    assert len(mesh(rod)[1]) == len(plain[1])


def test_triangles_left_by_someone_else_do_not_break_the_weld():
    rod, bar = cylinder(10, 20), at(box(30, 4, 4), 0, 0, 8)
    rod.tessellate(0.8, 0.8)
    bar.tessellate(0.001, 0.05)
    both = union([rod, bar])[0]
    both.tessellate(0.5, 0.5)
    vertices, faces = mesh(both)
    assert closes(faces)
    assert volume(vertices, faces) == pytest.approx(both.volume, rel=0.01)


@given(x=st.floats(-8, 8), y=st.floats(-8, 8), turn=st.floats(0, 360), tilt=st.floats(-80, 80))
def test_a_mesh_closes_wherever_it_stands(x, y, turn, tilt):
    """Welding must not depend on where coordinates fall on a grid."""
    solid = solid_moved(cone(8, 3, 9), freely(At(x, y, 0, turn, tilt)))
    vertices, faces = mesh(solid)
    assert closes(faces)
    assert volume(vertices, faces) == pytest.approx(solid.volume, rel=0.01)


def test_points_either_side_of_a_rounding_step_are_welded():
    half = 0.5e-6
    vertices = np.array([[0, 0, half - 1e-12], [0, 0, half + 1e-12], [1, 0, 0], [0, 1, 0]])
    welded = Welded.of(np.array([7]), [(vertices, np.array([[0, 2, 3], [1, 3, 2]]))], {})
    assert len(welded.vertices) == 3
    assert len(welded.faces) == 2


def test_a_closed_surface_closes():
    assert closes(TETRAHEDRON)
    assert closes(TETRAHEDRON[:, ::-1])


@pytest.mark.parametrize(
    "faces",
    [
        np.empty((0, 3), int),
        TETRAHEDRON[:3],
        np.concatenate([TETRAHEDRON[:3], TETRAHEDRON[3:, ::-1]]),
        np.concatenate([TETRAHEDRON, TETRAHEDRON]),
    ],
    ids=["nothing", "a hole", "one turned over", "everything twice"],
)
def test_other_surfaces_do_not(faces):
    assert not closes(faces)


def test_a_surface_with_a_hole_says_where(refused):
    from build123d import Shell

    lid_off = Shell([f for f in box(10, 10, 10).faces() if f.normal_at().Z < 0.5])
    with refused("does not close near (", ", 10) mm"):
        mesh(lid_off)


def test_a_solid_that_touches_itself_says_where(refused):
    from build123d import Compound

    both = Compound([box(10, 10, 10), at(box(10, 10, 10), 10, 10)])
    with refused("touches itself along a line near (5, 5, 5) mm"):
        mesh(both)


def test_nothing_has_no_mesh():
    from build123d import Vertex

    with pytest.raises(RepairError):
        mesh(Vertex(0, 0, 0))
