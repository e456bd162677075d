"""The first checks: one piece, the bed, the thinnest wall, what hangs, and how it stands."""

from __future__ import annotations

from typing import Annotated

import numpy as np
import pytest
from bodies import arrays, block
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from parts import ALL, divider, screw_plate
from strategies import near_default

from workbench.checks import printability, walls
from workbench.checks.check import check, judge
from workbench.checks.orientation.orient import chosen_down, ways_up
from workbench.checks.report import SEVERITIES
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat


def found(rule, repair: Repair):
    return list(rule(Subject.of(repair)))


def sheet(
    thickness: Annotated[float, Size(0.001, 20_000, 0.001)] = 1.0,
    side: Annotated[float, Size(1, 20_000, 1)] = 30.0,
):
    """A square sheet of any size, as a user's own template might be."""
    from build123d import Align, Box

    return Box(side, side, thickness, align=(Align.CENTER, Align.CENTER, Align.MIN))


def thin_foot() -> Repair:
    repair = Repair("thin foot", down=(0, -1, 0))
    repair.add("fin", name="blade", bottom=46, top=37, height=71, inset=-7, thickness=4)
    return repair.add("tab", seat="bottom of blade", name="foot", width=11, length=4, thickness=2.4)


def test_a_sound_part_has_nothing_to_say_here():
    plate = Repair("cover").add("plate", width=40, height=30, thickness=3, holes=0)
    for rule in (
        printability.one_piece,
        printability.fits_bed,
        walls.thinnest,
        printability.hanging,
        printability.stands,
    ):
        assert found(rule, plate) == []


@pytest.mark.parametrize("make", ALL)
def test_every_demo_part_can_be_printed_and_each_finding_is_whole(make):
    report = check(make())
    assert report.ok
    order = [SEVERITIES.index(item.severity) for item in report.findings]
    assert order == sorted(order)
    ours = {"one piece", "fits the bed", "thinnest wall", "narrow gap", "hangs in the air"}
    for item in report.findings:
        assert "\n" not in item.text
        assert item.rule and item.where
        if item.rule in ours and not item.passed:
            assert item.text.endswith(".")
            assert item.remedy.endswith(".")
            assert item.number is not None and item.unit


# -- one piece ---------------------------------------------------------------------------------


def loose(*bodies) -> Subject:
    """A subject that is only a mesh; building refuses such parts earlier."""
    subject = Subject(Repair("loose"), None)
    vars(subject)["mesh"] = arrays(sum(bodies[1:], bodies[0]))
    return subject


def test_bodies_that_do_not_touch_stop_a_print():
    (finding,) = printability.one_piece(loose(block(5, 5, 5), block(5, 5, 5, (20, 0, 0))))
    assert (finding.severity, finding.number, finding.limit) == ("stop", 2.0, 1.0)
    assert "2 separate bodies" in finding.text


def test_a_hollow_inside_is_no_second_body():
    hollow = block(20, 20, 20) - block(5, 5, 5, (0, 0, 8))
    assert list(printability.one_piece(loose(hollow))) == []


def test_an_open_surface_stops_a_print():
    subject = loose(block(5, 5, 5))
    vertices, faces = subject.mesh
    vars(subject)["mesh"] = vertices, faces[1:]
    (finding,) = printability.one_piece(subject)
    assert finding.severity == "stop"
    assert "a gap" in finding.text


# -- the bed -----------------------------------------------------------------------------------


def test_a_part_larger_than_the_bed_stops_the_print():
    repair = Repair("floor").add("box", width=300, depth=300, height=4)
    (finding,) = found(printability.fits_bed, repair)
    assert finding.severity == "stop"
    assert (finding.number, finding.limit, finding.unit) == (pytest.approx(300), 210, "mm")
    assert "300 x 300 x 4 mm" in finding.text
    assert not check(repair).ok


def test_a_long_part_is_turned_on_the_bed():
    (finding,) = found(
        printability.fits_bed, Repair("rod").add("box", width=240, depth=8, height=8)
    )
    assert finding.severity == "note"
    assert "turn it by" in finding.text


def test_room_for_a_brim_is_kept():
    flat = (0, 0, -1)
    on = Repair("on", down=flat).add("box", width=210, depth=209, height=4)
    over = Repair("over", down=flat).add("box", width=211, depth=211, height=4)
    assert found(printability.fits_bed, on) == []
    (stop,) = found(printability.fits_bed, over)
    assert stop.severity == "stop"
    assert "211 x 211 x 4 mm on 220 x 220 x 250 mm with 5 mm kept free" in stop.text
    assert (stop.number, stop.limit) == (pytest.approx(211), 220 - 2 * 5)


# -- walls and gaps ----------------------------------------------------------------------------


@pytest.mark.parametrize(("thickness", "layers"), [(0.4, 2), (0.6, 3)])
def test_a_sheet_laid_flat_is_measured_through_its_layers(thickness, layers):
    (finding,) = found(walls.thinnest, Repair("sheet").add("fin", thickness=thickness))
    assert finding.severity == "warning"
    assert finding.number == pytest.approx(thickness, abs=0.01)
    assert finding.limit == pytest.approx(0.8)
    assert f"{layers} layers of 0.2 mm" in finding.text


@pytest.mark.parametrize(("thickness", "lines"), [(0.5, 1), (0.7, 1)])
def test_a_wall_that_stands_is_measured_in_lines(thickness, lines):
    standing = Repair("fin", down=(0, 0, -1)).add("fin", thickness=thickness)
    (finding,) = found(walls.thinnest, standing)
    assert finding.severity == "warning"
    assert finding.where == "fin"
    assert f"only {lines} line of 0.4 mm" in finding.text


def test_a_wall_thinner_than_a_line_stops_the_print():
    standing = Repair("leaf", down=(0, 1, 0)).add("box", width=30, depth=20, height=0.25)
    (finding,) = found(walls.thinnest, standing)
    assert finding.severity == "stop"
    assert finding.number == pytest.approx(0.25, abs=0.01)
    assert "less than one line" in finding.text


@pytest.mark.parametrize("thickness", [0.8, 1.6])
def test_two_lines_are_enough(thickness):
    for down in ((0, 0, -1), (0, 1, 0)):
        repair = Repair("fin", down=down).add("fin", thickness=thickness)
        assert found(walls.thinnest, repair) == []


def test_a_gap_that_would_close_is_named():
    repair = Repair("split").add("box", name="jaw", width=20, depth=10, height=10)
    repair.cut("box", seat=Seat("top of jaw", sink=8), name="slit", width=0.3, depth=12, height=9)
    (finding,) = found(walls.thinnest, repair)
    assert finding.rule == "narrow gap"
    assert finding.number == pytest.approx(0.3, abs=0.01)


def bolt(size: str, length: float) -> Repair:
    repair = Repair("bolt").add("box", name="head", width=25, depth=25, height=6)
    return repair.add("thread", "top of head", size=size, length=length)


def nut(size: str, height: float, **place: float) -> Repair:
    repair = Repair("nut").add("box", name="body", width=30, depth=30, height=height)
    where = Seat("top of body", **{"sink": height + 1, **place})
    return repair.cut("thread", where, size=size, length=height + 2, hole=True)


@pytest.mark.parametrize("size", ["M5", "M8", "M12", "M16"])
def test_the_ridges_of_a_thread_are_no_thin_walls_and_its_furrows_no_gaps(size):
    assert found(walls.thinnest, bolt(size, 20)) == []
    assert found(walls.thinnest, nut(size, 10)) == []
    rod = Repair("rod").add("thread", size=size, length=15)
    assert found(walls.thinnest, rod) == []


def test_a_thin_wall_beside_a_thread_or_within_its_core_is_told_all_the_same():
    beside = nut("M10", 10, along=15 - 5.1 - 0.3)
    assert [f.severity for f in found(walls.thinnest, beside)] == ["stop"]
    tube = Repair("tube").add("thread", name="rod", size="M20", length=15)
    root = (20 - 0.2) / 2 - 5 / 8 * 3**0.5 / 2 * 2.5
    tube.cut("cylinder", Seat("top of rod", sink=16), diameter=2 * (root - 0.3), height=17)
    (finding,) = found(walls.thinnest, tube)
    assert finding.number == pytest.approx(0.3, abs=0.05)


def test_ridges_reach_a_little_into_the_core_and_are_found_all_round_the_finest_thread():
    rod = Subject.of(Repair("rod").add("thread", size="M4", length=2, allowance=0))
    root = 2 - 5 / 8 * 3**0.5 / 2 * 0.7

    def share(radius: float) -> float:
        turns = np.linspace(0, 2 * np.pi, 60, endpoint=False)
        places = np.column_stack([radius * np.cos(turns), radius * np.sin(turns), turns * 0 + 1])
        return float(walls._among_ridges(rod, "thread", places).mean())

    assert share(1.98) == share(root + 0.1) == 1
    assert 0 < share(root - 0.11) and share(root - 0.13) == 0
    assert share(2.01) == 0


# -- hanging -----------------------------------------------------------------------------------


def test_the_hanging_foot_of_a_part_laid_flat_is_told_with_area_and_height():
    (finding,) = found(printability.hanging, thin_foot())
    assert finding.text == (
        "Laid flat on its front, 44 mm² of the foot would hang 0.8 mm above the bed."
    )
    assert (finding.severity, finding.where) == ("warning", "foot")
    assert (finding.number, finding.unit) == (pytest.approx(44, rel=1e-3), "mm²")
    assert "Support" in finding.remedy


def test_why_the_divider_is_not_laid_flat_is_told():
    flat = [f for f in found(printability.hanging, divider()) if f.text.startswith("Laid flat")]
    assert len(flat) == 1
    assert flat[0].severity == "note"
    assert flat[0].remedy.startswith("Print it on its slanting")


def test_chosen_flat_all_the_same_it_warns():
    repair = divider()
    repair.down = (0, -1, 0)
    (finding,) = found(printability.hanging, repair)
    assert finding.severity == "warning"


# -- standing ----------------------------------------------------------------------------------


def test_a_tall_thin_part_gets_a_brim():
    repair = Repair("fin", down=(0, 0, -1)).add("fin", thickness=1.6)
    (finding,) = found(printability.stands, repair)
    assert "brim of 8 mm" in finding.text
    assert finding.severity == "note"


def test_a_part_that_falls_by_itself_is_told():
    leaning = Repair("gallows", down=(0, 0, -1)).add("fin", bottom=8, top=8, height=60, inset=30)
    finding = found(printability.stands, leaning)[0]
    assert "fall over by itself" in finding.text
    assert finding.severity == "warning"


def test_a_slender_pin_is_a_small_tower():
    repair = Repair("pin", down=(0, 0, -1)).add("box", name="base", width=30, depth=30, height=3)
    repair.add("cylinder", seat=Seat("top of base", sink=0.5), name="pin", diameter=3, height=25)
    (finding,) = found(printability.stands, repair)
    assert (finding.rule, finding.where) == ("small tower", "pin")


# -- what cannot be judged ---------------------------------------------------------------------


def test_a_part_of_ten_metres_is_told_once_in_words():
    report = check(Repair("wall").add(sheet, thickness=10_000.0, side=10_000.0))
    stops = [item for item in report.findings if item.severity == "stop"]
    assert {item.rule for item in stops} == {"fits the bed", "can be printed"}
    assert len(stops) == 2
    assert report.orientations


def test_a_part_of_a_hundredth_of_a_millimetre_is_told_once_in_words():
    report = check(Repair("film", down=(0, 0, -1)).add(sheet, thickness=0.01, side=30.0))
    (finding,) = (item for item in report.findings if item.rule == "can be printed")
    assert "0.01 mm high" in finding.text
    assert not report.ok


def test_judging_twice_gives_the_same():
    subject = Subject.of(screw_plate())
    assert judge(subject).findings == judge(subject).findings
    assert np.array_equal(chosen_down(subject), chosen_down(Subject.of(screw_plate())))


@pytest.mark.parametrize(
    ("bottom", "height", "words"), [(10, 20, "edge or a point"), (1, 100, "point or an edge")]
)
def test_a_part_on_its_tip_is_told(bottom, height, words):
    tip = Repair("tip", down=(0, 0, 1)).add("cone", bottom=bottom, top=0, height=height)
    assert words in found(printability.stands, tip)[0].text


# -- every template ----------------------------------------------------------------------------

RULES = (
    printability.one_piece,
    printability.fits_bed,
    walls.thinnest,
    printability.hanging,
    printability.stands,
)


@pytest.mark.parametrize("name", ["plate", "fin", "clip", "peg", "tab", "wedge", "cone", "sphere"])
@settings(max_examples=6)
@given(data=st.data())
def test_whatever_a_template_gives_is_judged_in_words_and_numbers(name, data):
    values = data.draw(near_default(catalogue.find(name)))
    try:
        subject = Subject.of(Repair("part").add(name, **values))
    except RepairError:
        assume(False)
    for rule in RULES:
        for item in rule(subject):
            assert item.number is None or np.isfinite(item.number)
            assert "nan" not in item.text and "inf" not in item.text
    best = ways_up(subject)[0]
    assert np.isfinite(best.minutes)
    assert best.down == chosen_down(subject)


@pytest.mark.parametrize(("high", "wide", "shown"), [
    (0.2, 2.2, False), (0.4, 2.2, True), (0.2, 3.0, True), (2.0, 2.2, True)])  # fmt: skip
def test_what_sags_by_one_layer_onto_the_bed_needs_no_support(high, wide, shown):
    part = Repair("part", down=(0, 0, -1)).add("box", width=20, depth=20, height=10)
    part.add("box", At(9.9 + wide / 2, 0, high), "lug", width=wide + 0.2, depth=2, height=3)
    report = check(part)
    (found,) = [f for f in report.findings if f.rule == "hangs in the air" and f.where == "lug"]
    assert (found in report.shown) == shown


@pytest.mark.parametrize(("strip", "severity"), [(0.3, "stop"), (0.6, "warning"), (1.0, None)])
def test_two_steps_that_meet_along_a_strip_hold_by_a_thin_wall(strip, severity):
    repair = Repair("pair").add("box", name="one", width=30, depth=30, height=10)
    repair.add("box", name="other", seat=At(30, 30 - strip, 0), width=30, depth=30, height=10)
    told = [finding for finding in check(repair).findings if finding.rule == "thinnest wall"]
    assert [finding.severity for finding in told] == ([severity] if severity else [])
    assert [finding.number for finding in told] == (
        [pytest.approx(strip, abs=0.01)] if told else []
    )
