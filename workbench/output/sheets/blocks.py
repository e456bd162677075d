"""Blocks of type for the sheets: headings, paragraphs, tables with room to write, boxes to tick.

A block hangs down from its upper left corner at (0, 0); all lengths are in mm.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.output.drawing.paper import (
    BELOW,
    CAPITALS,
    EDGE,
    HEADING,
    INK,
    NOTE,
    POINT,
    RULE,
    TEXT,
    TITLE,
    Mark,
    Page,
    Stroke,
    Words,
    rectangle,
    shifted,
    shortened,
    text_width,
    wrapped,
)
from workbench.words import _, unit_word

#: Margin of every sheet, and the gap between its columns.
MARGIN, GUTTER = 15.0, 8.0

#: Gap between blocks, and between a heading and what follows.
GAP, CLOSE = 5.0, 1.8

#: Gap between the rows of boxes to tick that stand over a table.
LEAD = 3.0

#: Height of a row that is written in by hand.
WRITING = 8.0

#: Height of a line of type as a multiple of its size.
LEADING = 1.38

#: Stands in a table for a cell that is left to be written in.
BLANK = None


@dataclass(frozen=True)
class Block:
    """Marks that hang down from (0, 0), and how far."""

    marks: tuple[Mark, ...]
    height: float


def line_height(size: float) -> float:
    """From one line of type to the next, in mm."""
    return LEADING * size * POINT


def paragraph(
    text: str, width: float, size: float = TEXT, bold: bool = False, colour: str = INK
) -> Block:
    """Text broken to a width."""
    step = line_height(size)
    first = -(CAPITALS * size * POINT)
    lines = wrapped(text, width, size, bold)
    marks = tuple(
        Words(line, 0.0, first - i * step, size, bold=bold, colour=colour)
        for i, line in enumerate(lines)
    )
    return Block(marks, (len(lines) - 1) * step + (CAPITALS + BELOW) * size * POINT)


def heading(text: str, width: float) -> Block:
    """A heading over a thin rule."""
    words = paragraph(text, width, HEADING, bold=True)
    level = -words.height - 0.4
    rule = Stroke(np.array([(0.0, level), (width, level)]), "rule")
    return Block((*words.marks, rule), words.height + 0.4)


def stacked(blocks: Iterable[Block], gap: float = CLOSE) -> Block:
    """Blocks one below the other."""
    marks: list[Mark] = []
    height = 0.0
    for i, block in enumerate(blocks):
        height += gap if i else 0.0
        marks += shifted(block.marks, 0.0, -height)
        height += block.height
    return Block(tuple(marks), height)


def beside(left: Block, right: Block, apart: float) -> Block:
    """Two blocks side by side, the right one ``apart`` mm from the left edge."""
    marks = (*left.marks, *shifted(right.marks, apart, 0.0))
    return Block(marks, max(left.height, right.height))


def section(title: str, blocks: Iterable[Block], width: float) -> Block:
    """A heading with what belongs under it."""
    return stacked([heading(title, width), stacked(blocks)], 2.2)


def listed(rows: Iterable[tuple[str, str, str]], width: float, size: float = TEXT) -> Block:
    """A list of (sign, text, colour) with the signs in the margin."""
    indent = 4.2
    blocks = []
    for sign, text, colour in rows:
        body = paragraph(text, width - indent, size)
        mark = paragraph(sign, indent, size, bold=True, colour=colour)
        blocks.append(Block((*mark.marks, *shifted(body.marks, indent, 0)), body.height))
    return stacked(blocks, 1.3)


def pairs(rows: Iterable[tuple[str, str]], width: float, first: float) -> Block:
    """A list of names and values in two columns, the names ``first`` mm wide, ruled between."""
    marks: list[Mark] = []
    height = 0.0
    for name, value in rows:
        left = paragraph(name, first - 2.0)
        right = paragraph(value, width - first)
        marks += shifted([*left.marks, *shifted(right.marks, first, 0)], 0.0, -height - 1.1)
        height += max(left.height, right.height) + 2.2
        marks.append(Stroke(np.array([(0.0, -height), (width, -height)]), "rule", RULE))
    return Block(tuple(marks), height)


def table(
    head: Sequence[str],
    rows: Sequence[Sequence[str | None]],
    widths: Sequence[float],
    writing: float = WRITING,
) -> Block:
    """A table under a row of small headings; ``BLANK`` cells are boxes to write in.

    Rows with a blank are at least ``writing`` mm high.
    """
    edges = np.concatenate([[0.0], np.cumsum(widths)])
    marks: list[Mark] = []
    tops = [paragraph(text, width - 2.0, NOTE) for text, width in zip(head, widths, strict=True)]
    height = max((top.height for top in tops), default=0.0) + 1.2
    for top, left in zip(tops, edges, strict=False):
        marks += shifted(top.marks, float(left) + 1.0, top.height - height + 1.0)
    upper = -height
    marks.append(Stroke(np.array([(0.0, upper), (edges[-1], upper)]), "box"))
    for row in rows:
        cells = [
            paragraph(cell, width - 2.0) if cell is not BLANK else None
            for cell, width in zip(row, widths, strict=True)
        ]
        tall = max((cell.height for cell in cells if cell is not None), default=0.0) + 2.4
        if any(cell is BLANK for cell in cells):
            tall = max(tall, writing)
        for cell, left in zip(cells, edges, strict=False):
            if cell is not None:
                marks += shifted(cell.marks, float(left) + 1.0, -height - (tall - cell.height) / 2)
        height += tall
        marks.append(Stroke(np.array([(0.0, -height), (edges[-1], -height)]), "rule", EDGE))
    for i in range(1, len(widths)):
        if any(row[i] is BLANK or row[i - 1] is BLANK for row in rows):
            at = float(edges[i])
            marks.append(Stroke(np.array([(at, upper), (at, -height)]), "rule", EDGE))
    return Block(tuple(marks), height)


def ticks(labels: Iterable[str], width: float, size: float = TEXT) -> Block:
    """Square boxes to tick, evenly spaced, each with its label."""
    names = list(labels)
    each = width / max(len(names), 1)
    side = 3.4
    marks: list[Mark] = []
    for i, label in enumerate(names):
        marks.append(Stroke(rectangle(i * each, -side, side, side), "box"))
        text = shortened(label, each - side - 2.5, size)
        marks.append(Words(text, i * each + side + 1.5, -side + 0.65, size))
    return Block(tuple(marks), side)


def lines_to_write(label: str, width: float, count: int = 1) -> Block:
    """Lines to write on, with a small label at the start of the first."""
    marks: list[Mark] = [Words(label, 0.0, -WRITING + 1.2, NOTE)] if label else []
    for i in range(count):
        level = -(i + 1) * WRITING
        marks.append(Stroke(np.array([(0.0, level), (width, level)]), "thin"))
    return Block(tuple(marks), count * WRITING)


def squared(width: float, height: float, each: float = 5.0) -> Block:
    """Squared paper over the whole width, in squares of about ``each`` mm."""
    across = max(1, round(width / each))
    each = width / across
    down = int(height / each)
    marks: list[Mark] = []
    for i in range(across + 1):
        marks.append(Stroke(np.array([(i * each, 0.0), (i * each, -down * each)]), "thin", RULE))
    for i in range(down + 1):
        marks.append(Stroke(np.array([(0.0, -i * each), (across * each, -i * each)]), "thin", RULE))
    return Block(tuple(marks), down * each)


def boxed(block: Block, width: float, colour: str) -> Block:
    """A block in a frame; ``block`` is to be 6 mm narrower than ``width``."""
    height = block.height + 5.0
    frame = Stroke(rectangle(0.0, -height, width, height), "frame", colour)
    return Block((frame, *shifted(block.marks, 3.0, -2.5)), height)


def put(page: Page, block: Block, left: float, top: float) -> float:
    """Put a block on a page and return where what follows may start, in mm from the bottom."""
    page.put(block.marks, left, top)
    return top - block.height


def masthead(page: Page, kind: str, title: str, facts: str, under: str = "") -> float:
    """What every sheet begins with; returns where its content may start.

    kind, facts : small, at the left and right over the title
    under : a line of explanation below it
    """
    width = page.width - 2 * MARGIN
    top = page.height - MARGIN
    # A long title is set smaller before it is cut.
    size = max(HEADING, min(TITLE, TITLE * width / max(text_width(title, TITLE, True), 1.0)))
    page.put(
        [
            Words(kind, MARGIN, top - 2.5, NOTE + 0.5),
            Words(facts, MARGIN + width, top - 2.5, NOTE + 0.5, "right"),
            Words(shortened(title, width, size, True), MARGIN, top - 10.5, size, bold=True),
            Stroke(np.array([(MARGIN, top - 14.0), (MARGIN + width, top - 14.0)]), "frame"),
        ]
    )
    if not under:
        return top - 14.0 - GAP
    return put(page, paragraph(under, width), MARGIN, top - 14.0 - 2.4) - GAP + 1.5


def foot(page: Page, text: str) -> float:
    """The line at the bottom of every sheet; returns how high the content may reach down."""
    width = page.width - 2 * MARGIN
    marks: list[Mark] = [
        Words(shortened(text, width - 30.0, NOTE), MARGIN, 9.0, NOTE),
        Words(
            _("all sizes in {unit}").format(unit=unit_word()), MARGIN + width, 9.0, NOTE, "right"
        ),
        Stroke(np.array([(MARGIN, 13.0), (MARGIN + width, 13.0)]), "rule"),
    ]
    page.put(marks)
    return 15.0


def who(width: float) -> Block:
    """Where to write the name, the part, the class and the date."""
    labels = ((_("name"), 0.36), (_("part"), 0.28), (_("class"), 0.18), (_("date"), 0.18))
    marks: list[Mark] = []
    at = 0.0
    for label, share in labels:
        line = lines_to_write(label, share * width - (0.0 if label == labels[-1][0] else 5.0))
        marks += shifted(line.marks, at, 0.0)
        at += share * width
    return Block(tuple(marks), WRITING)


def rest_squared(page: Page, title: str, top: float, floor: float) -> None:
    """Squared paper on what is left of the page, if it is worth it."""
    width = page.width - 2 * MARGIN
    head = heading(title, width)
    room = top - floor - head.height - CLOSE
    if room >= 30.0:
        put(page, stacked([head, squared(width, room)], 2.2), MARGIN, top)
