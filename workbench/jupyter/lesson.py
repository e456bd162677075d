"""What the lessons show: the shelf as a gallery, and an outline split into pieces."""

from __future__ import annotations

import base64
import os
from html import escape
from pathlib import Path
from typing import Any
from urllib.parse import quote

import ipywidgets as w

from workbench.jupyter.accessibility import Reach
from workbench.jupyter.page_buttons import region_title
from workbench.jupyter.pages.links import BENCH
from workbench.jupyter.pages.starting import Starting
from workbench.jupyter.panel import chooser
from workbench.jupyter.picture.pieces_figure import in_words, picture
from workbench.jupyter.style import style_sheet
from workbench.measure.outlines.outline import Outline
from workbench.measure.outlines.triangles import decompose
from workbench.output.notebook.bundled import is_shipped
from workbench.output.notebook.current_notebook import templates_folder
from workbench.output.notebook.shelf import Card, nearest, search
from workbench.output.notebook.untrusted_template import own_code
from workbench.solids import catalogue
from workbench.words import _


class Shown:
    """Something for a notebook to show as HTML, and a terminal as plain lines."""

    def __init__(self, html: str, text: str) -> None:
        self._html, self._text = html, text

    def _repr_html_(self) -> str:
        style = style_sheet() + (Path(__file__).parent / "lesson.css").read_text(encoding="utf-8")
        return f'<style>{style}</style><div class="wb wb-lesson">{self._html}</div>'

    def __repr__(self) -> str:
        return self._text


class Gallery(Shown):
    """Pictures of templates, and in a notebook a form under them that starts one's own."""

    def __init__(self, html: str, text: str, shown: list[Card]) -> None:
        super().__init__(html, text)
        self.starting, self._shown = Starting(), {str(card.path): card for card in shown}
        titles = [(card.title, path) for path, card in self._shown.items()]
        self.choice = w.ToggleButtons(
            options=titles, value=None, tooltips=[card.note for card in shown]
        )
        self.choice.add_class("wb-pages")
        shapes = [(_(name.replace("_", " ")), name) for name in catalogue.names()]
        self.shape = chooser(
            _("or from a plain shape"), _("Nothing similar on the shelf?"), [("", ""), *shapes]
        )
        self.choice.observe(lambda change: self._open(change["new"]), "value")
        self.shape.observe(lambda change: self._open_shape(change["new"]), "value")

    def _open(self, path: str | None) -> None:
        if path is not None:
            self.shape.value = ""
            self.starting.open(self._shown[path])

    def _open_shape(self, name: str) -> None:
        if name:
            self.choice.value = None
            self.starting.open_shape(name)
        elif self.choice.value is None:
            self.starting.open(None)

    def _ipython_display_(self, **_options: Any) -> None:
        from IPython.display import HTML, display

        reach = Reach()
        form = w.VBox(
            [
                region_title(_("Start your own from")),
                *(self.choice, self.shape, self.starting.widget, reach),
            ]
        )
        for kind in ("wb", "wb-lesson"):
            form.add_class(kind)
        display(HTML(self._repr_html_()))
        display(form)


def gallery(words: str = "", folder: str | Path | None = None) -> Shown:
    """The templates on the shelf with their pictures; a click opens one to look at.

    Under the pictures, a repair of one's own is started from one of them.

    words : shows those that have every one of them in their name, note or steps, else the nearest;
        all unless given
    folder : of the user's own templates; the one beside this notebook unless given
    """
    own = Path(folder) if folder is not None else templates_folder()
    shown = search(words, own) or nearest(words, own)
    if not shown:
        text = _("nothing on the shelf matches {words!r}; try fewer words").format(words=words)
        return Shown(f"<p>{escape(text)}</p>", text)
    figures = "".join(_figure(card) for card in shown)
    lines = [f"{card.path.stem}: {card.note}" for card in shown]
    return Gallery(f'<div class="wb-gallery">{figures}</div>', "\n".join(lines), shown)


def pieces(outline: Outline, into: str = "triangles") -> Shown:
    """An outline to scale, split into pieces, with the arithmetic of each in words.

    into : "triangles", "right triangles" or "boxes and right triangles"
    """
    parts = decompose(outline, into)
    text = "\n".join(
        f"{count}. {piece}\n   " + "\n   ".join(piece.steps) for count, piece in enumerate(parts, 1)
    )
    return Shown(
        f'<div class="wb-columns">{picture(outline, parts)}<div>{in_words(parts)}</div></div>', text
    )


def _figure(card: Card) -> str:
    source = base64.b64encode(card.picture).decode()
    link = quote(Path(os.path.relpath(card.path)).as_posix())
    label = _("Picture of the {title}").format(title=card.title)
    theirs = 0 if is_shipped(card.path) else len(own_code(card.path))
    warned = (
        _("Cells that the tool did not write: {count}. Read them before you run it.").format(
            count=theirs
        )
        if theirs
        else ""
    )
    # One whose code is the tool's goes straight onto the bench; any other is to be read first.
    part = "" if theirs else BENCH
    return (
        f'<a class="wb-template" href="{link}{part}"><img alt="{escape(label)}" '
        f'src="data:image/png;base64,{source}"><b>{escape(card.title)}</b>'
        f"<span>{escape(card.note)}</span>"
        f"{f'<span><b>{escape(warned)}</b></span>' if warned else ''}</a>"
    )
