"""The workers of a Dask cluster, any of which may end, stand still or come back."""

from __future__ import annotations

import re
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from contextlib import contextmanager, suppress
from typing import Any, TypeVar

from workbench import gate
from workbench.errors import RepairError
from workbench.output.roster import job_pool
from workbench.output.roster.job_pool import Lost, Workers, lost, reason_of
from workbench.process import Ended, Helper
from workbench.words import _

T = TypeVar("T")
R = TypeVar("R")

#: How long a scheduler has to answer, in seconds.
ANSWERS_IN = 10

#: A worker that was not heard of for so many seconds gets nothing a second time.
UNHEARD = 20.0

#: How often a job is tried again when its worker is lost.
_TRIES = 3

_OWN: list[Helper] = []


def in_helper(work: Callable[[T], R], warm_up: Callable[[], None], job: T) -> R:
    """Do a job in a process beside a cluster's worker, which so stays there whatever it does."""
    if not _OWN:
        _OWN.append(Helper(warm_up))
    try:
        return _OWN[0].do(work, job)
    except Ended:  # which need not be the job's own fault
        return _OWN[0].do(work, job)


def job_in_helper(work: Callable[[T], R], warm_up: Callable[[], None], job: T) -> R | Lost:
    """As :func:`in_helper`; a limit comes back as what came of the job, since a cluster begins
    anew with what raises an error, and each time would cost the limit again."""
    try:
        return in_helper(work, warm_up, job)
    except RepairError as error:
        return lost(error)


@contextmanager
def cluster(address: str, load: Callable[[], None]) -> Iterator[Workers]:
    """The workers of a Dask scheduler, such as ``tcp://10.0.0.5:8786``.

    Raises RepairError when Dask is not installed, no scheduler answers, or it has no workers that
    can load.
    """
    try:
        import distributed  # noqa: F401
    except ImportError:
        raise RepairError(
            _(
                "a scheduler needs the package distributed; install it with "
                "pip install 'repair-workbench[cluster]', or leave --scheduler out"
            )
        ) from None
    _quiet()
    begun = [_Cluster(address)]
    first = begun[0]
    try:
        first.refuse_unable(load)

        def start() -> Executor:
            """The connection made at first, and later ones as soon as a scheduler is there again."""
            if begun[-1].fresh:
                begun[-1].fresh = False
                return begun[-1]
            until = time.monotonic() + job_pool.PATIENCE
            while True:
                try:
                    begun.append(_Cluster(address))
                    begun[-1].fresh = False
                    return begun[-1]
                except RepairError:
                    if time.monotonic() > until:
                        raise RepairError(
                            _("all workers have gone; start some and run it again")
                        ) from None
                    time.sleep(job_pool.LOOK)

        # Parts are made one at a time in each process, however many threads it has.
        yield Workers(max(1, len(first.workers())), start, lambda: bool(begun[-1].workers()))
    finally:
        for each in begun:
            each.close()


#: An address that schedulers have: a machine and its port, encrypted or not.
_ADDRESS = re.compile(r"(?:(?:tcp|tls|ws|wss|ucx)://)?(?:\[[\da-f:.]+\]|[^\s:/]+):\d{1,5}/?", re.I)


class _Cluster(Executor):
    """A connection to a Dask scheduler; a call that hangs is given up."""

    def __init__(self, address: str) -> None:
        from distributed import Client

        if not _ADDRESS.fullmatch(address):  # the library would wait for it all the same
            raise RepairError(
                _("--scheduler is {address!r}; give one such as tcp://10.0.0.5:8786").format(
                    address=gate.short(address)
                )
            )
        self.address, self.fresh = address, True
        self._heard: dict[str, tuple[float, float]] = {}
        try:
            self._client = Client(address, timeout=ANSWERS_IN, set_as_default=False)
        except Exception:  # who answers there may be anybody, such as a web server
            raise RepairError(
                _(
                    "no scheduler answers at {address}; start one with dask scheduler, or leave "
                    "--scheduler out to work on this machine"
                ).format(address=address)
            ) from None
        try:
            self._client.wait_for_workers(1, timeout=ANSWERS_IN)
        except (OSError, TimeoutError):
            self.close()
            raise RepairError(
                _("the scheduler at {address} has no workers; start some with dask worker").format(
                    address=address
                )
            ) from None

    def refuse_unable(self, load: Callable[[], None]) -> None:
        """Let each worker load what it needs, and refuse where one cannot.

        One that stands still is not waited for: others and it may take twice as long as the first.
        """
        began = time.monotonic()
        loading = {
            self._client.get_executor(
                pure=False, workers=[address], allow_other_workers=False
            ).submit(_loads, load)
            for address in self.workers()
        }
        first, _rest = wait(loading, 6 * ANSWERS_IN, return_when=FIRST_COMPLETED)
        done, others = wait(loading, 2 * (time.monotonic() - began) + ANSWERS_IN / 2)
        for future in others:
            future.cancel()
        try:
            for future in first | done:
                future.result()
        except Exception as error:  # whatever keeps a worker from importing
            raise RepairError(
                _(
                    "the workers at {address} cannot load workbench ({reason}); install the same "
                    "workbench where they run"
                ).format(address=self.address, reason=reason_of(error))
            ) from None

    def workers(self) -> list[str]:
        """Addresses of the workers that are heard of; none where the scheduler does not answer."""
        try:
            rows = _within(ANSWERS_IN / 2, self._seen)
        except Exception:  # whatever a broken connection raises
            return []
        now = time.monotonic()
        for address, seen in rows.items():
            if self._heard.get(address, (None,))[0] != seen:
                self._heard[address] = seen, now
        return [address for address in rows if now - self._heard[address][1] < UNHEARD]

    def _seen(self) -> dict[str, float]:
        client = self._client
        if client.status != "running" or client.scheduler is None:
            return {}
        known = client.sync(client.scheduler.identity)["workers"]
        return {address: row["last_seen"] for address, row in known.items()}

    def submit(self, work: Callable[..., R], /, *given: Any, **named: Any) -> Future[R]:
        executor = self._client.get_executor(pure=False, retries=_TRIES)
        return executor.submit(work, *given, **named)

    def again(self, work: Callable[..., R], *given: Any) -> Future[R]:
        """Hand a job to a worker that was heard of lately."""
        executor = self._client.get_executor(
            pure=False, retries=_TRIES, workers=self.workers() or None, allow_other_workers=True
        )
        return executor.submit(work, *given)

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        self.close()

    def close(self) -> None:
        """End the connection, however it is; a second time does nothing."""
        with suppress(Exception):
            _within(ANSWERS_IN / 2, lambda: self._client.close(timeout=2))


def _loads(load: Callable[[], None]) -> None:
    in_helper(_call, load, load)


def _call(load: Callable[[], None]) -> None:
    load()


def _within(seconds: float, call: Callable[[], R]) -> R:
    """What a call returns, or TimeoutError where it has not by then; it then goes on by itself."""
    answer: Future[R] = Future()

    def run() -> None:
        try:
            answer.set_result(call())
        except BaseException as error:
            answer.set_exception(error)

    threading.Thread(target=run, daemon=True).start()
    return answer.result(seconds)


def _quiet() -> None:
    """Keep the cluster's own log out of the terminal; what matters is told in words."""
    import logging

    logging.getLogger("distributed").setLevel(logging.CRITICAL)
