"""The form that starts a repair of one's own from a template: its sizes, its name, its notebook."""

from __future__ import annotations

import base64
from collections.abc import Callable
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.jupyter.fields import Field
from workbench.jupyter.links import Links, link
from workbench.jupyter.panel import said, told
from workbench.jupyter.sliders import field_for
from workbench.words import _

if TYPE_CHECKING:
    from workbench.output.shelf import Card


class Starting:
    """Takes readings for the sizes of one template, and writes a notebook with them."""

    def __init__(self) -> None:
        self._card: Card | None = None
        self._values: dict[str, Any] = {}
        self.fields: dict[str, Field] = {}
        self.card = w.HTML()
        self.sizes = w.Box([])
        for kind in ("wb-compact", "wb-columns"):
            self.sizes.add_class(kind)
        self.name = w.Text(
            description=_("Name"), tooltip=_("What the new part is called; its file is named so")
        )
        self.button = w.Button(
            description=_("Start this repair"),
            tooltip=_("Write a notebook with these numbers"),
        )
        self.button.add_class("wb-main")
        self.note, self.links = w.HTML(), Links()
        self.button.on_click(lambda _button: self._start())
        self.widget = w.VBox([self.card, self.sizes, self.name, self.button, self.note, self.links])
        self.widget.add_class("wb-form")
        self.open(None)

    def open(self, card: Card | None) -> None:
        """Ask for the sizes of another template, or for none."""
        from workbench.output.notebook import open_template, read_template
        from workbench.output.sizes import comes_first, parameter, size

        self._card, self._values, self.fields = card, {}, {}
        self.note.value, self.card.value, self.sizes.children = "", "", ()
        self.links.show(())
        self.widget.layout.display = "" if card is not None else "none"
        if card is None:
            return
        self.card.value = _shown(card)
        self.name.value = card.title
        try:
            names, repair = open_template(card.path).names, read_template(card.path)
        except Exception as error:
            self.note.value = told(said(error), "stop")
            self.button.disabled = True
            return
        self.button.disabled = False
        for name, place in names.items():
            if comes_first(repair, place):
                asked = parameter(repair, place)
                asked = replace(asked, name=_named(*place))
                self.fields[name] = field_for(asked, self._take(name))
                self.fields[name].show(size(repair, place))
        self.sizes.children = tuple(field.widget for field in self.fields.values())

    def suited(self) -> None:
        """Show the sizes in the unit that the user reads now."""
        for field in self.fields.values():
            field.show_again()

    def _take(self, name: str) -> Callable[[str, Any], None]:
        return lambda _label, value: self._values.update({name: value})

    def _start(self) -> None:
        from workbench.output.notebook import start
        from workbench.output.running import NOTEBOOKS, TEMPLATES, own, running_notebook

        if self._card is None:
            return
        here = running_notebook()
        folder = here.parent if here is not None else Path.cwd()
        if folder.name == TEMPLATES:
            folder = folder.parent
        self.links.show(())
        try:
            path = start(
                self._card.path,
                own(folder, NOTEBOOKS),
                self.name.value.strip(),
                **self._values,
            )
        except Exception as error:
            self.note.value = told(said(error), "stop")
            return
        self.note.value = told(_("Started as {path}").format(path=path.resolve()), "done")
        self.links.show(
            [
                _("{link}, then choose Run, Run All Cells: your part is on the bench.").format(
                    link=link(path, _("Open {file}").format(file=path.name))
                )
            ]
        )


def _named(step: str, field: str) -> str:
    own = field.removesuffix(".mating")
    label = f"{step} {_(own.replace('_', ' '))}"
    return label if own == field else _("what {size} fits").format(size=label)


def _shown(card: Card) -> str:
    source = base64.b64encode(card.picture).decode()
    picture = f'<img alt="" src="data:image/png;base64,{source}">' if card.picture else ""
    hint = _(
        "Type what your calipers read, such as 36.1, several readings such as 36.0 36.1 36.1, "
        "or 1 3/8 in. A size that you leave stays as it is."
    )
    return (
        f'<div class="wb-card">{picture}<div><p>{escape(card.note)}</p>'
        f'<p class="wb-help">{escape(hint)}</p></div></div>'
    )
