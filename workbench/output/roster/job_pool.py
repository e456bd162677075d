"""Many jobs on several workers, through the interface of ``concurrent.futures``.

The workers are local processes, or those of any Dask cluster. Only so many jobs are handed out
at a time, so that memory stays flat however long the roster is. Each job is made in a process that
can be ended; a job whose worker is gone or stands still is handed out again.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    CancelledError,
    Executor,
    Future,
    ThreadPoolExecutor,
    wait,
)
from contextlib import contextmanager
from dataclasses import dataclass, field
from itertools import chain, islice
from queue import SimpleQueue
from typing import Any, Generic, TypeVar

from workbench.errors import RepairError
from workbench.process import Ended, Helper, Limits
from workbench.words import _

T = TypeVar("T")
R = TypeVar("R")

#: Processes for each processor at most: more would only take memory from one another.
MORE = 16

#: Jobs handed out for each worker: one that is done and one that waits.
AHEAD = 2

#: How long a cluster is waited for when it has gone, and how often to look.
PATIENCE, LOOK = 60.0, 1.0

#: So many seconds without any worker end the connection, to be made anew.
GONE = 10.0

#: After so many seconds a job is handed to another worker as well, where one has nothing to do:
#: longer than a row is given, so that only lost workers come to it.
STRAGGLER = 75.0

#: So many workers that end one after the other with nothing done are no accident of one row.
_HOPELESS = 5


@dataclass(frozen=True)
class Lost:
    """Stands for what a job was to make, where its worker ended: why, in words."""

    why: str
    ended: bool = False


@dataclass(frozen=True)
class Workers:
    """Somebody to do the work: how many, how to begin afresh, and whether any are there.

    What ``start`` gives may have ``again``, which hands a job to another worker than ``submit``.
    """

    count: int
    start: Callable[[], Executor]
    there: Callable[[], bool] = lambda: True


def default_count() -> int:
    """One worker for each processor that this process may use."""
    try:
        return max(1, len(os.sched_getaffinity(0)))
    except AttributeError:  # not on every system
        return max(1, os.cpu_count() or 1)


@contextmanager
def local(
    count: int | None, warm_up: Callable[[], None], limits: Limits | None = None
) -> Iterator[Workers]:
    """Processes on this machine, each of which runs ``warm_up`` once.

    Raises RepairError when the count is not 1 or more.
    """
    count = default_count() if count is None else count
    most = MORE * default_count()
    if not 1 <= count <= most:
        raise RepairError(_("workers is {count}; give 1 to {most}").format(count=count, most=most))
    yield Workers(count, lambda: _Helpers(count, warm_up, limits))


class _Helpers(Executor):
    """Local processes, one for each thread that waits for it."""

    def __init__(self, count: int, warm_up: Callable[[], None], limits: Limits | None) -> None:
        self._threads = ThreadPoolExecutor(count)
        self._all = [Helper(warm_up, limits) for _number in range(count)]
        self._free: SimpleQueue[Helper] = SimpleQueue()
        for helper in self._all:
            self._free.put(helper)

    def submit(self, work: Callable[..., R], /, *given: Any, **named: Any) -> Future[R]:
        return self._threads.submit(self._do, work, *given, **named)

    def _do(self, work: Callable[..., R], *given: Any) -> R:
        helper = self._free.get()
        try:
            try:
                return helper.do(work, *given)
            except Ended:  # which need not be the job's own fault
                return helper.do(work, *given)
        finally:
            self._free.put(helper)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        self._threads.shutdown(wait=False, cancel_futures=True)
        for helper in self._all:
            helper.end()


@dataclass(eq=False)
class _Handed(Generic[T]):
    """A job that is under way: since when, and all that may bring its result."""

    job: T
    since: float = field(default_factory=time.monotonic)
    futures: list[Future[Any]] = field(default_factory=list)


def outcomes(
    work: Callable[[T], R | Lost], jobs: Iterable[T], workers: Workers
) -> Iterator[tuple[T, R | Lost]]:
    """Each job once, with what came of it, in the order in which they are done.

    Where the workers are gone and do not come back, what is left is told as lost.
    """
    waiting, ended = iter(jobs), 0
    while True:
        try:
            round_ = _Round(work, workers)
        except RepairError as error:
            yield from ((job, Lost(str(error))) for job in waiting)
            return
        try:
            for job, result in round_.done(waiting):
                ended = ended + 1 if isinstance(result, Lost) and result.ended else 0
                yield job, result
                if ended == _HOPELESS:
                    break
        finally:
            round_.end()
        waiting = chain(round_.left(), waiting)
        if ended == _HOPELESS:
            why = _(
                "{count} worker processes in a row ended on their first task; "
                "check that there is memory left, and run it again"
            ).format(count=ended)
            yield from ((job, Lost(why)) for job in waiting)
            return
        if round_.whole:
            return


class _Round(Generic[T, R]):
    """What is handed to workers for as long as they are there.

    whole : whether all jobs were done
    """

    def __init__(self, work: Callable[[T], R], workers: Workers) -> None:
        self.whole = False
        self._work, self._workers, self._executor = work, workers, workers.start()
        self._again = getattr(self._executor, "again", None)
        self._under_way: dict[Future[R], _Handed[T]] = {}
        self._forgotten: list[T] = []
        self._there = time.monotonic()

    def done(self, jobs: Iterator[T]) -> Iterator[tuple[T, R | Lost]]:
        """Hand out the jobs and yield what is done, until all are or the workers have gone."""
        while True:
            for job in islice(jobs, self._workers.count * AHEAD - len(self._open())):
                self._hand(_Handed(job), self._executor.submit(self._work, job))
            if not self._under_way:
                self.whole = not self._forgotten
                return
            done, _rest = wait(self._under_way, LOOK, return_when=FIRST_COMPLETED)
            for future in [future for future in self._under_way if future in done]:
                yield from self._taken(future)
            if done or self._workers.there():
                self._there = time.monotonic()
            elif time.monotonic() - self._there > min(GONE, PATIENCE):
                return
            if not done:
                self._hand_again()

    def left(self) -> list[T]:
        """The jobs that were handed out and not done."""
        return [*self._forgotten, *(one.job for one in self._open())]

    def end(self) -> None:
        """Let go of the workers."""
        for future in self._under_way:
            future.cancel()
        self._executor.shutdown(wait=False, cancel_futures=True)

    def _open(self) -> list[_Handed[T]]:
        return list(dict.fromkeys(self._under_way.values()))

    def _hand(self, one: _Handed[T], future: Future[R]) -> None:
        one.futures.append(future)
        self._under_way[future] = one

    def _taken(self, future: Future[R]) -> Iterator[tuple[T, R | Lost]]:
        one = self._under_way.pop(future, None)
        if one is None:  # a second copy of what is done
            return
        try:
            result = _result(future)
        except CancelledError:  # the scheduler is another one now
            if not any(other in self._under_way for other in one.futures):
                self._forgotten.append(one.job)
            return
        for other in one.futures:
            self._under_way.pop(other, None)
            other.cancel()
        yield one.job, result

    def _hand_again(self) -> None:
        """Hand what is under way for too long to another worker as well."""
        if self._again is None:
            return
        for one in self._open():
            if len(one.futures) == 1 and time.monotonic() - one.since > STRAGGLER:
                self._hand(one, self._again(self._work, one.job))


def lost(error: RepairError) -> Lost:
    """What stands for a job that was over its limits, or that ended its worker."""
    if isinstance(error, Ended):
        told = _("its worker stopped on it twice ({reason}); leave it out")
        return Lost(told.format(reason=error), True)
    return Lost(str(error))


def _result(future: Future[R]) -> R | Lost:
    """What came of a job; CancelledError where the cluster forgot it."""
    try:
        return future.result()
    except CancelledError:
        raise
    except RepairError as error:
        return lost(error)
    except Exception as error:  # a worker that cannot run it at all
        text = _(
            "its worker failed ({reason}); check that all workers have the same version of workbench"
        )
        return Lost(text.format(reason=reason_of(error)))


def reason_of(error: Exception) -> str:
    return f"{type(error).__name__}: {str(error)[:200]}"
