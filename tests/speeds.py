"""Processor time of jobs that take turns, so that other work on the machine counts little."""

from __future__ import annotations

import math
import resource
from collections.abc import Callable, Iterator, Sequence
from typing import Any


def quickest(*jobs: Callable[[], Any], tries: int = 5) -> list[float]:
    """The least processor time of several runs of each job, in s, the jobs taking turns."""
    best = [math.inf] * len(jobs)
    for _try in range(tries):
        for i, job in enumerate(jobs):
            start = processor_seconds()
            job()
            best[i] = min(best[i], processor_seconds() - start)
    return best


def processor_seconds() -> float:
    """Of this process and of those that it started and that have ended."""
    own, children = (
        resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return own.ru_utime + own.ru_stime + children.ru_utime + children.ru_stime


def changing(values: Sequence[float]) -> Iterator[float]:
    """Hands out the values round and round, so that no two runs ask for the same."""
    while True:
        yield from values
