"""Every template over its whole annotated range: one sound solid, or a refusal in words."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import near_default, values

from workbench.errors import RepairError
from workbench.measure.outline import trapezoid
from workbench.solids import catalogue, kernel, mesh
from workbench.solids.templates.clip import clip
from workbench.solids.templates.fin import fin
from workbench.solids.templates.peg import peg
from workbench.solids.templates.plate import plate
from workbench.solids.templates.tab import tab


def assert_one_sound_solid(solid):
    assert len(solid.solids()) == 1
    assert solid.is_valid
    assert kernel.sound(solid)
    assert solid.volume > 0
    vertices, faces = mesh.mesh(solid)
    assert mesh.closes(faces)
    assert mesh.volume(vertices, faces) == pytest.approx(solid.volume, rel=0.05)


@pytest.mark.parametrize("name", catalogue.SHIPPED)
@given(data=st.data())
def test_the_whole_range_gives_one_sound_solid_or_a_refusal(name, data):
    template = catalogue.find(name)
    drawn = template.complete(data.draw(values(template)))
    try:
        solid = template.function(**drawn)
    except RepairError as error:
        message = str(error)
        assert any(field in message for field in drawn)
        assert " mm" in message or "°" in message
        assert ";" in message
    else:
        assert_one_sound_solid(solid)


@pytest.mark.parametrize("name", catalogue.SHIPPED)
@given(data=st.data())
def test_sizes_near_the_defaults_are_seldom_refused(name, data):
    """A third up or down is what a slider does: most of it must build."""
    template = catalogue.find(name)
    drawn = data.draw(near_default(template))
    try:
        assert_one_sound_solid(template.function(**drawn))
    except RepairError as error:
        assert ";" in str(error)


@pytest.mark.parametrize("name", catalogue.SHIPPED)
def test_defaults_stand_on_their_root(name):
    template = catalogue.find(name)
    solid = template.function()
    assert_one_sound_solid(solid)
    assert solid.bounding_box().min.Z == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("name", catalogue.SHIPPED)
def test_every_parameter_says_what_to_measure(name):
    template = catalogue.find(name)
    assert template.summary
    assert all(parameter.kind.measure for parameter in template.parameters)


# -- plate -------------------------------------------------------------------------------------


def test_a_plain_plate_is_a_box():
    assert plate(width=60, height=20, thickness=3).volume == pytest.approx(60 * 20 * 3)


def test_rounded_corners_leave_out_four_minus_pi_radius_squares():
    solid = plate(width=60, height=20, thickness=3, corner_radius=4)
    assert solid.volume == pytest.approx((60 * 20 - (4 - math.pi) * 4**2) * 3)


def test_a_square_plate_may_be_rounded_to_a_disc():
    solid = plate(width=20, height=20, thickness=3, corner_radius=10)
    assert solid.volume == pytest.approx(math.pi * 10**2 * 3)


@given(holes=st.integers(1, 6), rows=st.integers(1, 3))
def test_each_hole_takes_its_cylinder(holes, rows):
    solid = plate(
        width=80, height=40, thickness=3, holes=holes, rows=rows, spacing=12, screw="M5", fit="fine"
    )
    expected = (80 * 40 - holes * rows * math.pi * 5.3**2 / 4) * 3
    assert solid.volume == pytest.approx(expected)


def test_a_countersink_takes_a_ring_more():
    plain = plate(holes=1, screw="M4")
    sunk = plate(holes=1, screw="M4", countersink=True, head=8)
    deep = (8 - 4.5) / 2
    cone = math.pi * deep * (4**2 + 4 * 2.25 + 2.25**2) / 3
    assert plain.volume - sunk.volume == pytest.approx(cone - math.pi * 2.25**2 * deep)


def test_a_hole_of_another_size_is_measured():
    solid = plate(holes=1, screw="other", hole=6.35)
    assert solid.volume == pytest.approx((60 * 20 - math.pi * 6.35**2 / 4) * 3)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"holes": 1, "screw": "other", "hole": 30}, ("hole is 30 mm", "height is 20 mm")),
        ({"holes": 1, "screw": "M8", "height": 8}, ("M8 is 9 mm", "8 mm", "more than 9.4 mm")),
        ({"holes": 2, "spacing": 4}, ("spacing is 4 mm", "4.5 mm", "at least 4.7 mm")),
        ({"holes": 3, "spacing": 28}, ("spacing of 28 mm", "60.5 mm", "width is 60 mm")),
        ({"holes": 1, "rows": 2, "row_spacing": 16}, ("row_spacing of 16 mm", "height is 20 mm")),
        ({"corner_radius": 11}, ("corner_radius is 11 mm", "at most 10 mm")),
        (
            {"holes": 2, "rows": 2, "spacing": 55, "row_spacing": 15, "corner_radius": 10},
            ("corner_radius is 10 mm", "4.5 mm"),
        ),
        ({"holes": 1, "countersink": True, "head": 4}, ("head is 4 mm", "4.5 mm")),
        (
            {"holes": 1, "countersink": True, "head": 9, "thickness": 2},
            ("head of 9 mm", "2.25 mm deep", "thickness is 2 mm"),
        ),
    ],
)
def test_plates_that_cannot_be(given, words, refused):
    with refused(*words):
        plate(**given)


# -- fin ---------------------------------------------------------------------------------------

bottoms = st.floats(5, 80)
tops = st.floats(5, 80)
heights = st.floats(20, 100)
insets = st.floats(-40, 40)


@given(bottom=bottoms, top=tops, height=heights, inset=insets)
def test_a_fin_is_its_outline_times_its_thickness(bottom, top, height, inset):
    solid = fin(bottom, top, height, inset, thickness=2.4)
    assert solid.volume == pytest.approx(trapezoid(bottom, top, height, inset).area * 2.4)


@given(bottom=bottoms, top=tops, height=heights, inset=insets, edge=st.floats(0.3, 2))
def test_a_tapered_edge_takes_two_wedges(bottom, top, height, inset, edge):
    solid = fin(
        bottom, top, height, inset, 2.4, edge="tapered", edge_thickness=edge, edge_height=10
    )
    # Both thickness and width change in a straight line over the taper, so Simpson's rule is
    # exact for their product.
    width = [bottom + (top - bottom) * (height - down) / height for down in (10, 5, 0)]
    thick = [2.4, (2.4 + edge) / 2, edge]
    taper = 10 / 6 * sum(w * t * f for w, t, f in zip(width, thick, (1, 4, 1), strict=True))
    below = (bottom + width[0]) / 2 * (height - 10) * 2.4
    assert solid.volume == pytest.approx(below + taper)


def test_a_rounded_edge_is_a_half_round():
    solid = fin(30, 30, 50, 0, thickness=3, edge="rounded")
    assert solid.volume == pytest.approx(30 * ((50 - 1.5) * 3 + math.pi * 1.5**2 / 2))


def test_a_fin_leans_either_way():
    left, right = fin(35, 26, 71, -5), fin(35, 26, 71, 14)
    assert left.bounding_box().min.X == pytest.approx(-5)
    assert right.bounding_box().max.X == pytest.approx(40)
    assert left.volume == pytest.approx(right.volume)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"top": 300, "height": 5}, ("top is 300 mm", "wider than it can be", "at most 68.36 mm")),
        ({"top": 1, "bottom": 200, "height": 5, "inset": 0}, ("top is 1 mm", "at least 171.64 mm")),
        ({"inset": -50, "height": 5}, ("inset is -50 mm", "5 mm", "-28.36 to 28.36 mm")),
        (
            {"edge": "tapered", "edge_thickness": 1.6},
            ("edge_thickness is 1.6 mm", "thickness of 1.6 mm"),
        ),
        ({"edge": "tapered", "edge_height": 72}, ("edge_height is 72 mm", "71 mm")),
        (
            {"edge": "rounded", "thickness": 4, "height": 2, "inset": 0, "top": 35},
            ("radius of 2 mm", "height is 2 mm"),
        ),
    ],
)
def test_fins_that_cannot_be(given, words, refused):
    with refused(*words):
        fin(**given)


# -- clip --------------------------------------------------------------------------------------


@given(
    length=st.floats(5, 40),
    root=st.floats(1, 4),
    thinner=st.floats(0.3, 1),
    hook=st.floats(0.3, 4),
    lead=st.floats(15, 60),
    back=st.floats(30, 90),
)
def test_a_clip_is_an_arm_a_neck_and_a_hook(length, root, thinner, hook, lead, back):
    tip = root * thinner
    solid = clip(length, root, tip, 6, hook, lead, back, root_fillet=0)
    rise = hook / math.tan(math.radians(lead)) + hook / math.tan(math.radians(back))
    side = (root + tip) / 2 * length + (tip + hook / 2) * rise
    assert solid.volume == pytest.approx(side * 6)
    box = solid.bounding_box()
    assert box.max.Z == pytest.approx(length + rise)
    assert box.max.X == pytest.approx(root / 2 + hook)


def test_fillets_of_an_even_arm_are_a_square_less_a_quarter_round_each():
    even = {"root_thickness": 2, "tip_thickness": 2, "width": 5}
    extra = clip(root_fillet=1.5, **even).volume - clip(root_fillet=0, **even).volume
    assert extra == pytest.approx(2 * (1 - math.pi / 4) * 1.5**2 * 5)


@given(thinner=st.floats(0.25, 1), fillet=st.floats(0.3, 3))
def test_fillets_leave_the_arm_without_a_corner(thinner, fillet):
    """The flanks run into the fillets at one tangent, whatever the taper."""
    solid = clip(15, 2, 2 * thinner, root_fillet=fillet)
    faces = [f for f in solid.faces() if abs(f.normal_at().Y) < 0.5]
    joints = 0
    for edge in solid.edges():
        beside = [f for f in faces if any(e.is_same(edge) for e in f.edges())]
        kinds = sorted(f.geom_type.name for f in beside)
        if kinds == ["CYLINDER", "PLANE"]:
            ends = [f.normal_at(edge @ 0.5) for f in beside]
            if abs(ends[0].Z) < 0.9:
                joints += 1
                assert ends[0].dot(ends[1]) == pytest.approx(1, abs=1e-6)
    assert joints == 2


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"hook_depth": 6, "length": 5}, ("hook_depth is 6 mm", "arm of 5 mm")),
        ({"tip_thickness": 3}, ("tip_thickness is 3 mm", "root_thickness 2 mm")),
        ({"root_fillet": 8}, ("root_fillet is 8 mm", "at most 7.5 mm")),
    ],
)
def test_clips_that_cannot_be(given, words, refused):
    with refused(*words):
        clip(**given)


# -- peg ---------------------------------------------------------------------------------------


def segment(radius, height):
    """Area of the circle's segment of that height."""
    return radius**2 * math.acos(1 - height / radius) - (radius - height) * math.sqrt(
        2 * radius * height - height**2
    )


def test_a_plain_peg_is_a_cylinder():
    assert peg(diameter=5, length=12).volume == pytest.approx(math.pi * 2.5**2 * 12)


@given(flat=st.floats(3.0, 5.9))
def test_a_d_lacks_a_segment(flat):
    solid = peg(section="D", diameter=6, across_flat=flat, length=12)
    assert solid.volume == pytest.approx((math.pi * 9 - segment(3, 6 - flat)) * 12)
    assert solid.bounding_box().min.Y == pytest.approx(3 - flat, abs=1e-6)


def test_a_chamfered_tip_is_a_frustum():
    solid = peg(diameter=6, length=12, chamfer=1)
    tip = math.pi / 3 * (9 + 6 + 4)
    assert solid.volume == pytest.approx(math.pi * 9 * 11 + tip)


def test_a_collar_comes_below_the_length():
    solid = peg(diameter=5, length=10, collar=9, collar_thickness=2)
    assert solid.volume == pytest.approx(math.pi * (4.5**2 * 2 + 2.5**2 * 10))
    assert solid.bounding_box().max.Z == pytest.approx(12)


def test_a_slot_splits_the_tip_and_ends_in_a_round():
    solid = peg(diameter=8, length=12, slot=2, slot_depth=7)
    top = [f for f in solid.faces() if f.center().Z == pytest.approx(12)]
    assert len(top) == 2
    end = min(v.Z for f in solid.faces() for v in f.vertices() if abs(v.X) <= 1 and v.Z > 1)
    assert end == pytest.approx(12 - 7 + 1)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"collar": 5}, ("collar is 5 mm", "peg 5 mm", "at least 5.2 mm")),
        ({"section": "D", "across_flat": 5.0}, ("across_flat is 5 mm", "2.5 to 4.95 mm")),
        ({"section": "D", "across_flat": 2.0}, ("across_flat is 2 mm", "2.5 to 4.95 mm")),
        ({"chamfer": 3}, ("chamfer is 3 mm", "at most 2.4 mm")),
        ({"slot": 5}, ("slot is 5 mm", "at most 4.6 mm")),
        ({"slot": 1, "slot_depth": 10}, ("slot_depth is 10 mm", "0.5 to 9.8 mm")),
    ],
)
def test_pegs_that_cannot_be(given, words, refused):
    with refused(*words):
        peg(**given)


# -- tab ---------------------------------------------------------------------------------------


def test_a_plain_tab_is_a_box():
    assert tab(width=20, length=5, thickness=2).volume == pytest.approx(200)


@given(chamfer=st.floats(0.05, 0.9))
def test_a_chamfered_tip_is_a_hipped_roof(chamfer):
    solid = tab(width=20, length=5, thickness=2, chamfer=chamfer)
    middle = (20 - chamfer) * (2 - chamfer)
    top = (20 - 2 * chamfer) * (2 - 2 * chamfer)
    # The prismoidal rule, exact for a frustum of plane sides.
    tip = chamfer / 6 * (20 * 2 + 4 * middle + top)
    assert solid.volume == pytest.approx(20 * 2 * (5 - chamfer) + tip)


@given(barb=st.floats(0.05, 1.2), chamfer=st.sampled_from([0.0, 0.4]))
def test_barbs_add_two_triangles(barb, chamfer):
    shape = {"width": 20, "length": 6, "thickness": 2, "chamfer": chamfer}
    extra = tab(barb=barb, barb_height=2.5, **shape).volume - tab(**shape).volume
    assert extra == pytest.approx(2 * barb**2 * 20)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"chamfer": 1}, ("chamfer is 1 mm", "at most 0.9 mm")),
        ({"barb": 3}, ("barb is 3 mm", "6 mm", "at most 2.5 mm")),
        ({"barb": 1, "barb_height": 4.5}, ("barb_height is 4.5 mm", "1 to 4 mm")),
    ],
)
def test_tabs_that_cannot_be(given, words, refused):
    with refused(*words):
        tab(**given)
