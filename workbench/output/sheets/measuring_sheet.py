"""The measuring sheet: a drawing with lettered sizes, and room for three readings of each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline
from workbench.measure.reading import RESOLUTION
from workbench.measure.sketches.sketch import letters
from workbench.output.drawing.arrangement import Arrangement, arranged
from workbench.output.drawing.corner_dimensions import MOST
from workbench.output.drawing.dimension_kinds import Dimension, Length
from workbench.output.drawing.dimensions import Dimensions, dimensions
from workbench.output.drawing.paper import NOTE, extent
from workbench.output.drawing.view_allocation import same_length
from workbench.output.sheets.blocks import (
    BLANK,
    GAP,
    LEAD,
    Block,
    beside,
    heading,
    paragraph,
    stacked,
    table,
    ticks,
)
from workbench.output.sheets.caliper_jaws import DEPTH, OUTSIDE, jaws
from workbench.output.sheets.pages import Pages, Row
from workbench.solids import catalogue
from workbench.solids.building.build import Assembly, assemble
from workbench.solids.facts import facts_of
from workbench.solids.parameters import Choice, Count, Flag, Kind, Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import REPEAT
from workbench.solids.recipe.step import Step
from workbench.words import _

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Sizes to try, in turn, for an option that a template leaves out by default: in mm, where it
#: may be large, and where it may not.
_LARGE, _SMALL = (3.0, 8.0, 12.0, 1.0), (0.8, 0.4, 3.0)

#: Height of a drawing above its table, in mm: at least, at most, and of a step's own.
_LOW, _HIGH, _OWN = 55.0, 118.0, 70.0

#: A part is drawn so large that its longest side has at least this, in mm on paper.
_LEGIBLE = 32.0

#: Height of a row, and width of a box, to write a reading in, in mm.
_ROW, _BOX = 8.5, 18.0


def measuring_sheets(subject: Repair | str, paper: str = "A4") -> tuple[Figure, ...]:
    """A drawing with lettered sizes, and a table with room for three readings of each.

    A template's sheet is one page. A repair of many sizes gets a page for its drawing, or where
    that is too crowded to be read, a drawing for each step.

    subject : a template's name, such as "fin", or a repair whose sizes are to be taken again
    paper : "A4" or "Letter"

    Raises RepairError when there is no such template, the repair does not build, or the paper is
    not known.
    """
    repair = subject if isinstance(subject, Repair) else _alone(subject)
    under = "" if isinstance(subject, Repair) else _(catalogue.find(subject).summary) + "."
    pages = Pages(
        paper,
        _("Measuring sheet"),
        repair.name,
        _("not drawn to your sizes"),
        _("Write down what the instrument shows; the mean of the readings is the size."),
        under,
    )
    assembly = assemble(repair)
    asked = _asked(repair, assembly)
    lead = [*_instruments(pages.width), *_choices(repair, asked.idle, pages.width)]
    below = _table(asked, lead, pages.width).height + 2 * GAP
    for high in (min(_HIGH, pages.room - below), pages.room):
        if high >= _LOW and _drawn(pages, assembly, asked, high):
            pages.put_table(_("Readings"), lead, *_rows(asked, pages.width), _ROW)
            break
    else:
        _step_by_step(pages, repair)
    pages.rest_squared(_("Sketch"))
    return pages.figures()


@dataclass(frozen=True)
class _Asked:
    """What a pupil measures.

    sizes : with letters in place of numbers
    rows : letter, what is measured, how, and with which jaws
    counts : what is counted, and what that is
    idle : (step, field) of what does not matter as the others stand
    """

    sizes: Dimensions
    rows: tuple[tuple[str, str, str, str], ...]
    counts: tuple[tuple[str, str], ...]
    idle: frozenset[tuple[str, str]]


def _drawn(pages: Pages, assembly: Assembly, asked: _Asked, high: float) -> bool:
    """Draw the part where all its letters find room at a size that can be read."""
    found = arranged(assembly, asked.sizes, (pages.width, high), _first(pages), every=False)
    box = assembly.solid.bounding_box()
    longest = float(np.ptp([[*box.min], [*box.max]], axis=0).max())
    if found.left_over or found.scale * longest < _LEGIBLE:
        return False
    _put_drawing(pages, found)
    return True


def _put_drawing(pages: Pages, found: Arrangement) -> None:
    pages.draw(found.marks, extent(found.marks))


def _first(pages: Pages) -> bool:
    """Whether views lie as first-angle projection has them, which goes with A4."""
    return pages.paper == "A4"


def _step_by_step(pages: Pages, repair: Repair) -> None:
    """Each step with a drawing and a table of its own."""
    named = letters()
    for number, step in enumerate(repair.steps):
        alone = Repair(step.name).add(step.template, name=step.name, **step.values)
        assembly = assemble(alone)
        asked = _asked(alone, assembly, named)
        places = [
            ("", *_what(repair, step.name, name), "") for name in _measured_places(step, not number)
        ]
        asked = replace(asked, rows=(*asked.rows, *places))
        lead = list(_choices(alone, asked.idle, pages.width))
        if not (asked.rows or asked.counts or lead):
            continue
        lead = lead if number else [*_instruments(pages.width), *lead]
        found = arranged(assembly, asked.sizes, (pages.width, _OWN), _first(pages), every=False)
        _left, bottom, _right, top = extent(found.marks)
        title = heading(_title(repair, step.name), pages.width)
        rows = _table(asked, lead, pages.width)
        if title.height + (top - bottom) + min(rows.height, 60.0) + 3 * GAP > pages.room:
            pages.turn()
        pages.put(title, 3.0)
        _put_drawing(pages, found)
        pages.put_table(_("Readings"), lead, *_rows(asked, pages.width), _ROW)


def _title(repair: Repair, step: str) -> str:
    template = _(repair.step(step).template.replace("_", " "))
    return step if step == template else f"{step} ({template})"


def _alone(template: str) -> Repair:
    """A repair of one step that shows as much as it can of what the template asks for.

    Options that are left out by default, such as holes or a collar, are put in where they build.
    """
    found = catalogue.find(template)
    title = _(found.name.replace("_", " ")).capitalize()
    shown = Repair(title).add(template)
    (step,) = shown.steps
    for parameter in found.parameters:
        if step.values[parameter.name] == 0:
            for value in _options(parameter.kind):
                fuller = shown.copy()
                try:
                    option: dict[str, Any] = {parameter.name: value}
                    assemble(fuller.change(step.name, **option))
                except RepairError:
                    continue
                shown = fuller
                break
    return shown


def _options(kind: Kind) -> tuple[float, ...]:
    if isinstance(kind, Count):
        return 2, 1
    if isinstance(kind, Size):
        return _LARGE if kind.high >= 50 else _SMALL
    return ()


def _asked(repair: Repair, assembly: Assembly, named: Iterator[str] | None = None) -> _Asked:
    """The steps' own sizes with letters in place of numbers, and how each is measured.

    Sizes between the same two ends are one to the calipers and share a letter. What no drawing
    shows, such as how far a cut runs past the part, is not asked for; a thread's crests are.
    """
    found = dimensions(repair, assembly)
    named = named or letters()
    drawn: list[Dimension] = []
    rows: dict[str, list[str]] = {}
    seen: dict[tuple[str, str], str] = {}
    outlines = {corner.about: corner for corner in found.corners}
    for dimension in found.drawn:
        about = dimension.about
        if isinstance(dimension, Length) and dimension.place:
            about = (about[0], dimension.place)
        if not about[1] or about in outlines or about[1] in repair.step(about[0]).follows:
            continue
        name, how = _what(repair, *about)
        twin = next((one for one in drawn if same_length(dimension, one)), None)
        if twin is not None:
            if about not in seen:
                seen[about] = twin.text
                rows[twin.text][0] = _("{one}; also {other}").format(
                    one=rows[twin.text][0], other=name
                )
            continue
        if about not in seen:
            seen[about] = next(named)
            rows[seen[about]] = [name, how, _(jaws(dimension, assembly.solid), "calipers")]
        drawn.append(replace(dimension, text=seen[about]))
    counts = [
        _what(repair, part.name, parameter.name)
        for part in repair.steps
        for parameter in catalogue.find(part.template).parameters
        if isinstance(parameter.kind, Count)
        and part.values[parameter.name]
        and (part.name, parameter.name) not in found.idle
    ]
    counts += [
        _what(repair, part.name, name)
        for part in repair.steps
        for name in part.numbers()
        if name.startswith(REPEAT)
        and isinstance(part.parameter(name).kind, Count)
        and name not in part.follows
    ]
    told: list[tuple[str, str, str, str]]
    told = [(letter, name, how, with_) for letter, (name, how, with_) in rows.items()]
    for part in repair.steps:
        unseen = (field for field in facts_of(part.template).read if (part.name, field) not in seen)
        told += [
            ("", *_what(repair, part.name, field), _outside())
            for field in unseen
            if (part.name, field) not in found.idle
        ]
        told += [
            ("", *_what(repair, part.name, name), "")
            for name in _measured_places(part, part is repair.steps[0])
            if (part.name, name) not in seen
        ]
    for about in outlines:
        told += _between_corners(repair, about)
    return _Asked(
        replace(found, drawn=(*drawn, *found.corners), listed=()),
        tuple(told),
        tuple(counts),
        found.idle,
    )


def _measured_places(step: Step, is_first: bool) -> Iterator[str]:
    """The numbers of where a step stands that are measured, and of its pattern.

    Where the first part stands by itself, all others stand with it.
    """
    measured_on = ("along", "across", "pitch", "radius", *(() if is_first else ("x", "y", "z")))
    for name in step.numbers():
        holder, _dot, number = name.rpartition(".")
        measured = holder and (number.startswith("inset") or number in measured_on)
        if measured and step.number(name) and name not in step.follows:
            yield name


def _between_corners(repair: Repair, about: tuple[str, str]) -> Iterator[tuple[str, str, str, str]]:
    """The sides, and as many diagonals as make the outline stiff; of many corners only a hint."""
    step, field = about
    outline = Outline(repair.step(step).values[field])
    count = len(outline)
    name, _how = _what(repair, step, field)
    if count > MOST:
        yield "", name, _("lay it on the photo sheet and trace it"), ""
        return
    ends = [(i, i % count + 1) for i in range(1, count + 1)]
    for i, k in ends:
        yield f"{i}–{k}", name, _("side, from corner {a} to {b}").format(a=i, b=k), _outside()
    for k in range(3, count):
        yield f"1–{k}", name, _("diagonal, from corner {a} to {b}").format(a=1, b=k), _outside()

    yield from _bent(name, outline)


def _bent(name: str, outline: Outline) -> Iterator[tuple[str, str, str, str]]:
    """How the rounds and the arcs of an outline are measured."""
    for i, radius in enumerate(outline.radii, 1):
        if radius:
            yield str(i), name, _("radius at corner {a}").format(a=i), _("radius gauge")
    for i, span in enumerate(outline.spans, 1):
        if span.through is not None:
            how = _("rise of the arc from corner {a} to {b} over the straight line between them")
            k = i % len(outline) + 1
            yield f"{i}∩{k}", name, how.format(a=i, b=k), _(DEPTH, "calipers")


def _outside() -> str:
    return _(OUTSIDE, "calipers")


def _what(repair: Repair, step: str, field: str) -> tuple[str, str]:
    parameter = repair.step(step).parameter(field)
    label = parameter.said
    name = label if len(repair.steps) == 1 else f"{step}, {label}"
    unit = parameter.kind.unit if isinstance(parameter.kind, Size) else ""
    how = _(parameter.kind.measure)
    return name, how if unit in ("", "mm") else f"{how} ({unit})"


def _choices(repair: Repair, idle: frozenset[tuple[str, str]], width: float) -> Iterator[Block]:
    """A row of boxes to tick for each choice and each yes or no."""
    for part in repair.steps:
        for parameter in catalogue.find(part.template).parameters:
            about = (part.name, parameter.name)
            if about in idle or not isinstance(parameter.kind, (Choice, Flag)):
                continue
            kind = parameter.kind
            options = kind.options if isinstance(kind, Choice) else (_("yes"), _("no"))
            name, _how = _what(repair, *about)
            each = (width - 40.0) / max(len(options), 4)
            label = paragraph(name, 38.0)
            boxes = ticks([_(option) for option in options], each * len(options), NOTE + 0.5)
            yield beside(label, boxes, 40.0)


def _instruments(width: float) -> list[Block]:
    """Instrument and unit to tick, and what the jaws are."""
    instruments = ticks([_(name) for name in RESOLUTION], width * 0.72)
    units = ticks([_("mm"), _("inch")], width * 0.24)
    told = _("Outside: the large jaws. Inside: the small jaws. Depth: the rod.")
    return [beside(instruments, units, width * 0.76), paragraph(told, width, NOTE)]


def _table(asked: _Asked, lead: Sequence[Block], width: float) -> Block:
    """Heading, what stands before the table, and the whole of it."""
    over = [heading(_("Readings"), width), stacked(lead, LEAD)]
    return stacked([*over, table(*_rows(asked, width), _ROW)], 2.2)


def _rows(asked: _Asked, width: float) -> tuple[list[str], list[Row], list[float]]:
    """Head, rows and widths of the table of readings."""
    widths = [9.0, 32.0, width - 41.0 - 17.0 - 4 * _BOX, 17.0, *([_BOX] * 4)]
    head = ["", _("size"), _("measure it"), _("with"), _("1st"), _("2nd"), _("3rd"), _("mean")]
    rows: list[Row] = [[*row, BLANK, BLANK, BLANK, BLANK] for row in asked.rows]
    rows += [["", name, how, _("count"), BLANK, "", "", ""] for name, how in asked.counts]
    return head, rows, widths
