"""Written files handed to the browser, which may run on another machine than the kernel."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

import anywidget
import traitlets

from workbench import gate
from workbench.errors import RepairError
from workbench.words import _


class Downloads(anywidget.AnyWidget):
    """A button for each file; the bytes are read and sent when it is pressed.

    They are not kept in the widget, since the notebook would be saved with them.
    """

    _esm = (Path(__file__).parent / "downloads.js").read_text(encoding="utf-8")

    names = traitlets.List(traitlets.Unicode()).tag(sync=True)
    words = traitlets.Dict().tag(sync=True)

    def __init__(self) -> None:
        super().__init__(words={"get": _("Download {name}")})
        self._paths: dict[str, Path] = {}
        self.on_msg(self._hear)

    def offer(self, paths: Iterable[Path]) -> None:
        """Offer these files instead of those before; no two may have the same name."""
        self._paths = {path.name: path.resolve() for path in paths}
        self.names = list(self._paths)

    def _hear(self, _widget: object, content: object, _buffers: object) -> None:
        if not isinstance(content, dict) or content.get("get") not in self._paths:
            return
        path = self._paths[content["get"]]
        answer = {"name": path.name, "asked": content.get("asked")}
        try:
            file = gate.content(path, gate.PICTURE)
        except (OSError, RepairError) as error:
            reason = error.strerror if isinstance(error, OSError) else ""
            fault = _("{path} cannot be read: {reason}; write the files again").format(
                path=path, reason=reason or error
            )
            self.send({**answer, "fault": fault})
        else:
            self.send(answer, buffers=[file])
