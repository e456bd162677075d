"""The picture follows a hand with a rough part, and has the exact one when the hand rests."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator
from typing import Any

import numpy as np
import pytest

from workbench import Repair, RepairError, Seat
from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.jupyter.pages.findings_page import Findings
from workbench.jupyter.picture import preview
from workbench.jupyter.state import Made
from workbench.solids.building.rough import Rough
from workbench.solids.meshes.mesh import mesh_apart


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


@pytest.mark.parametrize(("took", "rest"), [(0.1, 0.3), (0.2, 0.4), (0.4, 0.8), (5.0, 1.0)])
def test_the_dearer_the_exact_solid_is_the_longer_a_hand_must_have_rested(
    slow_bench, monkeypatch, took, rest
):
    bench, _shown = slow_bench
    waited: list[float] = []
    monkeypatch.setattr(bench._builder, "overtaken", waited.append)
    bench._took.append(took)
    bench.fields("peg")["height"].slider.value = 11.0
    assert bench.settle(120)
    assert waited == [pytest.approx(rest)]


def test_a_solid_that_is_known_already_does_not_pass_for_one_that_is_quick(slow_bench, monkeypatch):
    bench, shown = slow_bench
    monkeypatch.setattr(benches, "FRAME", 0.05)
    seconds = dict.fromkeys((10.0, 12.0, 13.0), 0.1)
    attempt = benches._attempt

    def slowly(repair: Repair) -> Iterator[Made | str]:
        time.sleep(seconds.pop(repair.step("peg").values["height"], 0.0))
        yield from attempt(repair)

    monkeypatch.setattr(benches, "_attempt", slowly)
    for height in (10.0, 11.0, 10.0, 11.0, 12.0):  # all between are there at once
        bench.fields("peg")["height"].slider.value = height
        assert bench.settle(120)
    assert [made for made, height in heights(shown) if height == 12.0] == [Rough, Made]
    for height in (11.0, 10.0, 11.0, 10.0):  # all that follow are: the hand has moved elsewhere
        bench.fields("peg")["height"].slider.value = height
        assert bench.settle(120)
    shown.clear()
    bench.fields("peg")["height"].slider.value = 13.0
    assert bench.settle(120)
    assert heights(shown) == [(Made, 13.0)]


def test_a_solid_that_a_hand_has_left_counts_as_slow_all_the_same(slow_bench, monkeypatch):
    bench, shown = slow_bench
    monkeypatch.setattr(benches, "FRAME", 0.05)
    attempt, begun = benches._attempt, threading.Event()

    def slowly(repair: Repair) -> Iterator[Made | str]:
        begun.set()
        time.sleep(0.3 if repair.step("peg").values["height"] == 11.0 else 0.0)
        yield from attempt(repair)

    monkeypatch.setattr(benches, "_attempt", slowly)
    slider = bench.fields("peg")["height"].slider
    slider.value = 11.0
    assert begun.wait(60)
    slider.value = 12.0  # while that is made
    assert bench.settle(120)
    assert [made for made, height in heights(shown) if height == 12.0] == [Rough, Made]


def test_where_the_exact_solid_is_refused_the_last_good_one_is_shown_again(slow_bench, monkeypatch):
    bench, shown = slow_bench
    good = bench.shown
    monkeypatch.setattr(benches, "_attempt", lambda _repair: iter(["it does not close"]))
    bench.fields("peg")["height"].slider.value = 11.0
    assert bench.settle(120)
    assert [type(made) for made in shown] == [Rough, Made]
    assert bench.preview.shown is bench.shown is good
    assert "it does not close" in bench.message.value


def test_a_refused_value_leaves_the_picture_where_it_is_and_the_header_true(
    slow_bench, monkeypatch
):
    bench, shown = slow_bench
    bench.edit(lambda repair: repair.limit("peg.height", at_most=12.0))
    assert bench.settle(120)
    green = bench.bar.verdict.value
    shown.clear()
    monkeypatch.setattr(benches, "REST", 60.0)
    monkeypatch.setattr(benches, "LONGEST_REST", 60.0)
    slider = bench.fields("peg")["height"].slider

    def drag(height: float, met) -> None:
        slider.value = height
        end = time.monotonic() + 120
        while not met() and time.monotonic() < end:
            time.sleep(0.01)
        assert met()

    drag(11.0, lambda: heights(shown) == [(Rough, 11.0)])
    drag(14.0, lambda: "peg.height" in bench.refusal)
    assert "cannot be built" in bench.bar.verdict.value and len(shown) == 1
    drag(10.0, lambda: len(shown) == 2)
    assert bench.bar.verdict.value == green and not bench.refusal and not bench.message.value
    monkeypatch.setattr(benches, "REST", 0.0)
    monkeypatch.setattr(benches, "LONGEST_REST", 0.0)
    slider.value = 14.0
    assert bench.settle(120)
    assert heights(shown)[1:] == [(Rough, 10.0), (Made, 10.0)]
    assert bench.preview.shown is bench.shown and "last good solid" in bench.message.value
    for told in (bench.bar.verdict.value, bench.panel(Findings).text.value):
        assert "cannot be built" in told
    slider.value = 12.0
    assert bench.settle(120)
    for told in (bench.bar.verdict.value, bench.panel(Findings).text.value):
        assert "cannot be built" not in told


def test_sizes_that_take_long_to_find_keep_their_places_and_tell_the_new_value(
    slow_bench, monkeypatch
):
    bench, shown = slow_bench
    found: list[float] = []
    marks = preview.marks
    monkeypatch.setattr(
        preview, "marks", lambda repair, *of: (found.append(1.0), marks(repair, *of))[1]
    )

    def height(value: float) -> dict[str, Any]:
        found.clear()
        bench.fields("peg")["height"].slider.value = value
        assert bench.settle(120)
        return next(size for size in told[-2]["sizes"] if size["field"] == "height")

    bench.choose("peg")
    told: list[dict[str, Any]] = []
    monkeypatch.setattr(
        bench.preview, "_tell", lambda **what: told.append(what) if "sizes" in what else None
    )
    bench.preview.scene["sizes"] = marks(
        bench.repair, bench.shown.assembly, "peg", np.array([[-15, -10, 0], [15, 10, 13.0]])
    )
    monkeypatch.setattr(preview, "SOON", 60.0)
    soon = height(11.0)
    assert len(found) == 2 and soon["text"] == "11"
    assert soon["end"][0][2] == pytest.approx(15)
    monkeypatch.setattr(preview, "SOON", 0.0)
    height(12.0)
    late = height(13.0)
    assert len(found) == 1, "of the exact solid alone"
    assert late["text"] == "13" and late["value"] == 13.0
    assert late["end"][0][2] == pytest.approx(13), "as it was found last"
    assert [type(made) for made in shown[-2:]] == [Rough, Made]


@pytest.mark.parametrize("beforehand", [True, False])
def test_the_first_picture_under_a_hand_sends_little_more_than_the_step(monkeypatch, beforehand):
    monkeypatch.setattr(benches, "FRAME", 0.0)
    if not beforehand:
        monkeypatch.setattr(preview.Preview, "expect", lambda *_of: None)
    repair = Repair("studs").add("box", width=120, depth=80, height=4, name="base")
    for n in range(19):
        seat = Seat("top of base", along=-50 + 20 * (n % 6), across=-30 + 15 * (n // 6))
        repair.add("cylinder", name=f"peg {n}", seat=seat, diameter=7, height=9)
    bench = Bench(repair, inline=False)
    try:
        assert bench.settle(120)
        sent: list[int] = []
        put = bench.preview.picture.put

        def telling(**entries: Any) -> None:
            if "part" in entries:
                sent.append(sum(len(part) for part in entries["part"][1]))
            put(**entries)

        bench.preview.picture.put = telling
        bench.fields("peg 2")["diameter"].slider.value = 7.5
        assert bench.settle(120)
        points, faces = mesh_apart(bench.shown.assembly.parts["peg 2"])
        own = 12 * len(points) + 12 * len(faces)
        assert (sent[0] < 2 * own) == beforehand
    finally:
        bench.close()


def test_what_a_step_itself_refuses_is_said_at_once(slow_bench):
    bench, shown = slow_bench
    bench.edit(lambda repair: repair.limit("peg.height", at_most="base.height"))
    assert bench.settle(120)
    assert "peg.height" in bench.refusal and not shown


def test_a_dragged_value_of_which_no_part_comes_is_answered_at_once(slow_bench, monkeypatch):
    bench, shown = slow_bench
    answers: list[dict[str, Any]] = []
    monkeypatch.setattr(bench.preview.picture, "ask", lambda **what: answers.append(what))
    bench.drag_size("peg", "height", 9.0)  # as it is
    assert answers == [{"answered": True}] and not shown
    bench.drag_size("peg", "height", 10.0)
    assert bench.settle(120)
    assert len(answers) == 1 and heights(shown)[-1] == (Made, 10.0)

    def refuse(_repair: Repair) -> Rough:
        raise RepairError("height is 12 mm; give 11 mm")

    monkeypatch.setattr(benches, "rough", refuse)
    bench.drag_size("peg", "height", 12.0)
    assert bench.settle(120)
    assert len(answers) == 2 and heights(shown)[-1] == (Made, 10.0)
