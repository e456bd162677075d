"""Every template over its whole annotated range: one sound solid, or a refusal in words."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from strategies import near_default, values
from turns import turn

from workbench import units
from workbench.errors import RepairError
from workbench.measure.outlines.outline import trapezoid
from workbench.solids import catalogue
from workbench.solids.facts import facts_of
from workbench.solids.geometry import kernel
from workbench.solids.meshes import mesh
from workbench.solids.templates.clip import clip
from workbench.solids.templates.fin import fin
from workbench.solids.templates.foot import foot
from workbench.solids.templates.guide import guide
from workbench.solids.templates.hook import hook
from workbench.solids.templates.knob import knob
from workbench.solids.templates.peg import peg
from workbench.solids.templates.pin import pin
from workbench.solids.templates.plate import plate
from workbench.solids.templates.spacer import spacer
from workbench.solids.templates.stop import stop
from workbench.solids.templates.strike import strike
from workbench.solids.templates.tab import tab


def assert_one_sound_solid(solid):
    assert len(solid.solids()) == 1
    assert solid.is_valid
    assert kernel.sound(solid)
    assert solid.volume > 0
    vertices, faces = mesh.mesh(solid)
    assert mesh.closes(faces)
    assert mesh.volume(vertices, faces) == pytest.approx(solid.volume, rel=0.05)


def assert_its_solids(name, shape):
    """One solid, or for letters each of them."""
    for solid in shape.solids() if facts_of(name).pieces else [shape]:
        assert_one_sound_solid(solid)


@pytest.mark.parametrize("name", turn(catalogue.SHIPPED, 0, of=2))
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
        assert_its_solids(name, solid)


@pytest.mark.parametrize("name", turn(catalogue.SHIPPED, 1, of=2))
@given(data=st.data())
def test_sizes_near_the_defaults_are_seldom_refused(name, data):
    """A third up or down is what a slider does: most of it must build."""
    template = catalogue.find(name)
    drawn = data.draw(near_default(template))
    try:
        assert_its_solids(name, template.function(**drawn))
    except RepairError as error:
        assert ";" in str(error)


@pytest.mark.parametrize("name", catalogue.SHIPPED)
def test_defaults_stand_on_their_root(name):
    template = catalogue.find(name)
    solid = template.function()
    assert_its_solids(name, solid)
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
insets = st.floats(-38, 38)  # beyond it a side may lean more than 80 degrees


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
    left, right = fin(46, 37, 71, -7), fin(46, 37, 71, 16)
    assert left.bounding_box().min.X == pytest.approx(-7)
    assert right.bounding_box().max.X == pytest.approx(16 + 37)
    assert left.volume == pytest.approx(right.volume)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"top": 300, "height": 5}, ("top is 300 mm", "wider than it can be", "at most 81.36 mm")),
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
    tip = max(0.4, root * thinner)  # the least that a clip takes
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


# -- spacer ------------------------------------------------------------------------------------


def ring(outside, inside, height):
    return math.pi / 4 * (outside**2 - inside**2) * height


@given(chamfer=st.floats(0.05, 1.2))
def test_a_spacer_is_a_ring_less_two_chamfers(chamfer):
    solid = spacer(inside=6, outside=12, height=5, bore_chamfer=chamfer)
    # Each chamfer turns a triangle; Pappus gives its ring by the path of its centroid.
    taken = chamfer**2 / 2 * 2 * math.pi * (3 + chamfer / 3)
    assert solid.volume == pytest.approx(ring(12, 6, 5) - 2 * taken)


@given(gap=st.floats(0.1, 5.5))
def test_a_gap_takes_a_strip_between_two_rounds(gap):
    solid = spacer(inside=6, outside=12, height=5, bore_chamfer=0, gap=gap)

    def reach(radius):
        """Area of the strip of that width from the middle out to the round."""
        half = gap / 2
        return half * math.sqrt(radius**2 - half**2) + radius**2 * math.asin(half / radius)

    assert solid.volume == pytest.approx(ring(12, 6, 5) - (reach(6) - reach(3)) * 5)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"inside": 12}, ("inside is 12 mm", "outside 12 mm", "at least 12.4 mm")),
        ({"bore_chamfer": 4}, ("bore_chamfer is 4 mm", "at most 2.9 mm")),
        ({"gap": 5.5}, ("gap is 5.5 mm", "at most 5.3 mm")),
        ({"gap": 0.01}, ("gap is 0.01 mm", "at least 0.05 mm")),
    ],
)
def test_spacers_that_cannot_be(given, words, refused):
    with refused(*words):
        spacer(**given)


# -- knob --------------------------------------------------------------------------------------


def lens(first, second, apart):
    """Area that two circles of these radii share (MathWorld, Circle-Circle Intersection)."""
    a = math.acos((apart**2 + first**2 - second**2) / (2 * apart * first))
    b = math.acos((apart**2 + second**2 - first**2) / (2 * apart * second))
    return first**2 * (a - math.sin(a) * math.cos(a)) + second**2 * (b - math.sin(b) * math.cos(b))


@given(flat=st.floats(3.1, 5.9))
def test_a_plain_knob_is_a_cylinder_less_a_d(flat):
    solid = knob(diameter=20, height=15, shaft=6, across_flat=flat, depth=10, flutes=0, pointer=0)
    bore = (math.pi * 9 - segment(3, 6 - flat)) * 10
    assert solid.volume == pytest.approx(math.pi * 100 * 15 - bore)


@given(count=st.integers(1, 10), flute=st.floats(0.8, 5))
def test_each_hollow_takes_what_two_rounds_share(count, flute):
    shape = {"diameter": 24, "height": 15, "section": "round", "pointer": 0}
    taken = knob(flutes=0, **shape).volume - knob(flutes=count, flute=flute, **shape).volume
    assert taken == pytest.approx(count * lens(12, flute / 2, 12) * 15)


def test_the_pointer_is_a_groove_in_front():
    shape = {"diameter": 24, "flutes": 0, "height": 16}
    taken = knob(pointer=0, **shape).volume - knob(pointer=1.2, **shape).volume
    strip = 0.6 * math.sqrt(144 - 0.36) + 144 * math.asin(0.6 / 12)
    assert taken == pytest.approx((strip - 1.2 * 4) * 0.8)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"shaft": 30, "section": "round"}, ("shaft is 30 mm", "at least 30.4 mm")),
        ({"across_flat": 2}, ("across_flat is 2 mm", "3.1 to 6.15 mm")),
        ({"depth": 15}, ("depth is 15 mm", "at most 14.8 mm")),
        ({"flute": 12}, ("flute is 12 mm", "8 of them", "at most 8.98 mm")),
        ({"pointer": 7}, ("pointer is 7 mm", "at most 6 mm")),
    ],
)
def test_knobs_that_cannot_be(given, words, refused):
    with refused(*words):
        knob(**given)


# -- pin ---------------------------------------------------------------------------------------


def test_a_pin_is_a_head_and_a_shank():
    solid = pin(diameter=4, length=30, head=7, head_thickness=2, chamfer=0, flat=0)
    assert solid.volume == pytest.approx(ring(7, 0, 2) + ring(4, 0, 30))
    assert solid.bounding_box().max.Z == pytest.approx(32)


@given(bottom=st.floats(2, 3.8), width=st.floats(0.5, 3))
def test_a_groove_takes_a_ring(bottom, width):
    shape = {"length": 30, "flat": 0, "groove_height": 20, "groove_width": width}
    taken = pin(groove=0, **shape).volume - pin(groove=bottom, **shape).volume
    assert taken == pytest.approx(ring(4, bottom, width))


@given(flat=st.floats(0.1, 1))
def test_a_flat_takes_a_segment_of_head_and_shank(flat):
    shape = {"diameter": 4, "length": 30, "head": 7, "head_thickness": 2, "chamfer": 0}
    taken = pin(flat=0, **shape).volume - pin(flat=flat, **shape).volume
    assert taken == pytest.approx(segment(2, flat) * 30 + segment(3.5, 1.5 + flat) * 2)


@given(size=st.floats(0.1, 1))
def test_a_flat_and_a_chamfer_of_one_size_leave_a_sound_tip(size):
    assert_one_sound_solid(pin(flat=size, chamfer=size))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"head": 4}, ("head is 4 mm", "diameter 4 mm", "at least 4.2 mm")),
        ({"flat": 1.5}, ("flat takes 1.5 mm", "at most 1 mm")),
        ({"chamfer": 2}, ("chamfer is 2 mm", "at most 1.6 mm")),
        ({"groove": 1}, ("groove is 1 mm", "2 to 3.8 mm")),
        ({"groove": 3, "groove_height": 29}, ("groove_height is 29 mm", "30 mm of 29.4 mm")),
    ],
)
def test_pins_that_cannot_be(given, words, refused):
    with refused(*words):
        pin(**given)


# -- stop --------------------------------------------------------------------------------------


@given(holes=st.integers(0, 3), gusset=st.floats(1, 11))
def test_a_stop_is_two_boxes_a_wedge_and_its_holes(holes, gusset):
    solid = stop(
        width=40, length=30, base=4, height=16, thickness=5, gusset=gusset, holes=holes, screw="M4"
    )
    side = 30 * 4 + 5 * 12 + gusset**2 / 2
    assert solid.volume == pytest.approx(side * 40 - holes * ring(4.5, 0, 4))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"height": 4}, ("height is 4 mm", "base of 4 mm", "at least 4.2 mm")),
        ({"thickness": 28}, ("thickness of the upright is 28 mm", "at most 27.8 mm")),
        ({"gusset": 12}, ("gusset is 12 mm", "at most 11.8 mm")),
        ({"holes": 2}, ("head is 8 mm", "2 of them", "16 mm by 17 mm")),
        ({"length": 16}, ("head is 8 mm", "16 mm by 5 mm")),
        ({"head": 4.5}, ("head is 4.5 mm", "M4 is 4.5 mm", "at least 4.9 mm")),
    ],
)
def test_stops_that_cannot_be(given, words, refused):
    with refused(*words):
        stop(**given)


# -- hook --------------------------------------------------------------------------------------


@given(opening=st.floats(4, 30), lip=st.floats(0, 15), thickness=st.floats(1, 8))
def test_a_hook_is_two_straights_and_half_a_ring(opening, lip, thickness):
    solid = hook(
        opening=opening,
        lip=lip,
        back=30,
        thickness=thickness,
        width=10,
        holes=1,
        screw="M3",
        head=6,
    )
    half_ring = math.pi / 2 * ((opening / 2 + thickness) ** 2 - (opening / 2) ** 2)
    side = thickness * (30 + lip) + half_ring
    assert solid.volume == pytest.approx(side * 10 - ring(3.4, 0, thickness))
    box = solid.bounding_box()
    assert box.max.Z == pytest.approx(opening + 2 * thickness)
    assert box.min.Y == pytest.approx(-box.max.Y, abs=1e-4)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"lip": 32}, ("lip is 32 mm", "at least 32.2 mm")),
        ({"holes": 3, "back": 30}, ("head is 8 mm", "3 of them", "24 mm by 14 mm")),
        ({"width": 6}, ("head is 8 mm", "26 mm by 6 mm")),
    ],
)
def test_hooks_that_cannot_be(given, words, refused):
    with refused(*words):
        hook(**given)


# -- guide -------------------------------------------------------------------------------------


@given(cables=st.integers(1, 5), share=st.floats(0.5, 1))
def test_each_channel_takes_its_round_and_its_mouth(cables, share):
    mouth = 6 * share
    solid = guide(cable=6, cables=cables, mouth=mouth, wall=2, floor=3, depth=10, ear=0)
    neck = math.sqrt(9 - mouth**2 / 4)
    channel = math.pi * 9 - segment(3, 3 - neck) + mouth * (3 - neck)
    block = (cables * 8 + 2) * 9
    assert solid.volume == pytest.approx((block - cables * channel) * 10)


def test_ears_are_plates_with_a_hole_each():
    shape = {"floor": 3, "depth": 12, "screw": "M4"}
    more = guide(ear=10, **shape).volume - guide(ear=0, **shape).volume
    assert more == pytest.approx(2 * (10 * 12 * 3 - ring(4.5, 0, 3)))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"mouth": 7}, ("mouth is 7 mm", "cable of 6.2 mm", "3.1 to 6.2 mm")),
        ({"mouth": 2}, ("mouth is 2 mm", "3.1 to 6.2 mm")),
        ({"ear": 7}, ("head is 8 mm", "7 mm by 12 mm")),
    ],
)
def test_guides_that_cannot_be(given, words, refused):
    with refused(*words):
        guide(**given)


# -- foot --------------------------------------------------------------------------------------


#: The kernel takes a side that leans by less than this, in radians, as upright.
UPRIGHT = 1e-4


@given(tip=st.floats(12, 40), depth=st.floats(1, 11))
@example(tip=23.998, depth=6.0)
def test_a_foot_is_a_frustum_less_bore_and_recess(tip, depth):
    if abs(24 - tip) / 2 < 12 * UPRIGHT:
        tip = 24.0
    solid = foot(diameter=24, tip=tip, height=12, screw="M4", head=9, head_depth=depth)
    frustum = math.pi / 12 * (24**2 + 24 * tip + tip**2) * 12
    assert solid.volume == pytest.approx(frustum - ring(9, 0, depth) - ring(4.5, 0, 12 - depth))


def test_a_foot_without_a_screw_is_whole():
    solid = foot(diameter=20, tip=20, height=12, screw="none")
    assert solid.volume == pytest.approx(ring(20, 0, 12))


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"head_depth": 12}, ("head_depth is 12 mm", "at most 11.8 mm")),
        ({"tip": 9}, ("head needs 9 mm of room", "9 mm across")),
        ({"head": 4}, ("head is 4 mm", "M4 is 4.5 mm")),
    ],
)
def test_feet_that_cannot_be(given, words, refused):
    with refused(*words):
        foot(**given)


# -- strike ------------------------------------------------------------------------------------


@given(ramp=st.floats(0.1, 7), edge=st.floats(0.5, 2.8))
def test_a_strike_is_a_plate_less_opening_holes_and_slope(ramp, edge):
    solid = strike(
        width=26,
        height=60,
        thickness=3,
        opening_width=11,
        opening_height=20,
        countersink=False,
        ramp=ramp,
        edge=edge,
    )
    slope = ramp * (3 - edge) / 2 * 60
    assert solid.volume == pytest.approx(26 * 60 * 3 - 11 * 20 * 3 - slope - 2 * ring(4.5, 0, 3))


def test_the_strike_s_countersinks_are_those_of_a_plate():
    taken = strike(countersink=False).volume - strike(countersink=True).volume
    one = plate(holes=1).volume - plate(holes=1, countersink=True).volume
    assert taken == pytest.approx(2 * one)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"opening_width": 26}, ("width is 26 mm", "opening_width", "at least 26.4 mm")),
        ({"ramp": 8}, ("ramp is 8 mm", "at most 7.3 mm")),
        ({"edge": 3}, ("edge is 3 mm", "thickness 3 mm")),
        ({"spacing": 25}, ("spacing is 25 mm", "28.4 to 51.6 mm")),
        ({"thickness": 1.5, "edge": 0.8}, ("head of 8 mm", "1.75 mm deep", "thickness is 1.5 mm")),
    ],
)
def test_strikes_that_cannot_be(given, words, refused):
    with refused(*words):
        strike(**given)


@pytest.mark.parametrize("name", ["thread", "bottle_thread"])
def test_the_ends_of_a_thread_are_whole_faces_without_a_slit(name):
    solid = catalogue.find(name).function()
    ends = [face for face in solid.faces() if abs(face.normal_at().Z) > 0.999]
    level = [face for face in ends if face.bounding_box().size.Z < 1e-6]
    assert [len(face.wires()) for face in level] == [1, 1]


@pytest.mark.parametrize(
    ("name", "given"),
    [
        ("boss", {"depth": 12, "height": 12}),
        ("boss", {"lead": 3, "wall": 2}),
        ("clip", {"tip_thickness": 3, "root_thickness": 2}),
        ("clip", {"hook_depth": 9, "length": 8}),
        ("gear", {"bore": 40}),
        ("gear", {"teeth": 8, "backlash": 0.5, "pressure_angle": 25, "bore": 0}),
        ("number_plate", {"digits": 60}),
        ("thread", {"size": "other", "diameter": 5, "pitch": 4}),
        ("thread", {"size": "other", "diameter": 20, "pitch": 0.4, "length": 150}),
    ],
)
def test_a_refusal_tells_its_lengths_in_the_unit_that_is_read(name, given):
    told = {}
    for unit in (units.MM, units.INCH):
        with units.using(unit), pytest.raises(RepairError) as error:
            catalogue.find(name).function(**given)
        told[unit.name] = str(error.value)
    assert " mm" in told["mm"] and " in" in told["in"]
    assert " mm" not in told["in"], told["in"]
