"""Sheets to write on that go on overleaf: what finds no room on one page begins the next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.output.drawing.paper import NOTE, Mark, Page, Words
from workbench.output.sheets.blocks import (
    GAP,
    LEAD,
    MARGIN,
    WRITING,
    Block,
    foot,
    heading,
    masthead,
    put,
    rest_squared,
    stacked,
    table,
    who,
)
from workbench.words import _

if TYPE_CHECKING:
    from matplotlib.figure import Figure

Row = Sequence[str | None]


class Pages:
    """Pages of one sheet, filled from the top down.

    kind, title, facts, under : at the head of each, as for ``masthead``; ``under`` on the first
    last : the line at the foot of each
    signed : whether there is room for the pupil's name on each
    """

    def __init__(
        self,
        paper: str,
        kind: str,
        title: str,
        facts: str,
        last: str,
        under: str = "",
        signed: bool = True,
    ) -> None:
        self.paper, self._kind, self._title, self._facts = paper, kind, title, facts
        self._last, self._signed = last, signed
        self._pages: list[Page] = []
        self._begin(under)
        self.width = self.page.width - 2 * MARGIN

    @property
    def page(self) -> Page:
        """The page that is being filled."""
        return self._pages[-1]

    @property
    def room(self) -> float:
        """Height that is left on this page, in mm."""
        return self.top - self._floor

    def _begin(self, under: str = "") -> None:
        page = Page(self.paper)
        self._pages.append(page)
        self.top = masthead(page, self._kind, self._title, self._facts, under)
        self._floor = foot(page, self._last)
        if self._signed:
            self.top = put(page, who(page.width - 2 * MARGIN), MARGIN, self.top) - GAP
        self._full = self.room

    def turn(self) -> None:
        """Go on overleaf, unless this page is still empty."""
        if self.room < self._full:
            self._begin()

    def put(self, block: Block, gap: float = GAP) -> None:
        """Put a block where it finds room, and leave a gap below it."""
        if block.height > self.room:
            self.turn()
        self.top = put(self.page, block, MARGIN, self.top) - gap

    def draw(self, marks: Sequence[Mark], extent: tuple[float, float, float, float]) -> None:
        """Put a drawing in the middle of the width, below what is there."""
        left, bottom, right, high = extent
        if high - bottom > self.room:
            self.turn()
        self.top -= high - bottom
        self.page.put(marks, MARGIN + (self.width - right - left) / 2, self.top - bottom)
        self.top -= GAP

    def put_table(
        self,
        title: str,
        before: Sequence[Block],
        head: Sequence[str],
        rows: Sequence[Row],
        widths: Sequence[float],
        writing: float = WRITING,
    ) -> None:
        """Put a table under a heading, broken between rows where a page ends.

        before : blocks between the heading and the table
        """
        name = title
        left = list(rows)
        lead = [stacked(before, LEAD)] if before else []
        while left:
            over = stacked([heading(name, self.width), *lead], 2.2)
            count = len(left)
            while count:
                whole = stacked([over, table(head, left[:count], widths, writing)], 2.2)
                # One row alone on a page reads as a mistake.
                if whole.height <= self.room and (count > 1 or count == len(left)):
                    break
                count -= 1
            if not count and self.room < self._full:
                self.turn()
                continue
            count = max(count, 1)
            whole = stacked([over, table(head, left[:count], widths, writing)], 2.2)
            self.put(whole)
            left = left[count:]
            name, lead = _("{title}, continued").format(title=title), []

    def rest_squared(self, title: str) -> None:
        """Squared paper on what is left of this page, if it is worth it."""
        rest_squared(self.page, title, self.top, self._floor)

    def figures(self) -> tuple[Figure, ...]:
        """The pages as figures, numbered where there is more than one."""
        count = len(self._pages)
        for number, page in enumerate(self._pages if count > 1 else [], 1):
            text = _("page {number} of {count}").format(number=number, count=count)
            high = page.height - MARGIN - 2.5
            page.put([Words(text, page.width / 2, high, NOTE + 0.5, "middle")])
        return tuple(page.figure for page in self._pages)
