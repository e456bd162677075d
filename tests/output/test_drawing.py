"""Drawings: every size once, in its place, over nothing else; and the bench's quick sketch."""

from __future__ import annotations

import re
import warnings
from datetime import datetime
from io import BytesIO
from xml.etree import ElementTree

import matplotlib
import matplotlib.image
import numpy as np
import pypdf
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from parts import ALL, ALONE, divider, door, peg, rail, screw_plate
from shown import off_the_page, overlaps, texts
from strategies import near_default, values
from turns import turn

from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.output.drawing import views
from workbench.output.drawing.arrangement import SCALES
from workbench.output.drawing.dimensions import dimensions
from workbench.output.drawing.drawing import draw, scale_text, sized_views
from workbench.output.drawing.paper import NOTE, Page, Words, text_width, written
from workbench.output.drawing.view_allocation import shared_out
from workbench.output.drawing.views import FRONT, LEFT, RIGHT, TOP, view
from workbench.solids import catalogue
from workbench.solids.building.build import assemble
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Row
from workbench.solids.recipe.seat import At, Seat
from workbench.words import uncertain


def drawn(repair, **options):
    return draw(repair, assemble(repair), **options)


@pytest.mark.parametrize("make", ALL)
def test_no_text_runs_over_another_or_off_the_page(make):
    for paper in ("A4", "Letter"):
        figure = drawn(make(), paper=paper)
        assert overlaps(figure) == []
        assert off_the_page(figure) == []


@pytest.mark.parametrize("name", turn(ALONE, 0, of=2))
def test_every_shipped_template_can_be_drawn(name):
    figure = drawn(Repair(name).add(name))
    assert overlaps(figure) == []
    assert off_the_page(figure) == []


@pytest.mark.parametrize(
    ("name", "other"), [("thread", "_seen_exactly"), ("clip", "_seen_from_mesh")]
)
def test_only_what_is_mostly_free_form_is_seen_from_its_mesh(monkeypatch, name, other):
    """A thread's helices cover one another: hiding them exactly takes forty times as long."""
    solid = assemble(Repair(name).add(name)).solid

    def refused(*_given):
        raise AssertionError(other)

    monkeypatch.setattr(views, other, refused)
    assert view(solid, TOP).visible


@pytest.mark.parametrize("direction", [FRONT, LEFT])
def test_a_thread_seen_from_its_mesh_has_the_lines_that_it_has_exactly(monkeypatch, direction):
    """Within the chord that a curve may be off by, both ways."""
    solid = assemble(Repair("thread").add("thread")).solid

    def seen():
        return shapely.union_all([shapely.LineString(v) for v in view(solid, direction).visible])

    fast = seen()
    monkeypatch.setattr(views, "_seen_from_mesh", views._seen_exactly)
    assert 0 < fast.hausdorff_distance(seen()) < 0.02


def test_the_numbers_are_those_of_the_repair():
    shown = texts(drawn(divider()))
    for number in ("37", "30", "4", "1.6", "2.4", "7", "45.95 ± 0.04", "71.0 ± 0.3"):
        assert shown.count(number) == 1
    # What follows from the others stands in brackets: overall width and height.
    assert shown.count("(52.95)") == 1
    assert shown.count("(75)") == 1


def test_a_size_that_was_changed_since_it_was_read_is_not_marked_as_read():
    repair = divider().change("blade", bottom=36.5)
    shown = texts(drawn(repair))
    assert "36.5" in shown and not any(text.startswith("45.95") for text in shown)


def test_holes_give_their_diameter_number_and_place():
    shown = texts(drawn(screw_plate()))
    assert "2 × ⌀4.5" in shown  # M4, medium, ISO 273
    assert "⌀3.2" in shown
    assert "4 × R3" in shown
    assert "40" in shown  # spacing
    assert "38.5" in shown and "13" in shown  # the pin hole from the left and from the front
    assert any("screw M4" in text for text in shown)


def test_round_parts_are_dimensioned_from_the_side():
    shown = texts(drawn(peg()))
    assert "⌀9" in shown
    assert any(text.startswith("⌀4.92 ± 0.02") for text in shown)


def test_angles_and_fillets_of_a_clip():
    shown = texts(drawn(door()))
    assert {"30°", "80°", "2 × R1"} <= set(shown)
    assert "2" in shown  # at the root, as if its fillets were not there


def test_a_part_set_askew_is_dimensioned_along_its_own_edges():
    shown = texts(drawn(rail()))
    assert shown.count("12") == 2  # the ramp's width, and the body's depth
    assert shown.count("8") == 2  # the ramp's depth, and the tongue's width


def test_equal_sizes_in_the_same_place_are_given_once():
    repair = Repair("twice").add("box", name="low", width=20, depth=10, height=5)
    repair.add("box", seat="top of low", name="high", width=20, depth=10, height=7)
    shown = texts(drawn(repair))
    assert shown.count("20") == 1 and shown.count("10") == 1
    assert {"5", "7", "(12)"} <= set(shown)


def test_the_reading_wins_where_two_sizes_are_one():
    repair = Repair("twice").add("box", name="low", width=20, depth=10, height=5)
    repair.add("box", seat="top of low", name="high", width=Reading(20), depth=10, height=7)
    assert "20.00 ± 0.02" in texts(drawn(repair))


def test_where_a_part_stands_is_given_from_the_edge_that_it_stands_on():
    repair = Repair("tray").add("box", name="base", width=50, depth=30, height=4)
    repair.add("box", seat=Seat("top of base", along=12), name="block", width=6, depth=6, height=6)
    repair.cut("cylinder", seat=At(-18, 8, -1), name="pin", diameter=3, height=9)
    shown = texts(drawn(repair))
    assert "34" in shown  # 25 + 12 - 3, from the left end to the block's left side
    assert "7" in shown and "23" in shown  # the hole: -18 + 25 across, 8 + 15 up


def test_the_title_block_and_the_page(tmp_path):
    figure = drawn(divider(), revision=7, date=datetime(2026, 3, 9))
    shown = texts(figure)
    assert {"Tray divider", "PLA", "generic 220", "7", "2026-03-09", "1:1", "mm"} <= set(shown)
    (page,) = pypdf.PdfReader(BytesIO(written(figure, "pdf", "Tray divider"))).pages
    assert [round(float(v) / 72 * 25.4, 1) for v in page.mediabox[2:]] == [297.0, 210.0]
    assert "45.95 ± 0.04" in page.extract_text()
    (page,) = pypdf.PdfReader(BytesIO(written(drawn(divider(), paper="Letter")))).pages
    assert [float(v) / 72 for v in page.mediabox[2:]] == pytest.approx([11, 8.5])


def test_first_and_third_angle_put_the_views_where_they_belong():
    """A tongue at the left end: first angle shows it seen from the left, drawn at the right."""
    for projection, side in (("first", "First"), ("third", "Third")):
        shown = texts(drawn(rail(), projection=projection))
        assert any(text.startswith(f"{side}-angle") for text in shown)
    assert any(t.startswith("First") for t in texts(drawn(peg())))
    assert any(t.startswith("Third") for t in texts(drawn(peg(), paper="Letter")))


def test_scales_are_those_of_iso_5455_and_fit():
    large = Repair("shelf").add("box", width=380, depth=200, height=18)
    small = Repair("pin").add("cylinder", diameter=1.5, height=4)
    assert "1:5" in texts(drawn(large)) or "1:2" in texts(drawn(large))
    assert "10:1" in texts(drawn(small))
    assert {scale_text(s) for s in SCALES} >= {"1:1", "2:1", "5:1", "10:1", "1:2", "1:5", "1:10"}


def test_a_view_without_sizes_gives_way_to_a_larger_scale():
    """A clip's top view says nothing: without it front and side come out at 5:1."""
    shown = texts(drawn(Repair("clip").add("clip")))
    assert "5:1" in shown and {"15", "2", "6"} <= set(shown)


def test_equal_sizes_of_many_steps_are_given_once():
    repair = Repair("rack").add("box", name="base", width=80, depth=20, height=4)
    for i in range(4):
        at = At(-30 + 20 * i, 0, 3.8)
        repair.add("box", seat=at, name=f"post {i + 1}", width=6, depth=8, height=9)
        repair.cut(
            "cylinder", seat=At(-20 + 20 * i, 0, -1), name=f"hole {i + 1}", diameter=3, height=9
        )
    shown = texts(drawn(repair))
    assert {"4 × 6", "4 × ⌀3"} <= set(shown)
    assert "6" not in shown and "⌀3" not in shown
    # Seen from the side they lie behind one another: one size for all.
    assert shown.count("8") == 1


def test_what_finds_no_room_is_listed_not_drawn_over():
    repair = Repair("stair")
    for i in range(30):
        width = 6 + round(0.1 * i, 1)
        repair.add("box", At(5.0 * i), f"step {i}", width=width, depth=5, height=5 + i)
    figure = drawn(repair)
    assert overlaps(figure) == []
    assert off_the_page(figure) == []
    assert any(text.startswith("Not drawn: ") for text in texts(figure))


def test_few_corners_of_an_outline_are_dimensioned_and_many_are_numbered():
    few = texts(drawn(Repair("panel").add("panel", name="part")))
    assert {"7", "12", "22", "37", "44", "46"} <= set(few)
    wheel = [(20 * np.cos(t), 20 * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 12)[:-1]]
    many = texts(drawn(Repair("wheel").add("panel", name="part", outline=wheel)))
    assert {str(n) for n in range(1, 12)} <= set(many)
    assert any("1 (20, 0)" in text for text in many)


def test_a_ball_says_that_it_is_one():
    assert "S⌀30" in texts(drawn(Repair("ball").add("sphere", diameter=30)))


@given(st.data())
def test_any_part_is_drawn_with_nothing_over_anything(data):
    name = data.draw(st.sampled_from(ALONE))
    template = catalogue.find(name)
    drawn_values = data.draw(near_default(template) | values(template))
    try:
        repair = Repair(name).add(name, **drawn_values)
        assembly = assemble(repair)
    except RepairError:
        return
    figure = draw(repair, assembly)
    assert overlaps(figure) == [] and off_the_page(figure) == []


def test_svg_text_stays_text_and_files_are_repeatable():
    date = datetime(2026, 3, 9)
    first = written(drawn(divider(), date=date), "svg")
    root = ElementTree.fromstring(first)
    words = {
        "".join(node.itertext()).strip() for node in root.iter("{http://www.w3.org/2000/svg}text")
    }
    assert "45.95 ± 0.04" in words
    assert first == written(drawn(divider(), date=date), "svg")
    assert written(drawn(divider(), date=date)) == written(drawn(divider(), date=date))
    assert written(drawn(divider(), date=date), "png").startswith(b"\x89PNG")


def test_names_that_look_like_formulas_or_that_the_font_lacks_do_no_harm():
    for name in ("$x_1$ & 50 % <b>", "棚板のピン", "a" * 200):
        repair = peg()
        repair.name = name
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            written(drawn(repair), "svg")
            for _title, svg in sized_views(repair, assemble(repair)):
                ElementTree.fromstring(svg)


def test_drawing_leaves_matplotlibs_settings_alone():
    import matplotlib.pyplot as plt

    before = dict(matplotlib.rcParams)
    written(drawn(divider()), "svg")
    assert dict(matplotlib.rcParams) == before
    assert plt.get_fignums() == []


def test_unknown_paper_is_refused():
    with pytest.raises(RepairError, match="paper is 'A3'; give one of A4, Letter"):
        drawn(peg(), paper="A3")


# -- views ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("direction", [FRONT, TOP, LEFT, RIGHT])
def test_a_view_is_as_large_as_the_part(direction):
    solid = assemble(divider()).solid
    box = solid.bounding_box()
    corners = np.array([[*box.min], [*box.max]]) @ direction.axes
    left, bottom, right, top = view(solid, direction).bounds
    assert [left, bottom] == pytest.approx(corners.min(axis=0).tolist(), abs=1e-6)
    assert [right, top] == pytest.approx(corners.max(axis=0).tolist(), abs=1e-6)


def test_hidden_lines_are_hidden_and_drawn_once():
    """A blind hole from below: its side lines are hidden in the front view, its top line too."""
    repair = Repair("block").add("box", name="block", width=20, depth=20, height=10)
    repair.cut("cylinder", seat=At(0, 0, -1), name="blind", diameter=6, height=5)
    front = view(assemble(repair).solid, FRONT)
    total = sum(float(np.hypot(*np.diff(line, axis=0).T).sum()) for line in front.hidden)
    assert total == pytest.approx(4 + 4 + 6, abs=0.02)


def test_each_dimension_goes_to_a_view_that_shows_its_true_size():
    for make in ALL:
        repair = make()
        found = dimensions(repair, assemble(repair))
        shares, left = shared_out(found.drawn, (FRONT, LEFT, TOP))
        assert left == []
        assert shares[0]


# -- the views on the bench -----------------------------------------------------------------------


def test_the_bench_shows_each_view_that_has_sizes_and_says_which_is_which():
    repair = divider()
    views = sized_views(repair, assemble(repair), "blade.bottom")
    assert [title for title, _svg in views] == ["Front view, in mm", "Top view, in mm"]
    front, top = (ElementTree.fromstring(svg) for _title, svg in views)
    assert front.attrib["aria-label"] == "Front view, in mm"
    by_size = {node.attrib.get("data-about"): node for node in _texts(front)}
    assert by_size["blade.bottom"].text == "45.95 ± 0.04"
    assert by_size["blade.bottom"].attrib["fill"] != by_size["blade.top"].attrib["fill"]
    thickness = {node.attrib.get("data-about") for node in _texts(top)}
    assert "blade.thickness" in thickness - by_size.keys()
    assert re.fullmatch(r"[-\d. ]+", front.attrib["viewBox"])


def _texts(svg: ElementTree.Element) -> list[ElementTree.Element]:
    return list(svg.iter("{http://www.w3.org/2000/svg}text"))


@given(st.floats(0.01, 300), st.floats(1e-3, 2))
def test_a_reading_has_the_places_of_its_uncertainty(value, uncertainty):
    """One significant digit or two in the uncertainty, and the value rounded to match."""
    told, doubt = uncertain(value, uncertainty).split(" ± ")
    places = [len(text.partition(".")[2]) for text in (told, doubt)]
    assert places[0] == places[1]
    assert 1 <= len(doubt.replace(".", "").strip("0")) <= 2
    assert float(doubt) == pytest.approx(uncertainty, rel=0.26)
    assert abs(float(told) - value) <= 0.5 * 10 ** -places[0] + 1e-9


def test_arcs_are_measured_between_their_outermost_points():
    """A fluted grip, a D-shaped bore and open channels are round, but have no full circle."""
    shown = texts(drawn(Repair("knob").add("knob", diameter=26.5, shaft=6.15, across_flat=4.65)))
    assert {"⌀26.5", "⌀6.15", "4.65", "8 × ⌀4"} <= set(shown)
    assert "⌀6.35" in texts(drawn(Repair("guide").add("guide", cable=6.35)))


# -- patterns and edges ------------------------------------------------------------------------


def test_a_pattern_is_counted_and_its_place_given_from_the_edges_that_it_was_measured_from() -> (
    None
):
    repair = Repair("strip").add("box", name="strip", width=200, depth=40, height=4)
    seat = Seat("top of strip", edge=("left", "front"), inset=(10, 8), sink=4)
    repair.cut("cylinder", seat, "holes", repeat=Row(10, 20), diameter=4.5, height=4)
    found = dimensions(repair, assemble(repair))
    of_holes = [d.text for d in found.drawn if d.about[0] == "holes"]
    assert "10 × ⌀4.5" in of_holes
    assert {"9 × 20", "10", "8"} <= set(of_holes)
    assert len(found.round_axes) == 10


def test_a_pair_is_counted() -> None:
    repair = Repair("strip").add("box", name="strip", width=60, depth=40, height=4)
    seat = Seat("top of strip", edge="left", inset=8, sink=4)
    repair.cut("cylinder", seat, "hole", mirror="left-right", diameter=4.5, height=4)
    found = dimensions(repair, assemble(repair))
    assert "2 × ⌀4.5" in [d.text for d in found.drawn]


@pytest.mark.parametrize("dpi", [100, 150])
def test_a_line_of_type_is_no_wider_in_a_picture_than_it_was_reckoned(dpi):
    line = "gap: width 12 mm, depth 0.4 mm, height 12 mm; leaves: holes 2, rows 1, screw M3"
    page = Page("A4", landscape=True)
    page.put([Words(line, 20.0, 100.0, NOTE)])
    ink = matplotlib.image.imread(BytesIO(written(page.figure, "png", dpi=dpi)))[..., 0] < 0.5
    right = np.flatnonzero(ink.any(axis=0)).max() / dpi * 25.4
    assert -1.0 < right - 20.0 - text_width(line, NOTE) < 0.2  # pairs may stand closer
