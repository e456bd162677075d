"""Many jobs on several workers, through the interface of ``concurrent.futures``.

The workers are local processes, or those of any Dask cluster. Only so many jobs are handed out
at a time, so that memory stays flat however long the roster is.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import chain, islice
from multiprocessing import get_context
from typing import Any, TypeVar

from workbench.errors import RepairError
from workbench.words import _

T = TypeVar("T")
R = TypeVar("R")

#: Jobs handed out for each worker: one that is done and one that waits.
AHEAD = 2

#: How long a scheduler has to answer, in seconds.
ANSWERS_IN = 10

#: How long new workers of a cluster are waited for when all have gone, and how often to look.
PATIENCE, LOOK = 60.0, 1.0

#: How often a job of a cluster is tried again when its worker is lost.
_TRIES = 3

#: So many workers that end one after the other with nothing done are no accident of one row.
_HOPELESS = 5


@dataclass(frozen=True)
class Lost:
    """Stands for what a job was to make, where its worker ended: why, in words."""

    why: str


@dataclass(frozen=True)
class Workers:
    """Somebody to do the work: how many, how to begin afresh, and whether any are there."""

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
def local(count: int | None, warm_up: Callable[[], None]) -> Iterator[Workers]:
    """Processes on this machine, each of which runs ``warm_up`` once.

    Raises
    ------
    RepairError
        When the count is not 1 or more.
    """
    count = default_count() if count is None else count
    if count < 1:
        raise RepairError(_("workers is {count}; give 1 or more").format(count=count))

    def start() -> Executor:
        # Spawned, not forked: the kernel and its threads do not survive a fork.
        return ProcessPoolExecutor(count, get_context("spawn"), warm_up)

    yield Workers(count, start)


@contextmanager
def cluster(address: str, load: Callable[[], None]) -> Iterator[Workers]:
    """The workers of a Dask scheduler, such as ``tcp://10.0.0.5:8786``.

    Each of them, and each that joins later, runs ``load`` once, before its first job.

    Raises
    ------
    RepairError
        When Dask is not installed, no scheduler answers, or it has no workers that can load.
    """
    try:
        from distributed import Client, WorkerPlugin
    except ImportError:
        raise RepairError(
            _(
                "a scheduler needs the package distributed; install it with "
                "pip install 'repair-workbench[cluster]', or leave --scheduler out"
            )
        ) from None
    _quiet()

    class Loading(WorkerPlugin):
        name = "workbench-load"

        def setup(self, worker: object) -> None:
            load()

    try:
        client = Client(address, timeout=ANSWERS_IN, set_as_default=False)
    except (OSError, TimeoutError, ValueError, TypeError) as error:
        raise RepairError(
            _(
                "no scheduler answers at {address} ({reason}); start one with dask scheduler, "
                "or leave --scheduler out to work on this machine"
            ).format(address=address, reason=type(error).__name__)
        ) from None
    try:
        try:
            client.wait_for_workers(1, timeout=ANSWERS_IN)
        except (OSError, TimeoutError):
            raise RepairError(
                _("the scheduler at {address} has no workers; start some with dask worker").format(
                    address=address
                )
            ) from None
        try:
            client.register_plugin(Loading())
        except Exception as error:  # whatever keeps a worker from importing
            raise RepairError(
                _(
                    "the workers at {address} cannot load workbench ({reason}); install the same "
                    "workbench where they run"
                ).format(address=address, reason=_reason(error))
            ) from None

        def there() -> bool:
            try:
                return bool(client.nthreads())
            except (OSError, TimeoutError):
                return False

        # Parts are made one at a time in each process, however many threads it has.
        count = max(1, len(client.nthreads()))
        yield Workers(count, lambda: client.get_executor(pure=False, retries=_TRIES), there)
        if there():
            client.unregister_worker_plugin(Loading.name)
    finally:
        client.close(timeout=ANSWERS_IN)


def outcomes(
    work: Callable[[T], R], jobs: Iterable[T], workers: Workers
) -> Iterator[tuple[T, R | Lost]]:
    """Each job with what came of it, in the order in which they are done.

    When a worker ends, what was under way is done again, one at a time: the job that ends a
    worker then is told apart from those that were beside it.
    """
    waiting = iter(jobs)
    again: list[T] = []
    lost = 0
    while True:
        alone = bool(again)
        unfinished = yield from _round(
            work, iter(again) if alone else waiting, workers, 1 if alone else workers.count * AHEAD
        )
        if not unfinished and not alone:
            return
        if alone:
            done = len(again) - len(unfinished)
            lost = lost + 1 if unfinished and not done else bool(unfinished)
            if lost == _HOPELESS:
                raise RepairError(
                    _(
                        "{count} workers in a row ended as soon as they had something to do; "
                        "see whether there is memory left, and run it again"
                    ).format(count=lost)
                )
            if unfinished:
                yield again[done], Lost(_("its worker ended while it was made; leave it out"))
            again = again[done + 1 :]
        else:
            again = unfinished


def _round(work: Callable[[T], R], jobs: Iterator[T], workers: Workers, ahead: int) -> Any:
    """Yield what is done until the jobs or the workers end; return the jobs left under way."""
    executor = workers.start()
    pending: dict[Future[R], T] = {}
    there = time.monotonic()
    try:
        while True:
            for job in islice(jobs, ahead - len(pending)):
                try:
                    pending[executor.submit(work, job)] = job
                except BrokenExecutor:
                    return [*pending.values(), job, *(jobs if ahead == 1 else ())]
            if not pending:
                return []
            done, _rest = wait(pending, LOOK, return_when=FIRST_COMPLETED)
            if done or workers.there():
                there = time.monotonic()
            elif time.monotonic() - there > PATIENCE:
                for future in pending:
                    future.cancel()
                left, pending = list(pending.values()), {}
                for job in chain(left, jobs):
                    yield job, Lost(_("all workers have gone; start some and run it again"))
                return []
            for future in [future for future in pending if future in done]:
                try:
                    result = _result(future)
                except BrokenExecutor:
                    return [*pending.values(), *(jobs if ahead == 1 else ())]
                yield pending.pop(future), result
    finally:
        for future in pending:
            future.cancel()
        executor.shutdown(wait=True)


def _result(future: Future[R]) -> R | Lost:
    """What came of a job; an executor that broke is told as it is."""
    try:
        return future.result()
    except BrokenExecutor:
        raise
    except CancelledError:
        return Lost(_("the cluster was lost before it was made; run it again"))
    except Exception as error:  # a worker that cannot run it at all
        text = _("its worker failed ({reason}); see that workers have the same workbench")
        return Lost(text.format(reason=_reason(error)))


def _reason(error: Exception) -> str:
    return f"{type(error).__name__}: {str(error)[:200]}"


def _quiet() -> None:
    """Keep the cluster's own log out of the terminal; what matters is told in words."""
    import logging

    logging.getLogger("distributed").setLevel(logging.CRITICAL)
