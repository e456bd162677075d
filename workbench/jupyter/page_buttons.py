"""Pages that a row of buttons opens, and other pieces of the bench's layout."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from typing import Any

import ipywidgets as w


class Pages(w.VBox):
    """Buttons in a row and the page that the pressed one opens."""

    def __init__(
        self,
        pages: list[tuple[str, w.Widget]],
        opened: Callable[[int], None] | None = None,
        tips: Sequence[str] = (),
    ) -> None:
        """``opened`` is called with the number of a page when it is turned to; ``tips`` say what
        each page is for."""
        self.buttons = w.ToggleButtons(
            options=[(title, i) for i, (title, _p) in enumerate(pages)], tooltips=list(tips)
        )
        self.buttons.add_class("wb-pages")
        self.stack = w.Stack([page for _title, page in pages], selected_index=0)
        self.stack.add_class("wb-stack")
        self.buttons.observe(self._turn, "value")
        self._opened = opened
        super().__init__([self.buttons, self.stack])

    def _turn(self, change: Any) -> None:
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
        values = [*(getattr(held, key) for key in held.keys), *getattr(held, "children", ())]
        new = {value for value in values if isinstance(value, w.Widget)} - found
        found |= new
        waiting += new
    return found
