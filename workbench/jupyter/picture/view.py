"""The picture as a widget: what the browser is told, and what it tells."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import anywidget
import traitlets

from workbench.jupyter.picture.labels import words
from workbench.jupyter.style import COLOUR

HERE = Path(__file__).parent

#: The bundle that the build hook makes, and what stands in for it: a still picture alone.
BUNDLE, PLAIN = HERE / "bundled" / "picture.js", HERE / "src" / "still.js"


@cache
def source() -> str:
    """The picture's JavaScript: the bundle where it was made, else the still picture's alone."""
    file = BUNDLE if BUNDLE.is_file() else PLAIN
    return file.read_text(encoding="utf-8")


class Picture(anywidget.AnyWidget):
    """The part in the browser.

    What is shown is a scene: a dictionary whose entries the browser keeps by name. A mesh in it
    is a (header, buffers) message; :meth:`put` sends what is new in one message. What the user
    does in the picture is answered by the functions in ``on``, by name.
    """

    _esm = (HERE / "begin.js").read_text(encoding="utf-8")

    #: What :file:`begin.js` brings in.
    program = traitlets.Unicode().tag(sync=True)

    #: The scene as a browser that comes later is told it; filled in when it is asked for.
    scene = traitlets.Dict().tag(sync=True)
    words = traitlets.Dict().tag(sync=True)
    colours = traitlets.Dict().tag(sync=True)

    def __init__(self, whole: Callable[[], dict[str, Any]]) -> None:
        """``whole`` gives the scene in full."""
        self._whole = whole
        self.on: dict[str, Callable[..., object]] = {}
        super().__init__(words=words(), colours=COLOUR, program=source())
        self.on_msg(self._hear)

    def get_state(self, key: Any = None, drop_defaults: bool = False) -> dict[str, Any]:
        """What is sent to a browser that begins: the scene as it is now."""
        state = super().get_state(key, drop_defaults)
        if "scene" in state:
            state["scene"] = _told(self._whole())[0]
        return state

    def put(self, **changed: Any) -> None:
        """Tell the browser of changed entries of the scene, in one message."""
        content, buffers = _told(changed, [])
        self.send({"put": content}, buffers)

    def ask(self, **what: Any) -> None:
        """Have the browser do something once, such as look from a side."""
        self.send({"do": what})

    def suit(self) -> None:
        """Say everything anew in the unit that the user reads now."""
        self.words = words()

    def _hear(self, _widget: object, content: object, _buffers: object) -> None:
        if isinstance(content, dict) and content.get("do") in self.on:
            self.on[content["do"]](*content.get("with", []))


def _told(
    entries: dict[str, Any], buffers: list[bytes] | None = None
) -> tuple[dict[str, Any], list[bytes]]:
    """Entries as the browser reads them; meshes' bytes in place, or aside in ``buffers``."""
    told: dict[str, Any] = {}
    for name, entry in entries.items():
        if isinstance(entry, tuple):
            header, parts = entry
            if buffers is None:
                told[name] = header | {"parts": list(parts)}
            else:
                told[name] = header | {"at": len(buffers), "count": len(parts)}
                buffers += parts
        else:
            told[name] = entry
    return told, buffers or []
