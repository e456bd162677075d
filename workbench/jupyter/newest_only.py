"""Work on the newest value only: what was not begun when a newer value came is dropped."""

from __future__ import annotations

import contextvars
import threading
from collections.abc import Callable, Iterator
from contextlib import nullcontext
from typing import Generic, TypeVar

from workbench.overtaken import asking

V = TypeVar("V")
R = TypeVar("R")


class Newest(Generic[V, R]):
    """Runs ``work`` beside the caller on the newest value that was put.

    work : from a value to its results, one after the other; what is left of them is dropped
        when a newer value is waiting
    done : called with each result and its value
    pause : seconds without a newer value before work begins
    inline : work in ``put`` itself, for where nobody waits at a screen
    whole : bring each result that was begun to its end, so that some are seen while values come
        quickly; else what is begun is left at the next place where it can be

    There is never more than one value waiting, and the last one put is always worked on. The
    thread ends when nothing is waiting.
    """

    def __init__(
        self,
        work: Callable[[V], Iterator[R]],
        done: Callable[[R, V], None],
        pause: float = 0.0,
        inline: bool = False,
        whole: bool = False,
    ) -> None:
        self._work = work
        self._done = done
        self._pause = pause
        self._inline = inline
        self._whole = whole
        self._turn = threading.Condition()
        self._serial = self._begun = 0
        self._waiting: list[V] = []
        self._busy = False

    def put(self, value: V) -> None:
        """Make ``value`` the newest."""
        if self._inline:
            for result in self._work(value):
                self._done(result, value)
            return
        with self._turn:
            self._serial += 1
            self._waiting[:] = [value]
            self._turn.notify_all()
            if self._busy:
                return
            self._busy = True
        # The context carries which cell or message asked, so that output finds its way.
        context = contextvars.copy_context()
        threading.Thread(target=context.run, args=(self._run,), daemon=True).start()

    def drop(self) -> None:
        """Forget the value that waits; work that has begun stops at its next result."""
        with self._turn:
            self._serial += 1
            self._waiting.clear()
            self._turn.notify_all()

    def overtaken(self, within: float) -> bool:
        """Wait so many seconds for a newer value than the one at work; returns whether it came."""
        with self._turn:
            return self._turn.wait_for(lambda: self._serial != self._begun, within)

    def settle(self, timeout: float = 30.0) -> bool:
        """Wait until nothing waits and nothing runs; returns whether that came in time."""
        with self._turn:
            return self._turn.wait_for(lambda: not self._busy, timeout)

    def _run(self) -> None:
        try:
            while (taken := self._take()) is not None:
                value, serial = taken

                def is_newer(serial: int = serial) -> bool:
                    return serial != self._serial

                with nullcontext() if self._whole else asking(is_newer):
                    for result in self._work(value):
                        self._done(result, value)
                        if is_newer():
                            break
        except BaseException:
            self._rest()
            raise

    def _take(self) -> tuple[V, int] | None:
        with self._turn:
            serial = -1
            while self._waiting and serial != self._serial:
                serial = self._serial
                if self._pause:
                    self._turn.wait(self._pause)
            if self._waiting:
                self._begun = serial
                return self._waiting.pop(), serial
            self._rest()
            return None

    def _rest(self) -> None:
        with self._turn:
            self._busy = False
            self._turn.notify_all()
