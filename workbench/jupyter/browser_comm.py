"""The browser's side of the notebook, where JupyterLab shows it: asked over a comm to set cells."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from workbench.output.notebook.current_notebook import without_code
from workbench.solids.recipe.changes import Row

#: What the plain script of the JupyterLab extension answers to.
TARGET = "workbench"


class FrontEnd:
    """A line to the notebook's page; ``reached`` says whether anybody has answered on it.

    heard : called with what the page says
    lost : called when the page has nobody to answer, as in a page without code
    """

    def __init__(self, heard: Callable[[Row], None], lost: Callable[[], None]) -> None:
        self._heard, self._lost = heard, lost
        self._comm: Any = None
        self.reached = False
        self.refused = False

    def open(self) -> None:
        """Ask for an answer, where that was not done before and there may be one."""
        if self._comm is not None:
            return
        if without_code():
            self.refused = True
            self._lost()
            return
        from comm import create_comm

        self._comm = create_comm(target_name=TARGET, data={})
        self._comm.on_msg(self._hear)
        self._comm.on_close(self._close)

    def say(self, content: Row) -> bool:
        """Send it where somebody answers; returns whether that is so."""
        if self._comm is None or not self.reached:
            return False
        self._comm.send(content)
        return True

    def _hear(self, message: Row) -> None:
        self.reached, self.refused = True, False
        self._heard(message["content"]["data"])

    def _close(self, _message: Row) -> None:
        self._comm, self.reached, self.refused = None, False, True
        self._lost()
