"""The measuring sheet: a drawing with lettered sizes, and room for three readings of each."""

from __future__ import annotations

import string
from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count
from typing import TYPE_CHECKING, Any

from workbench.errors import RepairError
from workbench.measure.reading import RESOLUTION
from workbench.output.arrangement import arranged
from workbench.output.blocks import (
    BLANK,
    CLOSE,
    GAP,
    MARGIN,
    Block,
    beside,
    foot,
    masthead,
    paragraph,
    put,
    rest_squared,
    section,
    stacked,
    table,
    ticks,
    who,
)
from workbench.output.dimensions import Dimensions, dimensions
from workbench.output.lengths import Dimension
from workbench.output.paper import NOTE, Page, extent
from workbench.solids import catalogue
from workbench.solids.build import assemble
from workbench.solids.parameters import Choice, Count, Flag, Kind, Size
from workbench.solids.repair import Repair
from workbench.words import _

if TYPE_CHECKING:
    from matplotlib.figure import Figure

#: Sizes to try, in turn, for an option that a template leaves out by default: in mm, where it
#: may be large, and where it may not.
_LARGE, _SMALL = (3.0, 8.0, 12.0, 1.0), (0.8, 0.4)


def measuring_sheet(subject: Repair | str, paper: str = "A4") -> Figure:
    """A drawing with lettered sizes, and a table with room for three readings of each.

    Parameters
    ----------
    subject : a template's name, such as "fin", or a repair whose sizes are to be taken again
    paper : "A4" or "Letter"

    Raises
    ------
    RepairError
        When there is no such template, the repair does not build, or the paper is not known.
    """
    page = Page(paper)
    repair = subject if isinstance(subject, Repair) else _alone(subject)
    width = page.width - 2 * MARGIN
    under = "" if isinstance(subject, Repair) else _(catalogue.find(subject).summary) + "."
    kind, facts = _("Measuring sheet"), _("not drawn to your sizes")
    top = masthead(page, kind, repair.name, facts, under)
    floor = foot(page, _("Write what the instrument shows; the mean of the readings is the size."))
    top = put(page, who(width), MARGIN, top) - GAP
    assembly = assemble(repair)
    sizes = dimensions(repair, assembly)
    lettered, rows = _lettered(repair, sizes)
    body = stacked([_table_of_sizes(rows, width), *_choices(repair, sizes, width)], 3.0)
    room = (width, max(60.0, min(118.0, top - floor - body.height - GAP - 2 * CLOSE)))
    found = arranged(assembly, lettered, room, paper == "A4", picture=False)
    left, bottom, right, high = extent(found.marks)
    top -= high - bottom
    page.put(found.marks, MARGIN + (width - right - left) / 2, top - bottom)
    rest_squared(page, _("Sketch"), put(page, body, MARGIN, top - GAP) - GAP, floor)
    return page.figure


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


def _lettered(repair: Repair, found: Dimensions) -> tuple[Dimensions, list[tuple[str, str, str]]]:
    """The steps' own sizes with letters in place of numbers; and letter, size and how to measure."""
    letters = _letters()
    drawn: list[Dimension] = []
    rows = []
    seen: dict[tuple[str, str], str] = {}
    for dimension in found.drawn:
        step, field = dimension.about
        if not field:
            continue
        if dimension.about not in seen:
            seen[dimension.about] = next(letters)
            rows.append((seen[dimension.about], *_what(repair, step, field)))
        drawn.append(replace(dimension, text=seen[dimension.about]))
    for part in repair.steps:
        for parameter in catalogue.find(part.template).parameters:
            about = (part.name, parameter.name)
            sized = isinstance(parameter.kind, Size) and part.values[parameter.name]
            if sized and about not in seen and about not in found.idle:
                rows.append((next(letters), *_what(repair, *about)))
    return replace(found, drawn=tuple(drawn), listed=()), rows


def _letters() -> Iterator[str]:
    for round_ in count():
        for letter in string.ascii_uppercase:
            yield letter + (str(round_) if round_ else "")


def _what(repair: Repair, step: str, field: str) -> tuple[str, str]:
    template = catalogue.find(repair.step(step).template)
    parameter = template.parameter(field)
    label = _(parameter.label)
    name = label if len(repair.steps) == 1 else f"{step}, {label}"
    unit = parameter.kind.unit if isinstance(parameter.kind, Size) else ""
    how = _(parameter.kind.measure)
    return name, how if unit in ("", "mm") else f"{how} ({unit})"


def _choices(repair: Repair, found: Dimensions, width: float) -> Iterator[Block]:
    """A row of boxes to tick for each choice and each yes or no."""
    for part in repair.steps:
        for parameter in catalogue.find(part.template).parameters:
            about = (part.name, parameter.name)
            if about in found.idle or not isinstance(parameter.kind, (Choice, Flag)):
                continue
            kind = parameter.kind
            options = kind.options if isinstance(kind, Choice) else (_("yes"), _("no"))
            name, _how = _what(repair, *about)
            each = (width - 40.0) / max(len(options), 4)
            label = paragraph(name, 38.0)
            boxes = ticks([_(option) for option in options], each * len(options), NOTE + 0.5)
            yield beside(label, boxes, 40.0)


def _table_of_sizes(rows: Sequence[tuple[str, str, str]], width: float) -> Block:
    blank = 18.0
    widths = [8.0, 32.0, width - 40.0 - 4 * blank, blank, blank, blank, blank]
    head = ["", _("size"), _("measure it"), _("1st"), _("2nd"), _("3rd"), _("mean")]
    filled = [[*row, BLANK, BLANK, BLANK, BLANK] for row in rows]
    instruments = ticks([_(name) for name in RESOLUTION], width * 0.8)
    units = ticks([_("mm"), _("inch")], width * 0.24)
    return section(
        _("Readings"),
        [beside(instruments, units, width * 0.76), table(head, filled, widths)],
        width,
    )
