"""Links to files beside the notebook, which JupyterLab opens in a tab of its own or downloads."""

from __future__ import annotations

import os
from collections.abc import Iterable
from html import escape
from pathlib import Path
from urllib.parse import quote

import ipywidgets as w

#: What JupyterLab shows by itself; any other file is downloaded.
_SHOWN = (".ipynb", ".pdf", ".svg", ".png", ".json", ".csv")


#: At the end of a link to a notebook: the notebook's script runs it and shows its bench.
BENCH = "#bench"


def link(path: Path, text: str, part: str = "") -> str:
    """A link to a file, or to a part of it, as HTML, relative to the running notebook's folder."""
    where = quote(Path(os.path.relpath(path)).as_posix()) + part
    kept = "" if path.suffix in _SHOWN else f' download="{escape(path.name)}"'
    return f'<a href="{where}"{kept}>{escape(text)}</a>'


class Links(w.Output):
    """Lines with links in them; unlike in other widgets, the notebook resolves where they lead."""

    def __init__(self) -> None:
        super().__init__()
        self.add_class("wb-links")

    def show(self, lines: Iterable[str]) -> None:
        """Show lines of HTML as a list, or nothing where there are none."""
        rows = "".join(f"<li>{line}</li>" for line in lines)
        html = f'<ul class="wb-paths">{rows}</ul>'
        shown = {"output_type": "display_data", "data": {"text/html": html}, "metadata": {}}
        self.outputs = (shown,) if rows else ()
