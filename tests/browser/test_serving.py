"""What a pupil costs the machine that serves the class: memory, and time to the first picture."""

from __future__ import annotations

import io
import json
import os
import re
import sys
import time
import uuid
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path
from threading import Barrier
from typing import Any
from urllib.request import Request, urlopen

import numpy as np
import psutil
import pytest
import websocket
from browsed import PATIENCE, open_idle, run_all, until
from guide import serving

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells shared memory apart"),
]

MIB = 2**20

DIVIDER = """\
from workbench import bench
from workbench.output.notebook.shelf import repair_at
divider = repair_at("tray-divider")
bench(divider)"""

#: The same where no browser looks on: the bench is kept, so that it can be waited for.
KEPT = DIVIDER.replace("\nbench(divider)", "\nshown = bench(divider)\nshown")
SETTLED = "assert shown.settle(600) and shown.shown is not None"

#: How many pupils begin in the same moment: a whole class, or a few in passing.
FULL = bool(os.environ.get("WORKBENCH_FULL"))
PUPILS = 15 if FULL else 2
PAGES = 5 if FULL else 2


def server_of(folder: Path) -> psutil.Process:
    """The running JupyterLab that shows a folder."""
    wanted = f"--ServerApp.root_dir={folder}"
    return next(
        process
        for process in psutil.process_iter(["cmdline"])
        if wanted in (process.info["cmdline"] or [])
    )


def kernels(server: psutil.Process) -> dict[int, psutil.Process]:
    return {
        child.pid: child
        for child in server.children(recursive=True)
        if any("ipykernel" in word for word in child.cmdline())
    }


def proportional(*processes: psutil.Process) -> float:
    """Memory with each shared page counted by its share, in MiB."""
    return sum(process.memory_full_info().pss for process in processes) / MIB


def until_drawn(page: Any) -> None:
    """Wait until the preview shows a part, dark on the paper."""
    canvas = page.locator(".wb-preview canvas")
    canvas.wait_for()
    until(
        page,
        lambda: (_colours(canvas.screenshot()).sum(axis=2) < 500).mean() > 0.02,
        "the part is drawn",
    )


def _colours(shot: bytes) -> np.ndarray:
    from PIL import Image

    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)


def run_bench(page: Any, url: str) -> float:
    """Open a notebook and run it; the seconds from there until the part is on the screen."""
    open_idle(page, url)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    began = time.perf_counter()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    until_drawn(page)
    taken = time.perf_counter() - began
    page.locator(".wb-findings .wb-told.wb-done").wait_for()
    return taken


def test_a_server_and_two_benches_fit_into_the_memory_that_the_guide_allows(page: Any, lab: Any):
    page.set_default_timeout(PATIENCE * 1000)
    server = server_of(lab.folder)
    before = set(kernels(server))
    idle = proportional(server)
    taken, costs, ticks = [], [], []
    for name in ("mia", "jonas"):
        known = set(kernels(server))
        taken.append(run_bench(page, lab.notebook(f"{name}.ipynb", DIVIDER)))
        (pid,) = set(kernels(server)) - known
        kernel = psutil.Process(pid)
        costs.append((proportional(kernel), kernel.memory_info().rss / MIB))
        ticks.append(sum(kernel.cpu_times()[:2]))

    # an hour's work in short: every panel, twenty steps of a slider, the files
    for panel in ("Measure", "Use and bed side", "Layers", "Fit", "Loads", "Shelf"):
        page.locator(".wb-pages").get_by_role("button", name=panel, exact=True).click()
    handle = page.get_by_role("slider", name="bottom in mm", exact=True)
    handle.focus()
    for _step in range(20):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(20)
    page.locator(".wb-pages").get_by_role("button", name="Files", exact=True).click()
    page.get_by_role("button", name="Write revision 1").click()
    page.get_by_role("button", name="Write revision 2").wait_for()
    worked = proportional(kernel)
    both = proportional(*(psutil.Process(pid) for pid in set(kernels(server)) - before))

    print(
        f"\nserver {idle:.0f} MiB idle, {proportional(server):.0f} MiB with two benches; "
        f"kernel with a bench {costs[0][0]:.0f} MiB for itself (PSS; RSS {costs[0][1]:.0f}), "
        f"the second {costs[1][0]:.0f}; after work and export {worked:.0f}, both {both:.0f}; "
        f"from running the cell to the picture {taken[0]:.1f} and {taken[1]:.1f} s, "
        f"processor until the findings {ticks[0]:.1f} and {ticks[1]:.1f} s; "
        f"load {psutil.getloadavg()[0]:.1f} on {psutil.cpu_count()} processors"
    )
    allowed = re.search(r'^c\.Spawner\.mem_limit = "(\d+)M"$', serving(), flags=re.MULTILINE)
    assert allowed is not None
    needed = proportional(server) + 2 * kernel.memory_info().rss / MIB
    print(f"a server and two benches, nothing shared: {needed:.0f} of {allowed[1]} MiB")
    assert needed < float(allowed[1])


# -- all at once -------------------------------------------------------------------------------


@dataclass
class Kernel:
    """A kernel of the server, spoken to as JupyterLab speaks to it."""

    socket: websocket.WebSocket

    def run(self, code: str, timeout: float = 600.0) -> None:
        """Run a cell, and take in all that it sends until it has ended."""
        header = {
            "msg_id": uuid.uuid4().hex,
            "msg_type": "execute_request",
            "username": "pupil",
            "session": uuid.uuid4().hex,
            "version": "5.3",
        }
        content = {"code": code, "silent": False, "store_history": True, "stop_on_error": True}
        asked = {"header": header, "parent_header": {}, "metadata": {}, "content": content}
        self.socket.send(json.dumps({**asked, "channel": "shell"}))
        end = time.monotonic() + timeout
        while time.monotonic() < end:
            said = self.socket.recv()
            if isinstance(said, bytes):  # a widget's arrays
                continue
            answer = json.loads(said)
            if answer["parent_header"].get("msg_id") != header["msg_id"]:
                continue
            if answer["msg_type"] == "error":
                pytest.fail("\n".join(answer["content"]["traceback"]))
            if answer["msg_type"] == "status" and answer["content"]["execution_state"] == "idle":
                return
        pytest.fail(f"a cell ran for more than {timeout} s")


@contextmanager
def started(lab: Any, name: str) -> Iterator[Kernel]:
    """A notebook's kernel, started through the server, and ended with its session."""
    session = _asked(
        lab,
        "POST",
        "sessions",
        {"path": name, "name": name, "type": "notebook", "kernel": {"name": "python3"}},
    )
    try:
        address = f"{lab.address}/api/kernels/{session['kernel']['id']}/channels?token={lab.token}"
        socket = websocket.create_connection(address.replace("http", "ws", 1), timeout=600)
        with closing(socket):
            yield Kernel(socket)
    finally:
        _asked(lab, "DELETE", f"sessions/{session['id']}")


def _asked(lab: Any, method: str, path: str, content: Any = None) -> Any:
    request = Request(
        f"{lab.address}/api/{path}",
        data=None if content is None else json.dumps(content).encode(),
        headers={"Authorization": f"token {lab.token}", "Content-Type": "application/json"},
        method=method,
    )
    with urlopen(request, timeout=600) as answer:
        said = answer.read()
    return json.loads(said) if said else None


@dataclass(frozen=True)
class Begun:
    """What it came to that some pupils ran their cell in the same moment.

    cells, benches : s until each cell had run, and until each bench had its part, its findings,
        its drawing and its picture; in order
    processor : s that each kernel took
    memory : MiB in all of the kernels, what they share counted once
    server : MiB of the server; in a class each pupil has one
    """

    cells: list[float]
    benches: list[float]
    processor: list[float]
    memory: float
    server: float


def begin_together(lab: Any, count: int) -> Begun:
    server = server_of(lab.folder)
    before = set(kernels(server))
    gate = Barrier(count)

    def pupil(place: int, ready: Barrier) -> tuple[float, float]:
        with started(lab, f"pupil-{count}-{place}.ipynb") as kernel:
            kernel.run("pass")
            gate.wait(600)
            began = time.perf_counter()
            kernel.run(KEPT)
            cell = time.perf_counter() - began
            kernel.run(SETTLED)
            whole = time.perf_counter() - began
            ready.wait(600)  # every bench is there
            ready.wait(600)  # and was looked at
            return cell, whole

    ready = Barrier(count + 1)
    with ThreadPoolExecutor(count) as pool:
        pupils = [pool.submit(pupil, place, ready) for place in range(count)]
        for one in pupils:
            one.add_done_callback(lambda done: done.exception() and ready.abort())
        ready.wait(600)
        mine = [k for pid, k in kernels(server).items() if pid not in before]
        memory, its_server = proportional(*mine), proportional(server)
        processor = [sum(kernel.cpu_times()[:2]) for kernel in mine]
        ready.wait(600)
    assert len(mine) == count
    cells, benches = zip(*(one.result() for one in pupils), strict=True)
    return Begun(sorted(cells), sorted(benches), processor, memory, its_server)


def told(what: str, times: list[float]) -> str:
    middle = times[len(times) // 2]
    return f"{what} after {times[0]:.1f} (first), {middle:.1f} (median), {times[-1]:.1f} s (last)"


def load() -> str:
    return f"load {psutil.getloadavg()[0]:.1f} on {psutil.cpu_count()} processors"


def test_a_class_that_begins_at_once_fits_into_the_memory_that_the_guide_asks_for(lab: Any):
    quiet = load()
    alone = begin_together(lab, 1)
    together = begin_together(lab, PUPILS)
    print(f"\nbefore: {quiet}")
    for name, begun in (("one alone", alone), (f"{PUPILS} at once", together)):
        print(
            f"{name}: {told('cells', begun.cells)}; {told('benches', begun.benches)}; "
            f"processor {np.mean(begun.processor):.1f} s each; "
            f"kernels {begun.memory:.0f} MiB in all, server {begun.server:.0f} MiB"
        )
    print(f"after: {load()}")

    base, each = map(int, re.findall(r"(\d+) MiB and (\d+) MiB for each pupil", serving())[0])
    assert together.memory + PUPILS * together.server < base + each * PUPILS
    # a further pupil costs no more than the first; they only wait for processors
    assert together.memory < 1.2 * PUPILS * alone.memory
    assert np.mean(together.processor) < 2 * np.mean(alone.processor)


def test_several_pages_that_begin_at_once_all_show_their_part(page: Any, lab: Any):
    server = server_of(lab.folder)
    before = set(kernels(server))
    pages = [page.context.new_page() for _n in range(PAGES)]
    for place, each in enumerate(pages):
        each.set_default_timeout(PATIENCE * 1000)
        each.goto(lab.notebook(f"page-{place}.ipynb", DIVIDER))
        each.get_by_text("Python 3 (ipykernel) | Idle").wait_for()
    quiet, began = load(), time.perf_counter()
    for each in pages:
        run_all(each)
    drawn, whole = [], []
    for each in pages:
        until_drawn(each)
        drawn.append(time.perf_counter() - began)
    for each in pages:
        each.locator(".wb-findings .wb-told.wb-done").wait_for()
        whole.append(time.perf_counter() - began)
    mine = [kernel for pid, kernel in kernels(server).items() if pid not in before]
    print(
        f"\n{PAGES} pages of Chromium on the same machine, {quiet} before, {load()} after: "
        f"{told('parts', sorted(drawn))}; {told('findings', sorted(whole))}; "
        f"kernels {proportional(*mine):.0f} MiB PSS in all"
    )
    assert len(mine) == PAGES
    for each in pages:
        assert "mm³" in each.locator(".wb-line p").inner_text()
        each.close()
