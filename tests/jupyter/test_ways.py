"""Ranking every way up on the bench: progress, stopping, pictures, and what an edit does to them."""

from __future__ import annotations

import pytest

from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.jupyter.pages.use import Use
from workbench.jupyter.pages.ways import SHOWN, Ways
from workbench.solids.recipe.repair import Repair


@pytest.fixture
def on_bench(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(benches, "PAUSE", 0.0)
    shown = Bench(
        Repair("divider")
        .add("fin", name="blade", thickness=1.6)
        .add("tab", name="foot", seat="bottom of blade", width=30, thickness=2.4)
    )
    assert shown.settle()
    yield shown
    shown.close()
    assert shown.settle()


def ways(shown: Bench) -> Ways:
    use = shown.panel(Use)
    assert use is not None
    return use.ways


def test_the_best_ways_are_shown_with_pictures_and_reasons(on_bench: Bench) -> None:
    told = ways(on_bench)
    told.start.click()
    assert told.settle()
    assert told.pictures.value.count("data:image/png;base64,") == SHOWN
    assert "<li>" in told.pictures.value
    assert told.progress.value == told.progress.max > SHOWN
    assert not told.start.disabled and told.stop.disabled


def test_stopping_shows_the_best_of_those_judged(on_bench: Bench) -> None:
    told = ways(on_bench)
    stopped = []

    def stop(change: dict) -> None:
        if change["new"] == 2 and not stopped:
            stopped.append(True)
            told.stop.click()

    told.progress.observe(stop, "value")
    told.start.click()
    assert told.settle()
    assert stopped and told.progress.value < told.progress.max
    assert 1 <= told.pictures.value.count("<img") <= SHOWN


def test_another_part_takes_the_old_ranking_away(on_bench: Bench) -> None:
    told = ways(on_bench)
    told.start.click()
    assert told.settle()
    panel = next(panel for panel in on_bench.panels if isinstance(panel, Use))
    assert panel.reasons.layout.display == "none"
    on_bench.edit(lambda repair: repair.change("foot", thickness=2.6))
    assert on_bench.settle()
    assert told.pictures.value == ""
    assert panel.reasons.layout.display == "" and panel.reasons.value
