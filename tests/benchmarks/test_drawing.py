"""What the live sketch costs against a whole drawing, and a second look at the same part."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

from parts import divider

from workbench.output.drawing.drawing import draw, sized_views
from workbench.output.drawing.paper import written
from workbench.solids.building.build import assemble


def best(work: Callable[[], object], times: int = 7) -> float:
    """Least processor time of several runs, in seconds."""
    spent = []
    for _run in range(times):
        start = time.process_time()
        work()
        spent.append(time.process_time() - start)
    return min(spent)


def test_the_live_sketch_costs_a_fraction_of_a_drawing():
    repair = divider()
    assembly = assemble(repair)
    sketch = best(lambda: sized_views(repair, assembly))
    drawing = best(lambda: written(draw(repair, assembly), "svg"), 3)
    sys.stdout.write(
        f"\nsketch {1e3 * sketch:.1f} ms, drawing as SVG {1e3 * drawing:.1f} ms, "
        f"ratio {drawing / sketch:.1f}\n"
    )
    assert drawing > 2 * sketch


def test_what_a_template_measures_is_found_out_once():
    """The first sketch of a new size costs no more than a few of the same, not a search."""
    repair = divider()
    sized_views(repair, assemble(repair))
    heights = iter(range(40, 70))

    def moved() -> list[tuple[str, str]]:
        repair.change("blade", height=float(next(heights)))
        return sized_views(repair, assemble(repair))

    dragged = best(moved, 7)
    assembly = assemble(repair)
    still = best(lambda: sized_views(repair, assembly))
    sys.stdout.write(
        f"\ndragged {1e3 * dragged:.1f} ms with its build, still {1e3 * still:.1f} ms, "
        f"ratio {dragged / still:.1f}\n"
    )
    assert dragged < 6 * still
