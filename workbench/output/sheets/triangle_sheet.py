"""The triangle work sheet: an outline split into pieces, with the arithmetic to fill in."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import shapely

from workbench.measure.outlines.outline import Outline
from workbench.measure.outlines.piece import Piece
from workbench.measure.outlines.triangles import decompose
from workbench.measure.sketches.sketch import corner_names
from workbench.output.drawing.arrangement import scales_within
from workbench.output.drawing.paper import (
    CAPITALS,
    HEADING,
    POINT,
    TEXT,
    Mark,
    Stroke,
    Words,
    extent,
    shifted,
)
from workbench.output.drawing.placement import Box, Taken, settle
from workbench.output.drawing.slanted_dimensions import circles
from workbench.output.drawing.stacked_dimensions import Level, places
from workbench.output.sheets.blocks import Block, heading, line_height, paragraph, stacked, table
from workbench.output.sheets.pages import Pages
from workbench.words import _, area_of_sum, number, shown, shown_area, sized, unit_sign

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: A number in the arithmetic of a piece, whole, decimal or a fraction, but not the ² of mm².
_NUMBER = re.compile(r"\d+(?:[.,]\d+|(?: \d+)?/\d+)?")

#: Room for one number to be written by hand, and how far its lines are apart, in mm.
BLANK, _PITCH = "__________", 8.5

#: Height of the drawing, in mm: at least and at most on one page with the arithmetic, and else.
_LOW, _HIGH, _TALL = 80.0, 110.0, 130.0

#: What the pupil takes for the ratio of a circle's area to the square of its radius.
_PI = 3.14

#: A numeral stands in its piece where this share of it does, else on a leader.
_WITHIN = 0.75

#: With more corners than this, lines for all their places would hide the outline.
_PLACED = 8

#: Corners in each row of their table.
_ABREAST = 4


def triangle_sheets(
    outline: Outline,
    into: str = "triangles",
    paper: str = "A4",
    title: str = "",
    holes: Sequence[tuple[float, float, float]] = (),
) -> tuple[Figure, ...]:
    """A work sheet on which an outline is split into pieces, and its answers.

    outline : in mm
    into : as for :func:`workbench.measure.outlines.triangles.decompose`
    paper : "A4" or "Letter"
    title : what the outline is of
    holes : round ones in it, as (x, y, diameter) in mm

    Returns the sheet with the arithmetic to fill in, then the answers; each may go on overleaf.

    Raises RepairError when ``into`` or the paper is not known.
    """
    split = _Split(outline, tuple(decompose(outline, into)), tuple(holes))
    name = title or _("An outline with {count} corners").format(count=len(outline))
    return (*_sheet(split, name, paper, answers=False), *_sheet(split, name, paper, answers=True))


@dataclass(frozen=True)
class _Split:
    """An outline, its pieces, and its holes as (x, y, diameter) in mm."""

    outline: Outline
    pieces: tuple[Piece, ...]
    holes: tuple[tuple[float, float, float], ...]

    @property
    def area(self) -> float:
        """What is left of the outline's area without the holes, in mm², as a pupil reckons it."""
        pieces = sum(piece.reckoned for piece in self.pieces)
        return shown_area(pieces - sum(_hole_area(across) for _x, _y, across in self.holes))


def _hole_area(across: float) -> float:
    """Area of a round hole in mm², from the figures shown."""
    return shown_area(_PI * (shown(across) / 2) ** 2)


def _sheet(split: _Split, title: str, paper: str, answers: bool) -> tuple[Figure, ...]:
    kind = _("Triangles: answers") if answers else _("Triangles: work sheet")
    facts = _("{count} pieces").format(count=len(split.pieces))
    last = _("Area of a triangle: half its base times its height.")
    pages = Pages(paper, kind, title, facts, last, signed=not answers)
    blocks = list(_arithmetic(split, pages.width, answers))
    gap = 4.0 if answers else _PITCH - 3.0
    below = sum(block.height + gap for block in blocks) + 12.0
    spare = pages.room - below
    # What goes on overleaf in any case leaves the drawing its room.
    high = min(_HIGH, spare) if spare >= _LOW else _TALL
    marks, lettered = _split_outline(split, (pages.width, high))
    pages.draw(marks, extent(marks))
    if lettered:
        pages.put(_corners(split.outline, pages.width))
    first, *others = blocks
    title_ = heading(_("The pieces"), pages.width)
    pages.put(stacked([title_, first], gap - 1.0), gap)
    for block in others:
        pages.put(block, gap)
    if not answers:
        pages.rest_squared(_("Show your working"))
    return pages.figures()


def _split_outline(split: _Split, room: tuple[float, float]) -> tuple[list[Mark], bool]:
    """The outline with its cuts and its pieces numbered; and whether its corners bear letters.

    They do where their places, dimensioned from the outline's zero, do not all find room.
    """
    for lettered in (False, True) if len(split.outline) <= _PLACED else (True,):
        for scale in scales_within(np.array(split.outline.size), room):
            marks, complete = _outline_marks(split, scale, lettered)
            left, bottom, right, top = extent(marks)
            if right - left <= room[0] and top - bottom <= room[1]:
                break
        if complete:
            break
    return marks, lettered


def _outline_marks(split: _Split, scale: float, lettered: bool) -> tuple[list[Mark], bool]:
    corners = split.outline.points * scale
    ring = split.outline.chords() * scale
    closed = np.vstack([ring, ring[:1]])
    taken = Taken([closed])
    marks: list[Mark] = []
    for piece in split.pieces:
        cut = np.vstack([piece.border, piece.border[:1]]) * scale
        marks.append(Stroke(cut, "hidden"))
    marks.append(Stroke(closed, "outline"))
    for x, y, across in split.holes:
        marks.append(Stroke(_round(x, y, across) * scale, "outline"))
        taken.add_line("outline", _round(x, y, across) * scale)
    (left, bottom), (right, top) = split.outline.box * scale
    frame = (float(left), float(bottom), float(right), float(top))
    if lettered:
        named = zip(_letters(len(corners)), corners, _outward(corners), strict=True)
        for letter, (x, y), (right, up) in named:
            low = y + 3.2 * up - CAPITALS * TEXT * POINT / 2
            words = Words(letter, float(x + 3.2 * right), float(low), TEXT, "middle")
            taken.add("words", words.box)
            marks.append(words)
    numerals, complete = _numerals(split, scale, taken, frame)
    marks += numerals
    for x, y, across in split.holes:
        at = np.array([[x, y]]) * scale
        ways = circles(f"⌀{sized(across)}", at, at, across / 2 * scale, True, frame)
        placed = settle(ways, taken)
        complete = complete and placed is not None
        marks += placed.marks("", "") if placed is not None else []
    if lettered:
        return marks, complete
    for level in sorted(_from_zero(split.outline, scale), key=lambda level: level.length):
        placed = settle(places(level, frame), taken)
        complete = complete and placed is not None
        if placed is not None:
            marks += placed.marks("", "")
    return marks, complete


def _numerals(split: _Split, scale: float, taken: Taken, frame: Box) -> tuple[list[Mark], bool]:
    """The pieces' numbers, in their middles or on leaders from there; and whether all found room."""
    marks: list[Mark] = []
    crowded = []
    for index, piece in enumerate(split.pieces, 1):
        middle = piece.points.mean(axis=0) * scale
        low = float(middle[1]) - CAPITALS * HEADING * POINT / 2
        numeral = Words(str(index), float(middle[0]), low, HEADING, "middle", bold=True)
        shape, box = shapely.Polygon(piece.border * scale), shapely.box(*numeral.box)
        if shape.intersection(box).area < _WITHIN * box.area or taken.hits("words", numeral.box):
            crowded.append((str(index), middle[None]))
        else:
            taken.add("words", numeral.box)
            marks.append(numeral)
    for text, at in crowded:
        placed = settle(circles(text, at, at, 0.0, True, frame), taken)
        marks += placed.marks("", "") if placed is not None else []
        if placed is None:
            return marks, False
    return marks, True


def _round(x: float, y: float, across: float) -> np.ndarray:
    turns = np.linspace(0, 2 * np.pi, 49)
    return np.array([x, y]) + across / 2 * np.column_stack([np.cos(turns), np.sin(turns)])


def _letters(count: int) -> list[str]:
    """Small letters for corners."""
    return [name.lower() for name in corner_names(count)]


def _outward(corners: np.ndarray) -> np.ndarray:
    """(n, 2) unit vectors that point out of an anticlockwise outline at each of its corners."""
    before, after = corners - np.roll(corners, 1, axis=0), np.roll(corners, -1, axis=0) - corners
    ways = [way / np.linalg.norm(way, axis=1, keepdims=True) for way in (before, after)]
    along = ways[0] + ways[1]
    out = np.column_stack([along[:, 1], -along[:, 0]])
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-9)


def _corners(outline: Outline, width: float) -> Block:
    """A table of where the lettered corners are."""
    cells = [
        [letter, sized(float(x)), sized(float(y))]
        for letter, (x, y) in zip(_letters(len(outline)), outline.points, strict=True)
    ]
    down = -(-len(cells) // _ABREAST)
    cells += [["", "", ""]] * (down * _ABREAST - len(cells))
    rows = [[text for k in range(_ABREAST) for text in cells[k * down + i]] for i in range(down)]
    each = width / _ABREAST
    widths = [0.3 * each, 0.35 * each, 0.35 * each] * _ABREAST
    return table([_("corner"), _("across"), _("up")] * _ABREAST, rows, widths)


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


def _arithmetic(split: _Split, width: float, answers: bool) -> Iterator[Block]:
    """Each piece's steps, each hole's, and the sum, as blocks that stay on one page."""
    blank = BLANK + BLANK
    for index, piece in enumerate(split.pieces, 1):
        title = (
            _("Piece {index}: {kind}")
            if piece.area > 0
            else _("Piece {index}, to be taken away: {kind}")
        ).format(index=index, kind=_(piece.kind) if answers else blank)
        yield _steps(title, piece.steps, width, answers)
    for index, (_x, _y, across) in enumerate(split.holes, 1):
        half = shown(across) / 2
        steps = (
            _("half of {across} across is {half}").format(
                across=sized(across), half=sized(half, 3)
            ),
            _("{half} times {half} times {ratio} is {area}").format(
                half=sized(half, 3), ratio=number(_PI), area=area_of_sum(_hole_area(across))
            ),
        )
        title = _("Hole {index}, to be taken away: circle").format(index=index)
        yield _steps(title, steps, width, answers)
    total = (
        _("All pieces together, less the holes: {area}")
        if split.holes
        else _("All pieces together: {area}")
    )
    area = area_of_sum(split.area) if answers else f"{BLANK} {unit_sign()}²"
    yield paragraph(total.format(area=area), width, _size(answers), bold=True)


def _steps(title: str, steps: Sequence[str], width: float, answers: bool) -> Block:
    """A piece's arithmetic under its name, with blanks in place of numbers unless it is answered."""
    size = _size(answers)
    gap = 2.0 if answers else _PITCH - line_height(size)
    told = [step if answers else _NUMBER.sub(BLANK, step) for step in steps]
    lines = stacked([paragraph(s[:1].upper() + s[1:], width - 6.0, size) for s in told], gap)
    indented = Block(tuple(shifted(lines.marks, 6.0, 0.0)), lines.height)
    return stacked([paragraph(title, width, size, bold=True), indented], gap)


def _size(answers: bool) -> float:
    return TEXT if answers else TEXT + 0.5
