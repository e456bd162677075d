"""Many jobs on several workers, through the interface of ``concurrent.futures``.

The workers are local processes, or those of any Dask cluster. Only so many jobs are handed out
at a time, so that memory stays flat however long the roster is.
"""

from __future__ import annotations

import os
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
from itertools import islice
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
    """Somebody to do the work: how many, and how to begin with them afresh."""

    count: int
    start: Callable[[], Executor]


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
def cluster(address: str) -> Iterator[Workers]:
    """The workers of a Dask scheduler, such as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    RepairError
        When Dask is not installed, no scheduler answers, or it has no workers.
    """
    try:
        from distributed import Client
    except ImportError:
        raise RepairError(
            _(
                "a scheduler needs the package distributed; install it with "
                "pip install 'repair-workbench[cluster]', or leave --scheduler out"
            )
        ) from None
    _quiet()
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
        count = max(1, sum(client.nthreads().values()))
        yield Workers(count, lambda: client.get_executor(pure=False, retries=_TRIES))
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
    try:
        while True:
            for job in islice(jobs, ahead - len(pending)):
                try:
                    pending[executor.submit(work, job)] = job
                except BrokenExecutor:
                    return [*pending.values(), job, *(jobs if ahead == 1 else ())]
            if not pending:
                return []
            done, _rest = wait(pending, return_when=FIRST_COMPLETED)
            for future in [future for future in pending if future in done]:
                try:
                    result: R | Lost = future.result()
                except BrokenExecutor:
                    return [*pending.values(), *(jobs if ahead == 1 else ())]
                except CancelledError:
                    result = Lost(_("the cluster was lost before it was made; run it again"))
                except Exception as error:  # a worker that cannot run it at all
                    result = Lost(
                        _(
                            "its worker failed ({reason}); see that workers have the same workbench"
                        ).format(reason=f"{type(error).__name__}: {str(error)[:200]}")
                    )
                yield pending.pop(future), result
    finally:
        for future in pending:
            future.cancel()
        executor.shutdown(wait=True)


def _quiet() -> None:
    """Keep the cluster's own log out of the terminal; what matters is told in words."""
    import logging

    logging.getLogger("distributed").setLevel(logging.CRITICAL)
