"""A part that rounding or cutting made smaller than its sizes say is told so, with both figures."""

from __future__ import annotations

import math

import pytest

from workbench.checks.outer_size import taken_off
from workbench.checks.subject import Subject
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At


def told(repair: Repair) -> list:
    return list(taken_off(Subject.of(repair)))


def test_a_wedge_whose_edge_is_rounded_away_is_told_with_what_is_left() -> None:
    (found,) = told(Repair("ramp").add("wedge", width=60, depth=20, height=6).round(1))
    # A fillet of radius r in a corner of angle a touches at r / tan(a / 2) from it; its middle
    # stands 1 / sin(a / 2) - 1 times r inside the corner. Plane geometry.
    angle = math.atan2(6, 60)
    corner = 1 / math.tan(angle / 2) - 1
    assert found.number == pytest.approx(corner, abs=1e-3)
    assert found.severity == "warning" and found.unit == "mm"
    assert "instead of 60 mm" in found.text and "from left to right" in found.text
    assert "in height" not in found.text


def test_a_rounding_without_a_sharp_edge_takes_nothing_off() -> None:
    assert told(Repair("block").add("box", width=20, depth=10, height=5).round(1)) == []


@pytest.mark.parametrize(("size", "says"), [(0.02, False), (0.2, True)])
def test_a_chamfer_that_takes_a_point_away_is_told(size, says) -> None:
    repair = Repair("point").add("triangular_prism", name="tip", base=20, height=15, apex=0)
    found = told(repair.chamfer("all of tip", size))
    assert bool(found) == says


@pytest.mark.parametrize(("off", "says"), [(0.045, False), (0.055, True)])
def test_what_a_cut_takes_off_the_outside_is_told_from_a_twentieth_of_a_millimetre(
    off, says
) -> None:
    repair = Repair("block").add("box", width=20, depth=10, height=5)
    repair.cut("box", width=30, depth=30, height=5, name="trim", seat=At(z=5 - off))
    found = told(repair)
    assert bool(found) == says
    if found:
        assert found[0].where == "trim" and found[0].severity == "note"
        assert "in height" in found[0].text


def test_a_hole_inside_takes_nothing_off_the_outside() -> None:
    repair = Repair("block").add("box", width=20, depth=10, height=5)
    assert told(repair.cut("cylinder", diameter=4, height=9, seat=At(z=-2))) == []
