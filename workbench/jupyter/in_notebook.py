"""The notebook that the bench is in: whether there is one, and when a cell of it has run."""

from __future__ import annotations

import weakref
from collections.abc import Callable
from typing import Any, Protocol


class Watcher(Protocol):
    """What looks again when a cell has run."""

    def look_again(self) -> None:
        """Take in what the cell did."""


def shell() -> Any:
    """The running notebook kernel's shell, or None where there is none."""
    try:
        from IPython import get_ipython
    except ImportError:
        return None
    found = get_ipython()
    return found if found is not None and hasattr(found, "kernel") else None


def watching(watcher: weakref.ref[Any]) -> Callable[..., None]:
    """What to call after a cell; it keeps nothing alive that is no longer in use."""

    def after_cell(*_result: Any) -> None:
        seen: Watcher | None = watcher()
        if seen is not None:
            seen.look_again()

    return after_cell
