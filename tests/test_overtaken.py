"""Long work is left where it asks, keeps nothing of what it was at, and its copy is ended."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

import pytest
from browsed import PATIENCE

from workbench.checks.check import RULES, judge
from workbench.checks.subject import Subject
from workbench.fork import copies, in_copy
from workbench.output.drawing.drawing import sized_views
from workbench.overtaken import Overtaken, asked, asking, leave_if_overtaken
from workbench.process import Limits
from workbench.solids.building.build import assemble
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat


def knob() -> Repair:
    repair = Repair("knob").add("cylinder", diameter=26, height=11, name="grip")
    return repair.cut(
        "cylinder", seat=Seat("top of grip", sink=7), diameter=6, height=8, name="bore"
    )


class Asking:
    """Says that there is something newer from the time when it was asked so often."""

    def __init__(self, after: float) -> None:
        self.left, self.times = after, 0

    def __call__(self) -> bool:
        self.times += 1
        return self.times > self.left


def test_work_that_nobody_asks_of_goes_on():
    assert not asked()
    leave_if_overtaken()


def test_what_is_overtaken_is_left_in_silence_and_what_goes_on_around_it_is_not():
    outer, done = Asking(after=2), []
    with asking(outer):
        with asking(lambda: True):
            assert asked()
            leave_if_overtaken()
            done.append("never")
        leave_if_overtaken()
        done.append("outer")
    assert done == ["outer"] and outer.times == 1 and not asked()


def test_no_handler_of_errors_takes_it_for_one():
    with asking(lambda: True):
        try:
            leave_if_overtaken()
        except Exception:
            pytest.fail("it was told as an error")
    assert not issubclass(Overtaken, Exception)


def test_a_copy_of_work_that_is_overtaken_is_ended_and_the_thread_goes_on():
    newer = threading.Event()
    threading.Timer(0.2, newer.set).start()
    began = time.monotonic()
    reached = []
    with asking(newer.is_set):
        in_copy(
            lambda: time.sleep(10 * PATIENCE) or b"", Limits(10 * PATIENCE, still=10 * PATIENCE)
        )  # type: ignore[func-returns-value]
        reached.append("never")
    assert newer.is_set() and not reached and not copies()
    assert time.monotonic() - began < PATIENCE


def test_a_copy_that_is_done_first_answers():
    with asking(lambda: False):
        assert in_copy(lambda: b"shape" * 100_000) == b"shape" * 100_000


def judged() -> Callable[[], object]:
    return lambda: judge(Subject.of(knob()))


def drawn() -> Callable[[], object]:
    repair = knob()
    assembly = assemble(repair)
    return lambda: sized_views(repair, assembly)


@pytest.mark.parametrize("begin, least", [(judged, len(RULES) + 6), (drawn, 4)])
def test_checks_and_drawings_are_left_wherever_they_ask_and_done_anew_come_out_alike(begin, least):
    work = begin()
    work()  # what is kept from then on is not asked about again
    never = Asking(after=float("inf"))
    with asking(never):
        right = work()
    assert never.times >= least  # often enough: between the rules, ways up and views
    for after in {0, never.times // 3, 2 * never.times // 3, never.times - 1}:
        reached = []
        with asking(Asking(after)):
            reached.append(work())
        assert not reached
    assert work() == right
