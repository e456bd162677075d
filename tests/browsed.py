"""Waiting for a page, and ending the server behind it."""

from __future__ import annotations

import re
import subprocess
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeVar

import pytest

V = TypeVar("V")
W = TypeVar("W", bound="Watched")

#: How long a page may take for one thing, in seconds; only a fault or a machine with much else to
#: do comes near it.
PATIENCE = 180.0


def until(page: Any, true: Callable[[], bool], what: str) -> None:
    """Wait until something is true, while the page goes on; what it was is told if in vain.

    Looking takes no more than half of the time, so that what is waited for gets on.
    """
    end = time.monotonic() + PATIENCE
    while (began := time.monotonic()) < end:
        if true():
            return
        page.wait_for_timeout(max(50, 1000 * (time.monotonic() - began)))
    pytest.fail(f"waited in vain until {what}")


def note_faults(page: Any, faults: list[str]) -> Callable[[Any], None]:
    """Put into a list whatever goes wrong in the page's scripts by itself; gives what does so.

    Left out is what the widgets' library says of one that needs more than two seconds to begin,
    which is how busy the machine is; what such a widget then does not do is seen by other means.
    """

    def note(error: Any) -> None:
        if "Failed to initialize model" not in str(error):
            faults.append(str(error))

    page.on("pageerror", note)
    return note


class Watched:
    """A page on which tests work with patience, whose own faults are noted."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.faults: list[str] = []
        note_faults(page, self.faults)
        page.set_default_timeout(PATIENCE * 1000)

    @property
    def volume(self) -> float:
        """The volume that the bench shows, in mm³; 0 while it shows none."""
        line = self.page.locator(".wb-line p")
        found = re.match(r"([\d.]+) mm³", line.inner_text()) if line.count() else None
        return float(found[1]) if found else 0.0

    def until(self, true: Callable[[], bool], what: str) -> None:
        """Wait until something is true."""
        until(self.page, true, what)


@contextmanager
def looked_at(watched: W, last: Path) -> Iterator[W]:
    """Work on a page, which is pictured at the end and has no faults of its own by then."""
    yield watched
    watched.page.screenshot(path=last)
    assert watched.faults == []


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


#: Opens a notebook in the place of all others, without asking what is to become of these.
INSTEAD = """async (path) => {
    for (const other of [...jupyterapp.shell.widgets('main')]) other.dispose();
    await jupyterapp.commands.execute('docmanager:open', { path });
}"""


def open_idle(page: Any, address: str) -> None:
    """Open a notebook and wait until its kernel has nothing to do.

    Where the page shows JupyterLab already, it need not be loaded anew.
    """
    server, path = re.split(r"/lab/workspaces/[^/]*/tree/", address.partition("?")[0])
    if page.url.startswith(server):
        page.evaluate(INSTEAD, path)
    else:
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
