"""Drawings against the standards of technical drawing, and PDFs as another program reads them."""

from __future__ import annotations

from io import BytesIO

import pypdf
import pytest
from parts import divider, screw_plate
from shown import texts

from workbench.output.arrangement import SCALES
from workbench.output.drawing import draw, scale_text
from workbench.output.paper import written
from workbench.solids.build import assemble


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
    for words in ("Tray divider", "34.95 ± 0.03", "(39.95)", "First-angle projection"):
        assert words in text
