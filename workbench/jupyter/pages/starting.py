"""The form that starts a repair of one's own: the sizes of a template or a plain shape, and a name."""

from __future__ import annotations

import base64
from collections.abc import Callable, Mapping
from dataclasses import replace
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.jupyter.pages.links import BENCH, Links, link
from workbench.jupyter.panel import button_for, said, told
from workbench.jupyter.sizes.fields import Field
from workbench.jupyter.sizes.sliders import field_for
from workbench.solids import catalogue
from workbench.solids.parameters import Parameter
from workbench.words import _, sentence

if TYPE_CHECKING:
    from workbench.output.notebook.shelf import Card


class Starting:
    """Takes readings for the sizes of one template, and writes a notebook with them."""

    def __init__(self) -> None:
        self._begin: Callable[[Path, str, dict[str, Any]], Path] | None = None
        self._values: dict[str, Any] = {}
        self.fields: dict[str, Field] = {}
        self.card = w.HTML()
        self.sizes = w.Box([])
        for kind in ("wb-compact", "wb-columns"):
            self.sizes.add_class(kind)
        self.name = w.Text(description=_("Name"), tooltip=_("Name of the new part and of its file"))
        self.button = button_for(
            _("Start this repair"), _("Write a notebook with these numbers"), "wb-main"
        )
        self.note, self.links = w.HTML(), Links()
        self.button.on_click(lambda _button: self._start())
        self.widget = w.VBox([self.card, self.sizes, self.name, self.button, self.note, self.links])
        self.widget.add_class("wb-form")
        self.open(None)

    def open(self, card: Card | None) -> None:
        """Ask for the sizes of another template, or for none."""
        from workbench.output.notebook.repair_sizes import comes_first, parameter, size
        from workbench.output.notebook.template_notebook import open_template, read_template, start

        self._clear()
        if card is None:
            return
        path = card.path
        try:
            names, repair = open_template(path).names, read_template(path)
        except Exception as error:
            self._ask(card.title, _shown(card.note, card.picture), {})
            self.note.value = told(said(error), "stop")
            self.button.disabled = True
            return
        self._begin = lambda folder, name, values: start(path, folder, name, **values)
        sizes = {
            name: (replace(parameter(repair, place), name=_named(*place)), size(repair, place))
            for name, place in names.items()
            if comes_first(repair, place)
        }
        self._ask(card.title, _shown(card.note, card.picture), sizes)

    def open_shape(self, name: str) -> None:
        """Ask for the sizes of a plain shape, for a part that nothing on the shelf is like."""
        from workbench.output.notebook.beginning import beginning

        self._clear()
        found = beginning(name)
        self._begin = lambda folder, title, values: found.begin(folder, title, None, None, values)
        summary = sentence(_(catalogue.find(name).summary))
        self._ask(_(found.title), _shown(summary, b""), found.sizes)

    def _clear(self) -> None:
        self._begin, self._values, self.fields = None, {}, {}
        self.note.value, self.card.value, self.sizes.children = "", "", ()
        self.links.show(())
        self.widget.layout.display = "none"

    def _ask(self, title: str, shown: str, sizes: Mapping[str, tuple[Parameter, Any]]) -> None:
        self.widget.layout.display = ""
        self.card.value, self.name.value, self.button.disabled = shown, title, False
        for name, (asked, value) in sizes.items():
            self.fields[name] = field_for(asked, self._take(name))
            self.fields[name].show(value)
        self.sizes.children = tuple(field.widget for field in self.fields.values())

    def suited(self) -> None:
        """Show the sizes in the unit that the user reads now."""
        for field in self.fields.values():
            field.show_again()

    def _take(self, name: str) -> Callable[[str, Any], None]:
        return lambda _label, value: self._values.update({name: value})

    def _start(self) -> None:
        from workbench.output.notebook.current_notebook import (
            NOTEBOOKS,
            TEMPLATES,
            own,
            running_notebook,
            with_room,
        )

        if self._begin is None:
            return
        refused = [field.refusal for field in self.fields.values() if field.refusal]
        if refused:
            self.note.value = told(_("Fix this first: {why}").format(why=refused[0]), "stop")
            return
        here = running_notebook()
        folder = here.parent if here is not None else Path.cwd()
        if folder.name == TEMPLATES:
            folder = folder.parent
        self.links.show(())
        self.note.value = told(_("Starting …"))
        try:
            path = self._begin(
                with_room(own(folder, NOTEBOOKS)), self.name.value.strip(), self._values
            )
        except Exception as error:
            self.note.value = told(said(error), "stop")
            return
        self.note.value = told(_("Started as {path}").format(path=path.resolve()), "done")
        self.links.show([link(path, _("Open {file} on the bench").format(file=path.name), BENCH)])


def _named(step: str, field: str) -> str:
    own = field.removesuffix(".mating")
    label = f"{step} {_(own.replace('_', ' '))}"
    return label if own == field else _("what {size} fits").format(size=label)


def _shown(note: str, image: bytes) -> str:
    source = base64.b64encode(image).decode()
    picture = f'<img alt="" src="data:image/png;base64,{source}">' if image else ""
    hint = _(
        "Type what your calipers read, such as 36.1, several readings such as 36.0 36.1 36.1, or "
        "1 3/8 in. Sizes that you leave alone stay as they are."
    )
    return (
        f'<div class="wb-card">{picture}<div><p>{escape(note)}</p>'
        f'<p class="wb-help">{escape(hint)}</p></div></div>'
    )
