"""Letters against the font's own curves, read by another library, and Green's theorem."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib import get_data_path
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from workbench import letters, number_plate

FONT = FontProperties(fname=f"{get_data_path()}/fonts/ttf/DejaVuSans-Bold.ttf")


def cross(a, b):
    return float(a[0] * b[1] - b[0] * a[1])


def area(text: str) -> float:
    """Of a text whose capitals are 1 high: lines, and quadratic curves by Green's theorem."""
    spots, codes = text_to_path.get_text_path(FONT, text)
    height = np.ptp(np.array(text_to_path.get_text_path(FONT, "H")[0])[:, 1])
    total, at, start, here = 0.0, 0, None, None
    while at < len(codes):
        if codes[at] == 1:
            start = here = spots[at]
        elif codes[at] == 2:
            total += cross(here, spots[at]) / 2
            here = spots[at]
        elif codes[at] == 3:
            middle, end = spots[at], spots[at + 1]
            total += (2 * cross(here, middle) + 2 * cross(middle, end) + cross(here, end)) / 6
            here, at = end, at + 1
        else:
            total += cross(here, start) / 2
        at += 1
    return abs(total) / float(height) ** 2


@pytest.mark.parametrize("text", ["KEY", "Spare & 8", "Öl"])
def test_letters_have_the_area_of_the_font_s_curves(text):
    assert letters(text, 12, 2).volume == pytest.approx(area(text) * 12**2 * 2, rel=5e-4)


def test_a_number_plate_is_a_plate_and_its_figures():
    plate = number_plate(figure=58, digits=30, raised=2, width=80, height=50, corner_radius=0)
    assert plate.volume == pytest.approx(80 * 50 * 3 + area("58") * 30**2 * 2, rel=5e-4)
