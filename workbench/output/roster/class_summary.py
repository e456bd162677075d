"""The summary of a class: who must measure again and why, as CSV and as a page to hang up."""

from __future__ import annotations

import csv
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import TYPE_CHECKING

from workbench.output.drawing.paper import Page
from workbench.output.roster.roster import FORMULA
from workbench.output.roster.roster_row import READY
from workbench.output.sheets.blocks import (
    GAP,
    MARGIN,
    Block,
    foot,
    masthead,
    paragraph,
    put,
    section,
)
from workbench.output.sheets.blocks import table as ruled
from workbench.words import _

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Pages at most; what finds no room is in the CSV file.
PAGES = 20

#: What spreadsheets take for a formula: its sign where a cell begins.
_FORMULA = re.compile(rf"(^|[;,\t|]\s*)([{re.escape(''.join(FORMULA))}])")

#: Words of a reason at most on paper.
_SHORT = 240


@dataclass(frozen=True)
class Line:
    """What one row came to.

    row : its number in the roster
    state : one of the words of :mod:`workbench.output.roster.roster_row`
    why : reasons, and for a ready part what to look at
    folder : of its files, or ""
    bed : file of the bed that it lies on, or ""
    raised : on it, or ""
    """

    row: int
    pupil: str
    template: str
    material: str
    printer: str
    state: str
    why: tuple[str, ...] = ()
    folder: str = ""
    bed: str = ""
    raised: str = ""


#: Headings of the CSV file, in order.
HEAD = (
    *("row", "pupil", "template", "material", "printer"),
    *("state", "why", "bed", "raised", "files"),
)


def as_csv(lines: Iterable[Line]) -> bytes:
    """The summary as CSV by RFC 4180, in UTF-8, no cell of which is taken for a formula."""
    into = StringIO(newline="")
    writer = csv.writer(into, lineterminator="\r\n", quoting=csv.QUOTE_MINIMAL)
    writer.writerow([_(name) for name in HEAD])
    for line in lines:
        cells = (line.pupil, line.template, line.material, line.printer, _(line.state))
        rest = (" ".join(line.why), line.bed, line.raised, line.folder)
        writer.writerow([line.row, *(escaped(cell) for cell in (*cells, *rest))])
    return into.getvalue().encode()


def escaped(cell: str) -> str:
    """The cell so that no spreadsheet runs it: an apostrophe before what begins a formula.

    Spreadsheets of other languages split cells at semicolons, so that a formula begins there too.

    >>> escaped("=1+1"), escaped("Mia"), escaped("Mia; =1+1")
    ("'=1+1", 'Mia', "Mia; '=1+1")
    """
    return _FORMULA.sub(r"\1'\2", cell)


def summary_pages(title: str, lines: Sequence[Line], paper: str = "A4") -> list[Figure]:
    """The pages: first who has something to do, then what is ready and on which bed.

    Raises RepairError when the paper is not known.
    """
    todo = [line for line in lines if line.state != READY]
    ready = [line for line in lines if line.state == READY]
    facts = _("ready: {ready} of {all}; beds: {beds}").format(
        ready=len(ready), all=len(lines), beds=len({line.bed for line in ready if line.bed})
    )
    pages: list[Figure] = []
    page, top, floor = _new_page(title, facts, paper)
    for heading, rows, head, shares in (
        (_("To do"), [_todo(line) for line in todo], _todo_head(), (9.0, 30.0, 28.0, 28.0)),
        (
            _("Ready to print"),
            [_ready(line) for line in ready],
            _ready_head(),
            (9.0, 26.0, 27.0, 34.0, 20.0),
        ),
    ):
        left = list(rows)
        while left:
            width = page.width - 2 * MARGIN
            widths = [*shares, width - sum(shares)]
            count = _fitting(heading, left, head, widths, top - floor)
            if not count:
                pages.append(page.figure)
                if len(pages) == PAGES:
                    return pages
                page, top, floor = _new_page(title, facts, paper)
                continue
            top = put(page, _block(heading, left[:count], head, widths), MARGIN, top) - GAP
            left = left[count:]
    if not lines:
        put(page, paragraph(_("The roster has no rows."), page.width - 2 * MARGIN), MARGIN, top)
    return [*pages, page.figure]


def _new_page(title: str, facts: str, paper: str) -> tuple[Page, float, float]:
    page = Page(paper)
    top = masthead(page, _("Class summary"), title, facts)
    return page, top, foot(page, _("Everything in full, with the folder of each part: summary.csv"))


def _fitting(
    heading: str,
    rows: Sequence[Sequence[str]],
    head: Sequence[str],
    widths: Sequence[float],
    room: float,
) -> int:
    """How many rows find room: searched by halves, since each try sets the type."""
    low, high = 0, min(len(rows), 60)
    while low < high:
        middle = (low + high + 1) // 2
        if _block(heading, rows[:middle], head, widths).height <= room:
            low = middle
        else:
            high = middle - 1
    return low


def _block(
    heading: str, rows: Sequence[Sequence[str]], head: Sequence[str], widths: Sequence[float]
) -> Block:
    return section(heading, [ruled(head, rows, widths)], sum(widths))


def _todo_head() -> list[str]:
    return [_("row"), _("pupil"), _("template"), _("what to do"), _("why")]


def _ready_head() -> list[str]:
    return [_("row"), _("pupil"), _("template"), _("bed"), _("raised"), _("look at")]


def _todo(line: Line) -> list[str]:
    return [*_who(line), _(line.state), _short(line.why)]


def _ready(line: Line) -> list[str]:
    return [*_who(line), line.bed.removesuffix(".3mf"), line.raised or "–", _short(line.why)]


def _who(line: Line) -> Iterator[str]:
    yield str(line.row)
    yield _short((line.pupil,), 60) or "–"
    yield _short((line.template,), 60) or "–"


def _short(texts: Sequence[str], most: int = _SHORT) -> str:
    text = " ".join(texts)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"
