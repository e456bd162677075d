"""What every test shares: how hard property tests try, and an error's message as a person reads it."""

from __future__ import annotations

import gc
import os
import tempfile
import time
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from hypothesis import HealthCheck, settings

from workbench.errors import RepairError

if TYPE_CHECKING:
    from xdist.remote import Producer
    from xdist.scheduler import LoadScopeScheduling

#: The tests read English and mm, whatever the machine speaks and its user chose.
os.environ["WORKBENCH_LANGUAGE"] = "en"
os.environ["WORKBENCH_UNIT"] = "mm"

#: Where workers outnumber the processors, numpy's threads only wait for one another, busily.
CROWDED = int(os.environ.get("PYTEST_XDIST_WORKER_COUNT", "1")) > (os.cpu_count() or 1)
if CROWDED:
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

#: The same examples in every run; ``WORKBENCH_RANDOM=200`` draws that many new ones for each test.
RANDOM = int(os.environ.get("WORKBENCH_RANDOM", "0"))

settings.register_profile(
    "workbench",
    deadline=None,
    derandomize=not RANDOM,
    max_examples=RANDOM or 15,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
settings.load_profile("workbench")

#: Where the browser's tests stand.
BROWSER = "tests/browser/"

#: What takes longest or waits most begins first, so that no worker is alone with it at the end.
FIRST = (
    BROWSER,
    "tests/test_notebooks",
    "tests/outside/test_roster",
    "tests/jupyter/test_sess",
    "tests/jupyter/test_keep",
)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Producer) -> LoadScopeScheduling:
    """Side by side, a file stays with one worker, which makes what its tests share once.

    The browser's files all stay with one, which begins with them: they take longest, and their
    pages wait for one another's time on the processor.
    """
    from xdist.scheduler import LoadScopeScheduling

    class ByFile(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            return BROWSER if nodeid.startswith(BROWSER) else nodeid.partition("::")[0]

    config.option.loadscopereorder = False
    return ByFile(config, log)


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    def place(item: pytest.Item) -> int:
        return next((n for n, name in enumerate(FIRST) if item.nodeid.startswith(name)), len(FIRST))

    items.sort(key=place)


def _collected(config: pytest.Config) -> Path | None:
    """What is there once a worker of this run has imported all tests, and so compiled them; None
    where no workers crowd, as in a run of its own within a test."""
    if not CROWDED or not hasattr(config, "workerinput"):
        return None
    return Path(tempfile.gettempdir()) / f"workbench-{config.workerinput['testrunuid']}"


@pytest.hookimpl(tryfirst=True)
def pytest_collection(session: pytest.Session) -> None:
    """Only as many workers as there are processors compile every test; the rest wait for it."""
    mark = _collected(session.config)
    if mark and int(session.config.workerinput["workerid"][2:]) >= (os.cpu_count() or 1):
        end = time.monotonic() + 60
        while not mark.exists() and time.monotonic() < end:
            time.sleep(0.1)


def pytest_collection_finish(session: pytest.Session) -> None:
    """What was imported and collected stays, and need not be looked through again and again."""
    if mark := _collected(session.config):
        mark.touch()
    gc.collect()
    gc.freeze()
    gc.set_threshold(10_000, 20, 20)


def pytest_runtest_setup(item: pytest.Item) -> None:
    if hasattr(item.config, "workerinput") and not item.nodeid.startswith(BROWSER):
        _give_way()


@cache
def _give_way() -> None:
    """Let the browser's pages, which a test waits for, come first."""
    if hasattr(os, "nice"):  # not on Windows
        os.nice(5)


def pytest_sessionfinish(session: pytest.Session) -> None:
    if mark := _collected(session.config):
        mark.unlink(missing_ok=True)


@pytest.fixture(scope="session")
def refused():
    """``with refused("width", "-3 mm"):`` expects a RepairError of one line with these words."""

    @contextmanager
    def expect(*words: str):
        with pytest.raises(RepairError) as caught:
            yield caught
        message = str(caught.value)
        assert "\n" not in message
        for word in words:
            assert word in message

    return expect


@pytest.fixture
def client_collected() -> Iterator[None]:
    """Collects after the test what the client of a cluster leaves that was killed under it.

    The library leaves its sockets open, of which Python else warns in whichever test comes next.
    """
    yield
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "unclosed <socket", ResourceWarning)
        gc.collect()
