"""Pairs and patterns: how many, where, and what is refused; the other hand of a part."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.solids.building.build import assemble, build, frame, placed
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Ring, Row
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import At, Seat


def strip(width=100, depth=30, height=4):
    return Repair("strip").add("box", name="strip", width=width, depth=depth, height=height)


def centres(repair, step):
    return np.array(
        sorted(
            tuple(np.round([*solid.center()], 6)) for solid in assemble(repair).parts[step].solids()
        )
    )


@pytest.mark.parametrize("n", [1, 2, 7])
def test_a_row_takes_away_so_many_holes(n):
    repair = strip().cut(
        "cylinder", Seat("top of strip", sink=4), "hole", repeat=Row(n, 12), diameter=5, height=4
    )
    assert build(repair).volume == pytest.approx(12000 - n * math.pi * 6.25 * 4)
    assert centres(repair, "hole")[:, 0] == pytest.approx((np.arange(n) - (n - 1) / 2) * 12)


@pytest.mark.parametrize(
    ("edge", "direction", "first", "step"),
    [
        ("left", "along", (-50 + 8, 0), (12, 0)),
        ("right", "along", (50 - 8, 0), (-12, 0)),
        ("front", "across", (0, -15 + 8), (0, 12)),
        ("back", "across", (0, 15 - 8), (0, -12)),
        ("back", "along", (-12, 15 - 8), (12, 0)),
    ],
)
def test_from_an_edge_a_row_runs_inwards(edge, direction, first, step):
    seat = Seat("top of strip", edge=edge, inset=8, sink=4)
    n = 2 if direction == "across" else 3
    row = Row(n, 12, direction)
    repair = strip().cut("cylinder", seat, "hole", repeat=row, diameter=5, height=4)
    assert frame(repair, "hole")[:2, 3] == pytest.approx(first)
    found = [np.array(first) + number * np.array(step) for number in range(n)]
    assert centres(repair, "hole")[:, :2] == pytest.approx(np.array(sorted(map(tuple, found))))


def test_a_row_out_of_the_face_and_by_itself():
    repair = strip().add(
        "box", Seat("top of strip"), "fin", repeat=Row(2, 5, "out"), width=3, depth=3, height=9
    )
    assert centres(repair, "fin")[:, 2] == pytest.approx([4 + 4.5 - 2.5, 4 + 4.5 + 2.5])
    alone = Repair("r").add("box", At(1, 2, 3), repeat=Row(3, 4, "across"), depth=5)
    assert centres(alone, "box")[:, 1] == pytest.approx([-2, 2, 6])


def test_a_ring_looks_outwards():
    repair = Repair("wheel").add("cylinder", name="hub", diameter=30, height=4)
    ring = Ring(6, 12, start=15)
    repair.add("box", Seat("top of hub"), "tooth", repeat=ring, width=4, depth=2, height=3)
    found = centres(repair, "tooth")
    assert np.hypot(*found[:, :2].T) == pytest.approx(12)
    angles = np.sort(np.degrees(np.arctan2(found[:, 1], found[:, 0])) % 60)
    assert angles == pytest.approx(15)
    assert frame(repair, "tooth")[:2, 0] == pytest.approx(
        [math.cos(math.radians(15)), math.sin(math.radians(15))]
    )
    # Radially 10 to 14 mm out, whatever way each looks.
    corners = [v for s in assemble(repair).parts["tooth"].solids() for v in s.vertices()]
    far = max(math.hypot(v.X, v.Y) for v in corners)
    assert far == pytest.approx(math.hypot(14, 1))


def test_an_edge_holds_the_middle_of_a_ring():
    seat = Seat("top of strip", edge=("left", "front"), inset=(20, 14), sink=4)
    repair = strip().cut("box", seat, "slot", repeat=Ring(3, 8), width=4, depth=2, height=4)
    assert centres(repair, "slot").mean(axis=0)[:2] == pytest.approx([-30, -1])


@pytest.mark.parametrize("face", ["left", "right", "top", "front"])
def test_a_pair_is_mirrored_in_the_middle_of_what_it_sits_on(face):
    mirror = {
        "left": "left-right",
        "right": "left-right",
        "top": "left-right",
        "front": "top-bottom",
    }
    repair = Repair("r").add("box", At(7, 3, 2), "block", width=30, depth=20, height=10)
    place = Seat(f"{face} of block", along=2, across=1, sink=0.5)
    repair.add("wedge", place, "ear", mirror=mirror[face], width=3, depth=2, height=4)
    one, other = (np.array(c) for c in centres(repair, "ear"))
    axis = 0 if mirror[face] == "left-right" else 2
    middle = np.array([7, 3, 7.0])
    assert (one + other)[axis] == pytest.approx(2 * middle[axis])
    assert np.delete(one - other, axis) == pytest.approx([0, 0])
    sunk = (
        3 * 2 * 4 / 2 - build(Repair("s").add("wedge", name="w", width=3, depth=2, height=4)).volume
    )
    assert sunk == pytest.approx(0)
    single = Repair.from_json(repair.to_json()).change("ear", mirror="")
    gained = build(single).volume - 6000
    assert build(repair).volume - 6000 == pytest.approx(2 * gained)


def test_a_row_may_be_mirrored_too():
    seat = Seat("top of strip", edge=("left", "front"), inset=(10, 6), sink=4)
    repair = strip().cut(
        "cylinder", seat, "hole", repeat=Row(3, 12), mirror="front-back", diameter=4, height=4
    )
    assert build(repair).volume == pytest.approx(12000 - 6 * math.pi * 4 * 4)
    assert assemble(repair).counts["hole"] == 6


def test_on_a_part_that_leans_the_pair_leans_with_it():
    repair = Repair("r").add("box", At(tilt=20), "block", width=30, depth=20, height=10)
    repair.add("box", Seat("top of block", along=8), "ear", mirror="left-right", height=3)
    assert build(repair).volume == pytest.approx(6000 + 2 * 20 * 10 * 3 - overlap())


def overlap():
    """Two ears 20 wide, 8 mm right and left of the middle, share 4 mm."""
    return 4 * 10 * 3


# -- sizes -------------------------------------------------------------------------------------


def test_the_numbers_of_a_pattern_are_sizes():
    repair = strip().cut("cylinder", Seat("top of strip"), "hole", repeat=Row(3, 12), diameter=4)
    repair.change("hole", **{"repeat.n": 5, "repeat.pitch": Same("strip.width / 10")})
    assert repair.step("hole").repeat == Row(5, 10)
    repair.change("strip", width=120)
    assert repair.step("hole").repeat == Row(5, 12)
    assert Repair.from_json(repair.to_json()) == repair
    assert repair.change("hole", repeat="once").step("hole").repeat is None
    assert repair.step("hole").follows == {}


@pytest.mark.parametrize("repeat", [Row(4, 7.5, "across"), Ring(5, 9, 30), Row(n=1, pitch=2)])
def test_a_record_reads_back_equal(repeat):
    repair = strip().add("box", Seat("top of strip"), "b", repeat, mirror="front-back", width=2)
    assert Repair.from_json(repair.to_json()) == repair


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Row(0, 5), ("repeat: n is 0", "1 to 400")),
        (lambda: Row(401, 5), ("repeat: n is 401",)),
        (lambda: Row(2.5, 5), ("repeat: n is 2.5", "whole number")),
        (lambda: Row(3, 0), ("repeat: pitch is 0 mm",)),
        (lambda: Row(3, -4), ("repeat: pitch is -4 mm",)),
        (lambda: Row(3, 4, "up"), ("direction is 'up'", "along, across, out")),
        (lambda: Ring(3, math.nan), ("repeat: radius is nan",)),
        (lambda: strip().change("strip", repeat="twice"), ("repeat is 'twice'",)),
        (lambda: strip().change("strip", mirror="upside"), ("mirror is 'upside'", "left-right")),
        (lambda: strip().change("strip", **{"repeat.n": 2}), ("strip has no 'repeat.n'",)),
    ],
)
def test_patterns_that_cannot_be(make, words, refused):
    with refused(*words):
        make()


# -- off the face ------------------------------------------------------------------------------


def holes(n, pitch, **seat):
    place = Seat("top of strip", **seat)
    return strip().add("box", place, "hole", Row(n, pitch), width=5, depth=5, height=3)


@given(st.integers(2, 12), st.floats(3, 40), st.booleans(), st.floats(3, 20))
def test_a_row_that_runs_off_is_refused_with_what_would_fit(n, pitch, held, inset):
    seat = {"edge": "left", "inset": inset} if held else {}
    reach = (n - 1) * pitch + 5 + (inset if held else 0)
    if reach <= 100:
        assemble(holes(n, pitch, **seat))
        return
    with pytest.raises(RepairError, match="past the right edge of the top of strip") as caught:
        assemble(holes(n, pitch, **seat))
    text = str(caught.value)
    most = int(text.partition("give at most ")[2].split(",")[0])
    assemble(holes(most, pitch, **seat))
    with pytest.raises(RepairError):
        assemble(holes(most + 1, pitch, **seat))
    closer = float(text.rpartition("at most ")[2].split()[0])
    if closer > 0.11:
        assemble(holes(n, closer - 0.006, **seat))


@pytest.mark.parametrize(("radius", "fine"), [(12.5, True), (12.6, False)])
def test_a_ring_that_runs_off_is_refused(radius, fine, refused):
    repair = strip().add("box", Seat("top of strip"), "h", Ring(4, radius), width=5, depth=5)
    if fine:
        build(repair)
    else:
        with refused("h: a ring of radius 12.6 mm", "give a radius of at most 12.5 mm"):
            build(repair)


def test_the_radius_that_is_offered_has_room_to_every_side(refused):
    def ring(radius):
        place = Seat("top of strip")
        return strip().add("cylinder", place, "h", Ring(6, radius), diameter=4, height=3)

    # Sideways there is room for 48 mm, but the third stands 60 degrees round.
    with refused("past the back edge", f"at most {13 / math.sin(math.pi / 3):.2f} mm"):
        build(ring(60))
    assert build(ring(15.0)).volume == pytest.approx(12000 + 6 * 12 * math.pi)
    with refused("b reaches 5.5 mm past the right edge", "even by itself"):
        build(strip().add("box", Seat("top of strip", edge="right"), "b", Ring(4, 3), width=5))


@pytest.mark.parametrize(("n", "fine"), [(34, True), (35, False)])
def test_a_crowd_in_one_place_is_refused(n, fine, refused):
    row = strip().add("box", Seat("top of strip"), "h", Row(n, 0.1), width=5, depth=5)
    if fine:
        assert len(placed(row)["h"].solids) == n
    else:
        with refused("each overlaps up to 34 others", "further apart"):
            build(row)


def test_of_loose_ones_the_number_is_named(refused):
    repair = (
        Repair("r").add("box", name="base", width=30).add("box", At(), "post", Row(2, 40), width=4)
    )
    with refused("post 2"):
        build(repair)


# -- the other hand ----------------------------------------------------------------------------


def test_what_has_one_hand_keeps_it_in_a_mirror():
    """A left-hand thread fits no bolt, and letters seen in a mirror are not read."""
    for template in ("thread", "bottle_thread", "letters", "number_plate"):
        step = Repair("x").add(template, At(x=8)).mirrored("y").steps[0]
        assert (step.place.x, step.other_hand) == (-8, False), template
    assert Repair("x").add("box").mirrored("y").steps[0].other_hand
    word = {"text": "L", "height": 9}
    for mirror, way in (("left-right", 1), ("front-back", -1)):
        seat = Seat("top of strip", along=-20, across=-8, sink=0.2)
        repair = strip().add("letters", seat, "word", mirror=mirror, **word)
        one, other = placed(repair)["word"].solids
        off = [s.center() - s.bounding_box().center() for s in (one, other)]
        assert (off[1] - off[0] * way).length < 1e-6 < off[0].X * -1
    turned = strip().add("letters", seat, "word", mirror="left-right", other_hand=True, **word)
    assert all(s.center().X > s.bounding_box().center().X for s in placed(turned)["word"].solids)


def handle():
    repair = Repair("handle").add("wedge", At(3, 1, 0, turn=20, tilt=5), "grip", width=30, height=8)
    repair.add("clip", Seat("bottom of grip", along=2, turn=30, sink=0.5, tilt=4), "clip")
    repair.add(
        "peg",
        Seat("front of grip", edge=("left", "bottom"), inset=(4, 3)),
        "pins",
        repeat=Ring(3, 0.5, 25),
        diameter=2,
        length=3,
        section="D",
        across_flat=1.7,
    )
    repair.cut("box", Seat("bottom of grip", by="left", sink=2, turn=15), "notch", width=2, depth=3)
    return repair.add("wedge", Seat("back of grip", edge="left", inset=2, across=-2, sink=0.2), "ears", Row(2, 7), width=3, height=2, depth=1)  # fmt: skip


def test_the_other_hand_is_the_reflection_of_the_part():
    one, other = build(handle()), build(handle().mirrored("other"))
    assert other.volume == pytest.approx(one.volume, rel=1e-9)
    left, right = np.array([*one.center()]), np.array([*other.center()])
    assert right == pytest.approx(left * [-1, 1, 1], abs=1e-6)
    mine = sorted(tuple(np.round([-v.X, v.Y, v.Z], 4) + 0.0) for v in one.vertices())
    theirs = sorted(tuple(np.round([v.X, v.Y, v.Z], 4) + 0.0) for v in other.vertices())
    assert np.array(mine) == pytest.approx(np.array(theirs), abs=1e-3)


def test_twice_mirrored_is_the_part_itself():
    repair = handle()
    assert repair.mirrored("other").mirrored("handle").steps == repair.steps
    assert Repair.from_json(repair.mirrored("o").to_json()) == repair.mirrored("o")


def test_the_other_hand_follows_and_bears_the_mirrored_loads():
    from workbench.solids.recipe.service import Load

    repair = Repair("r").add("box", name="base", width=40)
    repair.add("box", Seat("top of base", along=Same("base.width / 4")), "post", width=4)
    repair.loads, repair.down, repair.shows = (Load("post", 3, (1, 0, -1)),), (1.0, 0, 0), ("left",)
    other = repair.mirrored("other").change("base", width=60)
    assert other.step("post").place.along == -15
    assert other.loads[0].direction == pytest.approx((-1, 0, -1))
    assert (other.down, other.shows) == ((-1.0, 0, 0), ("right",))
