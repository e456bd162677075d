"""The panel in which a part is measured: readings in a table, and the outline that fits them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from html import escape
from typing import Any

import ipywidgets as w
import numpy as np

from workbench.errors import RepairError
from workbench.jupyter.newest_only import Newest
from workbench.jupyter.pages.measuring_start import (
    Begun,
    from_fin,
    from_kept,
    from_shape,
    from_trace,
    shapes,
)
from workbench.jupyter.pages.tracing import Picture
from workbench.jupyter.panel import Panel, button_for, chooser, labelled, said, told, told_words
from workbench.jupyter.picture.pieces_figure import in_words as arithmetic
from workbench.jupyter.picture.pieces_figure import picture
from workbench.jupyter.picture.sketch_figure import as_drawn, off_in_words, to_scale
from workbench.jupyter.sizes.readings_table import Entered, Line, Readings, entered, line
from workbench.jupyter.sizes.sliders import field_for
from workbench.measure.outlines.triangles import WAYS, decompose
from workbench.measure.photos.trace_result import Hole, Traced
from workbench.measure.sketches.solve import Solution, Undetermined, solve
from workbench.measure.sketches.table_row import STATEMENTS, Row
from workbench.solids import catalogue
from workbench.solids.drawn.sketched_steps import add_measured, measure_again, set_fin
from workbench.solids.drawn.traced_steps import holes_pulled
from workbench.solids.measured import AS_FIN, WHOLE
from workbench.solids.recipe.repair import Repair
from workbench.words import _, sized, with_unit

#: How long the table is left alone before it is solved, in seconds.
PAUSE = 0.1

#: Beginnings that are no plain shape.
FIN, KEPT, PICTURE = "fin", "kept", "picture"

#: Greatest width and height of the picture of another shape that fits, in pixels.
_SMALL = (220, 190)

#: Sizes that an outline is told in words, at most.
_MOST_TOLD = 10


@dataclass(frozen=True)
class Outcome:
    """What the table came to.

    solution : the outline, or None with ``refusal`` saying why
    nexts, free : what to read next and the corners that are free, where too little was read
    """

    entered: Entered
    solution: Solution | None = None
    refusal: str = ""
    nexts: tuple[Row, ...] = ()
    free: tuple[str, ...] = field(default=())


class Measuring(Panel):
    """Readings in a table, the outline to scale, and one click from there to steps."""

    title = "Measure"
    purpose = "Work out an outline of any shape from readings or a picture, and add it to the part"

    def lay_out(self) -> None:
        self._traced: Traced | None = None
        kept = next(iter(self.bench.repair.sketches), "")
        self._begun = from_kept(self.bench.repair, kept) if kept else from_shape("trapezoid")
        self.outcome: Outcome | None = None
        self._solver: Newest[tuple[Begun, list[Line]], Outcome] = Newest(
            _solved, self._show, pause=PAUSE
        )
        self.beginning = chooser(_("Begin with"), _("Where the corners come from"))
        self.begin = button_for(
            _("Begin"), _("Put this in the table, in place of what is there"), "wb-main"
        )
        self.picture = Picture(self._take_trace)
        self.table = Readings(self._changed)
        self.add_next = button_for(_("Add these lines"), _("Put what to read next into the table"))
        self.add_next.layout.display = "none"
        self.note = w.HTML()
        self.figures = w.HTML()
        self.figures.add_class("wb-figures")
        self.others = w.HBox()
        self.others.add_class("wb-others")
        self.sizes = w.HTML()
        self._make_use()
        self.beginning.observe(lambda _change: self._suit(), "value")
        self.begin.on_click(lambda _button: self._begin())
        self.add_next.on_click(lambda _button: self._add_next())
        start = w.HBox([self.beginning, self.begin])
        start.add_class("wb-row")
        left = labelled(
            _("What the calipers say"),
            start,
            self.picture.widget,
            self.table,
            self.note,
            self.add_next,
            kind="wb-form",
        )
        right = labelled(
            _("Result"), self.figures, self.others, self.sizes, self.use, kind="wb-form"
        )
        self.widget = w.Box([left, right])
        self.widget.add_class("wb-measure")
        self._offer()
        self._suit()
        self.table.fill(self._begun.lines)

    # -- what the bench tells ----------------------------------------------------------------

    def edited(self) -> None:
        self._offer()

    def suited(self) -> None:
        self.thickness.show_again()
        self.table.suit()
        self._changed()

    def chosen(self, step: str) -> None:
        self._offer()

    def closed(self) -> None:
        self._solver.drop()

    def settle(self, timeout: float = 30.0) -> bool:
        """Wait until what is in the table is solved and shown."""
        return self._solver.settle(timeout)

    # -- beginning ---------------------------------------------------------------------------

    def _fins(self) -> list[str]:
        return [step.name for step in self.bench.repair.steps if step.template == "fin"]

    def _offer(self) -> None:
        """Offer the shapes, the fins that there are now, and a picture."""
        options = [
            (_("the readings of {name}").format(name=name), f"{KEPT} {name}")
            for name in self.bench.repair.sketches
        ]
        options += [(text, name) for name, text in shapes().items()]
        options += [
            (_("the fin {name}").format(name=name), f"{FIN} {name}") for name in self._fins()
        ]
        options.append((_("a picture, to be traced"), PICTURE))
        if tuple(options) != tuple(self.beginning.options):
            before = self.beginning.value
            self.beginning.options = options
            known = [value for _text, value in options]
            self.beginning.value = before if before in known else known[0]

    def _suit(self) -> None:
        traced = self.beginning.value == PICTURE
        self.picture.widget.layout.display = "" if traced else "none"
        self.begin.layout.display = "none" if traced else ""

    def _begin(self) -> None:
        chosen = self.beginning.value
        try:
            kind, _blank, name = chosen.partition(" ")
            if kind in (FIN, KEPT):
                self._put((from_fin if kind == FIN else from_kept)(self.bench.repair, name))
            else:
                self._put(from_shape(chosen))
        except RepairError as error:
            self.note.value = told(str(error), "stop")

    def _take_trace(self, traced: Traced) -> None:
        self._put(from_trace(traced))
        self._traced = traced

    def _put(self, begun: Begun) -> None:
        self._begun = begun
        self._traced = None
        self.done.value = ""
        if list(begun.lines) == self.table.lines:
            self._changed()
        self.table.fill(begun.lines)

    # -- solving -----------------------------------------------------------------------------

    def _changed(self) -> None:
        self._solver.put((self._begun, [dict(one) for one in self.table.lines]))

    def _show(self, outcome: Outcome, job: tuple[Begun, list[Line]]) -> None:
        begun, lines = job
        if begun is not self._begun or lines != self.table.lines:
            return
        self.outcome = outcome
        self.table.marks = _marks(outcome, lines)
        self.note.value = _words(outcome, begun)
        known = {_same(row) for one in lines if (row := _row_of(begun, one)) is not None}
        new = [row for row in outcome.nexts if _same(row) not in known]
        self.add_next.layout.display = "" if new else "none"
        figures = [as_drawn(begun.corners, outcome.nexts, outcome.free)]
        if outcome.solution is not None:
            figures.append(to_scale(outcome.solution))
        self.figures.value = "".join(figures)
        self._offer_others(outcome.solution)
        self.sizes.value = "" if outcome.solution is None else in_words(outcome.solution)
        self._split()
        for button in self.buttons:
            button.disabled = outcome.solution is None
        self._offer_again()

    def _offer_others(self, solution: Solution | None) -> None:
        """Show every other shape that fits as a picture with a button that takes it."""
        shown = []
        for other in solution.alternatives if solution is not None else ():
            figure = w.HTML(to_scale(other, _("This shape fits the readings just as well"), _SMALL))
            figure.add_class("wb-figures")
            take = button_for(
                _("Take this shape"), _("Draw the corners like this; the readings stay as they are")
            )
            take.on_click(lambda _button, other=other: self._take_shape(other))
            shown.append(w.VBox([figure, take]))
        self.others.children = shown

    def _take_shape(self, other: Solution) -> None:
        """Go on with another shape that fits: the corners drawn so that it is found first."""
        if self.outcome is None or self.outcome.solution is None:
            return
        before = self.outcome.solution.sketch.base
        bare = other.sketch.without(*(row.name for row in other.sketch.rows))
        self._begun = replace(self._begun, corners=bare)
        if bare.base == before:
            self._changed()
            return
        # What was read along the lowest side stays along the side that it was read along.
        along = " ".join(before)
        self.table.lines = [
            one | {"where": one["where"] or along} if one["kind"].startswith("overall") else one
            for one in self.table.lines
        ]
        self._changed()

    def _add_next(self) -> None:
        if self.outcome is not None:
            known = {
                _same(row)
                for one in self.table.lines
                if (row := _row_of(self._begun, one)) is not None
            }
            new = [row for row in self.outcome.nexts if _same(row) not in known]
            added = [line(row.kind, " ".join(row.where)) for row in new]
            self.table.lines = [*self.table.lines, *added]

    def _offer_again(self) -> None:
        """Offer to set what was measured again, where it is still there."""
        name = self._again
        self.again.layout.display = "" if name else "none"
        self.again.description = _("Set {name} to this").format(name=name)

    # -- from the outline to steps -----------------------------------------------------------

    def _make_use(self) -> None:
        parameter = catalogue.find("panel").parameter("thickness")
        self._thickness = float(parameter.default)
        self.thickness = field_for(parameter, self._set_thickness)
        self.thickness.show(self._thickness)
        box = w.VBox([self.thickness.widget])
        box.add_class("wb-compact")
        self.name = w.Text(
            description=_("Call it"), placeholder=_("part"), tooltip=_("Name of the new steps")
        )
        self.ways = chooser(
            _("Split into"), _("How the outline is split into pieces"), told_words(WAYS)
        )
        self.as_pieces = button_for(_("Add as pieces"), _("Split the outline and add every piece"))
        self.as_panel = button_for(_("Add as a panel"), _("Add the whole outline as one step"))
        self.as_fin = button_for(
            _("Add as a fin"), _("Add it as a fin, with a slider for each size")
        )
        self.again = button_for(
            _("Update the steps"), _("Update the steps that were made from these readings")
        )
        self.buttons = (self.again, self.as_pieces, self.as_panel, self.as_fin)
        uses = (self._set_again, self._add_pieces, self._add_panel, self._add_fin)
        for button, add in zip(self.buttons, uses, strict=True):
            button.add_class("wb-main")
            button.disabled = True
            button.on_click(lambda _button, add=add: self._use(add))
        row = w.HBox(self.buttons)
        row.add_class("wb-row")
        self.done, self.pieces = w.HTML(), w.HTML()
        self.ways.observe(lambda _change: self._split(), "value")
        self.use = w.VBox([box, self.name, self.ways, self.pieces, row, self.done])

    def _split(self) -> None:
        """Show the pieces that the outline is split into, with the arithmetic of each."""
        solution = self.outcome.solution if self.outcome is not None else None
        if solution is None:
            self.pieces.value = ""
            return
        outline = solution.outline
        pieces = decompose(outline, self.ways.value)
        several = _("The {n} pieces, with their arithmetic").format(n=len(pieces))
        head = several if len(pieces) > 1 else _("The piece, with its arithmetic")
        self.pieces.value = (
            f'<details class="wb-sizes"><summary>{escape(head)}</summary>'
            f"{picture(outline, pieces)}{arithmetic(pieces)}</details>"
        )

    def _set_thickness(self, _name: str, value: Any) -> None:
        self._thickness = float(value)

    def _use(self, add: Callable[[Solution], tuple[Callable[[Repair], Any], str]]) -> None:
        self.settle()  # a hand may be quicker than the solver
        if self.outcome is None or self.outcome.solution is None:
            return
        try:
            change, done = add(self.outcome.solution)
        except RepairError as error:
            self.done.value = told(str(error), "stop")
            return
        anew = add != self._set_again
        if self.carry_out(self.done, change, done, choose_last=anew, show_all=True) and anew:
            self._begun = replace(self._begun, kept=list(self.bench.repair.sketches)[-1])
            self._changed()

    @property
    def _again(self) -> str:
        """What the table measures again: kept readings or a fin of the repair, or ""."""
        if self._begun.kept in self.bench.repair.sketches:
            return self._begun.kept
        return self._begun.fin if self._begun.fin in self._fins() else ""

    def _set_again(self, solution: Solution) -> tuple[Callable[[Repair], Any], str]:
        name = self._again
        change = measure_again if self._begun.kept else set_fin
        return (
            lambda repair: change(repair, name, solution),
            _("{name} has these sizes now").format(name=name),
        )

    def _called(self) -> str | None:
        return self.name.value.strip() or None

    def _add_pieces(self, solution: Solution) -> tuple[Callable[[Repair], Any], str]:
        count = len(decompose(solution.outline, self.ways.value))
        done = _("{n} pieces are added to the repair").format(n=count)
        return self._added(solution, self.ways.value), done

    def _add_panel(self, solution: Solution) -> tuple[Callable[[Repair], Any], str]:
        return self._added(solution, WHOLE), _("The panel is added to the repair")

    def _add_fin(self, solution: Solution) -> tuple[Callable[[Repair], Any], str]:
        return self._added(solution, AS_FIN), _("The fin is added to the repair")

    def _added(self, solution: Solution, form: str) -> Callable[[Repair], Any]:
        name, thickness, holes = self._called(), self._thickness, self._holes(solution)
        return lambda repair: add_measured(repair, solution, thickness, name, form, holes)

    def _holes(self, solution: Solution) -> tuple[Hole, ...]:
        """The holes of the traced picture, where the calipers pulled them to."""
        if self._traced is None:
            return ()
        return holes_pulled(self._traced, np.array(list(solution.corners.values())))


def in_words(solution: Solution) -> str:
    """The outline's sizes with their doubt, and what each doubt comes from, as a list."""
    names = list(solution.corners)
    sides = list(zip(names, [*names[1:], *names[:1]], strict=True))
    wanted = [("overall width", ""), ("overall height", "")]
    wanted += [("side", f"{a} {b}") for a, b in sides[: _MOST_TOLD - 2]]
    rows = "".join(f"<li>{escape(str(solution.size(*size)))}</li>" for size in wanted)
    width, height = solution.outline.size
    head = _("{corners} corners, {width} by {height}").format(
        corners=len(names), width=sized(width), height=with_unit(height)
    )
    return (
        f'<details class="wb-sizes" open><summary>{escape(head)}</summary><ul>{rows}</ul></details>'
    )


def _solved(job: tuple[Begun, list[Line]]) -> Iterator[Outcome]:
    begun, lines = job
    found = entered(begun.corners, lines)
    try:
        yield Outcome(found, solve(found.sketch))
    except Undetermined as error:
        nexts = tuple(Row(str(one), one.kind, one.where) for one in error.take)
        yield Outcome(found, None, str(error), nexts, error.free)
    except Exception as error:
        yield Outcome(found, None, said(error))


def _marks(outcome: Outcome, lines: Sequence[Line]) -> list[dict[str, str]]:
    """What stands beside each line: how far it is off, and whether to look at it."""
    wanted = {_same(row) for row in outcome.nexts}
    marks = []
    for count, given in enumerate(lines):
        name, fault = outcome.entered.names[count], outcome.entered.faults.get(count, "")
        mark = {"off": "", "flag": "", "title": ""}
        if fault:
            mark = {"off": _("■ see below"), "flag": "fault", "title": fault}
        elif name and outcome.solution is not None and given["kind"] not in STATEMENTS:
            row = outcome.solution.sketch.row(name)
            mark["off"] = off_in_words(row, outcome.solution)
            if name in outcome.solution.suspects:
                mark |= {"off": _("■ again"), "title": mark["off"], "flag": "suspect"}
            elif name in outcome.solution.undecided:
                mark |= {"off": _("▲ or this"), "title": mark["off"], "flag": "suspect"}
        elif not name and given["kind"] not in STATEMENTS:
            row_of = _row_of_entered(outcome.entered, given)
            if row_of is not None and _same(row_of) in wanted:
                mark |= {"off": _("▸ next"), "flag": "next"}
        marks.append(mark)
    return marks


def _words(outcome: Outcome, begun: Begun) -> str:
    parts = [
        told(_("line {number}: {fault}").format(number=count + 1, fault=fault), "stop")
        for count, fault in sorted(outcome.entered.faults.items())
    ]
    solution = outcome.solution
    if solution is None:
        # Nothing is wrong with a table that is not full yet.
        parts.append(told(outcome.refusal, "" if outcome.nexts else "stop"))
    else:
        doubted = solution.suspect or solution.undecided
        lines = solution.lines or [_("The readings agree.")]
        for count, text in enumerate(lines):
            severity = "warning" if doubted and not count else ""
            severity = severity or ("done" if not solution.lines else "")
            parts.append(told(text, severity))
    parts += [told(note) for note in begun.notes]
    return "".join(parts)


def _same(row: Row) -> tuple[str, frozenset[str]]:
    """What makes two readings the same one: the way round does not matter."""
    kind = "distance" if row.kind in ("side", "diagonal") else row.kind
    return kind, frozenset(row.where)


def _row_of(begun: Begun, given: Line) -> Row | None:
    """The reading that a line stands for, filled in or not; None where it makes no sense."""
    rows = entered(begun.corners, [{**given, "values": ["45"]}]).sketch.rows
    return rows[0] if rows else None


def _row_of_entered(found: Entered, given: Line) -> Row | None:
    return _row_of(Begun(found.sketch, ()), given)
