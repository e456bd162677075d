"""The dimensioned drawing of a repair: three views, a small picture, sizes, and a title block."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

import workbench
from workbench.output.drawing import dimension_layout
from workbench.output.drawing.arrangement import arranged, centre_lines
from workbench.output.drawing.dimension_kinds import Dimension
from workbench.output.drawing.dimensions import Dimensions, dimensions
from workbench.output.drawing.paper import (
    NOTE,
    TEXT,
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
from workbench.output.drawing.svg import svg
from workbench.output.drawing.view_allocation import shared_out
from workbench.output.drawing.views import FRONT, LEFT, TOP, View, view
from workbench.solids.building.build import Assembly
from workbench.solids.recipe.repair import Repair
from workbench.words import _, number, unit_sign, unit_word

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Margin of the sheet, and height of the row with notes and title block, in mm.
MARGIN, BLOCK = 10.0, 32.0
_TITLE_WIDTH = 122.0


def draw(
    repair: Repair,
    assembly: Assembly,
    revision: int | None = None,
    date: datetime | None = None,
    paper: str = "A4",
    projection: str | None = None,
) -> Figure:
    """A drawing of the repair on one sheet, landscape.

    repair, assembly : what to draw, and what it came to
    revision : its number in the title block; a dash where there is none yet
    date : in the title block; today, unless given
    paper : "A4" or "Letter"
    projection : "first" or "third" angle, ISO 5456-2; by the paper's home unless given

    Write the figure with :func:`workbench.output.drawing.paper.written`.

    Raises RepairError when the paper is not known.
    """
    page = Page(paper, landscape=True)
    first = (projection or ("first" if paper == "A4" else "third")) == "first"
    sizes = dimensions(repair, assembly)
    room = (page.width - 2 * MARGIN - 6.0, page.height - 2 * MARGIN - BLOCK - 6.0)
    all_sized = all(shared_out(sizes.drawn, _SKETCHED)[0])
    sheet = arranged(assembly, sizes, room, first, every=True if all_sized else None)
    page.put(sheet.marks, MARGIN + 3.0, MARGIN + BLOCK + 3.0)
    page.put(_frame(page))
    page.put(_notes(page, repair, (*sizes.listed, *sheet.left_over), first))
    page.put(_title_block(page, repair, revision, date or datetime.now(), sheet.scale, first))
    return page.figure


def sized_views(repair: Repair, assembly: Assembly, highlight: str = "") -> list[tuple[str, str]]:
    """The front and each further view that has dimensions, for the bench: its title and its SVG.

    highlight : a "step.field" whose dimension is drawn in the accent colour
    """
    sizes, views = views_with_sizes(repair, assembly)
    made = []
    for seen, share in views:
        left, bottom, right, top = seen.bounds
        scale = min(110.0 / (right - left), 80.0 / (top - bottom))
        others = centre_lines(seen, sizes, scale)
        marks, _crowded = dimension_layout.around(seen, share, scale, highlight, others)
        title = _title(seen.direction.name).format(unit=unit_word())
        made.append((title, svg(marks, label=title)))
    return made


def views_with_sizes(
    repair: Repair, assembly: Assembly
) -> tuple[Dimensions, list[tuple[View, list[Dimension]]]]:
    """All dimensions, and the front and each further view that has some, with these."""
    sizes = dimensions(repair, assembly)
    shares, _left = shared_out(sizes.drawn, _SKETCHED)
    return sizes, [
        (view(assembly.solid, direction, hidden=False), share)
        for direction, share in zip(_SKETCHED, shares, strict=True)
        if share or direction is FRONT
    ]


_SKETCHED = (FRONT, TOP, LEFT)


def _title(view_name: str) -> str:
    titles = {
        "front": _("Front view, in {unit}"),
        "top": _("Top view, in {unit}"),
        "left": _("View from the left, in {unit}"),
    }
    return titles[view_name]


def _frame(page: Page) -> list[Mark]:
    inner = rectangle(MARGIN, MARGIN, page.width - 2 * MARGIN, page.height - 2 * MARGIN)
    level = MARGIN + BLOCK
    return [
        Stroke(inner, "frame"),
        Stroke(np.array([(MARGIN, level), (page.width - MARGIN, level)]), "frame"),
    ]


def _notes(page: Page, repair: Repair, listed: Sequence[str], first: bool) -> list[Mark]:
    """What no line shows: the steps' other sizes, and what the signs mean."""
    left, top = MARGIN + 4.0, MARGIN + BLOCK - 6.0
    width = page.width - 2 * MARGIN - _TITLE_WIDTH - 8.0
    rows = []
    if repair.readings:
        rows.append(_("± after a size that was read: its standard uncertainty (k = 1)."))
    rows.append(_("( ) marks a size that follows from the others."))
    rows.append(_("First-angle projection.") if first else _("Third-angle projection."))
    if listed:
        rows.append(_("Not drawn: {sizes}.").format(sizes="; ".join(listed)))
    marks: list[Mark] = [Words(_("Notes"), left, top, NOTE, bold=True)]
    level = top - 4.2
    lines = [line for row in rows for line in wrapped(row, width, NOTE)]
    room = int((level - MARGIN - 2.0) / 3.6) + 1
    if len(lines) > room:
        more = _(" the rest in record.json")
        last = shortened(lines[room - 1] + " …", width - text_width(more, NOTE), NOTE)
        lines = [*lines[: room - 1], last + more]
    for line in lines:
        marks.append(Words(line, left, level, NOTE))
        level -= 3.6
    return marks


def _title_block(
    page: Page, repair: Repair, revision: int | None, date: datetime, scale: float, first: bool
) -> list[Mark]:
    """Data fields after ISO 7200, from left to right and top to bottom."""
    left, bottom = page.width - MARGIN - _TITLE_WIDTH, MARGIN
    half = BLOCK / 2
    marks: list[Mark] = [
        Stroke(np.array([(left, bottom), (left, bottom + BLOCK)]), "frame"),
        Stroke(np.array([(left, bottom + half), (left + _TITLE_WIDTH, bottom + half)]), "rule"),
    ]
    upper = (
        (_("part"), repair.name, 74.0, TEXT + 3.5),
        (_("material"), repair.material, 24.0, TEXT),
        (_("printer"), repair.printer, 24.0, TEXT),
    )
    lower = (
        (_("revision"), "–" if revision is None else str(revision), 18.0, TEXT),
        (_("date"), f"{date:%Y-%m-%d}", 26.0, TEXT),
        (_("scale"), scale_text(scale), 18.0, TEXT),
        (_("unit"), unit_sign(), 12.0, TEXT),
        (_("projection"), "", 24.0, TEXT),
        (_("drawn by"), f"workbench {workbench.__version__}", 24.0, NOTE - 0.5),
    )
    for row, level in ((upper, bottom + half), (lower, bottom)):
        at = left
        for label, value, width, size in row:
            if at > left:
                marks.append(Stroke(np.array([(at, level), (at, level + half)]), "rule"))
            marks.append(Words(label, at + 1.5, level + half - 4.0, NOTE - 1.0))
            marks += _cell(value, at + 1.5, level, width - 3.0, size)
            at += width
    symbol_at = left + 18.0 + 26.0 + 18.0 + 12.0
    marks += shifted(projection_symbol(first), symbol_at + 12.0, bottom + 5.6)
    return marks


def _cell(value: str, x: float, level: float, width: float, size: float) -> list[Mark]:
    """A value in one line, or in two smaller ones where it is too long for one."""
    bold = size > TEXT
    if text_width(value, size, bold) <= width:
        return [Words(value, x, level + 4.5, size, bold=bold)]
    lines = wrapped(value, width, NOTE, bold)
    if len(lines) == 1:
        return [Words(shortened(lines[0], width, NOTE, bold), x, level + 4.5, NOTE, bold=bold)]
    lines = [lines[0], " ".join(lines[1:])]
    return [
        Words(shortened(line, width, NOTE, bold), x, level + high, NOTE, bold=bold)
        for line, high in zip(lines, (6.2, 2.6), strict=True)
    ]


def scale_text(scale: float) -> str:
    """A scale as ISO 5455 writes it.

    >>> scale_text(2.0), scale_text(0.5)
    ('2:1', '1:2')
    """
    return f"{number(scale)}:1" if scale >= 1 else f"1:{number(1 / scale)}"


def projection_symbol(first: bool) -> list[Mark]:
    """The sign of ISO 5456-2: a truncated cone in two views, about (0, 0), 18 mm wide."""
    turns = np.linspace(0, 2 * np.pi, 49)
    ring = np.column_stack([np.cos(turns), np.sin(turns)])
    cone = np.array([(-4.0, -1.75), (4.0, -3.5), (4.0, 3.5), (-4.0, 1.75), (-4.0, -1.75)]) * 0.8
    rings_at, cone_at = (4.8, -4.2) if first else (-4.8, 4.2)
    rings: list[Mark] = [Stroke(ring * radius * 0.8, "box") for radius in (1.75, 3.5)]
    level, upright = np.array([(-3.8, 0.0), (3.8, 0.0)]), np.array([(0.0, -3.8), (0.0, 3.8)])
    return [
        *shifted([Stroke(cone, "box"), Stroke(level * 1.1, "centre")], cone_at, 0.0),
        *shifted([*rings, Stroke(level, "centre"), Stroke(upright, "centre")], rings_at, 0.0),
    ]
