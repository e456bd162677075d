"""A still picture under the bench, for a saved notebook that is read without a kernel."""

from __future__ import annotations

import base64
from collections.abc import Callable, Iterator
from html import escape
from typing import Any

from workbench.jupyter.state import Made
from workbench.words import _

#: The bench's style sheet hides this class, so that the picture shows only where there is no bench.
CLASS = "wb-still"


class Still:
    """The picture in the cell's output; it follows the bench a moment behind."""

    def __init__(self) -> None:
        self.html = f'<div class="{CLASS}"></div>'
        self._handle: Any = None

    def place(self) -> None:
        """Leave the picture in the output of the cell that is running."""
        from IPython.display import HTML, display

        self._handle = display(HTML(self.html), display_id=True)

    def drawn(self, made: Made, svg: str, line: str) -> Iterator[Callable[[], None]]:
        """Yield what puts a new picture in place of the old one."""
        html = as_html(made, svg, line)

        def put() -> None:
            from IPython.display import HTML

            if html != self.html:
                self.html = html
                if self._handle is not None:
                    self._handle.update(HTML(html))

        yield put


def as_html(made: Made, svg: str, line: str) -> str:
    """The drawing as an embedded image, with the part's name and figures under it."""
    name = escape(made.repair.name)
    source = base64.b64encode(svg.encode()).decode()
    label = _("Dimensioned drawing of {name}").format(name=name)
    return (
        f'<div class="{CLASS}"><img alt="{label}" style="max-width:100%" '
        f'src="data:image/svg+xml;base64,{source}"><p><b>{name}</b><br>{escape(line)}</p></div>'
    )
