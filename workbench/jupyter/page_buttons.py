"""Pages that a row of buttons opens, and other pieces of the bench's layout."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache
from html import escape
from typing import Any

import ipywidgets as w
import traitlets as t

#: What a widget keeps in these is no widget.
_PLAIN = (t.Unicode, t.Bool, t.Int, t.Float, t.Enum, t.Container, t.Dict)


class Pages(w.VBox):
    """Buttons in a row and the page that the pressed one opens, made when it is first opened."""

    def __init__(
        self,
        pages: Sequence[tuple[str, Callable[[], w.Widget]]],
        opened: Callable[[int], None] | None = None,
        tips: Sequence[str] = (),
    ) -> None:
        """Lay out the buttons and the first page.

        pages : what each button says, and what makes its page
        opened : called with the number of a page when it is turned to
        tips : what each page is for
        """
        self.buttons = w.ToggleButtons(
            options=[(title, i) for i, (title, _make) in enumerate(pages)], tooltips=list(tips)
        )
        self.buttons.add_class("wb-pages")
        self._makes = dict(enumerate(make for _title, make in pages))
        self.stack = w.Stack([w.Box()] * len(pages), selected_index=0)
        self.stack.add_class("wb-stack")
        self._fill(0)
        self.buttons.observe(self._turn, "value")
        self._opened = opened
        super().__init__([self.buttons, self.stack])

    def _fill(self, page: int) -> None:
        if make := self._makes.pop(page, None):
            children = self.stack.children
            self.stack.children = (*children[:page], make(), *children[page + 1 :])

    def _turn(self, change: Any) -> None:
        self._fill(change["new"])
        self.stack.selected_index = change["new"]
        if self._opened is not None:
            self._opened(change["new"])


def region_title(text: str) -> w.HTML:
    """The heading of a region, which names it for screen readers too."""
    return w.HTML(f'<span class="wb-region-title">{escape(text)}</span>')


def widgets_of(*widgets: w.Widget) -> set[w.Widget]:
    """The widgets and every one that they hold: children, layouts, styles."""
    found, waiting = set(widgets), list(widgets)
    while waiting:
        held = waiting.pop()
        values = [getattr(held, name) for name in _holding(held.__class__)]
        values += getattr(held, "children", ())
        new = {value for value in values if isinstance(value, w.Widget)} - found
        found |= new
        waiting += new
    return found


@cache
def _holding(kind: type[w.Widget]) -> list[str]:
    """The names under which widgets of a kind may keep another: a few of some fifty."""
    shared = kind.class_traits(sync=True).items()
    return [name for name, trait in shared if not isinstance(trait, _PLAIN)]
