"""Cuts near an edge: the wall that is left, on both sides of each limit, and a side that is opened."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from workbench.checks.cut_edges import LINES, _inside, cut_edges, thin_places
from workbench.checks.fix import apply
from workbench.checks.subject import Subject
from workbench.output.notebook.template_notebook import read_template
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat


def plate(along: float, place=None) -> Repair:
    """A plate of 40 x 20 x 4 with a hole of 5, so many mm from its middle."""
    repair = Repair("plate").add("box", name="body", width=40, depth=20, height=4)
    where = Seat("top of body", along=along, sink=5) if place is None else place
    return repair.cut("cylinder", where, "hole", diameter=5, height=6)


def told(repair: Repair):
    return list(cut_edges(Subject.of(repair)))


def test_a_hole_well_inside_and_a_plain_part_say_nothing():
    assert told(plate(0.0)) == told(plate(10.0)) == []
    assert told(Repair("box").add("box")) == []


@pytest.mark.parametrize("wall", [0.1, 0.2, 0.35, 0.45, 0.6, 0.74])
@pytest.mark.parametrize("seated", [True, False])
def test_a_wall_thinner_than_two_lines_is_told_with_its_width_and_put_right(wall, seated):
    along = 20 - 2.5 - wall
    repair = plate(along, None if seated else At(along, 0, -1))
    (found,) = told(repair)
    assert found.number == pytest.approx(wall, abs=0.02)
    assert found.limit == LINES * 0.4 == pytest.approx(0.8)
    assert found.severity == ("stop" if wall < 0.38 else "warning")
    assert told(apply(found.fix, repair.copy())) == []


def test_a_wall_of_two_lines_says_nothing():
    assert told(plate(20 - 2.5 - 0.85)) == []


@pytest.mark.parametrize("over", [0.05, 0.5, 2.4, 3.0])
def test_a_hole_that_breaks_through_an_edge_is_told(over):
    found = [f for f in told(plate(20 - 2.5 + over)) if f.rule == "open edge"]
    assert [f.severity for f in found] == ["warning"]
    assert "right" in found[0].text


@pytest.mark.parametrize("size", ["M5", "M10", "M12", "M16"])
def test_a_threaded_hole_opens_the_side_that_it_breaks_through_and_no_other(size):
    def nut(along: float) -> list[str]:
        repair = Repair("nut").add("box", name="body", width=40, depth=32, height=8)
        where = Seat("top of body", along=along, sink=9)
        repair.cut("thread", where, size=size, length=10, hole=True)
        return [f.text for f in told(repair) if f.rule == "open edge"]

    assert nut(0.0) == []
    for middle in (20.0, 20.0 - 3 / 16 * float(size[1:])):  # at the edge, and 3/8 of its radius in
        assert nut(middle) == ["thread opens a side of the part: right."]


def test_two_holes_too_near_each_other_are_told_once_and_their_other_walls_too():
    repair = plate(0.0).cut(
        "cylinder", Seat("top of body", along=5.3, sink=5), "two", diameter=5, height=6
    )
    (found,) = told(repair)
    assert found.number == pytest.approx(0.3, abs=0.02)
    assert told(apply(found.fix, repair.copy())) == []
    repair.change("body", width=2 * (5.3 + 2.5 + 0.1))  # nearer to the edge than to the hole
    assert {f.where for f in told(repair)} == {"hole", "two"}


def test_a_hole_that_opens_into_the_round_end_of_another_cut_opens_no_side():
    shelf = Path(__file__).parents[2] / "templates"
    assert told(read_template(shelf / "strap-buckle.ipynb")) == []


def windows(*walls: float) -> Repair:
    """A frame of 14 mm with two windows; the wall between them, and that before them."""
    between, before = walls
    repair = Repair("frame", down=(0, 0, -1)).add("box", name="body", width=50, depth=30, height=14)
    for name, side in (("one", -1), ("two", 1)):
        place = At(side * (9 + between / 2), before - 15 + 11, -1)
        repair.cut("box", place, name, width=18, depth=22, height=16)
    return repair


@pytest.mark.parametrize(
    ("walls", "rules"),
    [
        ((0.5, 3), {"thin edge"}),  # between two cuts
        ((3, 0.5), {"thinnest wall"}),  # before both, and one edit of the frame does for both
        ((3, 3), set()),
    ],
)
def test_a_thin_wall_beside_two_cuts_is_one_finding_and_its_fix_does(walls, rules):
    repair = windows(*walls)
    found = list(thin_places(Subject.of(repair)))
    assert [f.rule for f in found] == list(rules)
    for one in found:
        assert one.number == pytest.approx(0.5, abs=0.02)
        assert list(thin_places(Subject.of(apply(one.fix, repair)))) == []


def test_a_wall_that_a_section_shows_thicker_than_it_is_is_not_told_again():
    repair = Repair("part").add("box", name="body", width=60, depth=40, height=10)
    repair.cut("box", At(0, -8, 2), "room", width=40, depth=12, height=20)
    for name, x in (("one", 5), ("two", -8)):
        repair.cut("cylinder", At(x, 3.6, -1), name, diameter=10, height=20)
    found = list(thin_places(Subject.of(repair)))
    assert {f.rule for f in found} == {"thin edge"} and len(found) == 2
    assert [f.number for f in found] == pytest.approx([0.6, 0.6], abs=0.02)


@pytest.mark.parametrize(
    ("turn", "way"),
    [
        (0, "to the left"),
        (10, "to the left"),
        (90, "to the front"),
        (270, "to the back"),
        (45, "away"),
    ],
)
def test_a_hole_is_moved_away_from_the_wall_beside_it(turn, way):
    repair = Repair("part").add("cylinder", name="body", diameter=40, height=5)
    along, across = 4.8 * np.cos(np.radians(turn)), 4.8 * np.sin(np.radians(turn))
    repair.cut("cylinder", At(0, 0, -1), "hole", diameter=4.2, height=9)
    repair.cut("cylinder", At(along, across, -1), "other", diameter=4.2, height=9)
    (found,) = told(repair)
    assert found.where == "hole" and f" mm {way}" in found.remedy


def test_a_slot_to_the_edge_is_a_note_and_one_inside_is_silent():
    def slot(along: float) -> Repair:
        repair = Repair("p").add("box", name="body", width=40, depth=20, height=4)
        return repair.cut(
            "box", Seat("top of body", along=along, sink=2), "slot", width=12, depth=6, height=6
        )

    assert told(slot(0.0)) == []
    (found,) = told(slot(15.0))
    assert (found.severity, found.rule) == ("note", "open edge") and "right" in found.text


def test_a_notch_laid_on_the_edge_that_it_opens_is_meant():
    repair = Repair("part").add("fin", name="blade", bottom=46, top=39, height=71, inset=-7)
    notch = Seat("top of blade", sink=6, by="back")
    repair.cut("cylinder", notch, "notch", diameter=16, height=12)
    assert not list(cut_edges(Subject.of(repair)))


@pytest.mark.parametrize("edge", ["right", "front"])
def test_a_hole_that_is_held_by_an_edge_is_moved_in_from_it(edge):
    repair = plate(0, Seat("top of body", edge=edge, inset=2, sink=5))
    (found,) = told(repair)
    assert found.rule == "open edge" and found.fix
    assert told(apply(found.fix, repair.copy())) == []


def test_a_passage_that_opens_all_four_sides_is_meant_to():
    repair = Repair("lugs").add("box", name="body", width=16, depth=16, height=2)
    repair.add("box", At(0, 0, 2), "lugs", width=4.8, depth=4.8, height=6)
    repair.cut("cylinder", At(0, 0, 1), "passage", diameter=5, height=9)
    assert not [f for f in told(repair) if f.rule == "open edge"]


def test_what_is_beside_a_cut_is_not_in_it():
    """The corners of the box round a cylinder, below and above which its wall goes by."""
    repair = Repair("r").add("box", width=40, depth=40, height=9)
    repair.cut("cylinder", At(z=-1), "hole", diameter=20, height=11)
    tool = Subject.of(repair).part_mesh("hole")
    around = np.array([(x, y, z) for x in (-9, 0, 9) for y in (-9, 0, 9) for z in (0.0, 5.0)])
    inside = _inside(tool, around)
    assert inside.tolist() == [abs(x) + abs(y) < 10 for x, y, _z in around]


def test_a_cut_that_opens_into_another_opens_no_side():
    """A keyhole, a groove in a room's wall, and a groove that goes on through the end."""
    repair = Repair("r").add("box", width=40, depth=24, height=9)
    repair.cut("cylinder", name="entry", seat=At(x=-6), diameter=12, height=9)
    repair.cut("cylinder", name="rest", seat=At(x=3), diameter=8, height=9)
    assert "open edge" not in [f.rule for f in told(repair)]
    repair = Repair("r").add("box", name="box", width=40, depth=24, height=9)
    repair.cut("box", At(z=2), "room", width=30, depth=14, height=9)
    repair.cut("box", At(y=7.5, z=5), "groove", width=30, depth=3, height=2)
    assert "open edge" not in [f.rule for f in told(repair)]
    repair.change("groove", place=At(x=10, y=7.5, z=5))
    assert [f.text for f in told(repair) if f.rule == "open edge"] == [
        "groove opens a side of the part: right."
    ]
