"""Letters against the font's own curves, read by another library, and Green's theorem."""

from __future__ import annotations

import pytest
from coordinates import lettering

from workbench import letters, number_plate


@pytest.mark.parametrize("text", ["KEY", "Spare & 8", "Öl"])
def test_letters_have_the_area_of_the_font_s_curves(text):
    assert letters(text, 12, 2).volume == pytest.approx(lettering(text) * 12**2 * 2, rel=5e-4)


def test_a_number_plate_is_a_plate_and_its_figures():
    plate = number_plate(figure=58, digits=30, raised=2, width=80, height=50, corner_radius=0)
    assert plate.volume == pytest.approx(80 * 50 * 3 + lettering("58") * 30**2 * 2, rel=5e-4)
