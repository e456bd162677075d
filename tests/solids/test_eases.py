"""Rounds and chamfers where a hand chooses: on those edges, by that much, or the largest said."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.solids.building import eased_edges
from workbench.solids.building.build import assemble, build, placed
from workbench.solids.building.eased_edges import chosen_edges
from workbench.solids.geometry import kernel
from workbench.solids.geometry.cache import Cache
from workbench.solids.recipe.ease import Ease
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Row
from workbench.solids.recipe.seat import Seat
from workbench.solids.shapes import rounding

#: What a round of radius 1 takes from a square edge for each mm of its length, and where three
#: meet in a corner.
EDGE, CORNER = 1 - math.pi / 4, 1 - math.pi / 6


def key(width=12.0, depth=8.0, height=5.0):
    return Repair("key").add("box", name="key", width=width, depth=depth, height=height)


def bracket(sink=0.5):
    repair = Repair("bracket").add("box", name="base", width=40, depth=30, height=4)
    seat = Seat("top of base", edge="back", inset=8, sink=sink)
    return repair.add("box", seat, "upright", width=24, depth=4, height=20 + sink)


def lost(repair):
    plain = Repair.from_json(repair.to_json())
    plain.eases = ()
    return build(plain).volume - build(repair).volume


@given(st.floats(6, 30), st.floats(6, 30), st.floats(3, 20), st.floats(0.1, 1.4), st.booleans())
def test_all_of_a_box_by_the_formula(width, depth, height, size, chamfer):
    repair = key(width, depth, height)
    (repair.chamfer if chamfer else repair.round)("all of key", size)
    a, b, c = (side - 2 * size for side in (width, depth, height))
    if chamfer:
        # 4 edges each way; at a corner the cut-off piece is 1/6 of a cube less than three wedges.
        expected = 2 * size**2 * (a + b + c) + 8 * size**3 * 5 / 6
    else:
        expected = 4 * EDGE * size**2 * (a + b + c) + 8 * CORNER * size**3
    assert lost(repair) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("face", ["top", "bottom", "left", "front"])
def test_the_edges_of_one_face(face):
    repair = key().round(f"{face} of key", 0.5)
    sides = {"left": (8, 5), "front": (12, 5)}.get(face, (12, 8))
    # Round the four sides of the face; at its corners two rounds meet in a mitre.
    length = 2 * sum(sides)
    mitre = 4 * 0.5**3 * (5 / 3 - math.pi / 2)
    assert lost(repair) == pytest.approx(EDGE * 0.25 * length - mitre, rel=1e-6)


@pytest.mark.parametrize("size", [0.5, 1.2])
def test_faces_that_meet_are_rounded_one_after_the_other(size):
    """The kernel joins equal rounds only where all are made at once."""
    repair = key().round("top of key", size).round("front of key", size)
    # The edge that both have counts once; at its ends three rounds meet, at the others two.
    length = 2 * (12 + 8) + 2 * (12 + 5) - 12 - 2 * 3 * size
    mitre = size**3 * (5 / 3 - math.pi / 2)
    expected = EDGE * size**2 * length + 2 * CORNER * size**3 - 4 * mitre
    assert lost(repair) == pytest.approx(expected, rel=1e-6)
    whole, once = key().round("all of key", size), repair.round("all of key", size)
    assert lost(once) == pytest.approx(lost(whole), rel=1e-9)


@pytest.mark.parametrize("sizes", [(0.5, 1.2), (0.3, 0.8, 0.3), (0.4, 0.8, 1.2)])
def test_faces_that_meet_are_rounded_unequally_in_any_order(sizes):
    faces = ("top", "front", "left")
    made = [key(), key()]
    for face, size in zip(faces, sizes, strict=False):
        made[0].round(f"{face} of key", size)
    for size, face in sorted(zip(sizes, faces, strict=False), reverse=True):
        made[1].round(f"{face} of key", size)
    assert lost(made[0]) == pytest.approx(lost(made[1]), rel=1e-6)


def test_what_was_eased_otherwise_stays():
    # The chamfer is there with both rounds.
    chamfered = key().chamfer("bottom of key", 0.3).round("top of key", 0.8)
    both = key().round("top of key", 0.8).round("right of key", 0.8)
    all_three = lost(chamfered.copy().round("right of key", 0.8))
    assert all_three > max(lost(chamfered), lost(both)) + 0.5


@pytest.mark.parametrize("sink", [0.0, 0.5])
def test_an_inside_corner_gains_what_it_is_filled_with(sink):
    repair = bracket(sink).round("between upright and base", 2)
    corners = 4 * 2**3 * (5 / 3 - math.pi / 2)
    around = 2 * (24 + 4)
    assert -lost(repair) == pytest.approx(EDGE * 4 * around + corners, rel=0.02)
    assert lost(bracket(sink).chamfer("between base and upright", 2)) < 0


def test_only_its_own_edges_are_meant_and_only_outer_ones():
    repair = bracket()
    solid, parts = assemble(repair).solid, None
    from workbench.solids.building.build import _carried_out
    from workbench.solids.geometry.cache import SHARED

    parts = _carried_out(repair, (), SHARED)[2]

    def count(where):
        return len(chosen_edges(solid, repair.copy().round(where, 1).eases[0], parts))

    assert count("top of upright") == 4
    assert count("all of upright") == 8  # its bottom edges are inside the base
    assert count("top of base") == 4
    assert count("all of base") == 12
    assert count("between upright and base") == 4
    assert count("bottom of upright") == 0
    assert count((20, 15, 2)) == 1


def test_a_rim_that_another_step_cut_stays():
    repair = key(20, 20, 5).cut(
        "cylinder", Seat("top of key", sink=5), "hole", diameter=6, height=5
    )
    whole = lost(key(20, 20, 5).round("top of key", 0.5))
    assert lost(repair.round("top of key", 0.5)) == pytest.approx(whole, rel=1e-6)
    hole = key(20, 20, 5).cut("cylinder", Seat("top of key", sink=5), "hole", diameter=6, height=5)
    rim = lost(hole.chamfer("top of hole", 0.5))
    # Pappus: a triangle of 0.125 mm², its centroid 0.5 / 3 mm out of the bore's wall.
    assert rim == pytest.approx(0.125 * 2 * math.pi * (3 + 0.5 / 3), rel=1e-6)


def test_a_pattern_is_eased_on_each():
    repair = Repair("r").add("box", name="base", width=60, depth=20, height=4)
    repair.add("box", Seat("top of base"), "post", repeat=Row(3, 15), width=6, depth=6, height=8)
    one = Repair("r").add("box", name="base", width=60, depth=20, height=4)
    one.add("box", Seat("top of base"), "post", width=6, depth=6, height=8)
    assert lost(repair.round("top of post", 1)) == pytest.approx(
        3 * lost(one.round("top of post", 1))
    )


@pytest.mark.parametrize(
    ("ask", "room"),
    [
        (lambda r: r.round("all of key", 6), 2.5),
        (lambda r: r.chamfer("all of key", 6), 2.5),
        (lambda r: r.round("top of key", 6), 4.0),
    ],
)
def test_the_largest_that_works_is_said_and_works(ask, room):
    repair = ask(key())
    with pytest.raises(RepairError, match="of 6 mm has no room; give at most") as caught:
        build(repair)
    most = float(str(caught.value).rpartition("at most ")[2].split()[0])
    assert room - 0.15 <= most <= room
    ease = repair.eases[0]
    (repair.chamfer if ease.chamfer else repair.round)(ease.where, most)
    assert lost(repair) > 0


@pytest.mark.parametrize(("room", "said"), [(1.234, "1.2 mm"), (0.05, "0.05 mm"), (0.049, None)])
def test_only_a_size_that_was_tried_is_said(room, said, monkeypatch, refused):
    tried = []

    def goes(_solid, size, _edges, _chamfer):
        tried.append(size)
        return True if size <= room else None

    monkeypatch.setattr(eased_edges, "_tried", goes)
    with refused(f"give at most {said}" if said else "choose others"):
        whole = build(key())
        eased_edges.eased(whole, Ease("all", ("key",), 6.37), placed(key()), ())
    assert said is None or float(said.split()[0]) in [pytest.approx(size) for size in tried]
    assert len(tried) <= 9


def test_a_sharp_edge_without_room_is_tried_once_by_each_radius(monkeypatch):
    ramp = build(Repair("ramp").add("wedge", width=63, depth=20, height=6))
    tried = []

    def goes(_solid, radius, edges):
        tried.append((radius, len(edges)))

    monkeypatch.setattr(rounding, "_filleted", goes)
    assert rounding.rounded(ramp, 2) is ramp
    edges = len(rounding.sharp_edges(ramp))
    each = [(2, 1), (1.2, 1), (0.7, 1)]
    assert tried == [pytest.approx(one) for one in [(2, edges), *each * edges]]


def test_a_round_that_does_not_go_leaves_what_it_was_tried_on_as_it_was():
    """Found by chance: the kernel spoils a round face while it fails at an edge beside it."""
    repair = Repair("found by chance").add("triangular_prism", name="prism", thickness=1.775)
    seat = Seat("bottom of prism", edge="right", inset=6, sink=2.35)
    repair.add("cylinder", seat, "boss", diameter=16.093, height=10)
    repair.add("cylinder", Seat("front of boss", tilt=-25.1), "peg", diameter=10, height=10)
    solid = build(repair, Cache())
    before = solid.volume
    made = rounding.rounded(solid, 2.0)
    assert solid.is_valid and solid.volume == pytest.approx(before, rel=1e-9)
    assert made.is_valid and 0.98 * before < made.volume <= before


def test_edges_that_are_gone_are_said(refused):
    repair = bracket().round("between upright and base", 1)
    repair.change("upright", place=Seat("top of base", sink=3), height=2)
    with refused("between upright and base: there is no edge to ease", "or a size of 0"):
        build(repair)


@pytest.mark.parametrize(
    ("where", "size", "words"),
    [
        ("top of lid", 1, ("'top of lid'", "steps: key")),
        ("inner of key", 1, ("'inner of key'", "all of key")),
        ("between key and key", 1, ("'between key and key'",)),
        ("top of key", -1, ("round of top of key is -1 mm",)),
        ("top of key", math.nan, ("round of top of key is nan",)),
        (5, 1, ("edge to ease is 5",)),
        ((1, 2), 1, ("edge to ease is (1, 2)",)),
    ],
)
def test_what_cannot_be_eased(where, size, words, refused):
    with refused(*words):
        key().round(where, size)


def test_eases_go_with_the_record_names_and_steps():
    repair = bracket().round("between upright and base", 1).chamfer("top of upright", 0.5)
    repair.round((20, 15, 2), 1.5)
    assert Repair.from_json(repair.to_json()) == repair
    volume = build(repair).volume
    repair.rename("upright", "wall and post").rename("base", "foot")
    assert repair.eases[0].where == "between wall and post and foot"
    assert Repair.from_json(repair.to_json()) == repair
    assert build(repair).volume == pytest.approx(volume)
    other = repair.mirrored("other")
    assert build(other).volume == pytest.approx(volume)
    assert len(repair.round("top of wall and post", 0).eases) == 2
    assert [ease.which for ease in repair.remove("wall and post").eases] == [""]


def test_a_number_alone_is_for_sharp_edges_as_before():
    assert key().round(0.4).rounding == 0.4
    assert key().round(0.4).eases == ()


def test_what_reaches_further_out_than_before_is_no_round_and_no_chamfer(monkeypatch, refused):
    # The kernel's round may stand out of the part by millimetres and be valid and closed.
    monkeypatch.setattr(kernel, "_OUT", -1.0)  # as if every one did
    for one in (key().round("top of key", 0.47), key().chamfer("top of key", 0.47)):
        with refused("top of key", "choose others"):
            build(one)
    ramp = Repair("ramp").add("wedge", width=61, depth=20, height=6).round(1)
    assert build(ramp).volume == pytest.approx(61 * 20 * 6 / 2)


@pytest.mark.parametrize(("more", "out"), [(0.009, False), (0.011, True)])
def test_a_shape_reaches_out_from_a_hundredth_of_a_millimetre(more, out):
    one, other = (build(key(width=width)).wrapped for width in (12, 12 + 2 * more))
    assert kernel.reaches_out(other, one) == out
    assert not kernel.reaches_out(one, other)
