"""The form that lays a picture of the broken part over the outline of the new one."""

from __future__ import annotations

from collections.abc import Iterator

import ipywidgets as w

from workbench.jupyter.newest_only import Newest
from workbench.jupyter.pages.tracing import Picture
from workbench.jupyter.panel import OnBench, chooser, said, told, told_words
from workbench.jupyter.picture.comparison_figure import comparison, in_words
from workbench.jupyter.state import Made
from workbench.measure.outlines.compare import compare
from workbench.measure.photos.trace_result import Traced
from workbench.solids.recipe.seat import FACES
from workbench.solids.silhouette import silhouette
from workbench.words import _


class Comparing(OnBench):
    """A picture of the broken part, the side it shows, and how the new part differs."""

    def lay_out(self) -> None:
        self._traced: Traced | None = None
        self._work: Newest[tuple[Made, Traced, str], tuple[str, str]] = Newest(_laid, self._show)
        self.side = chooser(
            _("Seen from"),
            _("The side of the part that the picture shows, as it stands on the bench"),
            told_words(FACES),
        )
        self.picture = Picture(self._take)
        self.told, self.figure = w.HTML(), w.HTML()
        self.figure.add_class("wb-figures")
        self.side.observe(lambda _change: self.compare(), "value")
        self.widget = w.VBox([self.side, self.picture.widget, self.told, self.figure])

    def settle(self, timeout: float = 60.0) -> bool:
        """Wait until the picture is traced and laid over the part."""
        return self.picture.settle(timeout) and self._work.settle(timeout)

    def closed(self) -> None:
        """Drop what waits."""
        self._work.drop()

    def _take(self, traced: Traced) -> None:
        self._traced = traced
        self.compare()

    def compare(self) -> None:
        """Lay the picture over the part as it is now."""
        made = self.bench.shown
        if self._traced is not None and made is not None:
            self._work.put((made, self._traced, self.side.value))

    def _show(self, found: tuple[str, str], _asked: object) -> None:
        self.told.value, self.figure.value = found


def _laid(asked: tuple[Made, Traced, str]) -> Iterator[tuple[str, str]]:
    """What differs, in words and as a figure."""
    made, traced, side = asked
    try:
        outline = silhouette((made.vertices, made.faces), side)
        found = compare(outline, traced)
        yield told(in_words(found)), comparison(outline, found)
    except Exception as error:
        yield told(said(error), "stop"), ""
