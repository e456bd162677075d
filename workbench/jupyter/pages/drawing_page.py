"""The dimensioned drawing beside the preview."""

from __future__ import annotations

from collections.abc import Callable

import ipywidgets as w

from workbench.jupyter.panel import told
from workbench.jupyter.state import Made
from workbench.words import _


class Drawing:
    """The drawing of the last good solid; ``widget`` is what is shown, ``svg`` its source."""

    def __init__(self) -> None:
        self.svg = ""
        self.widget = w.HTML(told(_("The drawing comes with the first solid.")))
        self.widget.add_class("wb-drawing")
        self.page = _("Drawing"), lambda: self.widget
        self.purpose = _("The dimensioned drawing, as it is printed")

    def drawn(self, made: Made, highlight: str = "") -> Callable[[], None]:
        """Draw a solid; returns what puts the drawing on the bench.

        ``highlight`` is the "step.field" whose dimension stands out.
        """
        from workbench.output.drawing.drawing import sketch_svg

        svg = sketch_svg(made.repair, made.assembly, highlight)

        def put() -> None:
            self.svg = svg
            self.widget.value = svg

        return put
