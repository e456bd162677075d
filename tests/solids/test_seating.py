"""A part sits where its seat says: on every face, offset, turned, sunk, and on tilted parts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.solids.building.build import assemble, frame
from workbench.solids.building.seating import DIRECTIONS, face_frame
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import FACES, At, Seat

#: Level and upward directions in each face, as one looks at it from outside.
IN_FACE = {
    "top": ((1, 0, 0), (0, 1, 0)),
    "bottom": ((1, 0, 0), (0, -1, 0)),
    "front": ((1, 0, 0), (0, 0, 1)),
    "back": ((-1, 0, 0), (0, 0, 1)),
    "left": ((0, -1, 0), (0, 0, 1)),
    "right": ((0, 1, 0), (0, 0, 1)),
}

BLOCK = {"width": 30, "depth": 20, "height": 10}
HALF = np.array([15.0, 10.0, 5.0])
MIDDLE = np.array([0.0, 0.0, 5.0])


def on_block(seat, **values):
    repair = Repair("block").add("box", name="block", **BLOCK)
    return repair.add(
        "box", seat=seat, name="part", **(values or {"width": 4, "depth": 3, "height": 2})
    )


def corners(repair, step="part"):
    box = assemble(repair).parts[step].bounding_box()
    return np.array([tuple(box.min), tuple(box.max)])


@pytest.mark.parametrize("face", FACES)
def test_a_part_stands_outwards_in_the_middle_of_each_face(face):
    box = corners(on_block(f"{face} of block"))
    out = DIRECTIONS[face]
    expected = MIDDLE + out * (HALF + 1)
    assert box.mean(axis=0) == pytest.approx(expected)
    assert np.ptp(box, axis=0) @ np.abs(out) == pytest.approx(2)


@pytest.mark.parametrize("face", FACES)
def test_its_width_runs_along_the_face_and_its_depth_across(face):
    box = corners(on_block(f"{face} of block"))
    along, across = (np.abs(direction) for direction in IN_FACE[face])
    assert np.ptp(box, axis=0) @ along == pytest.approx(4)
    assert np.ptp(box, axis=0) @ across == pytest.approx(3)


@pytest.mark.parametrize("face", FACES)
def test_offsets_turn_and_sink(face):
    out = DIRECTIONS[face]
    along, across = map(np.array, IN_FACE[face])
    plain = corners(on_block(Seat(f"{face} of block"))).mean(axis=0)
    moved = corners(on_block(Seat(f"{face} of block", along=2, across=1.5, sink=0.5)))
    assert moved.mean(axis=0) - plain == pytest.approx(2 * along + 1.5 * across - 0.5 * out)
    turned = corners(on_block(Seat(f"{face} of block", turn=90)))
    assert turned.mean(axis=0) == pytest.approx(plain)
    assert np.ptp(turned, axis=0) @ np.abs(along) == pytest.approx(3)


@pytest.mark.parametrize("by", FACES)
@pytest.mark.parametrize("face", FACES)
def test_any_face_of_the_part_may_be_laid_on_any_face(face, by):
    repair = on_block(Seat(f"{face} of block", by=by))
    out = DIRECTIONS[face]
    box = corners(repair)
    near = (box @ out).min()
    assert near == pytest.approx(out @ MIDDLE + np.abs(out) @ HALF)
    turned = frame(repair, "part")[:3, :3]
    assert turned @ DIRECTIONS[by] == pytest.approx(-out, abs=1e-9)
    assert np.linalg.det(turned) == pytest.approx(1)


@given(
    face=st.sampled_from(FACES),
    along=st.floats(-5, 5),
    across=st.floats(-3, 3),
    turn=st.floats(-180, 180),
    sink=st.floats(0.1, 1.9),
)
def test_sinking_takes_the_sunk_volume_from_the_sum(face, along, across, turn, sink):
    repair = on_block(
        Seat(f"{face} of block", along, across, turn, sink), width=1.5, depth=1.5, height=2
    )
    solid = assemble(repair).solid
    assert solid.volume == pytest.approx(30 * 20 * 10 + 1.5 * 1.5 * (2 - sink))


@pytest.mark.parametrize("tilt", [-40, -20, 0, 10, 40])
def test_a_tilted_part_is_sat_on_squarely(tilt):
    repair = Repair("block").add("box", seat=At(tilt=tilt), name="block", **BLOCK)
    repair.add("box", seat="top of block", name="part", width=4, depth=3, height=2)
    up = np.array([-np.sin(np.radians(tilt)), 0, np.cos(np.radians(tilt))])
    place = frame(repair, "part")
    assert place[:3, 2] == pytest.approx(up, abs=1e-9)
    assert place[:3, 3] == pytest.approx(10 * up, abs=1e-9)
    assert assemble(repair).solid.volume == pytest.approx(6000 + 24)


def test_tilt_turns_x_towards_z_and_turn_comes_after_it():
    place = frame(Repair("r").add("box", seat=At(1, 2, 3, turn=90, tilt=90)), "box")
    # The part's x goes up under the tilt and stays up under the turn; its z, then along -x,
    # turns to -y.
    assert place[:3, 0] == pytest.approx([0, 0, 1], abs=1e-12)
    assert place[:3, 2] == pytest.approx([0, -1, 0], abs=1e-12)
    assert place[:3, 3] == pytest.approx([1, 2, 3])


def test_a_tab_below_a_leaning_blade_is_centred_on_its_bottom_edge():
    repair = Repair("divider").add("fin", name="blade", bottom=46, top=37, height=71, inset=-7)
    repair.add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
    assert corners(repair, "foot") == pytest.approx(np.array([[8, -1.2, -4], [38, 1.2, 0]]))


def test_a_leaning_side_is_sat_on_along_its_lean():
    repair = Repair("divider").add("fin", name="blade", bottom=46, top=37, height=71, inset=-7)
    repair.add("box", seat="left of blade", name="nub", width=1, depth=1, height=2)
    out = frame(repair, "nub")[:3, 2]
    assert out == pytest.approx(np.array([-71, 0, -7]) / np.hypot(71, 7), abs=1e-9)
    assert frame(repair, "nub")[:3, 3] == pytest.approx([-3.5, 0, 35.5])


def test_holes_do_not_move_the_middle_of_a_plate():
    from build123d import Box, Cylinder, Pos

    whole = Box(40, 20, 4)
    pierced = whole - Pos(12, 5, 0) * Cylinder(3, 10)
    assert face_frame(pierced, "top")[:3, 3] == pytest.approx([0, 0, 2], abs=1e-6)


def test_the_two_tips_of_a_split_peg_are_one_side():
    repair = Repair("peg").add("peg", name="peg", diameter=8, length=12, slot=2, slot_depth=6)
    repair.add("cylinder", seat=Seat("top of peg"), name="cap", diameter=8, height=1)
    assert frame(repair, "cap")[:3, 3] == pytest.approx([0, 0, 12], abs=1e-6)


@pytest.mark.parametrize("side", FACES)
def test_a_ball_has_the_sides_of_its_bounding_box(side):
    from workbench.solids.shapes.primitives import sphere

    frame_of_side = face_frame(sphere(10), side)
    assert frame_of_side[:3, 3] == pytest.approx([0, 0, 5] + 5 * DIRECTIONS[side], abs=1e-5)
    assert frame_of_side[:3, 2] == pytest.approx(DIRECTIONS[side])


def test_the_outermost_face_is_the_side():
    """A peg's top is its tip, not the ledge of its collar."""
    repair = Repair("r").add("peg", name="peg", length=10, collar=9, collar_thickness=2)
    repair.add("sphere", seat=Seat("top of peg", sink=1), name="knob", diameter=6)
    assert frame(repair, "knob")[:3, 3] == pytest.approx([0, 0, 11], abs=1e-5)


def test_seats_follow_the_part_below(refused):
    repair = on_block("top of block")
    before = corners(repair)
    repair.change("block", height=14)
    assert corners(repair)[:, 2] - before[:, 2] == pytest.approx([4, 4])


@pytest.mark.parametrize(
    ("seat", "words"),
    [
        ("under block", ("seat is 'under block'", "bottom of blade")),
        ("top of lid", ("no step 'lid'", "block")),
    ],
)
def test_seats_that_lead_nowhere(seat, words, refused):
    with refused(*words):
        on_block(seat)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "far", None])
@pytest.mark.parametrize("field", ["along", "across", "turn", "sink"])
def test_seats_need_finite_offsets(field, value, refused):
    with refused(f"{field} is ", "°" if field == "turn" else " mm"):
        Seat("top of block", **{field: value})


@pytest.mark.parametrize(
    ("template", "sizes"),
    [
        ("thread", {"size": "M8", "length": 5.3, "hole": True}),
        ("bottle_thread", {"length": 7.7}),
        ("gear", {"teeth": 13}),
    ],
)
def test_what_turns_about_an_axis_sits_by_it(template, sizes):
    """The end of a thread, and a gear of odd teeth, are not in the middle of the box round them."""
    part = Repair("x").add("box", name="base", width=60, depth=60, height=8)
    part.add(template, Seat("top of base", along=3), "turns", **sizes)
    part.add("cylinder", Seat("top of turns"), "post", diameter=4, height=5)
    assert frame(part, "turns")[:3, 3] == pytest.approx([3, 0, 8], abs=1e-9)
    assert frame(part, "post")[:2, 3] == pytest.approx([3, 0], abs=1e-9)
