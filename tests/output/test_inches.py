"""Drawing and sheets for whoever reads inches, read back as text."""

from __future__ import annotations

import re
from io import BytesIO

import pypdf
import pytest
from parts import divider
from shown import off_the_page, overlaps

from workbench import units
from workbench.checks.check import judge
from workbench.checks.orientation.orient import laid_layers
from workbench.checks.subject import Subject
from workbench.measure.outlines.outline import trapezoid
from workbench.output.drawing.drawing import draw, sized_views
from workbench.output.drawing.paper import written
from workbench.output.files.laid_part import on_the_bed
from workbench.output.notebook.summary import summary
from workbench.output.sheets.coupon_sheet import coupon_sheet
from workbench.output.sheets.measuring_sheet import measuring_sheets
from workbench.output.sheets.print_sheet import print_sheet
from workbench.output.sheets.triangle_sheet import triangle_sheets
from workbench.solids.building.build import assemble
from workbench.solids.recipe.repair import Repair

#: Settings of a print, which the trade states in mm everywhere.
SETTINGS = re.compile(r"0.2 mm high, 0.45 mm wide; 0.4 mm nozzle|brim(?: of)? \d+ mm")


@pytest.fixture(autouse=True)
def inches(monkeypatch):
    monkeypatch.setenv("WORKBENCH_UNIT", "in")


def text_of(figure) -> str:
    """The text of a page on which nothing lies over anything."""
    assert overlaps(figure) == [] and off_the_page(figure) == []
    (page,) = pypdf.PdfReader(BytesIO(written(figure))).pages
    return " ".join(page.extract_text().split())


def no_mm_in(text: str) -> bool:
    return not re.search(r"\d mm²?\b", SETTINGS.sub("", text)) and "in mm" not in text


def test_a_drawing_gives_its_sizes_in_inches():
    repair = divider()
    text = text_of(draw(repair, assemble(repair), paper="Letter"))
    assert no_mm_in(text)
    assert "unit" in text and re.search(r"\bin\b", text)
    # 45.95 ± 0.03, 30 and 2.4 mm
    assert "1.8091 ± 0.0017" in text and "1.181" in text and "0.0945" in text


def test_a_fraction_stands_where_it_is_exact():
    repair = Repair("shelf").add("plate", name="plate", width=34.925, height=25.4, thickness=3.175)
    text = text_of(draw(repair, assemble(repair), paper="Letter"))
    assert {"1 3/8", "1/8"} <= set(re.findall(r"1 3/8|1/8", text))
    assert sized_views(repair, assemble(repair))[0][0] == "Front view, in inches"
    assert "size 1 3/8 x 1 x 1/8 in" in summary(repair)


def test_what_is_kept_of_a_part_is_told_in_the_unit_of_the_moment():
    subject = Subject.of(divider())
    with units.using(units.MM):
        assert re.search(r"\d mm\b", laid_layers(subject).stance.brim.reason)
    assert no_mm_in(laid_layers(Subject.of(divider())).stance.brim.reason)


def test_a_print_sheet_gives_inches_and_keeps_settings_in_mm():
    subject = Subject.of(divider())
    text = text_of(print_sheet(subject, judge(subject), on_the_bed(subject), paper="Letter"))
    assert no_mm_in(text)
    assert "all sizes in inches" in text and "grid 1/2 in" in text
    assert "0.2 mm high, 0.45 mm wide; 0.4 mm nozzle" in text
    assert "0.0945" in text


def test_a_measuring_sheet_is_in_inches():
    for figure in measuring_sheets(divider(), "Letter"):
        text = text_of(figure)
        assert no_mm_in(text) and "all sizes in inches" in text


def test_a_coupon_sheet_gives_the_figures_and_what_they_are_in_inches():
    text = text_of(coupon_sheet(divider(), "foot", "thickness", [-0.1, 0, 0.1], "Letter"))
    assert "2.3 = 0.0905 in" in text and "2.4 = 0.0945 in" in text
    assert "measured, inches" in text


def test_triangles_are_worked_out_in_inches():
    blank, answers = map(text_of, triangle_sheets(trapezoid(38.1, 25.4, 50.8, 0), paper="Letter"))
    assert no_mm_in(blank) and no_mm_in(answers)
    # Half of 1 1/2 and 1 times 2, and both together.
    assert "is 1.5 in²" in answers and "is 1 in²" in answers
    assert "All pieces together: 2.5 in²" in answers
    assert "1 1/2" not in blank.partition("The pieces")[2]
