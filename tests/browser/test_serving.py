"""What a pupil costs the machine that serves the class: memory, and time to the first picture."""

from __future__ import annotations

import io
import re
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import psutil
import pytest

pytestmark = [
    pytest.mark.browser,
    pytest.mark.skipif(sys.platform != "linux", reason="only Linux tells shared memory apart"),
]

PATIENCE = 90.0
MIB = 2**20

DIVIDER = """\
from workbench import bench
from workbench.output.shelf import repair_at
divider = repair_at("tray-divider")
bench(divider)"""

DEVELOPERS = (Path(__file__).resolve().parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")


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
    end = time.monotonic() + PATIENCE
    page.locator(".wb-preview canvas").wait_for()
    while time.monotonic() < end:
        shot = page.locator(".wb-preview canvas").screenshot()
        if (_colours(shot).sum(axis=2) < 500).mean() > 0.02:
            return
        page.wait_for_timeout(30)
    pytest.fail("the preview stays empty")


def _colours(shot: bytes) -> np.ndarray:
    from PIL import Image

    return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)


def run_bench(page: Any, url: str) -> float:
    """Open a notebook and run it; the seconds from there until the part is on the screen."""
    page.goto(url)
    page.wait_for_selector(".jp-Notebook .jp-Cell")
    page.get_by_text("Python 3 (ipykernel) | Idle").wait_for()
    page.get_by_role("menuitem", name="Run", exact=True).click()
    began = time.perf_counter()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    until_drawn(page)
    taken = time.perf_counter() - began
    page.locator(".wb-findings .wb-told.wb-done").wait_for()
    page.locator(".wb-drawing svg").wait_for()
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
    allowed = re.search(r'^c\.Spawner\.mem_limit = "(\d+)M"$', DEVELOPERS, flags=re.MULTILINE)
    assert allowed is not None
    needed = proportional(server) + 2 * kernel.memory_info().rss / MIB
    print(f"a server and two benches, nothing shared: {needed:.0f} of {allowed[1]} MiB")
    assert needed < float(allowed[1])
