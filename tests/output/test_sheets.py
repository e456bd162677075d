"""Sheets to print and to write on: all there, on one page, with nothing over anything."""

from __future__ import annotations

import re
from io import BytesIO

import numpy as np
import pypdf
import pytest
from parts import ALL, ALONE, divider, door, peg, rail
from shown import off_the_page, overlaps, texts
from turns import turn

from workbench.checks.check import judge
from workbench.checks.orientation.orient import ways_up
from workbench.checks.report import Finding, Report
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline, trapezoid
from workbench.measure.outlines.triangles import decompose
from workbench.measure.photos.trace_result import Hole
from workbench.output.drawing.paper import TEXT, shortened, text_width, wrapped, written
from workbench.output.files.laid_part import on_the_bed
from workbench.output.sheets.coupon_sheet import coupon_sheet
from workbench.output.sheets.handouts import holes_in, outlined
from workbench.output.sheets.measuring_sheet import measuring_sheets
from workbench.output.sheets.print_sheet import print_sheet
from workbench.output.sheets.triangle_sheet import BLANK, triangle_sheets
from workbench.solids import catalogue
from workbench.solids.drawn.holes import cut_holes
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Ring, Row
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import At, Seat
from workbench.solids.recipe.service import OUTCOMES

SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}


def sheet_for(repair, report=None, **options):
    subject = Subject.of(repair)
    found = judge(subject) if report is None else report
    return print_sheet(subject, found, on_the_bed(subject), **options)


def fine(figure) -> bool:
    return overlaps(figure) == [] and off_the_page(figure) == []


def page_text(figure) -> tuple[str, tuple[float, float]]:
    (page,) = pypdf.PdfReader(BytesIO(written(figure))).pages
    width, height = (float(v) / 72 * 25.4 for v in page.mediabox[2:])
    return " ".join(page.extract_text().split()), (width, height)


# -- the print sheet ------------------------------------------------------------------------------


@pytest.mark.parametrize("paper", SIZES)
def test_a_print_sheet_is_one_page_of_its_paper(paper):
    figure = sheet_for(divider(), revision=4, paper=paper)
    assert fine(figure)
    text, size = page_text(figure)
    assert size == pytest.approx(SIZES[paper], abs=0.1)
    for words in ("Print sheet", "Tray divider", "revision 4", "Settings", "Which way up"):
        assert words in text
    assert "layer, line" in text and "0.2 mm high, 0.45 mm wide" in text
    assert "nozzle 205 °C, bed 60 °C" in text
    assert "licensed trades take precedence" in text


def test_the_distance_between_pegs_of_a_row_is_on_the_sheet():
    pegs = Repair("row").add("cylinder", diameter=4, height=6, repeat=Row(3, 3.25))
    shown = texts(sheet_for(pegs))
    row = shown.index(f"cylinder, {pegs.step('cylinder').said('repeat.pitch')}")
    assert "3.25" in shown[row : row + 4]


def test_sizes_that_fit_something_come_first_with_room_to_write():
    shown = texts(sheet_for(divider()))
    sizes = [text for text in shown if text in ("foot, thickness", "blade, bottom", "height")]
    assert sizes[0] == "foot, thickness"
    assert any("clearance fit in 2.48 ± 0.04 mm" in text for text in shown)
    assert {"drawn", "measured", "difference"} <= set(shown)


def test_a_part_without_readings_is_measured_all_the_same():
    shown = texts(sheet_for(door()))
    assert "door, width" in shown and "clip, length" in shown
    assert "width on the bed" in shown


def test_every_outcome_of_a_trial_can_be_ticked():
    shown = texts(sheet_for(divider()))
    assert all(shown.count(outcome) == 1 for outcome in OUTCOMES)


def test_a_stop_stands_at_the_top_in_words():
    repair = rail()
    repair.uses = ("mains",)
    figure = sheet_for(repair)
    assert fine(figure)
    shown = texts(figure)
    assert shown.index("Do not print yet") < shown.index("Settings")
    assert any(text.startswith("Mains voltage") for text in shown)
    assert "Do not print yet" not in texts(sheet_for(peg()))


def warnings(text: str, count: int) -> tuple[Finding, ...]:
    return tuple(
        Finding(severity="warning", rule=f"rule {i}", where="peg", text=text.format(i=i))
        for i in range(count)
    )


def test_more_findings_than_fit_are_counted():
    many = warnings("Finding number {i} says a good deal. " * 3, 30)
    figure = sheet_for(peg(), Report(many))
    assert fine(figure)
    shown = texts(figure)
    more = next(text for text in shown if "more warnings" in text)
    told = {m[1] for text in shown if (m := re.match(r"Finding number (\d+)", text))}
    assert len(told) + int(more.split()[0]) == 30


@pytest.mark.parametrize("paper", SIZES)
def test_warnings_go_before_sizes_and_notes(paper):
    """Three long warnings after many notes are all told; sizes to measure make room for them."""
    notes = tuple(
        Finding(severity="note", rule=f"n {i}", where="peg", text=f"Note {i} is short.")
        for i in range(9)
    )
    wrong = warnings("Warning {i} says a good deal. " * 7, 3)
    figure = sheet_for(divider(), Report((*notes, *wrong)), paper=paper)
    assert fine(figure)
    shown = " ".join(texts(figure))
    assert all(f"Warning {i}" in shown for i in range(3))
    assert {"width on the bed", "depth on the bed", "height"} <= set(texts(figure))


def test_the_side_and_its_reason_are_told():
    repair = divider()
    repair.down = (0.0, 1.0, 0.0)
    subject = Subject.of(repair)
    shown = " ".join(texts(sheet_for(repair)))
    chosen = next(o for o in ways_up(subject) if o.chosen)
    assert chosen.name in shown.lower() or chosen.name.capitalize() in shown


# -- the measuring sheet --------------------------------------------------------------------------

PLAIN = ALONE
#: What no length of the shape shows: of a solid turning, a gear's teeth and a thread by its name.
UNSEEN = ("wall", "module", "pressure_angle", "backlash", "allowance", "diameter", "pitch")
LETTER = re.compile(r"[A-Z]\d?")


def lettered(pages) -> list[str]:
    """Every letter for a size on the pages; choices to tick, such as D or M3, are set smaller."""
    return sorted(
        text.get_text()
        for page in pages
        for text in page.axes[0].texts
        if LETTER.fullmatch(text.get_text()) and text.get_fontsize() >= TEXT
    )


def handles() -> Repair:
    """A rack of a dozen steps, whose drawing is too crowded to be read."""
    repair = Repair("Rack").add("box", name="base", width=150, depth=12, height=4)
    for i in range(11):
        width, high = round(6 + 0.2 * i, 1), 5 + 2 * i
        at = At(13.0 * i - 65, round(0.1 * i - 0.5, 1), 3.5)
        repair.add("box", at, f"post {i + 1}", width=width, depth=8 - 0.3 * i, height=high)
    return repair


@pytest.mark.parametrize("name", turn(PLAIN, 1, of=2))
def test_every_template_has_a_measuring_sheet_with_each_letter_where_it_is_measured(name):
    """Every size that a template asks for is in the table, and drawn; the sheet is one page."""
    (page,) = measuring_sheets(name)
    assert fine(page)
    shown = texts(page)
    assert {"1st", "2nd", "3rd", "mean"} <= set(shown)
    letters = lettered([page])
    assert letters == sorted(2 * sorted(set(letters)))  # once drawn, once in the table
    joined = " ".join(shown)
    template = catalogue.find(name)
    sizes = [p for p in template.parameters if isinstance(p.kind, Size) and p.default]
    asked = [p for p in sizes if p.label in shown or p.label in joined]
    # Left out is only what does not matter: the head of a screw that is not countersunk.
    assert {p.name for p in sizes} - {p.name for p in asked} <= {
        *("hole", "head", "row_spacing", "edge_thickness", "edge_height"),
        *("across_flat", "groove_width", "groove_height"),
        *UNSEEN,
    }
    assert len(asked) >= 0.6 * len([p for p in sizes if p.name not in UNSEEN])


def test_letters_in_the_drawing_are_those_of_the_table():
    (page,) = measuring_sheets("fin")
    shown = texts(page)
    for letter in "ABCDE":
        assert shown.count(letter) == 2
    assert "across the bottom edge" in shown
    assert not any(re.fullmatch(r"\d+(\.\d+)?", text) for text in shown)


@pytest.mark.parametrize("make", [*ALL, handles])
@pytest.mark.parametrize("paper", SIZES)
def test_a_repair_can_be_measured_again_on_as_many_pages_as_it_takes(make, paper):
    pages = measuring_sheets(make(), paper)
    assert all(fine(page) for page in pages)
    letters = lettered(pages)
    assert letters and letters == sorted(2 * sorted(set(letters)))
    for number, page in enumerate(pages, 1):
        assert (f"page {number} of {len(pages)}" in texts(page)) == (len(pages) > 1)
        assert {"name", "class", "date"} <= set(texts(page))


def test_where_a_step_stands_is_measured_from_its_edges():
    repair = Repair("shelf bracket").add("box", name="base", width=60, depth=40, height=5)
    seat = Seat("top of base", edge=("right", "back"), inset=(7, 9))
    repair.cut("cylinder", seat, "hole", diameter=5, height=5)
    repair.add("box", Seat("top of base", edge="left", inset=4), "rib", width=3, depth=20, height=8)
    repair.change("rib", **{"place.inset": Same("hole.diameter")})
    (page,) = measuring_sheets(repair)
    told = " ".join(texts(page))
    assert "hole, inset right" in told and "hole, inset back" in told
    assert "from the right edge of the face" in told
    assert "rib, inset" not in told, "what follows is not measured"


def test_where_a_step_stands_by_itself_is_measured_and_how_many_of_it_there_are():
    repair = Repair("tray").add("box", At(x=7), "base", width=60, depth=40, height=4)
    repair.add("box", At(x=12, z=3.5), "post", width=5, depth=5, height=9)
    repair.cut("cylinder", "bottom of base", "holes", diameter=3, repeat=Row(3, 15))
    repair.cut("cylinder", "bottom of base", "pits", diameter=2, height=1, repeat=Ring(5, 12))
    repair.change("pits", **{"repeat.n": Same("holes.repeat.n + 2")})
    told = " ".join(text for page in measuring_sheets(repair) for text in texts(page))
    assert "post, x" in told and "post, z" in told
    assert "post, y" not in told and "base, x" not in told
    assert "holes, n" in told and "how many there are" in told
    assert "pits, n" not in told, "what follows is not counted"


def test_a_crowded_repair_is_drawn_step_by_step():
    pages = measuring_sheets(handles())
    shown = [text for page in pages for text in texts(page)]
    assert len(pages) > 2
    for number in range(1, 12):
        assert f"post {number} (box)" in shown


@pytest.mark.parametrize(
    ("name", "field", "taken"),
    [
        ("knob", "diameter", "outside"),
        ("knob", "shaft", "inside"),
        ("knob", "depth", "depth"),
        ("strike", "opening width", "inside"),
        ("peg", "slot depth", "depth"),
        ("spacer", "inside", "inside"),
        ("spacer", "gap", "inside"),
        ("fin", "bottom", "outside"),
        ("fin", "inset", ""),
        ("guide", "floor", "outside"),
    ],
)
def test_the_jaws_are_told_by_how_the_surfaces_look(name, field, taken):
    asked = rows_of(measuring_sheets(name)[0])
    assert asked[field] == taken


def rows_of(page) -> dict[str, str]:
    """Which jaws the table has for each size."""
    words = page.axes[0].texts
    heads = {text.get_text(): text.get_position()[0] for text in words}
    at = {
        column: [t for t in words if abs(t.get_position()[0] - heads[column]) < 0.01]
        for column in ("size", "with")
    }
    return {
        size.get_text(): next(
            (
                jaw.get_text()
                for jaw in at["with"]
                if abs(jaw.get_position()[1] - size.get_position()[1]) < 1.0
            ),
            "",
        )
        for size in at["size"]
    }


def test_unknown_templates_and_papers_are_refused():
    with pytest.raises(RepairError, match="template 'door knob' is not known"):
        measuring_sheets("door knob")
    with pytest.raises(RepairError, match="paper is 'foolscap'"):
        measuring_sheets("fin", "foolscap")


# -- triangles ------------------------------------------------------------------------------------

OUTLINES = {
    "trapezoid": trapezoid(46, 37, 71, -7),
    "ell": Outline([(0, 0), (60, 0), (60, 20), (30, 20), (20, 45), (0, 45)]),
    "twelve": Outline(
        [
            *((0, 0), (20, -4), (50, 0), (58, 12), (80, 15), (82, 40)),
            *((60, 44), (45, 38), (40, 60), (20, 66), (6, 50), (-4, 20)),
        ]
    ),
}


@pytest.mark.parametrize("outline", OUTLINES.values(), ids=OUTLINES)
@pytest.mark.parametrize("into", ["triangles", "boxes and right triangles"])
def test_work_sheet_and_answers(outline, into):
    pages = triangle_sheets(outline, into, title="blade")
    assert all(fine(page) for page in pages)
    shown, solved = (
        " ".join(t for page in pages if (kind in texts(page)) for t in texts(page))
        for kind in ("Triangles: work sheet", "Triangles: answers")
    )
    for piece in decompose(outline, into):
        sentence = piece.steps[-1]
        assert sentence[1:] in solved and sentence[1:] not in shown
        assert re.sub(r"\d+(\.\d+)?", BLANK, sentence)[1:] in shown
    # What a pupil adds up: the areas as the sheet has them.
    total = sum(piece.reckoned for piece in decompose(outline, into))
    assert total == pytest.approx(outline.area, rel=1e-3)
    assert f"{total:.2f}".rstrip("0").rstrip(".") + " mm²" in solved
    assert len(pypdf.PdfReader(BytesIO(written(pages))).pages) == len(pages)


def test_the_corners_are_dimensioned_from_zero():
    shown = texts(triangle_sheets(trapezoid(46, 37, 71, -7))[0])
    assert {"7", "30", "46", "71"} <= set(shown)


def test_many_corners_bear_letters_and_stand_in_a_table():
    shown = texts(triangle_sheets(OUTLINES["twelve"])[0])
    for letter in "abcdefghjklm":
        assert shown.count(letter) == 2
    assert {"58", "12", "-4", "66"} <= set(shown)


def test_holes_are_drawn_and_taken_away():
    panel = Repair("panel").add("panel", name="part")
    cut_holes(panel, [Hole(15, 12, 4, 0.01), Hole(20, 28, 8, 0.01)], 2, "part")
    step, outline = outlined(panel)
    holes = holes_in(panel, step, outline)
    assert np.array(holes) == pytest.approx(np.array([[15, 12, 4], [20, 28, 8]]))
    pages = triangle_sheets(outline, holes=holes)
    assert all(fine(page) for page in pages)
    work, solved = (texts(page) for page in (pages[0], pages[-1]))
    assert {"⌀4", "⌀8"} <= set(work)
    assert "2 times 2 times 3.14 is 12.56 mm²" in solved
    # What a pupil adds up: the areas as the sheet has them, near those of the outline.
    whole = sum(piece.reckoned for piece in decompose(outline))
    assert whole == pytest.approx(outline.area, rel=1e-3)
    left = whole - 3.14 * (4 + 16)
    assert any(text.endswith(f"less the holes: {left:g} mm²") for text in solved)


# -- the coupon sheet -----------------------------------------------------------------------------


def test_a_coupon_sheet_says_which_piece_is_which():
    figure = coupon_sheet(divider(), "foot", "thickness", [-0.1, 0, 0.1])
    assert fine(figure)
    shown = texts(figure)
    assert "Tray divider: foot, thickness" in shown
    assert {"2.3", "2.4", "2.5"} <= set(shown)
    assert all(shown.count(outcome) == 1 for outcome in OUTCOMES)


def test_no_coupon_no_sheet():
    with pytest.raises(RepairError, match="no coupon"):
        coupon_sheet(divider(), "blade", "inset")


# -- type -----------------------------------------------------------------------------------------


def test_lines_are_as_wide_as_matplotlib_sets_them():
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    from workbench.output.drawing.paper import Page, Words

    page = Page()
    for i, text in enumerate(("34.95 ± 0.03", "Tray divider", "⌀4.5")):
        page.put([Words(text, 20, 20 + 10 * i, 12)])
    renderer = FigureCanvasAgg(page.figure).get_renderer()
    for shown in page.axes.texts:
        found = shown.get_window_extent(renderer).width / page.figure.dpi * 25.4
        # The ink leaves out the space beside the first and the last letter; each version hints
        # letters otherwise, by half a millimetre to either side.
        assert text_width(shown.get_text(), 12) == pytest.approx(found, abs=0.8)


def test_text_is_broken_and_cut_to_its_width():
    text = "Sand wet from grit 200 upwards, slowly: it softens where it gets warm."
    lines = wrapped(text, 40)
    assert " ".join(lines) == text and len(lines) > 2
    assert all(text_width(line) <= 40 for line in lines)
    assert text_width(shortened(text, 40)) <= 40 and shortened(text, 40).endswith("…")
    assert shortened("short", 40) == "short"


@pytest.mark.parametrize("make", ALL)
def test_the_part_on_the_sheet_lies_on_the_bed(make):
    bed = on_the_bed(Subject.of(make()))
    assert bed.vertices[:, 2].min() == pytest.approx(0, abs=1e-6)
    assert bed.size == pytest.approx(np.ptp(bed.vertices, axis=0).tolist(), rel=1e-6)


def test_an_empty_repair_has_no_sheet():
    with pytest.raises(RepairError, match="no parts yet"):
        measuring_sheets(Repair("empty"))
