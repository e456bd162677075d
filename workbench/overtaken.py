"""Long work that a newer value has overtaken is left at the next place where it can be.

What works beside a person says with :func:`asking` how to find out; long work calls
:func:`leave_if_overtaken` between its pieces, which costs nothing where nobody asked.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager

_here = threading.local()


class Overtaken(BaseException):
    """The work is not wanted any more; no error, so that nothing tells of it or keeps it."""


@contextmanager
def asking(is_newer: Callable[[], bool]) -> Iterator[None]:
    """Leave what is done within, on this thread, as soon as there is something newer."""
    before = getattr(_here, "is_newer", None)
    _here.is_newer = is_newer
    try:
        yield
    except Overtaken:
        pass
    finally:
        _here.is_newer = before


def asked() -> bool:
    """Whether the work on this thread may be overtaken at all."""
    return getattr(_here, "is_newer", None) is not None


def leave_if_overtaken() -> None:
    """Go on, or raise :class:`Overtaken` where there is something newer."""
    is_newer = getattr(_here, "is_newer", None)
    if is_newer is not None and is_newer():
        raise Overtaken
