"""Long lists are shared out: of three tests over the whole shelf, each takes every third part.

So every part is looked at by one of them in every run, and by all of them
where ``WORKBENCH_FULL=1`` or ``WORKBENCH_RELEASE=1``.
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from typing import TypeVar

T = TypeVar("T")

FULL = any(os.environ.get(f"WORKBENCH_{name}") for name in ("FULL", "RELEASE"))


def turn(things: Iterable[T], number: int, of: int = 3) -> list[T]:
    """The things that fall to the test of this number, from 0."""
    return list(things) if FULL else list(things)[number::of]
