"""The picture follows a hand with a rough part, and has the exact one when the hand rests."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from workbench import Repair, Seat
from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.jupyter.state import Made
from workbench.solids.building.rough import Rough


@pytest.fixture
def slow_bench(monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[Bench, list[Any]]]:
    """A bench that takes every exact solid to be slow, and what its picture was given to show."""
    monkeypatch.setattr(benches, "FRAME", 0.0)
    repair = Repair("hanger").add("box", name="base", width=30, depth=20, height=4)
    repair.add("cylinder", name="peg", seat=Seat("top of base"), diameter=6, height=9)
    bench = Bench(repair, inline=False)
    try:
        assert bench.settle(120)
        shown: list[Any] = []
        show = bench.preview.show
        monkeypatch.setattr(
            bench.preview, "show", lambda made, step: (shown.append(made), show(made, step))
        )
        yield bench, shown
    finally:
        bench.close()


def heights(shown: list[Any]) -> list[tuple[type, float]]:
    return [(type(made), made.repair.step("peg").values["height"]) for made in shown]


def test_a_rough_part_comes_first_and_the_exact_one_last(slow_bench):
    bench, shown = slow_bench
    bench.fields("peg")["height"].slider.value = 11.0
    assert bench.settle(120)
    assert heights(shown) == [(Rough, 11.0), (Made, 11.0)]
    assert bench.preview.shown is bench.shown


def test_no_exact_solid_is_built_of_a_value_that_a_hand_has_left(slow_bench, monkeypatch):
    bench, shown = slow_bench
    monkeypatch.setattr(benches, "REST", 60.0)
    for height in (10.0, 11.0, 12.0):
        bench.fields("peg")["height"].slider.value = height
    monkeypatch.setattr(benches, "REST", 0.0)
    bench.fields("peg")["height"].slider.value = 13.0
    assert bench.settle(120)
    assert heights(shown)[-1] == (Made, 13.0)
    assert [height for kind, height in heights(shown) if kind is Made] == [13.0]


def test_where_the_exact_solid_is_refused_the_last_good_one_is_shown_again(slow_bench, monkeypatch):
    bench, shown = slow_bench
    good = bench.shown
    monkeypatch.setattr(benches, "_attempt", lambda _repair: iter(["it does not close"]))
    bench.fields("peg")["height"].slider.value = 11.0
    assert bench.settle(120)
    assert [type(made) for made in shown] == [Rough, Made]
    assert bench.preview.shown is bench.shown is good
    assert "it does not close" in bench.message.value


def test_what_a_step_itself_refuses_is_said_at_once(slow_bench):
    bench, shown = slow_bench
    bench.edit(lambda repair: repair.limit("peg.height", at_most="base.height"))
    assert bench.settle(120)
    assert "peg.height" in bench.refusal and not shown
