"""The shelf of templates, and a new repair started from one with other numbers."""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.jupyter.fields import Field
from workbench.jupyter.panel import Panel, columns, labelled, said, told
from workbench.jupyter.sliders import field_for
from workbench.words import _

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench


class Shelf(Panel):
    """Choose a template, give its readings, and start a repair as a notebook of its own."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.title = _("Shelf")
        self._values: dict[str, Any] = {}
        self._fields: dict[str, Field] = {}
        self.list = w.Select(
            description=_("Templates"), rows=5, tooltip=_("Templates on the shelf")
        )
        self.list.add_class("wb-steps")
        self.card = w.HTML()
        self.faults = w.HTML()
        self.name = w.Text(
            description=_("Name"), tooltip=_("What the new part is called; its file is named so")
        )
        self.sizes = w.VBox([])
        self.sizes.add_class("wb-compact")
        self.button = w.Button(
            description=_("Start this repair"),
            tooltip=_("Write a notebook with these numbers into the folder of this one"),
        )
        self.button.add_class("wb-main")
        self.note = w.HTML()
        self.list.observe(lambda _change: self._open(), "value")
        self.button.on_click(self._start)
        self.widget = labelled(
            _("Start from a template"),
            columns(
                w.VBox([self.list, self.card, self.faults]),
                w.VBox([self.name, self.sizes, self.button, self.note]),
            ),
            kind="wb-form",
        )

    def opened(self) -> None:
        """Read the shelf; called when the panel is first looked at and when it has changed."""
        from workbench.output import shared
        from workbench.output.running import templates_folder
        from workbench.output.shelf import cards

        self.note.value = told(_("Reading the shelf …"))
        self._cards = {str(card.path): card for card in cards(templates_folder())}
        self.note.value = ""
        self.faults.value = "".join(told(text, "warning") for text in shared.faults())
        options = [(card.title, path) for path, card in self._cards.items()]
        if tuple(options) != tuple(self.list.options):
            chosen = self.list.value
            self.list.options = options
            self.list.rows = min(max(len(options), 2), 8)
            self.list.value = chosen if chosen in self._cards else next(iter(self._cards), None)
        self.button.disabled = not options

    def suited(self) -> None:
        for field in self._fields.values():
            field.show_again()

    def field(self, name: str) -> Field:
        """The control of one parameter of the chosen template."""
        return self._fields[name]

    def _open(self) -> None:
        from workbench.output.notebook import open_template, read_template
        from workbench.output.sizes import comes_first, parameter, size

        self.note.value, self.sizes.children, self.card.value = "", (), ""
        self._values, self._fields = {}, {}
        path = self.list.value
        if not path:
            return
        card = self._cards[path]
        picture = (
            f'<img alt="" src="data:image/png;base64,{base64.b64encode(card.picture).decode()}">'
            if card.picture
            else ""
        )
        self.card.value = f'<div class="wb-card">{picture}<p>{escape(card.note)}</p></div>'
        try:
            names, repair = open_template(path).names, read_template(path)
        except Exception as error:
            self.note.value = told(said(error), "stop")
            return
        for name, place in names.items():
            if comes_first(repair, place):
                asked = parameter(repair, place)
                asked = replace(asked, name=f"{place[0]} {_(asked.label)}")
                self._fields[name] = field_for(asked, self._take(name))
                self._fields[name].show(size(repair, place))
        self.sizes.children = tuple(field.widget for field in self._fields.values())
        self.name.value = card.title

    def _take(self, name: str) -> Callable[[str, Any], None]:
        return lambda _label, value: self._values.update({name: value})

    def _start(self, _button: Any) -> None:
        from workbench.output.notebook import start
        from workbench.output.running import NOTEBOOKS, TEMPLATES, own, running_notebook

        here = running_notebook()
        folder = here.parent if here is not None else Path.cwd()
        if folder.name == TEMPLATES:
            folder = folder.parent
        try:
            path = start(
                self.list.value, own(folder, NOTEBOOKS), self.name.value.strip(), **self._values
            )
        except Exception as error:
            self.note.value = told(said(error), "stop")
            return
        self.note.value = told(
            _("Started as {path}; open it from the list of files and run it").format(
                path=path.resolve()
            ),
            "done",
        )
