"""What a repeated cut costs: against one cut with as many tools by the kernel itself."""

from __future__ import annotations

import time
from statistics import median

from workbench.solids.building.build import build
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Row
from workbench.solids.recipe.seat import At

COUNT, PITCH = 100, 3.9


def repeated(wide: float):
    """A strip with a hundred holes, as one step; each time of another width, so made anew."""
    repair = Repair("strip").add("box", name="strip", width=398, depth=wide, height=4)
    return build(repair.cut("cylinder", At(), "holes", Row(COUNT, PITCH), diameter=2.5, height=4))


def by_hand(wide: float):
    from build123d import Box, Cylinder, Location

    tools = [
        Cylinder(1.25, 4).moved(Location(((number - (COUNT - 1) / 2) * PITCH, 0, 2)))
        for number in range(COUNT)
    ]
    return Box(398, wide, 4).moved(Location((0, 0, 2))) - tools


def test_a_hundred_holes_cost_at_most_three_times_one_cut_with_as_many_tools():
    ratios = []
    assert abs(repeated(9.0).volume - by_hand(9.0).volume) < 1e-6 * by_hand(9.0).volume
    for run in range(3):
        spent = []
        for make in (repeated, by_hand):
            start = time.process_time()
            make(10.0 + run)
            spent.append(time.process_time() - start)
        ratios.append(spent[0] / spent[1])
    print(f"100 holes: {median(ratios):.2f} times one cut with 100 tools")
    assert median(ratios) <= 3
