"""Steps follow when a reading of their outline is taken again."""

from __future__ import annotations

import numpy as np
import pytest

from workbench import Repair, RepairError, build, solve
from workbench.measure.outlines.triangles import WAYS
from workbench.measure.photos.trace_result import Hole
from workbench.measure.sketches.sketch import Sketch
from workbench.solids.drawn.sketched_steps import add_measured, measure_again
from workbench.solids.measured import AS_FIN, WHOLE


def sketch(bottom: float = 60.0, height: float = 40.0) -> Sketch:
    """An upright trapezoid, square at its left, whose top is 20 mm shorter than its bottom."""
    drawn = Sketch({"A": (0, 0), "B": (60, 0), "C": (40, 40), "D": (0, 40)})
    drawn.read("square", "A").read("square", "D")
    drawn.read("side", "A B", bottom).read("side", "D C", bottom - 20)
    return drawn.read("side", "A D", height)


def area(bottom: float, height: float) -> float:
    return (bottom + bottom - 20) / 2 * height


@pytest.mark.parametrize("form", [WHOLE, AS_FIN, *WAYS])
def test_the_solid_is_the_outline_times_its_thickness_before_and_after(form: str) -> None:
    repair = add_measured(Repair("lid"), solve(sketch()), 3.0, "lid", form)
    assert build(repair).volume == pytest.approx(area(60, 40) * 3, rel=1e-4)
    names = [step.name for step in repair.steps]
    measure_again(repair, "lid", solve(sketch(64, 38)))
    assert build(repair).volume == pytest.approx(area(64, 38) * 3, rel=1e-4)
    assert [step.name for step in repair.steps] == names
    assert repair.sketches["lid"].sketch == sketch(64, 38)


def test_what_the_outline_does_not_tell_stays() -> None:
    repair = add_measured(Repair("lid"), solve(sketch()), 3.0, "lid")
    repair.add("box", name="rim", seat="top of lid", width=10, depth=3, height=2)
    repair.change("lid", thickness=4.5)
    measure_again(repair, "lid", solve(sketch(64, 38)))
    assert repair.step("lid").values["thickness"] == 4.5
    assert repair.step("rim").values["width"] == 10


def test_holes_keep_their_place_among_the_corners() -> None:
    hole = Hole(20.0, 10.0, 5.0, 0.05)
    repair = add_measured(Repair("lid"), solve(sketch()), 3.0, "lid", holes=[hole])
    kept = repair.sketches["lid"]
    assert kept.holes == tuple(step.name for step in repair.steps[1:])
    scaled = Sketch({"A": (0, 0), "B": (60, 0), "C": (40, 40), "D": (0, 40)})
    scaled.read("square", "A").read("square", "D").read("side", "A B", 120)
    scaled.read("side", "D C", 80).read("side", "A D", 80)
    measure_again(repair, "lid", solve(scaled))
    cut = repair.step(kept.holes[0])
    assert (cut.place.x, cut.place.z) == pytest.approx((40.0, 20.0), abs=1e-6)
    assert cut.values["diameter"] == pytest.approx(10.0, abs=1e-6)


def test_readings_go_through_the_record() -> None:
    repair = add_measured(Repair("lid"), solve(sketch()), 3.0, "lid", WAYS[-1])
    again = Repair.from_json(repair.to_json())
    assert again.sketches == repair.sketches
    np.testing.assert_array_equal(
        solve(again.sketches["lid"].sketch).outline.points, solve(sketch()).outline.points
    )


def test_a_sketch_goes_with_the_last_of_its_steps() -> None:
    repair = add_measured(Repair("lid"), solve(sketch()), 3.0, "lid", WAYS[-1])
    names = [step.name for step in repair.steps]
    repair.remove(names[0])
    assert repair.sketches["lid"].steps == tuple(names[1:])
    with pytest.raises(RepairError, match="remove these and add it again"):
        measure_again(repair, "lid", solve(sketch(64, 38)))
    assert [step.name for step in repair.steps] == names[1:]
    for name in names[1:]:
        repair.remove(name)
    assert repair.sketches == {}


def test_what_was_never_measured_is_told() -> None:
    with pytest.raises(RepairError, match="no sketch 'door'; sketches: none yet"):
        measure_again(Repair("lid"), "door", solve(sketch()))


def test_a_refusal_changes_nothing() -> None:
    repair = Repair("lid").add("box", name="lid hole 1", width=9, depth=9, height=9)
    before = repair.to_json()
    with pytest.raises(RepairError, match="already a step"):
        add_measured(repair, solve(sketch()), 3.0, "lid", holes=[Hole(20, 10, 5, 0.05)])
    assert repair.to_json() == before
