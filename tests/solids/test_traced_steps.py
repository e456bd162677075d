"""A traced part in three dimensions: its outline, its thickness and its holes."""

from __future__ import annotations

import numpy as np
import pytest

from workbench import Outline, Repair, RepairError, build, trapezoid
from workbench.measure.photos.trace_result import Hole, Side, Traced
from workbench.solids.drawn.traced_steps import add_traced, holes_pulled

OUTLINE = trapezoid(40, 30, 60, 5)
HOLES = (Hole(20.0, 20.0, 8.0, 0.02), Hole(18.0, 45.0, 5.0, 0.02))


def traced(outline: Outline = OUTLINE, holes: tuple[Hole, ...] = HOLES) -> Traced:
    sides = tuple(Side("straight", float(length), 0.02) for length in outline.sides)
    return Traced(outline, outline.points, sides, holes, outline.points, ())


@pytest.mark.parametrize("into", [None, "triangles", "boxes and right triangles"])
def test_the_volume_is_outline_less_holes_times_thickness(into: str | None) -> None:
    made = build(add_traced(Repair("plate"), traced(), 3.0, into=into))
    bored = sum(np.pi * hole.diameter**2 / 4 for hole in HOLES)
    assert made.volume == pytest.approx((OUTLINE.area - bored) * 3, rel=1e-6)


def test_each_hole_is_where_it_was_seen() -> None:
    made = build(add_traced(Repair("plate"), traced(), 3.0))
    for hole in HOLES:
        assert not made.is_inside((hole.x, 0, hole.y))
        assert made.is_inside((hole.x + hole.diameter / 2 + 0.3, 0, hole.y))
        assert made.is_inside((hole.x, 1.2, hole.y + hole.diameter / 2 + 0.3))


def test_a_refusal_leaves_the_repair_as_it_was() -> None:
    repair = Repair("plate").add("box")
    with pytest.raises(RepairError, match="thickness is -3 mm"):
        add_traced(repair, traced(), -3.0)
    assert [step.name for step in repair.steps] == ["box"]


def test_holes_follow_where_the_calipers_pull_the_corners() -> None:
    first, second = holes_pulled(traced(), OUTLINE.points * 1.01 + (2, 3))
    assert (first.x, first.y, first.diameter) == pytest.approx((22.2, 23.2, 8.08))
    assert (second.x, second.y, second.diameter) == pytest.approx((20.18, 48.45, 5.05))
    assert holes_pulled(traced(), OUTLINE.points[:3]) == ()
