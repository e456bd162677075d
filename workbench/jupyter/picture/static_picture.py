"""A still picture under the bench, for a saved notebook that is read without a kernel."""

from __future__ import annotations

import base64
from collections.abc import Callable
from html import escape
from typing import Any

from workbench import units
from workbench.jupyter.picture.scene import CORNER
from workbench.jupyter.state import Made
from workbench.words import _

#: The bench's style sheet hides this class, so that the picture shows only where there is no bench.
CLASS = "wb-still"

#: Width and height of the picture, in pixels.
SIZE = (480, 360)


class Still:
    """The picture in the cell's output; it follows the bench a moment behind."""

    def __init__(self) -> None:
        self.html = f'<div class="{CLASS}"></div>'
        self._handle: Any = None

    def place(self) -> None:
        """Leave the picture in the output of the cell that is running."""
        from IPython.display import HTML, display

        self._handle = display(HTML(self.html), display_id=True)

    def drawn(self, made: Made, svg: str, line: str) -> Callable[[], None]:
        """Make a new picture; returns what puts it in place of the old one."""
        html = as_html(made, svg, line)

        def put() -> None:
            from IPython.display import HTML

            if html != self.html:
                self.html = html
                if self._handle is not None:
                    self._handle.update(HTML(html))

        return put


def as_html(made: Made, svg: str, line: str) -> str:
    """A picture of the part and its drawing as embedded images, with its figures under them."""
    from workbench.output.drawing.picture import picture

    name = escape(made.repair.name)
    photo = picture((made.vertices, made.faces), SIZE, units.chosen().grid, CORNER, deep=False)
    return (
        f'<div class="{CLASS}"><p><b>{name}</b></p>{_without_kernel()}'
        + _image(photo, "png", _("Picture of {name}").format(name=name))
        + _image(svg.encode(), "svg+xml", _("Dimensioned drawing of {name}").format(name=name))
        + f"<p>{escape(line)}</p></div>"
    )


def _without_kernel() -> str:
    """What the notebook's script shows over the picture where no kernel is behind the bench."""
    gone = _("The kernel behind this bench has ended. Your part is kept.")
    go = _("Put it back on the bench")
    hidden = 'style="display: none"'
    return (
        f'<span class="wb-still-gone" {hidden}>{escape(gone)}</span>'
        f'<span class="wb-still-go" {hidden}>{escape(go)}</span>'
    )


def _image(content: bytes, kind: str, label: str) -> str:
    source = base64.b64encode(content).decode()
    return (
        f'<img alt="{label}" height="{SIZE[1]}" style="max-width:100%" '
        f'src="data:image/{kind};base64,{source}">'
    )
