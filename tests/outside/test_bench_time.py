"""What a hand does on the bench for each part of the shelf, by the keystroke-level model.

Card, Moran and Newell, "The Keystroke-Level Model for User Performance Time with Interactive
Systems", CACM 23(7), 1980; its times are from memory: K 0.28, P 1.1, H 0.4 and M 1.35 s.
"""

from __future__ import annotations

import statistics

from household import OTHERS

from workbench.output.notebook.bundled import folders
from workbench.output.notebook.template_notebook import read_template
from workbench.solids import catalogue
from workbench.solids.seat import At, Seat

K, P, H, M = 0.28, 1.1, 0.4, 1.35

#: Point at a control and press; go to the keyboard, type four signs and Enter, and back.
PRESS, TYPE = P + K, H + 5 * K + H


def bench_time(repair):
    """Seconds for building a repair on the bench, by the keystroke-level model."""
    seconds = 0.0
    for number, step in enumerate(repair.steps):
        seconds += M + 2 * PRESS + PRESS + TYPE + PRESS  # shape, its name, and "Add step"
        if number:
            seconds += 4 * PRESS + step.cuts * PRESS  # what it sits on, and which face
        template = catalogue.find(step.template)
        changed = [p for p in template.parameters if step.values[p.name] != p.default]
        seconds += len(changed) * (M + PRESS + TYPE)
        seconds += len(step.follows) * (2 * PRESS + TYPE)
        if isinstance(step.place, Seat):
            seconds += bool(step.place.edges) * PRESS + step.place.within * PRESS
        seconds += sum(bool(value) for value in step.place.numbers().values()) * (M + PRESS + TYPE)
        if step.repeat:
            seconds += 2 * PRESS + 2 * (M + PRESS + TYPE)
        seconds += bool(step.mirror) * 2 * PRESS
    return seconds


def offsets(repair):
    """How many offsets from a middle had to be worked out by hand."""
    found = 0
    for step in repair.steps:
        worked_out = ("x", "y", "z") if isinstance(step.place, At) else ("along", "across")
        numbers = step.place.numbers()
        found += sum(
            bool(numbers.get(name)) and f"place.{name}" not in step.follows for name in worked_out
        )
    return found


def test_what_a_hand_does():
    repairs = {path.stem: read_template(path) for path in folders().templates.glob("*.ipynb")}
    repairs |= {name: ours() for name, (ours, _theirs) in OTHERS.items()}
    times = {name: bench_time(repair) for name, repair in repairs.items()}
    for name, seconds in sorted(times.items(), key=lambda item: item[1]):
        print(f"{name:24} {seconds:5.0f} s, {offsets(repairs[name])} offsets by hand")
    assert sum(map(offsets, repairs.values())) < 5
    assert statistics.median(times.values()) <= 120
    assert max(times.values()) <= 480
