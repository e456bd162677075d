"""The notebook that the bench is in: whether there is one, and when a cell of it has run."""

from __future__ import annotations

import threading
import weakref
from collections.abc import Callable
from traceback import walk_tb
from typing import Any, Protocol

from workbench.words import _


class Watcher(Protocol):
    """What looks again when a cell has run."""

    def look_again(self, fault: str = "") -> None:
        """Take in what the cell did; ``fault`` says in which line it failed, if it did."""


def shell() -> Any:
    """The running notebook kernel's shell, or None where there is none."""
    try:
        from IPython import get_ipython
    except ImportError:
        return None
    found = get_ipython()
    return found if found is not None and hasattr(found, "kernel") else None


def let_out(within: float = 0.02) -> None:
    """Wait so many seconds at most until all that the browser was told has left the kernel.

    A thread of its own sends it, and would wait for every other one that computes.
    """
    sender = getattr(getattr(shell(), "kernel", None), "iopub_thread", None)
    if sender is not None:
        sender.schedule((gone := threading.Event()).set)
        gone.wait(within)


def watching(watcher: weakref.ref[Any]) -> Callable[..., None]:
    """What to call after a cell; it keeps nothing alive that is no longer in use."""

    def after_cell(*result: Any) -> None:
        seen: Watcher | None = watcher()
        if seen is not None:
            seen.look_again(fault_in(*result))

    return after_cell


def cell_that_runs() -> tuple[str, str]:
    """The id of the cell that runs, empty where the client does not tell it, and of this run."""
    running = shell()
    parent = running.kernel.get_parent() if running is not None else None
    if not isinstance(parent, dict):
        return "", ""
    cell = (parent.get("metadata") or {}).get("cellId") or ""
    return str(cell), str((parent.get("header") or {}).get("msg_id") or "")


def code_that_ran() -> list[str]:
    """The cells that this kernel has run, the newest last."""
    running = shell()
    return [str(code) for code in running.user_ns.get("In", ())] if running is not None else []


def fault_in(result: Any = None) -> str:
    """In which line a cell failed and why, in one line; empty where it ran."""
    error = getattr(result, "error_before_exec", None) or getattr(result, "error_in_exec", None)
    if error is None:
        return ""
    cell = [frame for frame in walk_tb(error.__traceback__) if "ipython-input" in _file(frame)]
    cell = cell or [f for f in walk_tb(error.__traceback__) if "ipykernel_" in _file(f)]
    line = getattr(error, "lineno", None) or (cell[-1][1] if cell else 1)
    reason = error.msg if isinstance(error, SyntaxError) else str(error) or type(error).__name__
    return _("line {line}: {reason}").format(line=line, reason=" ".join(str(reason).split()))


def _file(found: tuple[Any, int]) -> str:
    return str(found[0].f_code.co_filename)
