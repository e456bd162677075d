"""The print sheet: one page to take to the printer and to the try-out."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING

import numpy as np

from workbench import units
from workbench.checks.orientation.orient import ways_up
from workbench.checks.report import Finding, Report
from workbench.checks.subject import Subject
from workbench.output.drawing.dimension_kinds import value_text
from workbench.output.drawing.dimensions import dimensions
from workbench.output.drawing.paper import INK, NOTE, STOP, TEXT, WARNING, Page, Stroke, rectangle
from workbench.output.drawing.picture import FINE, shaded
from workbench.output.files.laid_part import Bed
from workbench.output.sheets.blocks import (
    BLANK,
    GAP,
    GUTTER,
    MARGIN,
    WRITING,
    Block,
    boxed,
    foot,
    lines_to_write,
    listed,
    masthead,
    paragraph,
    put,
    section,
    stacked,
    table,
    ticks,
)
from workbench.output.sheets.print_settings import care, settings
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import OUTCOMES
from workbench.words import _, sentence, sized, unit_sign, with_unit

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from workbench.checks.orientation.way_up import Orientation

#: Sign and colour of each severity: the sign alone tells them apart in black and white.
SIGNS = {"stop": ("■", STOP), "warning": ("▲", WARNING), "note": ("•", INK)}

#: Rules whose notes the sheet's other parts tell already.
_SAID_ABOVE = frozenset(("hangs in the air", "stands firm"))

#: How many fits to try and findings fit on the page.
_FITS, _FINDINGS = 2, 8

#: How many sizes to measure and lines for notes, in turn, until there is room for the warnings.
_SHORTER = ((7, 2), (6, 2), (5, 2), (5, 1), (4, 1))


def print_sheet(
    subject: Subject,
    report: Report,
    bed: Bed,
    revision: int | None = None,
    date: datetime | None = None,
    paper: str = "A4",
) -> Figure:
    """One page for a print: how it lies and why, settings, sizes to measure, how it went.

    subject : the repair with its solid
    report : what the checks found
    bed : the part as it lies on the print bed
    revision : its number; a dash where there is none yet
    date : today, unless given
    paper : "A4" or "Letter"

    Write the figure with :func:`workbench.output.drawing.paper.written`.
    """
    page = Page(paper)
    repair = subject.repair
    facts = _("revision {revision}   {date}").format(
        revision="–" if revision is None else revision, date=f"{date or datetime.now():%Y-%m-%d}"
    )
    top = masthead(page, _("Print sheet"), repair.name, facts)
    floor = foot(page, _deferral())
    column = (page.width - 2 * MARGIN - GUTTER) / 2
    right = MARGIN + column + GUTTER
    stops = [finding for finding in report.findings if finding.severity == "stop"]
    if stops:
        top = put(page, _halt(stops, page.width - 2 * MARGIN), MARGIN, top) - GAP
    left_at = _picture(page, bed, MARGIN, top, column)
    left_at = (
        put(
            page, _lies(report.orientations or ways_up(subject), bed, column), MARGIN, left_at - GAP
        )
        - GAP
    )
    right_at = put(page, settings(subject, column), right, top) - GAP
    right_at = put(page, care(subject, column), right, right_at) - GAP
    both = min(left_at, right_at)
    full = page.width - 2 * MARGIN
    told = [f for f in report.findings if f.severity == "warning"]
    told += [f for f in report.findings if _is_news(f)]
    wrong = sum(f.severity == "warning" for f in told)
    for count, lines in _SHORTER:  # what is wrong goes before a size or a line more
        sizes, trial = _measure(subject, bed, full, count), _try_it(repair, full, lines)
        room = both - floor - trial.height - sizes.height - 2 * GAP
        found = _findings(told, room, full)
        if not told or (found and found.warnings == wrong):
            break
    both = put(page, sizes, MARGIN, both) - GAP
    both = put(page, trial, MARGIN, both) - GAP
    if found:
        put(page, found.block, MARGIN, both)
    return page.figure


def _is_news(finding: Finding) -> bool:
    """Whether a note is worth its place: what the sheet tells already is not."""
    news = finding.severity == "note" and not finding.passed
    return news and finding.rule not in _SAID_ABOVE


def _deferral() -> str:
    return _("Local codes and licensed trades take precedence over this sheet.")


def _halt(stops: Iterable[Finding], width: float) -> Block:
    rows = [(SIGNS["stop"][0], _told(finding), STOP) for finding in stops]
    title = paragraph(_("Do not print yet"), width - 6.0, TEXT + 1.5, True, STOP)
    return boxed(stacked([title, listed(rows, width - 6.0)]), width, STOP)


def _told(finding: Finding) -> str:
    return " ".join(sentence(text) for text in (finding.text, finding.remedy) if text)


def _picture(page: Page, bed: Bed, left: float, top: float, width: float) -> float:
    height = 0.6 * width
    size = (round(width * FINE), round(height * FINE))
    grid = units.chosen().grid
    pixels = shaded(bed.vertices.astype(float), bed.faces, size, grid, paper="#ffffff")
    page.picture(pixels, left, top - height, width, height)
    page.put([Stroke(rectangle(left, top - height, width, height), "rule")])
    across, deep, high = (sized(side, 1) for side in bed.size)
    caption = _("As it lies, front towards you; grid {grid}. {x} × {y} × {z}.").format(
        grid=with_unit(grid), x=across, y=deep, z=f"{high} {unit_sign()}"
    )
    return put(page, paragraph(caption, width, NOTE), left, top - height - 1.5)


def _lies(orientations: Sequence[Orientation], bed: Bed, width: float) -> Block:
    """Which way up, and why; and why not the next best two."""
    here = [o for o in orientations if np.dot(o.down, bed.down) > 1 - 1e-6]
    rows = []
    for orientation in here[:1]:
        rows.append(paragraph(sentence(orientation.name), width, bold=True))
        rows += [paragraph(reason, width) for reason in orientation.reasons[:4]]
    others = [o for o in orientations if o not in here]
    for other in others[:2]:
        rows.append(paragraph(_why_not(other), width, NOTE))
    return section(_("Which way up"), rows or [paragraph(_("As the picture shows."), width)], width)


def _why_not(other: Orientation) -> str:
    """Why another way up is not the best, beginning with its name."""
    reason = next(iter(other.reasons), "")
    if reason.lower().startswith(other.name.lower()):
        return reason
    return _("{name}: {reason}").format(name=sentence(other.name).rstrip("."), reason=reason)


def _measure(subject: Subject, bed: Bed, width: float, count: int) -> Block:
    """The sizes to measure on the finished print: those that fit something go first."""
    rows: list[list[str | None]] = []
    sizes = list(_sizes(subject, bed))
    # The last three, over all, always have their place.
    for name, note, value in (*sizes[:-3][: count - 3], *sizes[-3:]):
        rows.append([name, note, sized(value), BLANK, BLANK])
    widths = [48.0, width - 48.0 - 3 * 22.0, 22.0, 22.0, 22.0]
    head = [_("size"), _("why it matters"), _("drawn"), _("measured"), _("difference")]
    return section(_("Measure when it is cold"), [table(head, rows, widths, WRITING)], width)


def _sizes(subject: Subject, bed: Bed) -> Iterator[tuple[str, str, float]]:
    repair = subject.repair
    seen = set()
    for fit in repair.fits:
        step = repair.step(fit.step)
        value = step.values.get(fit.field)
        seen.add((fit.step, fit.field))
        if isinstance(value, (int, float)):
            yield (
                _size_name(repair, fit.step, fit.field),
                _("{kind} fit in {mating}").format(
                    kind=_(fit.kind),
                    mating=f"{value_text(fit.mating.value, fit.mating)} {unit_sign()}",
                ),
                float(value),
            )
    for key in repair.readings:
        step_name, _dot, field = key.partition(".")
        if (step_name, field) in seen or not any(s.name == step_name for s in repair.steps):
            continue
        value = repair.step(step_name).values.get(field)
        if isinstance(value, (int, float)):
            reading = repair.readings[key]
            why = _("read as {value}").format(
                value=f"{value_text(reading.value, reading)} {unit_sign()}"
            )
            yield _size_name(repair, step_name, field), why, float(value)
    if not seen and not repair.readings:
        yield from _main_sizes(subject)
    axes = (_("width on the bed"), _("depth on the bed"), _("height"))
    for name, value in zip(axes, bed.size, strict=True):
        yield name, _("overall, as it lies"), value


def _main_sizes(subject: Subject) -> Iterator[tuple[str, str, float]]:
    """The first sizes of each added step that show, for a repair without readings or fits."""
    repair = subject.repair
    shown = [d.about for d in dimensions(repair, subject.assembly).drawn if d.about[1]]
    for step, field in dict.fromkeys(shown):
        kind = repair.step(step).parameter(field).kind
        if isinstance(kind, Size) and kind.unit == "mm" and not repair.step(step).cuts:
            value = float(repair.step(step).number(field))
            yield _size_name(repair, step, field), _(kind.measure), abs(value)


def _size_name(repair: Repair, step: str, field: str) -> str:
    return f"{step}, {repair.step(step).said(field)}"


def _try_it(repair: Repair, width: float, lines: int) -> Block:
    """How it went, to tick for each fit, with lines for notes."""
    labels = [_(outcome, "outcome") for outcome in OUTCOMES]
    named = [_size_name(repair, fit.step, fit.field) for fit in repair.fits[:_FITS]]
    rows: list[Block] = []
    for name in named or [_("in its place")]:
        rows.append(paragraph(name, width))
        rows.append(ticks(labels, width))
    rows.append(lines_to_write(_("notes"), width, lines))
    return section(_("Try it in place"), rows, width)


@dataclass(frozen=True)
class _Found:
    """What the checks found, as a block, and how many warnings are in it."""

    block: Block
    warnings: int


def _findings(told: Sequence[Finding], room: float, width: float) -> _Found | None:
    """What the checks found, as much as there is room for, and how much more there is."""
    if not told:
        return None
    for count in range(min(len(told), _FINDINGS), -1, -1):
        rows = [(*_sign(finding), finding) for finding in told[:count]]
        blocks = [listed([(sign, _told(f), colour) for sign, colour, f in rows], width, NOTE + 0.5)]
        blocks = blocks if rows else []
        left = sum(f.severity == "warning" for f in told[count:])
        if left:  # a note that has no room is left to the bench
            more = _("{count} more warnings: read them on the bench before printing.").format(
                count=left
            )
            blocks.append(paragraph(more, width, NOTE))
        block = section(_("What the checks found"), blocks, width)
        if block.height <= room:
            return _Found(block, sum(f.severity == "warning" for f in told[:count]))
    return None


def _sign(finding: Finding) -> tuple[str, str]:
    return SIGNS[finding.severity]
