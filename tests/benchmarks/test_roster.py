"""How a class grows: with workers, with rows, and in memory.

A few parts are made unless WORKBENCH_FULL is set: then 30, and 300. Processor seconds of each
worker are compared, not those of the clock, so that other work on the machine counts little; the
clock's are printed beside them.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest
import rosters

from workbench.output import roster_class
from workbench.output.roster_class import make_class

FULL = bool(os.environ.get("WORKBENCH_FULL"))
FEW, MANY = (30, 300) if FULL else (8, 24)

#: At least so many times as fast with two workers: with few parts one more or less tells.
FASTER = 1.7 if FULL else 1.5

#: Of what each part takes: so much at most, late in the run to early in it.
STEADY = 1.15 if FULL else 1.3


@dataclass(frozen=True)
class Part:
    """One part: by which process, its processor seconds before and after, memory, late imports."""

    worker: int
    before: float
    after: float
    memory: float
    imported: float


Run = Callable[[int, int], tuple[list[Part], float, float]]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    """Make so many parts with so many workers: the parts, our own processor seconds, the clock's."""
    monkeypatch.setattr(roster_class, "made", rosters.timed)

    def make(count: int, workers: int) -> tuple[list[Part], float, float]:
        place = tmp_path / f"{count} by {workers}"
        place.mkdir()
        monkeypatch.setenv(rosters.CLOCK, str(place / "clock"))
        kinds = ("box", "wedge", "tab", "plate", "fin")
        rows = (f"{kinds[i % 5]},Pupil {i},{20 + i / 10},{3 + i % 7 / 10}" for i in range(count))
        head = "template,pupil,width,thickness"
        table = rosters.written(place, *(_row(row) for row in rows), head=f"{head},bottom,height")
        ours, clock = time.process_time(), time.perf_counter()
        session = make_class(table, place / "class", workers=workers)
        ours, clock = time.process_time() - ours, time.perf_counter() - clock
        made = [Part(int(w), *map(float, rest)) for w, *rest in _lines(place / "clock")]
        assert len(made) == len(session.lines) == count
        return made, ours, clock

    return make


def _row(row: str) -> str:
    """Which columns a template has: a box and a wedge have no thickness, a fin no width."""
    template, pupil, width, thickness = row.split(",")
    if template in ("box", "wedge"):
        return f"{template},{pupil},{width},,,"
    if template == "fin":
        return f"{template},{pupil},,{thickness},{width},"
    return f"{template},{pupil},{width},{thickness},,"


def _lines(path: Path) -> list[list[str]]:
    return [line.split() for line in path.read_text(encoding="utf-8").splitlines()]


def test_two_workers_are_nearly_twice_as_fast(run: Run) -> None:
    alone, ours_alone, clock_alone = run(FEW, 1)
    both, ours_both, clock_both = run(FEW, 2)
    assert len({part.worker for part in alone}) == 1
    assert len({part.worker for part in both}) == 2
    # Each worker imports the kernel once, before its first part; then it only makes parts.
    assert not any(part.imported for part in (*alone, *both))
    busiest = max(
        sum(part.after - part.before for part in both if part.worker == worker)
        for worker in {part.worker for part in both}
    )
    single = sum(part.after - part.before for part in alone)
    print(
        f"\n{FEW} parts: {single / busiest:.2f} times as fast with two workers by processor "
        f"seconds; {(single + ours_alone) / (busiest + ours_both):.2f} with beds and summary; "
        f"{clock_alone / clock_both:.2f} by the clock, load {os.getloadavg()[0]:.1f}"
    )
    assert single / busiest >= FASTER


def test_each_part_takes_the_same_time_and_memory_stays_flat(run: Run) -> None:
    made, _ours, _clock = run(MANY, 1)
    warm = made[5:]  # each template's own imports are behind it
    each = [part.after - part.before for part in warm]
    half = len(each) // 2
    growth = (sum(each[half:]) / (len(each) - half)) / (sum(each[:half]) / half)
    memory = made[-1].memory / max(warm[half].memory, 1e-9)
    print(
        f"\n{MANY} parts: a part of the later half takes {growth:.2f} of one of the earlier half; "
        f"memory {warm[0].memory:.0f}, {warm[half].memory:.0f}, {made[-1].memory:.0f} MB"
    )
    assert growth <= STEADY
    assert memory <= 1.15
