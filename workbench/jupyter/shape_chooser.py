"""Small pictures of the shapes that a step can be, from which one is chosen."""

from __future__ import annotations

import base64
import threading
from collections.abc import Sequence
from functools import lru_cache
from pathlib import Path

import anywidget
import traitlets

from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.words import _

#: Width and height of a picture, in pixels.
SIZE = (96, 72)


class ShapeChooser(anywidget.AnyWidget):
    """Shapes by name, ``chosen`` one of them; their pictures come when they are first looked at."""

    _esm = (Path(__file__).parent / "shape_chooser.js").read_text(encoding="utf-8")

    label = traitlets.Unicode().tag(sync=True)
    shapes: traitlets.List[tuple[str, str]] = traitlets.List().tag(sync=True)
    chosen = traitlets.Unicode().tag(sync=True)
    pictures = traitlets.Dict().tag(sync=True)

    def __init__(self) -> None:
        super().__init__(label=_("Shape"))
        self._drawing: threading.Thread | None = None

    def offer(self, names: Sequence[str]) -> None:
        """Offer these shapes."""
        self.shapes = [(name, _(name.replace("_", " "))) for name in names]

    def look(self) -> None:
        """Draw the pictures that are missing, beside whoever calls."""
        if self._drawing is None or not self._drawing.is_alive():
            self._drawing = threading.Thread(target=self._draw, daemon=True)
            self._drawing.start()

    def _draw(self) -> None:
        for name, _label in list(self.shapes):
            if name not in self.pictures and self.comm is not None:
                self.pictures = self.pictures | {name: picture_of(name)}


@lru_cache(maxsize=256)
def picture_of(name: str) -> str:
    """A shape with its default sizes as a PNG in base64; empty where it has no such form."""
    from workbench.output.drawing.picture import picture
    from workbench.solids.meshes.mesh import mesh

    found = catalogue.find(name)
    try:
        solid = found.function(**found.complete({}))
        return base64.b64encode(picture(mesh(getattr(solid, "part", solid)), SIZE)).decode()
    except (RepairError, AttributeError, TypeError, ValueError):
        return ""
