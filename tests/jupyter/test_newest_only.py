"""The newest value wins, nothing queues, and the last one is always worked on."""

from __future__ import annotations

import threading
import time
from collections.abc import Iterator

import pytest

from workbench.jupyter.newest_only import Newest
from workbench.overtaken import leave_if_overtaken

PATIENCE = 20.0


class Bench:
    """Work that waits at a gate, so that a test decides when it goes on."""

    def __init__(self, pause: float = 0.0, results: int = 1) -> None:
        self.gate = threading.Semaphore(0)
        self.begun: list[int] = []
        self.done: list[tuple[int, int]] = []
        self.results = results
        self.entered = threading.Semaphore(0)
        self.newest: Newest[int, int] = Newest(self.work, self.finished, pause=pause)

    def work(self, value: int) -> Iterator[int]:
        self.begun.append(value)
        for n in range(self.results):
            self.entered.release()
            assert self.gate.acquire(timeout=PATIENCE)
            yield n

    def finished(self, result: int, value: int) -> None:
        self.done.append((value, result))

    def wait_until_begun(self) -> None:
        assert self.entered.acquire(timeout=PATIENCE)


def test_a_rapid_burst_is_not_queued_and_its_last_value_is_shown():
    bench = Bench()
    bench.newest.put(0)
    bench.wait_until_begun()
    for value in range(1, 100):
        bench.newest.put(value)
    bench.gate.release(100)
    assert bench.newest.settle(PATIENCE)
    assert bench.begun == [0, 99]
    assert bench.done == [(0, 0), (99, 0)]


def test_what_is_finished_is_shown_even_while_a_newer_value_waits():
    bench = Bench()
    for value in range(5):
        bench.newest.put(value)
        bench.wait_until_begun()
        if value < 4:
            bench.newest.put(value + 1)
        bench.gate.release()
    assert bench.newest.settle(PATIENCE)
    assert [value for value, _result in bench.done] == [0, 1, 2, 3, 4]


def test_later_results_are_dropped_when_a_newer_value_arrives():
    bench = Bench(results=3)
    bench.newest.put(1)
    bench.wait_until_begun()
    bench.newest.put(2)
    bench.gate.release(10)
    assert bench.newest.settle(PATIENCE)
    assert bench.done == [(1, 0), (2, 0), (2, 1), (2, 2)]


def test_a_dropped_value_is_not_worked_on():
    bench = Bench()
    bench.newest.put(1)
    bench.wait_until_begun()
    bench.newest.put(2)
    bench.newest.drop()
    bench.gate.release(2)
    assert bench.newest.settle(PATIENCE)
    assert bench.begun == [1]


def test_work_with_a_pause_begins_only_when_values_stop_coming():
    bench = Bench(pause=0.2)
    bench.gate.release(10)
    for value in range(10):
        bench.newest.put(value)
        time.sleep(0.01)
    assert bench.newest.settle(PATIENCE)
    assert bench.done[-1] == (9, 0)
    assert len(bench.begun) < 10


def test_the_thread_ends_with_its_work_and_starts_again_with_the_next():
    bench = Bench()
    bench.gate.release(2)
    before = threading.active_count()
    for value in (1, 2):
        bench.newest.put(value)
        assert bench.newest.settle(PATIENCE)
        for _n in range(200):
            if threading.active_count() <= before:
                break
            time.sleep(0.01)
        assert threading.active_count() <= before
    assert bench.begun == [1, 2]


def test_a_fault_in_the_work_is_told_and_does_not_hold_up_the_next_value(
    monkeypatch: pytest.MonkeyPatch,
):
    done: list[int] = []
    told = threading.Event()
    monkeypatch.setattr(threading, "excepthook", lambda _fault: told.set())

    def work(value: int) -> Iterator[int]:
        if value == 1:
            raise RuntimeError("broken")
        yield value

    newest: Newest[int, int] = Newest(work, lambda result, _value: done.append(result))
    newest.put(1)
    assert newest.settle(PATIENCE)
    assert told.wait(PATIENCE)
    newest.put(2)
    assert newest.settle(PATIENCE)
    assert done == [2]


@pytest.mark.parametrize("whole", [False, True])
def test_work_that_asks_is_left_for_a_newer_value_unless_it_is_to_be_brought_to_its_end(whole):
    entered, done = threading.Event(), []

    def work(value: int) -> Iterator[int]:
        entered.set()
        for _n in range(3 if whole else int(100 * PATIENCE)):
            if value == 1:
                time.sleep(0.01)
                leave_if_overtaken()
        yield value

    newest: Newest[int, int] = Newest(work, lambda result, _value: done.append(result), whole=whole)
    newest.put(1)
    assert entered.wait(PATIENCE)
    newest.put(2)
    assert newest.settle(PATIENCE)
    assert done == ([1, 2] if whole else [2])


def test_work_is_left_for_good_when_its_value_is_dropped():
    entered, done = threading.Event(), []

    def work(value: int) -> Iterator[int]:
        entered.set()
        while True:
            time.sleep(0.01)
            leave_if_overtaken()
        yield value

    newest: Newest[int, int] = Newest(work, lambda result, _value: done.append(result))
    newest.put(1)
    assert entered.wait(PATIENCE)
    newest.drop()
    assert newest.settle(PATIENCE)
    assert not done


def test_inline_work_is_done_when_put_returns():
    done = []
    newest: Newest[int, int] = Newest(
        lambda value: iter((value,)), lambda result, _value: done.append(result), inline=True
    )
    newest.put(7)
    assert done == [7]
