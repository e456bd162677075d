"""What a panel of the bench is: a title, a widget, and what it is told."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from html import escape
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.checks.report import Report
from workbench.errors import RepairError
from workbench.jupyter.state import Made
from workbench.solids.recipe.repair import Repair
from workbench.words import _

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench


class Quiet:
    """What shows the repair's values in controls, and asks ``_quiet`` whose change a change is."""

    _quiet = False

    @contextmanager
    def quietly(self) -> Iterator[None]:
        """Within this, controls change because something is shown, not because a person did it."""
        before, self._quiet = self._quiet, True
        try:
            yield
        finally:
            self._quiet = before


class OnBench(Quiet):
    """Controls that ask and change the bench's repair."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.lay_out()

    def lay_out(self) -> None:
        """Make the controls, and ``widget`` of them."""

    def carry_out(
        self, note: w.HTML, change: Callable[[Repair], object], done: str = "", **how: Any
    ) -> bool:
        """Edit the repair, and tell in ``note`` why that was refused, or that it is done."""
        refused = self.bench.edit(change, **how)
        note.value = told(refused or done, "stop" if refused else "done")
        return not refused


class Panel(OnBench):
    """One panel beside the preview; make another by subclassing, and add it to ``PANELS``.

    It is made when it is first looked at, and told what holds then. ``widget`` is what it shows.
    The methods do nothing unless a panel overrides them; each is called on the newest state only.
    """

    #: What the button that opens it says, in English.
    title: str
    #: What the panel is for, in a sentence: the tip of its button.
    purpose: str = ""
    widget: w.Widget

    def opened(self) -> None:
        """The panel is looked at: the time to read what others may have changed."""

    def edited(self) -> None:
        """The repair was edited; called before it is built, so it must be quick."""

    def suited(self) -> None:
        """The user reads lengths in another unit: the time to forget what was told in the last.

        Boxes for lengths and the controls of the steps take it in by themselves; after this
        comes :meth:`edited`, and the part is built and judged anew.
        """

    def made(self, made: Made) -> None:
        """There is a new solid; called in the slider's path, so it must be quick."""

    def judged(self, made: Made, report: Report) -> None:
        """The solid was checked; this comes a moment after it was shown."""

    def refused(self, on: bool) -> None:
        """The repair cannot be built as it is now, and an earlier part stays; or it can again."""

    def chosen(self, step: str) -> None:
        """Another step was chosen; ``step`` is empty where there is none."""

    def left(self) -> None:
        """Another panel was opened instead."""

    def settle(self, timeout: float = 60.0) -> bool:
        """Wait until work of the panel's own is done; False if it takes longer."""
        return True

    def closed(self) -> None:
        """The bench is taken away: the time to drop work that still waits."""


def labelled(name: str, *children: w.Widget, kind: str = "") -> w.VBox:
    """Widgets under a heading, as one group that a screen reader can name."""
    heading = w.HTML(f'<h3 class="wb-heading">{name}</h3>')
    box = w.VBox([heading, *children])
    box.add_class("wb-group")
    if kind:
        box.add_class(kind)
    return box


def button_for(label: str, purpose: str, look: str = "") -> w.Button:
    """A button: what it says, the tip that tells more, and its class, such as "wb-main"."""
    made = w.Button(description=label, tooltip=purpose)
    if look:
        made.add_class(look)
    return made


def chooser(label: str, purpose: str, options: Iterable[Any] = ()) -> w.Dropdown:
    """A list to choose from: what it says, the tip that tells more, values or (text, value)."""
    return w.Dropdown(description=label, tooltip=purpose, options=list(options))


def entry(label: str, purpose: str, hint: str = "", **more: Any) -> w.Text:
    """A box to type in: what it says, the tip that tells more, and what stands in it while empty."""
    return w.Text(description=label, tooltip=purpose, placeholder=hint or "\u200b", **more)


def told_words(words: Iterable[str]) -> list[tuple[str, str]]:
    """Words as options, each shown in the user's language."""
    return [(_(word), word) for word in words]


def columns(*children: w.Widget) -> w.Box:
    """Widgets beside each other where there is room, else one below the other."""
    box = w.Box(list(children))
    box.add_class("wb-columns")
    return box


def said(error: Exception) -> str:
    """What an error is to a person: its own sentence, or that the tool itself is at fault."""
    if isinstance(error, RepairError):
        return str(error)
    return _("an internal error ({reason}); nothing of yours is lost").format(
        reason=f"{type(error).__name__}: {error}"
    )


def told(text: str = "", severity: str = "") -> str:
    """A sentence for a person as HTML: plain, or as "stop", "warning" or "done"."""
    if not text:
        return ""
    mark = {"stop": "■", "warning": "▲", "done": "✓"}.get(severity, "")
    sign = f'<span class="wb-mark" aria-hidden="true">{mark}</span> ' if mark else ""
    role = ' role="alert"' if severity == "stop" else ' role="status"'
    return f'<div class="wb-told wb-{severity or "plain"}"{role}>{sign}{escape(text)}</div>'
