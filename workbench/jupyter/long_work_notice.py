"""The notice that a build takes long, and the button that stops it."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager

import ipywidgets as w

from workbench import fork
from workbench.jupyter.panel import button_for, told
from workbench.words import _

#: Seconds after which a build that still goes on is said to take long.
LONG = 5.0

#: Seconds between looks at whether something is at work that can be stopped.
AGAIN = 0.5


class LongWorkNotice(w.HBox):
    """A line and a button, there only while something takes long that can be stopped."""

    def __init__(self) -> None:
        self.said = w.HTML()
        self.stop = button_for(_("Stop"), _("Stop this; the last good solid stays"))
        self.stop.on_click(lambda _button: fork.stop_copies())
        super().__init__([self.said, self.stop])
        self._show(False)

    @contextmanager
    def watching(self) -> Iterator[None]:
        """Tell of what is done within, should it take long."""
        done = threading.Event()
        threading.Thread(target=self._look, args=(done,), daemon=True).start()
        try:
            yield
        finally:
            done.set()
            if self.layout.display != "none":
                self._show(False)

    def _look(self, done: threading.Event) -> None:
        """Wait until it is long, and then until there is something to stop."""
        wait = LONG
        while not done.wait(wait):
            if fork.copies():
                self._show(True)
                if done.is_set():  # just now
                    self._show(False)
                return
            wait = AGAIN

    def _show(self, is_long: bool) -> None:
        text = _("This is taking long. Wait, or stop it and change a size or the rounding.")
        self.said.value = told(text) if is_long else ""
        self.layout.display = "" if is_long else "none"
