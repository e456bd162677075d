"""A seat held by edges: the part's own edge stands so far inside the face's, whatever the sizes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.solids.building.build import assemble, frame
from workbench.solids.building.seating import DIRECTIONS
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import FACES, OPPOSITE, At, Seat, edges_of, runs

SIZES = st.floats(1, 60)


def bounds(repair, step):
    box = assemble(repair).parts[step].bounding_box()
    return np.array([tuple(box.min), tuple(box.max)])


def reach(repair, step, way):
    """How far a step goes towards a side."""
    return float((bounds(repair, step) @ DIRECTIONS[way]).max())


def block(width=30, depth=20, height=10, place=None):
    return Repair("r").add("box", place, "block", width=width, depth=depth, height=height)


@pytest.mark.parametrize("face", FACES)
@pytest.mark.parametrize("edge", FACES)
def test_on_every_face_at_every_edge(face, edge, refused):
    if edge not in edges_of(face):
        with refused(f"edge is '{edge}'", ", ".join(edges_of(face))):
            Seat(f"{face} of block", edge=edge)
        return
    repair = block().add(
        "box", Seat(f"{face} of block", edge=edge, inset=1.5), "part", width=4, depth=3, height=2
    )
    assert reach(repair, "part", edge) == pytest.approx(reach(repair, "block", edge) - 1.5)
    free = next(e for e in edges_of(face) if runs(face, e) != runs(face, edge))
    both = reach(repair, "part", free) - reach(repair, "part", OPPOSITE[free])
    assert both == pytest.approx(
        reach(repair, "block", free) - reach(repair, "block", OPPOSITE[free]), abs=1e-6
    )


@given(
    sizes=st.tuples(SIZES, SIZES, SIZES),
    own=st.tuples(SIZES, SIZES, SIZES),
    insets=st.tuples(st.floats(-5, 30), st.floats(-5, 30)),
    face=st.sampled_from(FACES),
    turn=st.sampled_from([0, 17, 90, -130]),
    data=st.data(),
)
def test_a_corner_is_held_whatever_the_sizes(sizes, own, insets, face, turn, data):
    one = data.draw(st.sampled_from(edges_of(face)))
    other = data.draw(
        st.sampled_from([e for e in edges_of(face) if runs(face, e) != runs(face, one)])
    )
    seat = Seat(f"{face} of block", edge=(one, other), inset=insets, turn=turn)
    repair = block(*sizes)
    repair.add("box", seat, "part", **dict(zip(("width", "depth", "height"), own, strict=True)))
    from workbench.solids.building.build import (  # parts may hang free: no whole is made
        _placed,
        step_keys,
    )
    from workbench.solids.geometry.cache import SHARED

    part = _placed(repair, repair.step("part"), step_keys(repair), SHARED).shape.bounding_box()
    under = block(*sizes)
    for edge, inset in zip((one, other), insets, strict=True):
        far = max(np.array([tuple(part.min), tuple(part.max)]) @ DIRECTIONS[edge])
        assert far == pytest.approx(reach(under, "block", edge) - inset, abs=1e-6)


@pytest.mark.parametrize(("turn", "half"), [(0, 2.0), (90, 1.5), (45, 3.5 / math.sqrt(2))])
def test_its_own_edge_is_that_of_the_turned_part(turn, half):
    repair = block()
    repair.add("box", Seat("top of block", edge="left", inset=1, turn=turn), "p", width=4, depth=3)
    assert frame(repair, "p")[0, 3] == pytest.approx(-15 + 1 + half)


@pytest.mark.parametrize("cuts", [False, True])
def test_a_bore_or_a_pin_is_held_by_its_middle(cuts):
    repair = block()
    seat = Seat("top of block", edge=("left", "back"), inset=(6, 4.5), sink=1)
    (repair.cut if cuts else repair.add)("cylinder", seat, "c", diameter=5, height=3)
    assert frame(repair, "c")[:2, 3] == pytest.approx([-15 + 6, 10 - 4.5])


@pytest.mark.parametrize(
    ("template", "sizes"), [("gear", {"teeth": 9, "bore": 0}), ("thread", {"size": "M4"})]
)
def test_a_gear_and_a_thread_are_held_by_their_middle_as_a_pin_is(template, sizes):
    seat = Seat("top of block", edge=("left", "back"), inset=(6, 4.5))
    repair = block().add(template, seat, "c", **sizes)
    assert frame(repair, "c")[:2, 3] == pytest.approx([-15 + 6, 10 - 4.5])
    if template == "gear":  # laid on its side it has an edge: its end
        repair.change("c", place=Seat("top of block", edge="back", inset=3, by="back"))
        assert reach(repair, "c", "back") == pytest.approx(10 - 3, abs=1e-6)


def test_a_bore_laid_on_its_side_has_a_middle_across_it_and_ends_along_it():
    repair = block()
    seat = Seat("top of block", edge="left", inset=4, by="back", sink=2)
    repair.cut("cylinder", seat, "notch", diameter=6, height=40)
    assert bounds(repair, "notch")[:, 0].mean() == pytest.approx(-15 + 4, abs=1e-6)
    repair.change("notch", place=Seat("top of block", edge="back", inset=3, by="back", sink=2))
    assert reach(repair, "notch", "back") == pytest.approx(10 - 3, abs=1e-6)


def test_a_flat_is_an_edge_and_its_round_is_not():
    repair = block()
    for edge, expected in (("front", -10 + 1 + 1.6), ("back", 10 - 1)):
        repair = block()
        seat = Seat("top of block", edge=edge, inset=1)
        repair.add("peg", seat, "d", section="D", diameter=5, across_flat=4.1, length=4, chamfer=0)
        assert frame(repair, "d")[1, 3] == pytest.approx(expected, abs=1e-6)


def test_rounded_corners_leave_the_edge_where_it_is():
    repair = Repair("r").add("plate", name="block", width=30, height=20, corner_radius=4, holes=0)
    repair.add("box", Seat("top of block", edge="right", inset=2), "p", width=4, depth=3, height=2)
    assert reach(repair, "p", "right") == pytest.approx(13)


def test_the_edge_of_a_round_face_is_where_it_reaches_furthest():
    repair = Repair("r").add("cylinder", name="block", diameter=30, height=5)
    repair.add("box", Seat("top of block", edge="right", inset=2), "p", width=4, depth=3, height=2)
    assert reach(repair, "p", "right") == pytest.approx(13)


def test_inside_a_slanting_edge_the_distance_is_square_to_it():
    """A blade of 30 mm at its foot and 20 mm at its top: its left side leans in by 5 in 40 mm."""
    repair = Repair("r").add(
        "fin", name="blade", bottom=30, top=20, height=40, inset=5, thickness=2
    )
    seat = Seat("front of blade", edge="left", inset=3, across=10)
    repair.add("cylinder", seat, "c", diameter=4, height=2)
    x, _y, z = frame(repair, "c")[:3, 3]
    foot, top = np.array([0.0, 0.0]), np.array([5.0, 40.0])
    side = (top - foot) / np.linalg.norm(top - foot)
    away = np.array([x, z]) - foot
    assert side[1] * away[0] - side[0] * away[1] == pytest.approx(3, abs=1e-6)
    assert z == pytest.approx(20 + 10)


def test_on_a_part_that_leans_the_edges_lean_with_it():
    place = At(tilt=20, lean=-15, turn=30)
    repair = block(place=place)
    seat = Seat("top of block", edge=("right", "back"), inset=(2, 3))
    repair.add("box", seat, "p", width=4, depth=3, height=2)
    corners = np.array([(x, y, 0, 1) for x in (-2, 2) for y in (-1.5, 1.5)])
    local = corners @ frame(repair, "p").T @ np.linalg.inv(frame(repair, "block")).T
    assert local[:, :3].max(axis=0) == pytest.approx([15 - 2, 10 - 3, 10], abs=1e-6)


# -- leaning over ------------------------------------------------------------------------------


def test_lean_turns_y_towards_z_before_the_tilt():
    place = frame(Repair("r").add("box", At(lean=90, tilt=90), "b"), "b")
    assert place[:3, 1] == pytest.approx([-1, 0, 0], abs=1e-12)
    assert place[:3, 2] == pytest.approx([0, -1, 0], abs=1e-12)


@pytest.mark.parametrize(
    ("angles", "out"),
    [
        ({"tilt": 20}, (-math.sin(math.radians(20)), 0, math.cos(math.radians(20)))),
        ({"lean": 20}, (0, -math.sin(math.radians(20)), math.cos(math.radians(20)))),
        ({"tilt": 20, "turn": 90}, (0, -math.sin(math.radians(20)), math.cos(math.radians(20)))),
    ],
)
def test_a_seated_part_leans_over_about_the_middle_of_its_own_face(angles, out):
    repair = block().add("box", Seat("top of block", sink=1, **angles), "p", height=6)
    assert frame(repair, "p")[:3, 2] == pytest.approx(out, abs=1e-9)
    assert frame(repair, "p")[:3, 3] == pytest.approx([0, 0, 9])


# -- staying within ----------------------------------------------------------------------------


@pytest.mark.parametrize("width", [28, 28.5])
def test_a_part_that_must_stay_within_is_refused_beyond(width, refused):
    seat = Seat("top of block", edge="right", inset=2, within=True)
    repair = block().add("box", seat, "lip", width=width, depth=3, height=2)
    if width == 28:
        assert reach(repair, "lip", "left") == pytest.approx(15)
    else:
        with refused("lip reaches 0.5 mm past the left edge of the top of block"):
            assemble(repair)


@pytest.mark.parametrize(
    ("face", "shift", "edge"),
    [
        ("bottom", {"across": 9}, "front"),
        ("back", {"along": 14}, "left"),
        ("left", {"along": 9}, "front"),
        ("right", {"across": 4}, "top"),
    ],
)
def test_the_edge_that_is_passed_is_named(face, shift, edge, refused):
    repair = block().add(
        "box", Seat(f"{face} of block", within=True, **shift), "lip", width=4, depth=4
    )
    with refused(f"the {edge} edge of the {face} of block"):
        assemble(repair)


# -- what a seat refuses, and its record -------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"edge": "inner"}, ("edge is 'inner'",)),
        ({"edge": ("left", "right")}, ("edge is ('left', 'right')", "corner")),
        ({"edge": ("left", "front", "back")}, ("two that meet",)),
        ({"edge": "left", "inset": (1, 2)}, ("inset has 2 numbers",)),
        ({"edge": "left", "along": 3}, ("along is 3", "inset")),
        ({"edge": "front", "across": -1}, ("across is -1", "inset")),
        ({"edge": "left", "inset": math.nan}, ("inset is nan mm",)),
        ({"tilt": math.inf}, ("tilt is inf°",)),
        ({"lean": "far"}, ("lean is 'far'°",)),
    ],
)
def test_seats_that_cannot_be(given, words, refused):
    with refused(*words):
        Seat("top of block", **given)


@pytest.mark.parametrize(
    "seat",
    [
        Seat("top of block", edge="right", inset=2.5),
        Seat("top of block", edge=("right", "back"), inset=2.5),
        Seat("top of block", edge=("right", "back"), inset=(2.5, 4.0), within=True),
        Seat("left of block", edge="top", inset=1.0, along=2.0, tilt=5.0, lean=-3.0),
        Seat("top of block", 1.0, 2.0, 3.0, 4.0, "left"),
    ],
)
def test_a_record_reads_back_equal(seat):
    repair = block().add("box", seat, "p")
    again = Repair.from_json(repair.to_json())
    assert again == repair
    assert again.step("p").place == seat


def test_an_old_record_means_what_it_meant():
    plain = block().add("box", Seat("top of block", 1, 2, 3, 4), "p").step("p").to_dict()
    assert set(plain["seat"]) == {"on", "along", "across", "turn", "sink", "by"}
    assert "follows" not in plain


def test_another_edge_takes_the_place_of_the_one_opposite():
    seat = Seat("top of block", along=3, across=2).held_by("right", 1.5)
    assert seat == Seat("top of block", across=2, edge="right", inset=1.5)
    assert seat.held_by("left", 4) == Seat("top of block", across=2, edge="left", inset=4)
    corner = seat.held_by("back", 2)
    assert corner == Seat("top of block", edge=("right", "back"), inset=(1.5, 2))
    assert corner.numbers() | {"sink": 0} == {
        "inset_right": 1.5,
        "inset_back": 2,
        "sink": 0,
        "turn": 0,
        "tilt": 0,
        "lean": 0,
    }


def test_the_numbers_of_a_place_are_sizes():
    repair = block().add("box", Seat("top of block", edge="right", inset=2.5), "p", width=4)
    repair.change("p", **{"place.inset": 3.5, "place.across": 1})
    assert repair.step("p").place == Seat("top of block", edge="right", inset=3.5, across=1)
    assert repair.step("p").parameter("place.inset").kind.measure.startswith("from the right edge")
    repair.change("p", place=Seat("top of block", edge="right", inset=Same("p.width / 2")))
    assert repair.step("p").number("place.inset") == 2


def test_a_place_has_no_other_numbers(refused):
    repair = block().add("box", Seat("top of block", edge="right"), "p")
    with refused("p has no 'place.along'", "place.inset, place.across"):
        repair.change("p", **{"place.along": 2})
