"""Every part of the shelf is made on the bench, control by control, and in how long.

``WORKBENCH_FULL=1`` makes those too whose letters and threads take seconds to draw.
"""

from __future__ import annotations

import os
import statistics

import pytest
from hand import Hand, differences, offsets
from household import OTHERS

from workbench.output.notebook.bundled import folders
from workbench.output.notebook.template_notebook import read_template

FULL = bool(os.environ.get("WORKBENCH_FULL"))
LONG = {"house-number", "bottle-cap", "threaded-knob", "name-plate", "angle-bracket"}
SHELF = [path for path in sorted(folders().templates.glob("*.ipynb"))]


@pytest.fixture(scope="module")
def made():
    """What a hand took for each part that was made so far: steps, offsets, seconds, operators."""
    found = {}
    yield found
    for name, (steps, by_hand, hand) in sorted(found.items(), key=lambda row: row[1][2].seconds):
        print(f"{name:24} {steps:2} steps {hand.seconds:4.0f} s  {hand.counts}  {by_hand} offsets")


def wanted():
    parts = {path.stem: lambda path=path: read_template(path) for path in SHELF}
    parts |= {name: ours for name, (ours, _theirs) in OTHERS.items()}
    return {name: part for name, part in parts.items() if FULL or name not in LONG}


@pytest.mark.parametrize("name", wanted())
def test_a_hand_makes_it_on_the_bench(name, made):
    repair, hand = wanted()[name](), Hand(name)
    assert differences(hand.make(repair), repair) == []
    made[name] = len(repair.steps), offsets(repair), hand
    assert hand.seconds <= 480


def test_most_parts_take_two_minutes_at_most(made):
    if len(made) < len(wanted()):
        pytest.skip("needs the parts that the tests above make")
    assert sum(by_hand for _steps, by_hand, _hand in made.values()) < 5
    built = [hand.seconds for steps, _by_hand, hand in made.values() if steps > 1]
    assert statistics.median(hand.seconds for *_rest, hand in made.values()) <= 120
    assert statistics.median(built) <= 120, "without those that are one shape"
