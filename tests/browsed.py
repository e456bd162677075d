"""Waiting for a page, and ending the server behind it."""

from __future__ import annotations

import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

import pytest

V = TypeVar("V")

#: How long a page may take for one thing, in seconds; only a fault or a machine with much else to
#: do comes near it.
PATIENCE = 180.0


def until(page: Any, true: Callable[[], bool], what: str) -> None:
    """Wait until something is true, while the page goes on; what it was is told if in vain."""
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end:
        if true():
            return
        page.wait_for_timeout(50)
    pytest.fail(f"waited in vain until {what}")


def settled(page: Any, see: Callable[[], V], good: Callable[[V], bool]) -> V:
    """What is seen once it is as it should be, or after a while what is wrong with it."""
    end = time.monotonic() + 20.0
    while not good(seen := see()) and time.monotonic() < end:
        page.wait_for_timeout(50)
    return seen


def run_all(page: Any) -> None:
    """Run the notebook that the page shows."""
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()


def open_idle(page: Any, address: str) -> None:
    """Open a notebook and wait until its kernel has nothing to do."""
    page.goto(address)
    page.wait_for_selector(".jp-Notebook .jp-Cell")
    page.get_by_text("Python 3 (ipykernel) | Idle").wait_for()


def judged(page: Any, address: str) -> None:
    """Open a notebook, run it and wait until its bench has judged the part."""
    open_idle(page, address)
    run_all(page)
    page.wait_for_selector(".wb-findings .wb-told.wb-done, .wb-findings .wb-told.wb-stop")


@contextmanager
def serving(command: list[str], **how: Any) -> Iterator[subprocess.Popen]:
    """A server that is ended at the end, by force if need be."""
    server = subprocess.Popen(command, stderr=subprocess.STDOUT, **how)
    try:
        yield server
    finally:
        server.terminate()
        try:
            server.wait(20)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait()
