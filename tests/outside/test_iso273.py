"""Clearance holes against the published table."""

from __future__ import annotations

import math

import pytest

from workbench.solids.shapes.screws import CLEARANCE, SERIES, clearance_hole
from workbench.solids.templates.plate import plate

#: ISO 273, hole diameters in mm: fine, medium, coarse. A copy, of which two agree.
ISO_273 = """
M2    2.2  2.4  2.6
M2.5  2.7  2.9  3.1
M3    3.2  3.4  3.6
M4    4.3  4.5  4.8
M5    5.3  5.5  5.8
M6    6.4  6.6  7.0
M7    7.4  7.6  8.0
M8    8.4  9.0 10.0
"""

ROWS = [
    (words[0], *map(float, words[1:])) for words in map(str.split, ISO_273.split("\n")) if words
]


def test_the_table_has_these_screws_and_no_others():
    assert list(CLEARANCE) == [row[0] for row in ROWS]
    assert SERIES == ("fine", "medium", "coarse")


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row[0])
@pytest.mark.parametrize("fit", SERIES)
def test_a_plate_is_drilled_by_the_table(row, fit):
    screw, *diameters = row
    across = diameters[SERIES.index(fit)]
    assert clearance_hole(screw, fit) == across
    solid = plate(width=40, height=20, thickness=3, holes=1, screw=screw, fit=fit)
    assert solid.volume == pytest.approx((40 * 20 - math.pi * across**2 / 4) * 3)


def test_medium_is_what_a_plate_gets_unless_told():
    assert plate(holes=1, screw="M3").volume == plate(holes=1, screw="M3", fit="medium").volume
