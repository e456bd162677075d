"""How a class grows: with workers, with rows, and in memory.

A few parts are made unless WORKBENCH_FULL is set: then 30, and 300. Processor seconds of each
worker are compared, so that other work on the machine counts little; the clock's are printed beside
them, and judged where 30 parts are made on a quiet machine.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import pytest
import rosters

from workbench.output.roster import whole_class
from workbench.output.roster.whole_class import make_class
from workbench.solids import catalogue

FULL = bool(os.environ.get("WORKBENCH_FULL"))
FEW, MANY = (30, 300) if FULL else (12, 18)

#: At least so many times as fast with two workers: with few parts one more or less tells.
FASTER = 1.7 if FULL else 1.5

#: Of what each part takes: so much at most, late in the run to early in it.
STEADY = 1.15 if FULL else 1.3


#: Templates for parts of their own, and a size of each that differs from row to row.
SIZES = {
    **{kind: "width" for kind in ("plate", "tab", "hook")},
    **{kind: "height" for kind in ("fin", "spacer")},
    "peg": "length",
}

#: The clock is judged as well where other work on the machine is less than this.
QUIET = 0.5


@dataclass(frozen=True)
class Part:
    """One part: by which process, its processor seconds before and after, memory, late imports."""

    worker: int
    before: float
    after: float
    memory: float
    imported: float


Run = Callable[[int, int], tuple[list[Part], float, float]]


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Run]:
    """Make so many parts with so many workers: the parts, our own processor seconds, the clock's.

    What was made already is not made again.
    """
    patched = pytest.MonkeyPatch()
    patched.setattr(whole_class, "made", rosters.timed)

    @cache
    def make(count: int, workers: int) -> tuple[list[Part], float, float]:
        place = tmp_path_factory.mktemp("class") / f"{count} by {workers}"
        place.mkdir()
        patched.setenv(rosters.CLOCK, str(place / "clock"))
        head = ",".join(("template", "pupil", *dict.fromkeys(SIZES.values())))
        table = rosters.written(place, *(_row(i) for i in range(count)), head=head)
        ours, clock = time.process_time(), time.perf_counter()
        session = make_class(table, place / "class", workers=workers)
        ours, clock = time.process_time() - ours, time.perf_counter() - clock
        made = [Part(int(w), *map(float, rest)) for w, *rest in _lines(place / "clock")]
        assert len(made) == len(session.lines) == count
        return made, ours, clock

    yield make
    patched.undo()


def _row(index: int) -> str:
    """The next template in turn, with a size of its own."""
    kind, size = list(SIZES.items())[index % len(SIZES)]
    columns = list(dict.fromkeys(SIZES.values()))
    begun = catalogue.find(kind).parameter(size).default
    cells = [f"{begun + index / 100:.2f}" if column == size else "" for column in columns]
    return ",".join((kind, f"Pupil {index}", *cells))


def _lines(path: Path) -> list[list[str]]:
    return [line.split() for line in path.read_text(encoding="utf-8").splitlines()]


def test_two_workers_are_nearly_twice_as_fast(run: Run) -> None:
    load = os.getloadavg()[0]
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
        f"\n{FEW} parts, from start to summary, imports included: by the clock "
        f"{clock_alone:.1f} s with one worker, {clock_both:.1f} s with two, "
        f"{clock_alone / clock_both:.2f} times as fast (load before: {load:.1f}); by processor "
        f"seconds {single / busiest:.2f} for the parts, "
        f"{(single + ours_alone) / (busiest + ours_both):.2f} with beds and summary"
    )
    # Where more wants to run than there are cores, two workers wait for locks of one another's
    # threads and spend their own time on it.
    if load < (os.cpu_count() or 1):
        assert single / busiest >= FASTER
    if FULL and load < QUIET:
        assert clock_alone / clock_both >= FASTER


def test_each_part_takes_the_same_time_and_memory_stays_flat(run: Run) -> None:
    few, ours_few, clock_few = run(FEW, 1)
    made, ours, clock = run(MANY, 1)
    warm = made[len(SIZES) :]  # each template's own imports are behind it
    each = [part.after - part.before for part in warm]
    half = len(each) // 2
    growth = (sum(each[half:]) / (len(each) - half)) / (sum(each[:half]) / half)
    times = (made[-1].after + ours) / (few[-1].after + ours_few) / (MANY / FEW)
    memory = made[-1].memory / max(warm[half].memory, 1e-9)
    print(
        f"\n{MANY} parts: a part of the later half takes {growth:.2f} of one of the earlier half; "
        f"{MANY} take {times:.2f} of {MANY // FEW} times {FEW} by processor seconds, "
        f"{clock / clock_few / (MANY / FEW):.2f} by the clock, imports included; "
        f"memory {warm[0].memory:.0f}, {warm[half].memory:.0f}, {made[-1].memory:.0f} MB"
    )
    assert growth <= STEADY
    assert times <= STEADY
    assert memory <= 1.15
