"""What the browser needs besides: names for screen readers, work by the keyboard, drags."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import anywidget


class Reach(anywidget.AnyWidget):
    """An unseen widget inside the bench that makes its other widgets easier to reach."""

    _esm = (Path(__file__).parent / "accessibility.js").read_text(encoding="utf-8")

    def __init__(self, **on: Callable[..., object]) -> None:
        """``on`` has what is done for "undo", "redo", "hold", "release", and "add" by a name."""
        super().__init__()
        self._on = on
        self.on_msg(self._hear)

    def type_sizes(self) -> None:
        """Put the cursor into the first number of the page of sizes, once it is shown."""
        self.send({"do": "type"})

    def _hear(self, _widget: object, content: object, _buffers: object) -> None:
        if isinstance(content, dict) and content.get("do") in self._on:
            named = {"name": str(content["name"])} if "name" in content else {}
            self._on[content["do"]](**named)
