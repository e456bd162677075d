"""Drawings against the standards of technical drawing, and PDFs as another program reads them."""

from __future__ import annotations

from io import BytesIO

import numpy as np
import pypdf
import pytest
from parts import ALONE, divider, screw_plate
from PIL import Image
from shown import off_the_page, overlaps, texts

from workbench.output.drawing.arrangement import SCALES, arranged
from workbench.output.drawing.dimensions import dimensions
from workbench.output.drawing.drawing import draw, scale_text
from workbench.output.drawing.paper import written
from workbench.output.sheets.handouts import SHEETS
from workbench.output.sheets.photo_sheet import photo_sheet
from workbench.solids import catalogue
from workbench.solids.building.build import assemble
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.words import number


def drawn(repair, paper="A4"):
    return draw(repair, assemble(repair), paper=paper)


@pytest.mark.parametrize(
    ("paper", "size"),
    [
        ("A4", (297.0, 210.0)),  # ISO 216, from memory
        ("Letter", (11 * 25.4, 8.5 * 25.4)),  # ANSI/ASME Y14.1, size A, from memory
    ],
)
def test_sheets_have_their_standard_size(paper, size):
    (page,) = pypdf.PdfReader(BytesIO(written(drawn(divider(), paper)))).pages
    width, height = (float(side) * 25.4 / 72 for side in page.mediabox[2:])
    assert (width, height) == pytest.approx(size, abs=0.05)


def test_scales_are_the_recommended_ones():
    """ISO 5455, table 1 (from memory): 50:1 to 2:1, full size, 1:2 to 1:50 in steps of 1, 2, 5."""
    recommended = {
        *("50:1", "20:1", "10:1", "5:1", "2:1", "1:1"),
        *("1:2", "1:5", "1:10", "1:20", "1:50"),
    }
    assert {scale_text(scale) for scale in SCALES} == recommended


def test_title_block_has_the_fields_that_iso_7200_asks_for():
    """Title, identification (our revision), date, creator, sheet's scale (from memory)."""
    shown = texts(drawn(divider()))
    for field in ("part", "revision", "date", "drawn by", "scale", "projection"):
        assert field in shown


def test_a_clearance_hole_is_drawn_at_its_iso_273_size():
    """M4, medium series: 4.5 mm (ISO 273, copy)."""
    assert "2 × ⌀4.5" in texts(drawn(screw_plate()))


def test_the_pdf_can_be_read_and_searched():
    text = pypdf.PdfReader(BytesIO(written(drawn(divider())))).pages[0].extract_text()
    for words in ("Tray divider", "45.95 ± 0.04", "(52.95)", "First-angle projection"):
        assert words in text


def every_sheet(paper: str) -> dict[str, list]:
    """Each kind of sheet there is, as figures."""
    repair = divider()
    kinds = {kind: make(repair, None, paper) for kind, make in SHEETS.items()}
    kinds["drawing"] = drawn(repair, paper)
    return {kind: list(made) if isinstance(made, tuple) else [made] for kind, made in kinds.items()}


@pytest.mark.parametrize(
    ("paper", "size"),
    [
        ("A4", (210.0, 297.0)),  # ISO 216, from memory
        ("Letter", (8.5 * 25.4, 11 * 25.4)),  # ANSI/ASME Y14.1, size A, from memory
    ],
)
def test_every_sheet_has_its_size_one_family_of_type_and_clear_margins(paper, size):
    """Read back by pypdf; nothing comes nearer to the edge than a printer reaches, say 8 mm."""
    for kind, figures in every_sheet(paper).items():
        for figure in figures:
            assert off_the_page(figure) == [], kind
            assert overlaps(figure) == [], kind
        pages = pypdf.PdfReader(BytesIO(written(figures))).pages
        assert len(pages) == len(figures)
        for page in pages:
            sides = sorted(float(side) * 25.4 / 72 for side in page.mediabox[2:])
            assert sides == pytest.approx(size, abs=0.05), kind
            fonts = page["/Resources"]["/Font"].values()
            named = {str(font.get_object()["/BaseFont"]).lstrip("/") for font in fonts}
            assert named, kind
            assert all(
                name.partition("+")[2].startswith("DejaVuSans") or name.startswith("DejaVuSans")
                for name in named
            ), named


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_drawing_at_its_scale_measures_what_it_says(paper):
    """A 40 mm box at 2:1 is 80 mm of ink on the page, seen in its pixels; so is the photo's bar."""
    dpi = 300
    plain = Repair("block").add("box", width=40, depth=20, height=30)
    figure = drawn(plain, paper)
    shown = texts(figure)
    scale = float(shown[shown.index("scale") + 1].partition(":")[0])
    dark = np.array(Image.open(BytesIO(written(figure, "png", dpi=dpi))).convert("L")) < 110
    runs = lengths_of_runs(dark) / dpi * 25.4
    assert np.abs(runs - 40 * scale).min() < 0.6  # a line is 0.5 mm wide
    bar = np.array(Image.open(BytesIO(written(photo_sheet(paper), "png", dpi=dpi))).convert("L"))
    assert np.abs(lengths_of_runs(bar < 110) / dpi * 25.4 - 100).min() < 0.2


def lengths_of_runs(dark: np.ndarray) -> np.ndarray:
    """How long each unbroken level run of dark pixels is, in pixels."""
    edges = np.diff(np.pad(dark.astype(np.int8), ((0, 0), (1, 1))), axis=1)
    return np.nonzero(edges == -1)[1] - np.nonzero(edges == 1)[1]


#: Sizes that no edge shows: they stand in a note, as those of threads and gears do (ISO 6410-1 and
#: ISO 2203, from memory).
LISTED = {
    ("thread", "allowance"),
    ("gear", "module"),
    ("gear", "pressure_angle"),
    ("gear", "backlash"),
    ("number_plate", "digits"),
    *(("bottle_thread", name) for name in ("diameter", "core", "pitch", "allowance")),
}


@pytest.mark.parametrize("name", ALONE)
def test_iso_129_1_gives_every_size_once(name):
    """Each size of each template is drawn or listed, none twice (ISO 129-1, from memory)."""
    repair = Repair(name).add(name)
    assembly = assemble(repair)
    found = dimensions(repair, assembly)
    (step,) = repair.steps
    drawn_fields = [one.about[1] for one in found.drawn if one.about[1]]
    listed = " ".join(found.listed)
    for parameter in catalogue.find(name).parameters:
        if not isinstance(parameter.kind, Size) or not step.values[parameter.name]:
            continue
        is_idle = (step.name, parameter.name) in found.idle
        is_listed = (name, parameter.name) in LISTED
        assert drawn_fields.count(parameter.name) + is_idle + is_listed == 1, parameter.name
        said = f"{parameter.label} {number(step.values[parameter.name])}"
        assert listed.count(said) == is_listed, parameter.name
    left_over = arranged(assembly, found, (271.0, 152.0)).left_over
    assert left_over == ()


def test_a_diameter_bears_its_sign_where_a_flat_leaves_no_whole_circle():
    """The sign goes before the number wherever the round does not show (ISO 129-1, from memory)."""
    assert {"⌀4", "⌀7"} <= set(texts(drawn(Repair("pin").add("pin"))))


def test_numbers_stand_above_their_line_and_read_from_below_or_from_the_right():
    """ISO 129-1, from memory: no number is upside down or reads from the left."""
    words = drawn(screw_plate()).axes[0].texts
    assert {text.get_rotation() for text in words} == {0.0, 90.0}
