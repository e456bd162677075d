"""Shapes against closed forms, shapely, trimesh and manifold3d."""

from __future__ import annotations

import math

import manifold3d
import numpy as np
import pytest
import shapely
import trimesh
from parts import WHOLE

from workbench.measure.outlines.outline import trapezoid
from workbench.solids import catalogue
from workbench.solids.building.build import assemble, build
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat
from workbench.solids.shapes.primitives import cone, cylinder, sphere, tube
from workbench.solids.templates.clip import clip
from workbench.solids.templates.fin import fin
from workbench.solids.templates.peg import peg
from workbench.solids.templates.plate import plate
from workbench.solids.templates.tab import tab


def as_trimesh(solid):
    vertices, faces = mesh(solid)
    return trimesh.Trimesh(vertices, faces, process=False)


def section_area(solid, height):
    """Area of the level cut through the mesh, by trimesh."""
    path = as_trimesh(solid).section([0, 0, 1], [0, 0, height])
    return shapely.build_area(shapely.MultiLineString([line[:, :2] for line in path.discrete])).area


def disc(diameter, x=0.0, y=0.0):
    return shapely.Point(x, y).buffer(diameter / 2, quad_segs=256)


# -- closed forms, as in any handbook ----------------------------------------------------------


def test_the_volumes_of_round_bodies():
    # Sphere pi d^3 / 6, cylinder pi d^2 h / 4, frustum pi h (D^2 + D d + d^2) / 12.
    assert sphere(12).volume == pytest.approx(904.7787, abs=1e-4)
    assert cylinder(12, 12).volume == pytest.approx(1357.1680, abs=1e-4)
    # Archimedes: a ball is two thirds of the cylinder round it, the cone in it one third.
    assert sphere(12).volume / cylinder(12, 12).volume == pytest.approx(2 / 3)
    assert cone(12, 0, 12).volume / cylinder(12, 12).volume == pytest.approx(1 / 3)
    assert tube(12, 8, 10).volume == pytest.approx(200 * math.pi)


def test_trapezoid_of_four_sides():
    # Heron's formula, any handbook: bases 25 and 11 with legs 13 and 15 have h 12, area 216.
    inset = 5.0
    assert trapezoid(25, 11, 12, inset).sides == pytest.approx([25, 15, 11, 13])
    assert fin(25, 11, 12, inset, thickness=2).volume == pytest.approx(216 * 2)


def test_a_leaning_divider_spans_its_base_and_its_lean():
    # Common practice, no source: a base of 35 leaning out by 5 spans 40, and with its mark 9 in
    # leaves 31.
    divider = fin(bottom=35, top=31, height=71, inset=-5)
    box = divider.bounding_box()
    assert box.size.X == pytest.approx(35 + 5)
    top = [v.X for v in divider.vertices() if v.Z > 70]
    assert 35 - max(top) == pytest.approx(9)
    assert max(top) - min(top) == pytest.approx(40 - 9)


def test_a_round_hole_of_facets_is_narrower_between_its_flats():
    # Closed form: a polygon of n corners on a circle is cos(pi/n) of it across its flats.
    vertices, _faces = mesh(plate(width=30, height=30, thickness=3, holes=1, screw="M8"))
    rim = vertices[(np.hypot(*vertices[:, :2].T) < 6) & (vertices[:, 2] < 1.5)][:, :2]
    corners = np.hypot(*rim.T)
    assert corners == pytest.approx(np.full(len(rim), 4.5))
    hull = shapely.MultiPoint(rim).convex_hull
    flats = shapely.Point(0, 0).distance(hull.exterior)
    assert flats / 4.5 == pytest.approx(math.cos(math.pi / len(rim)), abs=1e-6)
    assert 4.5 - flats < 0.02 + 1e-6


# -- shapely -----------------------------------------------------------------------------------


def test_a_plate_against_shapely():
    outline = shapely.box(-26, -11, 26, 11).buffer(4, quad_segs=256)
    for x in (-20, 0, 20):
        for y in (-6, 6):
            outline = outline.difference(disc(5.5, x, y))
    solid = plate(
        width=60, height=30, thickness=4, corner_radius=4,
        holes=3, rows=2, spacing=20, row_spacing=12, screw="M5",
    )  # fmt: skip
    assert solid.volume == pytest.approx(outline.area * 4, rel=1e-5)
    assert section_area(solid, 2) == pytest.approx(outline.area, rel=1e-3)


@pytest.mark.parametrize("tip", [0.6, 1.2, 2.0])
@pytest.mark.parametrize("fillet", [0.4, 1.0, 3.0])
def test_a_filleted_root_against_shapely(tip, fillet):
    """Rolling a ball of the fillet's radius along the foot leaves the same fillets."""
    arm = shapely.Polygon([(-1, 0), (1, 0), (1, 15), (1 - tip, 15)])
    body = shapely.box(-20, -5, 20, 0)
    rolled = arm.union(body).buffer(fillet, quad_segs=512).buffer(-fillet, quad_segs=512)
    expected = rolled.intersection(shapely.box(-19, 0, 19, 15)).area
    solid = clip(length=15, root_thickness=2, tip_thickness=tip, width=1, root_fillet=fillet)
    plain = clip(length=15, root_thickness=2, tip_thickness=tip, width=1, root_fillet=0)
    hook = plain.volume - arm.area
    assert solid.volume - hook == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("height", [0.5, 3.0, 8.0, 11.0, 13.6])
def test_a_split_d_peg_against_shapely(height):
    solid = peg(
        section="D", diameter=8, across_flat=6.5, length=12, chamfer=1, collar=11,
        collar_thickness=2, slot=1.5, slot_depth=7,
    )  # fmt: skip
    if height < 2:
        expected = disc(11)
    else:
        in_by = max(0.0, height - 13)
        d = disc(8 - 2 * in_by).intersection(shapely.box(-9, 4 - 6.5 + in_by, 9, 9))
        gap = 0.75 if height > 7.75 else 0
        expected = d.difference(shapely.box(-gap, -9, gap, 9))
    assert section_area(solid, height) == pytest.approx(expected.area, rel=6e-3)


@pytest.mark.parametrize("height", [0.1, 1.5, 2.5, 3.3, 4.8])
def test_a_barbed_tab_against_shapely(height):
    solid = tab(width=20, length=5, thickness=2, chamfer=0.5, barb=0.8, barb_height=2.5)
    in_by = max(0.0, height - 4.5)
    out_by = max(0.0, 0.8 - abs(height - 2.5))
    expected = (20 - 2 * in_by) * (2 - 2 * in_by + 2 * out_by)
    assert section_area(solid, height) == pytest.approx(expected)


# -- trimesh and manifold3d --------------------------------------------------------------------


@pytest.mark.parametrize("name", WHOLE)
def test_trimesh_reads_every_template(name):
    solid = catalogue.find(name).function()
    body = as_trimesh(solid)
    assert body.is_watertight
    assert body.is_winding_consistent
    assert body.is_volume
    assert body.body_count == 1
    assert body.volume == pytest.approx(solid.volume, rel=0.02)
    assert body.center_mass == pytest.approx(np.array(tuple(solid.center())), abs=0.1)


@pytest.mark.parametrize(
    ("solid", "holes"),
    [
        (fin(), 0),
        (sphere(8), 0),
        (tube(), 1),
        (plate(holes=1), 1),
        (plate(width=90, holes=5, spacing=15), 5),
    ],
)
def test_euler_counts_the_holes(solid, holes):
    # Euler's polyhedron formula: corners less edges plus faces is 2, less 2 for each handle.
    assert as_trimesh(solid).euler_number == 2 - 2 * holes


def as_manifold(solid):
    vertices, faces = mesh(solid)
    return manifold3d.Manifold(
        manifold3d.Mesh(vertices.astype(np.float32), faces.astype(np.uint32))
    )


def assembled():
    repair = Repair("battery door").add("plate", name="door", width=48, height=30, thickness=2)
    repair.add("clip", seat=Seat("top of door", along=10, turn=90), name="latch", length=9)
    repair.add("tab", seat=Seat("left of door", turn=90, sink=0.3), name="tongue", width=10)
    repair.add("peg", seat=Seat("top of door", along=-12, sink=0.2), name="pin", chamfer=0.4)
    return repair.cut("sphere", seat=At(2, -9, 1), name="nail", diameter=6)


def test_manifold3d_takes_an_assembled_mesh():
    solid = build(assembled())
    body = as_manifold(solid)
    assert body.status() == manifold3d.Error.NoError
    assert body.volume() == pytest.approx(solid.volume, rel=0.01)
    assert len(body.decompose()) == 1


def test_the_union_is_what_manifold3d_makes_of_the_parts():
    """Another kernel joins and cuts the same meshes to the same volume."""
    repair = assembled()
    made = assemble(repair)
    added = [as_manifold(made.parts[s.name]) for s in repair.steps if not s.cuts]
    cut = [as_manifold(made.parts[s.name]) for s in repair.steps if s.cuts]
    whole = manifold3d.Manifold.batch_boolean(added, manifold3d.OpType.Add)
    whole -= manifold3d.Manifold.batch_boolean(cut, manifold3d.OpType.Add)
    assert made.solid.volume == pytest.approx(whole.volume(), rel=2e-3)
