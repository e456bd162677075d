"""What there is to say about how the bench's work is kept, and the button that writes the notebook."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import ipywidgets as w

from workbench.errors import RepairError
from workbench.jupyter.panel import button_for, told
from workbench.words import _


class KeptLines(w.VBox):
    """Sentences at the top of the bench; nothing is seen where there is nothing to say."""

    def __init__(self, write: Callable[[], None]) -> None:
        self.lines, self.written = w.HTML(), w.HTML()
        self.button = button_for(
            _("Write into the notebook"), _("Save the part on the bench in the notebook's file")
        )
        self._write = write
        self.button.on_click(lambda _button: self._press())
        super().__init__([self.lines, self.button, self.written])
        self.add_class("wb-kept")
        self.show([], False)

    def show(self, lines: Sequence[str], can_write: bool) -> None:
        """Show these sentences, and the button where nobody else writes the notebook."""
        self.lines.value = "".join(told(line, "warning") for line in lines)
        self.button.layout.display = "" if can_write else "none"

    def _press(self) -> None:
        try:
            self._write()
        except RepairError as error:
            self.written.value = told(str(error), "stop")
        else:
            self.written.value = told(_("The notebook is up to date."), "done")
