"""The dimensioned drawing beside the preview."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as w

from workbench.jupyter.panel import told
from workbench.jupyter.state import Made
from workbench.words import _


class Drawing:
    """The views of the last good solid with their sizes; ``svg`` is the one that has most of them."""

    def __init__(self) -> None:
        self.svg = ""
        self.widget = w.HTML(told(_("The drawing appears once there is a solid.")))
        self.widget.add_class("wb-drawing")
        self.page = _("Drawing"), lambda: self.widget
        self.purpose = _("The views with their sizes; the drawing to print is among the files")

    def drawn(self, made: Made, highlight: str = "") -> Callable[[], None]:
        """Draw a solid; returns what puts the drawing on the bench.

        ``highlight`` is the "step.field" whose dimension stands out.
        """
        from workbench.output.drawing.drawing import sized_views

        views = sized_views(made.repair, made.assembly, highlight)
        figures = "".join(
            f"<figure><figcaption>{title}</figcaption>{svg}</figure>" for title, svg in views
        )
        fullest = max((svg for _title, svg in views), key=lambda svg: svg.count("<text"))

        def put() -> None:
            self.svg = fullest
            self.widget.value = figures

        return put
