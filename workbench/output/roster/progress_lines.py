"""What is told in the terminal while a roster is made, and afterwards."""

from __future__ import annotations

import shutil
from collections import Counter
from typing import TYPE_CHECKING, TextIO

from workbench.output.roster.class_summary import Line
from workbench.output.roster.roster_row import READY
from workbench.words import _

if TYPE_CHECKING:
    from workbench.output.roster.whole_class import Progress, Session

#: Rows told one by one in the terminal; all of them are in the summary.
_MOST = 40

#: Signs of the progress bar.
_BAR = 24


def progress(out: TextIO) -> Progress:
    """A progress bar on a terminal; elsewhere, and for rows with something to do, plain lines."""
    terminal = out.isatty()
    told = 0

    def tell(done: int, total: int, line: Line) -> None:
        nonlocal told
        if line.state != READY:
            told += 1
            if told <= _MOST:
                out.write(("\r\033[K" if terminal else "") + row_told(line) + "\n")
            elif told == _MOST + 1:
                out.write(_("more rows need attention; see the summary") + "\n")
        if terminal:
            out.write("\r\033[K" + bar(done, total, line, shutil.get_terminal_size().columns - 1))
            out.write("\n" if done == total else "")
        elif done == total or done % max(1, total // 20) == 0:
            out.write(_("{done} of {total} rows").format(done=done, total=total) + "\n")
        out.flush()

    return tell


def bar(done: int, total: int, line: Line, width: int) -> str:
    """The progress bar: how far, how many, and who was last.

    >>> bar(1, 2, Line(2, "Mia", "fin", "", "", "ready"), 60)
    '[############            ] 1 of 2  Mia, fin'
    """
    full = _BAR * done // max(total, 1)
    who = ", ".join(text for text in (line.pupil, line.template) if text)
    count = _("{done} of {total}").format(done=done, total=total)
    return f"[{'#' * full:<{_BAR}}] {count}  {who}"[:width]


def row_told(line: Line) -> str:
    """One row with something to do, in words."""
    return _("row {row}, {pupil}: {state}: {why}").format(
        row=line.row,
        pupil=line.pupil or "?",
        state=_(line.state),
        why=" ".join(line.why) or _("see its files"),
    )


def told(session: Session) -> str:
    """How many rows came to what, and where the files are."""
    counts = Counter(line.state for line in session.lines)
    lines = [f"{count:>5}  {_(state)}" for state, count in sorted(counts.items())]
    held = Counter(line.bed for line in session.lines if line.bed)
    lines.append(_("files in {folder}:").format(folder=session.paths[0].parent))
    for path in session.paths:
        parts = _("parts: {count}").format(count=held[path.name]) if path.name in held else ""
        lines.append(f"  {path.name}  {parts}".rstrip())
    return "\n".join(lines)
