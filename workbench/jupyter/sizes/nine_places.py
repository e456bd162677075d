"""The nine places of a face as a picture to press: its middle, its edges and its corners."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as w

from workbench.solids.recipe.seat import Seat, ways_of
from workbench.words import _

#: A place is the edges that hold a part there: none in the middle, two in a corner.
Edges = tuple[str, ...]


class NinePlaces:
    """Nine buttons that lie as their places do when one looks at the face from outside."""

    def __init__(self, take: Callable[[Edges], None]) -> None:
        self._take = take
        self._places: list[Edges] = [()] * 9
        self.buttons = [w.Button(description="○", tooltip=said(())) for _number in range(9)]
        for number, button in enumerate(self.buttons):
            button.add_class("wb-place")
            button.on_click(lambda _button, number=number: self._take(self._places[number]))
        self.sides = [w.HTML() for _number in range(4)]
        for side in self.sides:
            side.add_class("wb-side")
        back, left, right, front = self.sides
        grid = w.GridBox(self.buttons, layout=w.Layout(grid_template_columns="repeat(3, 2.6em)"))
        grid.add_class("wb-nine")
        row = w.HBox([left, grid, right], layout=w.Layout(align_items="center"))
        self.widget = w.VBox([back, row, front], layout=w.Layout(align_items="center"))
        self.widget.add_class("wb-face")

    def show(self, place: Seat) -> None:
        """Show the face's places, and which of them the part is held at."""
        right, left, up, down = ways_of(place.face)
        for side, name in zip(self.sides, (up, left, right, down), strict=True):
            side.value = f'<span class="wb-told">{_(name)}</span>'
        rows, columns = ((up,), (), (down,)), ((left,), (), (right,))
        self._places = [(*column, *row) for row in rows for column in columns]
        for button, edges in zip(self.buttons, self._places, strict=True):
            chosen = set(edges) == set(place.edges)
            button.description = "●" if chosen else "○"
            button.tooltip = said(edges) + (_(" (now)") if chosen else "")
            (button.add_class if chosen else button.remove_class)("wb-chosen")


def said(edges: Edges) -> str:
    """A place in words."""
    if not edges:
        return _("from the middle of the face")
    if len(edges) == 1:
        return _("from the {edge} edge of the face").format(edge=_(edges[0]))
    one, other = (_(edge) for edge in edges)
    return _("from the corner of the {one} and the {other} edge").format(one=one, other=other)
