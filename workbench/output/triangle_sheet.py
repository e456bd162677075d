"""The triangle work sheet: an outline split into pieces, with the arithmetic to fill in."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from workbench.measure.outline import Outline
from workbench.measure.piece import Piece
from workbench.measure.triangles import decompose
from workbench.output.arrangement import SCALES
from workbench.output.blocks import (
    GAP,
    MARGIN,
    Block,
    foot,
    masthead,
    paragraph,
    put,
    section,
    stacked,
    who,
)
from workbench.output.linework import Taken, settle
from workbench.output.paper import (
    CAPITALS,
    HEADING,
    POINT,
    TEXT,
    Mark,
    Page,
    Stroke,
    Words,
    extent,
    shifted,
)
from workbench.output.tiers import Level, places
from workbench.words import _, number, sized

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: A number in the arithmetic of a piece, whole, decimal or a fraction, but not the ² of mm².
_NUMBER = re.compile(r"\d+(?:[.,]\d+|(?: \d+)?/\d+)?")

#: Room for one number to be written by hand.
_BLANK = "________"


def triangle_sheets(
    outline: Outline, into: str = "triangles", paper: str = "A4", title: str = ""
) -> tuple[Figure, Figure]:
    """A work sheet on which an outline is split into pieces, and its answers.

    Parameters
    ----------
    outline : in mm
    into : as for :func:`workbench.measure.triangles.decompose`
    paper : "A4" or "Letter"
    title : what the outline is of

    Returns
    -------
    (Figure, Figure)
        The sheet with the arithmetic to fill in, and the answers.

    Raises
    ------
    RepairError
        When ``into`` or the paper is not known.
    """
    pieces = decompose(outline, into)
    name = title or _("An outline of {count} corners").format(count=len(outline))
    return (
        _triangle_page(outline, pieces, name, paper, answers=False),
        _triangle_page(outline, pieces, name, paper, answers=True),
    )


def _triangle_page(
    outline: Outline, pieces: Sequence[Piece], title: str, paper: str, answers: bool
) -> Figure:
    page = Page(paper)
    width = page.width - 2 * MARGIN
    kind = _("Triangles: answers") if answers else _("Triangles: work sheet")
    top = masthead(page, kind, title, _("{count} pieces").format(count=len(pieces)))
    floor = foot(page, _("Area of a triangle: half its base times its height."))
    if not answers:
        top = put(page, who(width), MARGIN, top) - GAP
    words = _arithmetic(outline, pieces, width, answers)
    room = (width, max(50.0, min(105.0, top - floor - words.height - GAP)))
    marks = _split_outline(outline, pieces, room)
    left, bottom, right, high = extent(marks)
    page.put(marks, MARGIN + (width - right - left) / 2, top - high)
    top -= high - bottom + GAP
    put(page, words, MARGIN, top)
    return page.figure


def _split_outline(
    outline: Outline, pieces: Sequence[Piece], room: tuple[float, float]
) -> list[Mark]:
    """The outline with its cuts, its pieces numbered, its corners dimensioned from its zero."""
    marks: list[Mark] = []
    for scale in SCALES:
        marks = _outline_marks(outline, pieces, scale)
        left, bottom, right, top = extent(marks)
        if right - left <= room[0] and top - bottom <= room[1]:
            break
    return marks


def _outline_marks(outline: Outline, pieces: Sequence[Piece], scale: float) -> list[Mark]:
    corners = outline.points * scale
    closed = np.vstack([corners, corners[:1]])
    taken = Taken([closed])
    marks: list[Mark] = []
    for piece in pieces:
        ring = np.vstack([piece.points, piece.points[:1]]) * scale
        marks.append(Stroke(ring, "hidden"))
    marks.append(Stroke(closed, "outline"))
    for index, piece in enumerate(pieces, 1):
        x, y = piece.points.mean(axis=0) * scale
        low = y - CAPITALS * HEADING * POINT / 2
        numeral = Words(str(index), float(x), float(low), HEADING, "middle", bold=True)
        taken.add("words", numeral.box)
        marks.append(numeral)
    (left, bottom), (right, top) = corners.min(axis=0), corners.max(axis=0)
    frame = (float(left), float(bottom), float(right), float(top))
    for level in sorted(_from_zero(outline, scale), key=lambda level: level.length):
        placed = settle(places(level, frame), taken)
        if placed is not None:
            marks += placed.marks("", "")
    return marks


def _from_zero(outline: Outline, scale: float) -> Iterator[Level]:
    """How far each corner is across and up from the outline's own zero."""
    for axis in (0, 1):
        along, across = outline.points[:, axis], outline.points[:, 1 - axis] * scale
        zero = across[np.isclose(along, 0)]
        for place in np.unique(np.round(along, 6)):
            if abs(place) < 1e-6:
                continue
            here = tuple(across[np.isclose(along, place)].tolist())
            feet = tuple(zero.tolist()) or (float(across.min()),)
            ends = (feet, here) if place > 0 else (here, feet)
            span = sorted((0.0, float(place) * scale))
            yield Level(sized(abs(float(place))), axis == 1, span[0], span[1], *ends)


def _arithmetic(outline: Outline, pieces: Sequence[Piece], width: float, answers: bool) -> Block:
    size, gap = (TEXT, 2.0) if answers else (TEXT + 0.5, 4.2)
    blocks = []
    for index, piece in enumerate(pieces, 1):
        kind = _(piece.kind) if answers else _BLANK + _BLANK
        title = _("Piece {index}: {kind}").format(index=index, kind=kind)
        steps = [step if answers else _NUMBER.sub(_BLANK, step) for step in piece.steps]
        rows = [paragraph(step[0].upper() + step[1:], width - 6.0, size) for step in steps]
        lines = stacked(rows, gap)
        indented = Block(tuple(shifted(lines.marks, 6.0, 0.0)), lines.height)
        blocks.append(stacked([paragraph(title, width, size, bold=True), indented], gap))
    total = _("All pieces together: {area} mm²").format(
        area=number(outline.area) if answers else _BLANK
    )
    blocks.append(paragraph(total, width, size, bold=True))
    return section(_("The pieces"), [stacked(blocks, gap + 2.0)], width)
