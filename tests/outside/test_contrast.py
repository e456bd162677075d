"""The bench's colours against the contrast that WCAG 2.2 asks for at level AA.

Relative luminance and contrast ratio as WCAG 2.2 defines them; 4.5 for text (criterion 1.4.3) and
3 for the edges of controls and what shows the focus (1.4.11). From memory.
"""

from __future__ import annotations

import re

import pytest

from workbench.jupyter.style import COLOUR, style_sheet
from workbench.output.drawing import paper


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return sum(share * c for share, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(a: str, b: str) -> float:
    darker, lighter = sorted((luminance(a), luminance(b)))
    return (lighter + 0.05) / (darker + 0.05)


def test_black_on_white_is_the_greatest_contrast_there_is():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#777777") == pytest.approx(1.0)


@pytest.mark.parametrize("text", ["ink", "soft", "accent", "warning", "stop"])
@pytest.mark.parametrize("under", ["paper", "sheet"])
def test_every_colour_of_text_reads_well_on_paper_and_on_fields(text: str, under: str):
    assert contrast(COLOUR[text], COLOUR[under]) >= 4.5


def test_text_on_a_pressed_button_reads_well():
    assert contrast("#ffffff", COLOUR["accent"]) >= 4.5


@pytest.mark.parametrize("edge", ["edge", "accent"])
def test_edges_of_controls_and_the_focus_stand_out(edge: str):
    assert contrast(COLOUR[edge], COLOUR["paper"]) >= 3.0
    assert contrast(COLOUR[edge], COLOUR["sheet"]) >= 3.0
    assert f"var(--wb-{edge})" in style_sheet()


@pytest.mark.parametrize("under", ["chosen", "fill"])
def test_ink_reads_well_on_every_tint(under: str):
    assert contrast(COLOUR["ink"], COLOUR[under]) >= 4.5


def test_the_style_sheet_has_no_colour_of_its_own():
    assert set(re.findall(r"#[0-9a-f]{3,8}\b", style_sheet())) <= set(COLOUR.values())


@pytest.mark.parametrize("text", [paper.INK, paper.ACCENT, paper.WARNING, paper.STOP])
@pytest.mark.parametrize("under", ["#ffffff", paper.PAPER])
def test_type_on_the_sheets_reads_well(text: str, under: str):
    assert contrast(text, under) >= 4.5


def test_lines_to_write_between_stand_out_on_a_page_printed_in_black_and_white():
    """As the edges of controls (1.4.11); a grey of the same luminance is what a printer lays down."""
    for colour in (paper.EDGE, paper.INK, paper.STOP, paper.WARNING):
        assert contrast(colour, "#ffffff") >= 3.0
