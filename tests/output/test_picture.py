"""Pictures: the right pixels, the right colours, whatever the part."""

from __future__ import annotations

import tracemalloc
from io import BytesIO

import numpy as np
import pytest
from matplotlib.image import imread
from parts import cube, divider, peg
from scipy.ndimage import gaussian_filter1d

from workbench.errors import RepairError
from workbench.output.drawing import picture as pictures
from workbench.output.drawing.picture import CREASE, _corner_normals, _softened, picture, shaded
from workbench.output.drawing.raster import Camera, covered, rasterise
from workbench.solids.building.build import build
from workbench.solids.meshes.mesh import mesh


def pixels(content: bytes) -> np.ndarray:
    return imread(BytesIO(content), format="png")[..., :3]


def test_a_picture_is_a_png_of_the_size_asked_for():
    content = picture(cube(), (120, 90))
    assert content.startswith(b"\x89PNG\r\n")
    assert pixels(content).shape == (90, 120, 3)


def test_a_repair_and_its_mesh_make_the_same_picture():
    assert picture(divider(), (64, 48)) == picture(mesh(build(divider())), (64, 48))


def test_the_part_fills_the_picture_and_the_table_has_its_colour():
    shown = shaded(*cube(), size=(160, 120), paper="#ffffff")
    part = shown.max(axis=2) < 0.85
    assert 0.2 < part.mean() < 0.8
    rows, columns = np.nonzero(part)
    assert rows.min() > 2 and rows.max() < 117 and columns.min() > 2 and columns.max() < 157
    assert shown[0, 0] == pytest.approx([1, 1, 1], abs=1e-6)


def test_faces_that_look_up_are_lighter_than_those_that_look_away():
    shown = shaded(*cube(), size=(160, 120), deep=False)
    camera = Camera(
        np.array([0.42, -0.80, 0.48]) / np.linalg.norm([0.42, -0.80, 0.48]),
        np.zeros(3),
        1.0,
        (160, 120),
    )
    seen = rasterise(camera.project(cube(60)[0] - 30), cube()[1], (160, 120))
    assert set(np.unique(seen.triangle)) - {-1} <= set(range(12))
    column = shown[:, 80].sum(axis=1)
    top, front = column[45], column[80]
    assert top > front


def test_a_grid_draws_lines_on_the_table():
    plain, lined = (shaded(*cube(), size=(160, 120), grid=grid) for grid in (0.0, 10.0))
    assert np.abs(plain - lined).max() > 0.05


def test_rasterising_covers_what_a_triangle_covers():
    """A right triangle with legs of 40 and 30 pixels covers 600, give or take its edges."""
    corners = np.array([[5.0, 5.0, 0.0], [5.0, 35.0, 0.0], [45.0, 35.0, 0.0]])
    seen = rasterise(corners, np.array([[0, 1, 2]]), (60, 50))
    count = int((seen.triangle == 0).sum())
    assert 570 <= count <= 630
    assert covered(corners, np.array([[0, 1, 2]]), (60, 50)).sum() == pytest.approx(count, abs=70)
    hidden = rasterise(corners, np.array([[0, 2, 1]]), (60, 50))
    assert (hidden.triangle == -1).all()


def test_the_nearer_triangle_is_seen():
    low = np.array([[0.0, 0.0, 1.0], [0.0, 50.0, 1.0], [50.0, 50.0, 1.0]])
    corners = np.vstack([low, low + np.array([0.0, 0.0, 1.0])])
    seen = rasterise(corners, np.array([[0, 1, 2], [3, 4, 5]]), (50, 50))
    assert set(np.unique(seen.triangle)) == {-1, 1}


def test_curved_faces_look_smooth_and_creases_sharp():
    """Along the side of a round peg neighbouring pixels differ little, but at its outline much."""
    shown = shaded(*mesh(build(peg())), size=(200, 150))
    middle = shown[60, :, 1]
    steps = np.abs(np.diff(middle))
    inside = np.flatnonzero(middle < 0.9)
    within = steps[inside.min() + 4 : inside.max() - 4]
    assert np.median(within) < 0.02
    assert steps.max() > 0.15


@pytest.mark.parametrize("out", [(0, 0, 1), (0, -1, 0), (1, 1, -1)])
def test_any_direction_can_be_looked_from(out):
    assert shaded(*cube(), size=(40, 40), out=out).shape == (40, 40, 3)


@pytest.mark.parametrize("size", [(0, 10), (10, -1), (5000, 10), (10.5, 20)])
def test_sizes_that_cannot_be_are_refused(size):
    with pytest.raises(RepairError, match="picture size is"):
        picture(cube(), size)


def test_a_picture_holds_the_pixels_that_were_shaded():
    shown = np.round(255 * shaded(*cube(), size=(33, 21), grid=5.0))
    assert (np.round(255 * pixels(picture(cube(), (33, 21), grid=5.0))) == shown).all()


@pytest.mark.parametrize("sigma", [0.4, 1.7, 3.9])
def test_a_soft_blur_is_that_of_scipy(sigma: float):
    image = np.random.default_rng(1).random((40, 9)).astype(np.float32)
    theirs = gaussian_filter1d(image, sigma, axis=0)
    assert _softened(image, sigma) == pytest.approx(theirs, abs=1e-6)


def test_every_triangle_at_a_corner_smooths_it_but_those_across_a_crease():
    vertices, faces = mesh(build(peg()))
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    across = np.cross(b - a, c - a)  # as long as the triangle is large
    plain = across / np.linalg.norm(across, axis=1, keepdims=True)
    found = _corner_normals(vertices, faces)
    for triangle in range(0, len(faces), 7):
        for corner, vertex in enumerate(faces[triangle]):
            meet = (faces == vertex).any(axis=1)
            near = meet & (plain @ plain[triangle] > np.cos(np.radians(CREASE)))
            whole = across[near].sum(axis=0)
            assert found[triangle, corner] == pytest.approx(whole / np.linalg.norm(whole))


def test_a_picture_takes_little_room_while_it_is_made() -> None:
    """What it takes stays with the process, 11 MiB of each kernel of a class."""
    shape = mesh(build(divider()))
    shaded(*shape, (64, 48))
    tracemalloc.start()
    try:
        shaded(*shape, (480, 360), 10.0)
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert peak < 65 * (2 * 480) * (2 * 360)


def test_a_flat_triangle_is_lit_once_and_a_curved_one_at_each_place(monkeypatch) -> None:
    shape, size = mesh(build(peg())), (160, 120)
    made = shaded(*shape, size)
    assert pictures._FLAT < 1e-2
    monkeypatch.setattr(pictures, "_FLAT", -1.0)
    np.testing.assert_allclose(made, shaded(*shape, size), atol=1e-5)
    monkeypatch.setattr(pictures, "_FLAT", 10.0)
    assert np.abs(made - shaded(*shape, size)).max() > 0.01
