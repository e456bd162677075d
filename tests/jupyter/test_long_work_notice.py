"""A build that takes long is said to, and a press on Stop ends it; the bench goes on."""

from __future__ import annotations

import time

import pytest

from workbench.errors import RepairError
from workbench.fork import in_copy
from workbench.jupyter import long_work_notice
from workbench.jupyter.bench import Bench
from workbench.jupyter.long_work_notice import LongWorkNotice
from workbench.output.notebook import current_notebook
from workbench.solids.recipe.repair import Repair


def for_ever() -> bytes:
    return bytes(pow(7**90_000, 7**90_000))


def test_nothing_is_said_of_what_is_done_soon(monkeypatch) -> None:
    monkeypatch.setattr(long_work_notice, "LONG", 0.2)
    one = LongWorkNotice()
    with one.watching():
        in_copy(lambda: b"shape")
    time.sleep(0.5)
    assert one.layout.display == "none"


def test_what_takes_long_is_told_and_can_be_stopped(monkeypatch) -> None:
    monkeypatch.setattr(long_work_notice, "LONG", 0.2)
    one, seen = LongWorkNotice(), []

    def press(change: dict) -> None:
        if "is taking long" in change["new"]:
            seen.append(one.layout.display)
            one.stop.click()

    one.said.observe(press, "value")
    with pytest.raises(RepairError, match="was stopped"), one.watching():
        in_copy(for_ever)
    assert seen and one.layout.display == "none"


def test_the_bench_has_it_and_a_hanging_round_leaves_the_last_good_solid(monkeypatch) -> None:
    monkeypatch.setattr(long_work_notice, "LONG", 0.5)
    bench = Bench(Repair("funnel").add("cone", bottom=329, top=0, height=10), inline=False)
    try:
        assert bench.settle(120) and bench.shown is not None
        bench.long_work.said.observe(
            lambda change: change["new"] and bench.long_work.stop.click(), "value"
        )
        bench.edit(lambda repair: repair.round(5))
        assert bench.settle(120)
        assert "was stopped" in bench.refusal and "last good solid" in bench.message.value
        bench.undo()
        assert bench.settle(120) and bench.refusal == ""
    finally:
        bench.close()


def test_a_visitor_writes_into_a_folder_of_their_own_and_not_without_end(
    tmp_path, monkeypatch
) -> None:
    monkeypatch.chdir(tmp_path)
    assert current_notebook.visited("/anywhere") == current_notebook.Path("/anywhere")
    monkeypatch.setenv("SERVER_SOFTWARE", "voila/0.5.13")
    assert current_notebook.visited("repairs/peg")
    for out in ("/etc", "../elsewhere", "repairs/../../elsewhere"):
        with pytest.raises(RepairError, match="you may not write to"):
            current_notebook.visited(out)
    monkeypatch.setattr(current_notebook, "ROOM", 100)
    (tmp_path / "repairs").mkdir()
    (tmp_path / "repairs" / "full").write_bytes(b"x" * 101)
    with pytest.raises(RepairError, match="make room"):
        current_notebook.visited("repairs")
