"""The shelf of templates, and a new repair started from one with other numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as w

from workbench.jupyter.pages.starting import Starting
from workbench.jupyter.panel import Panel, labelled, told
from workbench.words import _

if TYPE_CHECKING:
    from workbench.output.notebook.shelf import Card


class Shelf(Panel):
    """Choose a template, give its readings, and start a repair as a notebook of its own."""

    title = "Shelf"
    purpose = "Start another repair from a template"

    def lay_out(self) -> None:
        self.starting = Starting()
        self._cards: dict[str, Card] = {}
        self.list = w.Select(
            description=_("Templates"), rows=5, tooltip=_("Templates on the shelf")
        )
        self.list.add_class("wb-steps")
        self.note, self.faults = w.HTML(), w.HTML()
        self.list.observe(lambda _change: self._open(), "value")
        self.widget = labelled(
            _("Start from a template"),
            w.VBox([self.list, self.note, self.faults, self.starting.widget]),
            kind="wb-form",
        )

    def opened(self) -> None:
        """Read the shelf; called when the panel is first looked at and when it has changed."""
        from workbench.output.notebook import shared_folders
        from workbench.output.notebook.current_notebook import templates_folder
        from workbench.output.notebook.shelf import cards

        self.note.value = told(_("Reading the shelf …"))
        self._cards = {str(card.path): card for card in cards(templates_folder())}
        self.note.value = ""
        self.faults.value = "".join(told(text, "warning") for text in shared_folders.faults())
        options = [(card.title, path) for path, card in self._cards.items()]
        if tuple(options) != tuple(self.list.options):
            chosen = self.list.value
            self.list.options = options
            self.list.rows = min(max(len(options), 2), 8)
            self.list.value = chosen if chosen in self._cards else next(iter(self._cards), None)

    def suited(self) -> None:
        self.starting.suited()

    def _open(self) -> None:
        self.starting.open(self._cards.get(self.list.value or ""))
