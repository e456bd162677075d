"""Rosters for the tests, and workers that do their work at once or badly."""

from __future__ import annotations

import json
import os
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from workbench.output.roster.job_pool import Workers
from workbench.output.roster.part_job import Made, made
from workbench.output.roster.roster_row import Job


class Inline(Executor):
    """Does each job where it is handed in."""

    def submit(self, work: Callable[..., Any], /, *words: Any, **named: Any) -> Future[Any]:
        future: Future[Any] = Future()
        try:
            future.set_result(work(*words, **named))
        except Exception as error:
            future.set_exception(error)
        return future


@contextmanager
def inline(_count: int | None, _warm_up: Callable[[], None]) -> Iterator[Workers]:
    """Stands for local processes."""
    yield Workers(1, Inline)


def address_in(told: Path) -> str:
    """What a scheduler that was just started says of its address; its file is there before its words."""
    until = time.monotonic() + 60
    while not (told.exists() and told.read_text()) and time.monotonic() < until:
        time.sleep(0.1)
    return str(json.loads(told.read_text())["address"])


def written(folder: Path, *rows: str, head: str = "template,pupil,width,height") -> Path:
    """A roster with these rows."""
    path = folder / "mend-it.csv"
    path.write_text("\r\n".join([head, *rows, ""]), encoding="utf-8", newline="")
    return path


def ended_by_three(value: int) -> int:
    """Ten times the value; 3 ends the worker, as the system does when memory runs out."""
    if value == 3:
        time.sleep(0.3)
        os._exit(1)
    return 10 * value


def always_ends(_value: int) -> int:
    """Ends every worker."""
    os._exit(1)


#: Names the file that :func:`timed` writes to.
CLOCK = "WORKBENCH_TEST_CLOCK"


def timed(job: Job, clock: Path | None = None) -> Made:
    """Make a part, and note who did, its processor seconds before and after, and its memory in MB.

    Also what it had to import for it of what takes long.
    """
    before, known = time.process_time(), set(sys.modules)
    result = made(job)
    late = len({"build123d", "OCP", "manifold3d", "matplotlib.figure"} & (set(sys.modules) - known))
    row = f"{os.getpid()} {before} {time.process_time()} {_memory()} {late}\n"
    with (clock or Path(os.environ[CLOCK])).open("a", encoding="utf-8") as file:
        file.write(row)
    return result


def _memory() -> float:
    """What this process holds in memory now, in MB; 0 where the system does not tell."""
    try:
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    except OSError:
        return 0.0
    return pages * os.sysconf("SC_PAGE_SIZE") / 1e6


def nothing() -> None:
    """A worker that needs no warming up."""
