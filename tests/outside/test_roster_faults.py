"""A class whose machines fail: Dask's own scheduler and workers, killed, frozen and restarted.

Ten rows, or 300 where WORKBENCH_FULL is set; the times are printed beside what came of it.
"""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections import Counter
from contextlib import ExitStack
from pathlib import Path

import pytest
from ports import free_port
from rosters import address_in, written

from workbench.output.notebook.template_notebook import as_notebook
from workbench.output.roster.class_summary import Line
from workbench.output.roster.roster_row import LATER, READY
from workbench.output.roster.whole_class import make_class
from workbench.solids.recipe.repair import Repair

Client = pytest.importorskip("distributed").Client

pytestmark = pytest.mark.usefixtures("client_collected")

ROWS, WORKERS = (300, 4) if os.environ.get("WORKBENCH_FULL") else (9, 3)

#: What a row may compute here, in seconds: one takes about two.
SECONDS = 60 if ROWS == 300 else 8


def never_done() -> bytes:
    """A template whose rounding the kernel is never done with."""
    repair = Repair("funnel").add("cone", bottom=329, top=0, height=10).round(5)
    return as_notebook(repair, "never", image=b"\x89PNG")


class Cluster:
    """A scheduler at one address, and workers that can be killed and frozen."""

    def __init__(self, stack: ExitStack, folder: Path) -> None:
        self._stack, self._folder, self._port = stack, folder, free_port()
        self.address = f"tcp://127.0.0.1:{self._port}"
        self.workers: list[subprocess.Popen[bytes]] = []
        self.schedule()
        self.join(WORKERS)
        with Client(self.address, set_as_default=False) as client:
            client.wait_for_workers(WORKERS, timeout=180)

    def schedule(self) -> None:
        told = self._folder / "scheduler.json"
        told.unlink(missing_ok=True)
        self.scheduler = self._start(
            "dask_scheduler", "--host", "127.0.0.1", "--port", str(self._port), "--no-dashboard",
            "--scheduler-file", str(told),
        )  # fmt: skip
        assert address_in(told) == self.address

    def join(self, count: int) -> None:
        for _number in range(count):
            self.workers.append(
                self._start(
                    "dask_worker", self.address, "--host", "127.0.0.1", "--nthreads", "1",
                    "--no-nanny", "--no-dashboard", "--local-directory", str(self._folder / "dask"),
                )
            )  # fmt: skip

    def _start(self, command: str, *words: str) -> subprocess.Popen[bytes]:
        process = subprocess.Popen(
            [sys.executable, "-m", f"distributed.cli.{command}", *words],
            env={**os.environ, "WORKBENCH_SECONDS": str(SECONDS)},
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        self._stack.callback(process.wait)
        self._stack.callback(process.kill)
        return process


def test_every_other_row_is_done_once_whatever_fails(tmp_path) -> None:
    shelf = tmp_path / "templates"
    shelf.mkdir()
    (shelf / "never.ipynb").write_bytes(never_done())
    rows = [f"box,Pupil {i},{15 + i % 40}.{i % 9},{6 + i % 5}" for i in range(ROWS - 1)]
    rows.insert(3, "never,Sam,,")
    table = written(tmp_path, *rows)
    told: list[str] = []
    began = time.monotonic()
    with ExitStack() as stack:
        cluster = Cluster(stack, tmp_path)

        def progress(done: int, _total: int, line: Line) -> None:
            at = round(time.monotonic() - began)
            if line.state != READY:
                told.append(f"{at} s: row {line.row}, {line.state}: {' '.join(line.why)}")
            if done == ROWS // 4:
                told.append(f"{at} s: a worker is killed after {done} rows")
                cluster.workers[0].kill()
            if done == ROWS // 3:
                told.append(f"{at} s: a worker is frozen after {done} rows")
                cluster.workers[1].send_signal(signal.SIGSTOP)
            if done == ROWS // 2:
                told.append(f"{at} s: the scheduler is restarted after {done} rows")
                cluster.scheduler.kill()
                cluster.scheduler.wait()
                cluster.schedule()
                cluster.join(2)

        session = make_class(
            table, tmp_path / "class", scheduler=cluster.address, more=[shelf], progress=progress
        )
    told.append(f"{round(time.monotonic() - began)} s: the summary is written")
    print(*told, sep="\n")
    states = Counter(line.state for line in session.lines)
    assert states == {READY: ROWS - 1, LATER: 1}
    assert sorted(line.row for line in session.lines) == list(range(2, ROWS + 2))
    (never,) = (line for line in session.lines if line.state == LATER)
    assert never.pupil == "Sam" and "and was stopped" in never.why[0]
    folders = [line.folder for line in session.lines if line.state == READY]
    made = [path.name for path in (tmp_path / "class" / "parts").iterdir()]
    assert len(set(folders)) == len(folders) == len(made)
    assert [path.name for path in (tmp_path / "class").glob("revision-*")] == ["revision-1"]


def test_a_class_whose_scheduler_is_gone_ends_with_its_summary(tmp_path, monkeypatch) -> None:
    monkeypatch.setattr("workbench.output.roster.job_pool.PATIENCE", 3.0)
    rows = [f"box,Pupil {i},{15 + i},{6 + i}" for i in range(6)]
    with ExitStack() as stack:
        cluster = Cluster(stack, tmp_path)

        def progress(done: int, _total: int, _line: Line) -> None:
            if done == 2:
                cluster.scheduler.kill()

        session = make_class(
            written(tmp_path, *rows),
            tmp_path / "class",
            scheduler=cluster.address,
            progress=progress,
        )
    left = [line for line in session.lines if line.state == LATER]
    assert left and all("run it again" in line.why[0] for line in left)
    assert len(left) + sum(line.state == READY for line in session.lines) == 6
    assert session.paths[-1].name == "summary.pdf" and session.paths[-1].is_file()
