"""Every way up, judged layer by layer while the user watches, and the best ones in pictures."""

from __future__ import annotations

import threading
from base64 import b64encode
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import escape
from typing import Any

import ipywidgets as w

from workbench import units
from workbench.checks.subject import Subject
from workbench.jupyter.newest_only import Newest
from workbench.jupyter.panel import button_for, said, told
from workbench.jupyter.state import Made
from workbench.output.drawing.picture import picture
from workbench.solids.lay import laid
from workbench.words import _

#: How many ways up are shown.
SHOWN = 3

#: Size of a picture, in pixels.
PICTURE = (240, 180)

#: From this many triangles on, a second process saves more than its start costs.
LARGE = 4_000


@dataclass(frozen=True, eq=False)
class Asked:
    """A part whose ways up are to be ranked, until ``stop`` is set."""

    made: Made
    stop: threading.Event = field(default_factory=threading.Event)


class Ways:
    """A button that ranks every way up, with its progress, a button that stops it, and pictures."""

    def __init__(self) -> None:
        self._made: Made | None = None
        self._asked: Asked | None = None
        self._ranker: Newest[Asked, str] = Newest(self._rank, self._show)
        self.start = button_for(
            _("Rank every way up"),
            _("Judge 26 ways up layer by layer; the best are shown in pictures"),
        )
        self.stop = w.Button(
            description=_("Stop"),
            tooltip=_("Stop ranking, and show the best of those judged so far"),
            disabled=True,
        )
        self.progress = w.IntProgress(
            value=0, min=0, max=1, description=_("Judged"), tooltip=_("Ways up judged so far")
        )
        self.pictures = w.HTML()
        self.start.on_click(lambda _button: self._begin())
        self.stop.on_click(lambda _button: self._end())
        buttons = w.HBox([self.start, self.stop])
        buttons.add_class("wb-row")
        self.widget = w.VBox([buttons, self.progress, self.pictures])
        self.progress.layout.display = "none"

    def judged(self, made: Made) -> None:
        """There is another part: what was ranked no longer holds."""
        if self._made is not None and made.assembly is not self._made.assembly:
            self._end()
            self._asked = None
            self.pictures.value = ""
        self._made = made

    def closed(self) -> None:
        """The bench is taken away."""
        self._end()
        self._ranker.drop()

    def settle(self, timeout: float = 60.0) -> bool:
        """Wait until nothing is being ranked."""
        return self._ranker.settle(timeout)

    def _begin(self) -> None:
        if self._made is None:
            return
        self._end()
        self._asked = Asked(self._made)
        self.progress.value, self.progress.max = 0, 1
        self.progress.layout.display = ""
        self.start.disabled, self.stop.disabled = True, False
        self.pictures.value = ""
        self._ranker.put(self._asked)

    def _end(self) -> None:
        if self._asked is not None:
            self._asked.stop.set()

    def _rank(self, asked: Asked) -> Iterator[str]:
        from workbench.checks.orientation.orient import rank

        def progress(done: int, count: int) -> None:
            if asked is self._asked:
                self.progress.max, self.progress.value = count, done

        try:
            ranked = rank(
                Subject(asked.made.repair, asked.made.assembly),
                workers=2 if len(asked.made.faces) > LARGE else 1,
                progress=progress,
                cancelled=asked.stop.is_set,
            )
            yield "".join(_shown(asked.made, way) for way in ranked[:SHOWN])
        except Exception as error:
            yield told(said(error), "stop")

    def _show(self, result: str, asked: Asked) -> None:
        self.start.disabled, self.stop.disabled = False, True
        self.progress.layout.display = "none"
        if asked is self._asked:
            self.pictures.value = result


def _shown(made: Made, way: Any) -> str:
    """One way up: its picture on the bed, its name, and the reasons."""
    image = picture((laid(made.vertices, way.down), made.faces), PICTURE, grid=units.chosen().grid)
    source = f"data:image/png;base64,{b64encode(image).decode()}"
    reasons = "".join(f"<li>{escape(reason)}</li>" for reason in way.reasons)
    return (
        f'<div class="wb-card wb-way"><img src="{source}" alt="{escape(way.name)}"/>'
        f"<div><p>{way.rank}. {escape(way.name)}</p><ul>{reasons}</ul></div></div>"
    )
