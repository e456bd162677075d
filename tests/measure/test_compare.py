"""What was, laid over what is to be made."""

from __future__ import annotations

import math

import numpy as np
import pytest

from workbench import Outline, RepairError, compare

PART = Outline([(0, 0), (60, 0, 4), (60, 30, 2), (20, 34)])


def turned(outline: Outline, degrees: float, x: float, y: float) -> Outline:
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return Outline(
        (*(np.array([[c, -s], [s, c]]) @ corner[:2] + (x, y)), *corner[2:3])
        for corner in PART.corners
    )


def test_the_same_part_lying_elsewhere_does_not_differ() -> None:
    found = compare(PART, turned(PART, 35, 12, -7))
    assert found.missing + found.extra < 0.05
    assert found.gap < 0.01
    assert found.turn == pytest.approx(-35, abs=0.05)


def test_what_broke_off_is_told_with_its_place() -> None:
    whole = Outline([(0, 0), (60, 0), (60, 30), (0, 30)])
    broken = Outline([(0, 0), (50, 0), (50, 30), (0, 30)])
    found = compare(whole, broken, lay=False)
    assert found.extra == pytest.approx(300) and found.missing == pytest.approx(0)
    assert found.gap == pytest.approx(10) and found.where[0] == pytest.approx(60)
    other = compare(broken, whole, lay=False)
    assert other.missing == pytest.approx(300) and other.gap == pytest.approx(10)
    assert "300 mm² is too much; at most 10 mm apart" in str(found)


def test_what_is_no_outline_is_told() -> None:
    with pytest.raises(RepairError, match="takes outlines or a trace"):
        compare(PART, [(0, 0)])
