"""The loads panel: loads and rounding are noted in the repair, refused in words, and undone."""

from __future__ import annotations

import pytest

from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.jupyter.pages.loads_page import Loading
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import Load


@pytest.fixture
def panel(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(benches, "PAUSE", 600.0)
    shown = Bench(Repair("block").add("box", name="body", width=10, depth=10, height=10))
    yield shown.panel(Loading)
    shown.close()


def test_a_load_is_noted_listed_and_removed(panel: Loading):
    panel.force.value, panel.way.value = "20,5 N", (1.0, 0.0, 0.0)
    panel.again.value = False
    panel.add.click()
    repair = panel.bench.repair
    assert repair.loads == (Load("body", 20.5, (1.0, 0.0, 0.0), False),)
    assert panel.loads.options[0][0] == "body: 20.5 N to the right, once"
    panel.drop.click()
    assert repair.loads == ()
    panel.bench.undo()
    assert len(repair.loads) == 1


@pytest.mark.parametrize("typed", ["", "much", "0", "-3", "nan"])
def test_a_force_that_is_none_is_refused_in_words(panel: Loading, typed: str):
    panel.force.value = typed
    panel.add.click()
    assert panel.bench.repair.loads == () and 'role="alert"' in panel.note.value


def test_edges_are_rounded_and_a_bad_radius_is_refused(panel: Loading):
    panel.round.value = "0.5"
    panel.rounder.click()
    assert panel.bench.repair.rounding == 0.5
    panel.round.value = "90"
    panel.rounder.click()
    assert panel.bench.repair.rounding == 0.5 and "rounding" in panel.round_note.value
