"""The bench: a repair with its sliders, its live picture and everything about it, in JupyterLab."""

from __future__ import annotations

import sys
import time
import weakref
from collections import deque
from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import cached_property, partial
from html import escape
from typing import Any, TypeVar

import ipywidgets as w

from workbench import data, fork, gate, units
from workbench.checks.report import Report
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.jupyter.accessibility import Reach
from workbench.jupyter.bar import Bar
from workbench.jupyter.keeping import Keeping, keeping
from workbench.jupyter.kept_lines import KeptLines
from workbench.jupyter.long_work_notice import LongWorkNotice
from workbench.jupyter.newest_only import Newest
from workbench.jupyter.page_buttons import Pages, region_title, widgets_of
from workbench.jupyter.pages.drawing_page import Drawing
from workbench.jupyter.pages.files_page import Files
from workbench.jupyter.pages.findings_page import Findings
from workbench.jupyter.pages.fitting import Fitting
from workbench.jupyter.pages.gallery import Shelf
from workbench.jupyter.pages.loads_page import Loading
from workbench.jupyter.pages.measuring import Measuring
from workbench.jupyter.pages.other_parts import OtherParts
from workbench.jupyter.pages.use import Use
from workbench.jupyter.panel import Panel, button_for, said, told
from workbench.jupyter.picture.layer_view import LayerView
from workbench.jupyter.picture.preview import Preview
from workbench.jupyter.picture.static_picture import Still
from workbench.jupyter.running_cell import shell, watching
from workbench.jupyter.sizes.fields import Field, NumberField
from workbench.jupyter.sizes.length_boxes import LengthBox
from workbench.jupyter.sizes.seat_editor import PlaceEditor
from workbench.jupyter.sizes.step_sizes import Sizes
from workbench.jupyter.state import Made, Workpiece, make
from workbench.jupyter.step_list import AddStep, Steps
from workbench.jupyter.style import style_sheet
from workbench.output.drawing.dimensions import idle
from workbench.output.files.paths import write_over
from workbench.solids.building.build import rehearsed
from workbench.solids.building.rough import Rough, rough
from workbench.solids.meshes.mesh import mesh_apart
from workbench.solids.recipe.repair import Repair, a_repair
from workbench.solids.recipe.seat import At
from workbench.words import _

#: The panels under the preview, in order: the first two are enough for a simple part. Add a Panel
#: of your own before calling bench().
PANELS: list[type[Panel]] = [
    Findings,
    Files,
    Use,
    Fitting,
    Loading,
    LayerView,
    Measuring,
    OtherParts,
    Shelf,
]

P = TypeVar("P", bound=Panel)

#: Seconds without a new value before the checks, the drawing and the picture are made anew.
PAUSE = 0.25

#: Where the exact solid took longer than a frame of a moving picture, in seconds, a rough one is
#: shown until the hand has rested so long, or twice as long as the exact one took, up to a second:
#: while that is made, nothing follows a hand.
FRAME, REST, LONGEST_REST = 0.025, 0.3, 1.0

#: The longest of so many exact solids counts: one that a hand comes back to is known already.
REMEMBERED = 4

_benches: weakref.WeakValueDictionary[int, Bench] = weakref.WeakValueDictionary()


@gate.asked
def bench(repair: Repair) -> Bench:
    """Put a repair on the bench: a widget to see it, change it, check it and write its files.

    The repair is edited in place, and what a later cell does to it shows on the bench. A repair
    has one bench at a time, the newest, and so has a cell. What was done on the bench of this
    cell before is laid together with what the cells build now.
    """
    a_repair(repair)
    kept = keeping()
    for earlier in list(_benches.values()):
        if earlier.repair is repair:
            earlier.close()
    made = Bench(repair, kept=kept)
    for earlier in list(_benches.values()):
        if kept is not None and not kept.has(earlier.work):
            earlier.close()
    _benches[id(repair)] = made
    return made


def choose_unit(unit: units.Unit) -> None:
    """Read lengths in a unit from now on, on every bench of this notebook, and keep the choice."""
    if unit is units.chosen():
        return
    file = units.choose(unit)
    fault = ""
    try:
        write_over(file, units.content(unit))
    except RepairError as error:  # it holds for this notebook all the same
        fault = str(error)
    for each in list(_benches.values()):
        if each.comm is not None:  # those that were taken away linger
            each.suit()
            each.message.value = told(fault, "warning")


class Bench(w.VBox):
    """The widget that :func:`bench` returns."""

    def __repr__(self) -> str:  # that of all its widgets would be made to be shortened
        return f"Bench({self.repair.name!r})"

    def __init__(
        self, repair: Repair, inline: bool | None = None, kept: Keeping | None = None
    ) -> None:
        """Lay out the bench.

        inline : builds at once instead of beside the caller
        kept : what keeps its work in the notebook, where there is one
        """
        super().__init__()
        fork.compute_alone()  # before a thread of the bench computes
        self._keeping = kept
        self.kept = KeptLines(self._write_notebook)
        self.work = Workpiece(repair) if kept is None else kept.begin(repair, self._tell)
        self._lock = self.work.lock
        self._made: Made | None = None
        self._judged: tuple[Made, Report] | None = None
        self._refusal = ""
        self._field: Field | None = None
        self._highlight = ""
        self._chosen: str | None = None
        self._open = 0
        self._hook: Callable[..., None] | None = None
        if inline is None:
            inline = shell() is None
        self._took = deque([0.0], maxlen=REMEMBERED)
        self._builder: Newest[Repair, Made | Rough | str] = Newest(
            _attempt if inline else self._attempt, self._built, inline=inline, whole=True
        )
        self._later: Newest[Made, Any] = Newest(self._look_closer, self._looked, pause=PAUSE)
        self._make_controls()
        self._lay_out()
        self._show_repair(repair.steps[0].name if repair.steps else None)
        self._builder.put(self.work.frozen())

    # -- for whoever has the bench in hand ---------------------------------------------------

    @property
    def repair(self) -> Repair:
        """The repair on the bench."""
        return self.work.repair

    @property
    def shown(self) -> Made | None:
        """The last good solid, which the preview shows; None until there is one."""
        return self._made

    @property
    def refusal(self) -> str:
        """Why the repair as it is now does not build; empty where it does."""
        return self._refusal

    def settle(self, timeout: float = 60.0) -> bool:
        """Wait until the newest values are built, checked and drawn, and every panel is done.

        Returns False if it takes longer than ``timeout`` seconds.
        """
        end = time.monotonic() + timeout
        panels = (panel.settle for panel in self._panels.values())
        waits = [self._builder.settle, self._later.settle, *panels]
        return all(wait(max(0.0, end - time.monotonic())) for wait in waits)

    def close(self) -> None:
        """Take the bench away; the repair stays."""
        if self.comm is None or sys.is_finalizing():
            return
        self._builder.drop()
        self._later.drop()
        for panel in self._panels.values():
            panel.closed()
        running = shell()
        if running is not None and self._hook is not None:
            running.events.unregister("post_run_cell", self._hook)
            self._hook = None
        for widget in self._widgets():
            # A comm made before a kernel's modules came in is unknown to their list of comms.
            with suppress(KeyError):
                w.Widget.close(widget)

    @property
    def panels(self) -> list[Panel]:
        """All panels; those that nobody has looked at yet are made."""
        return [self._panel(index) for index in range(len(self._kinds))]

    def panel(self, kind: type[P]) -> P | None:
        """The panel of this kind, or None where the bench has none."""
        indices = (i for i, each in enumerate(self._kinds) if issubclass(each, kind))
        found = next((self._panel(i) for i in indices), None)
        return found if isinstance(found, kind) else None

    @cached_property
    def place(self) -> PlaceEditor:
        """The controls of the chosen step's place, made when they are first looked at."""
        editor = PlaceEditor(self)
        if self._chosen:
            editor.show(self.repair, self.repair.step(self._chosen))
        return editor

    def _panel(self, index: int) -> Panel:
        with self._lock:
            if index not in self._panels:
                made = self._panels[index] = self._kinds[index](self)
                if self._chosen:
                    made.chosen(self._chosen)
                if self._made is not None:
                    made.made(self._made)
                if self._judged is not None and self._judged[0] is self._made:
                    made.judged(*self._judged)
            return self._panels[index]

    def _widgets(self) -> set[w.Widget]:
        placed = self.place.widgets if "place" in vars(self) else ()
        panels = (panel.widget for panel in self._panels.values())
        unopened = (self.pages, self.add.widget, self.drawing.widget)
        return widgets_of(self, *unopened, *panels, *self.sizes.widgets, *placed)

    # -- what the panels call ----------------------------------------------------------------

    def edit(
        self,
        change: Callable[[Repair], Any],
        key: Any = None,
        field: Field | None = None,
        choose_last: bool = False,
        show_all: bool = False,
        choose: str | None = None,
    ) -> str | None:
        """Apply a change to the repair, and build it.

        change : edits the repair it is given
        key : edits with the same key in quick succession are undone together; (step, field, ...)
            where it is one size, whose dimension the drawing then shows in the accent colour
        field : the control that the change came from; it says so where the build refuses
        choose_last : choose the step that the change added
        choose : choose this step afterwards
        show_all : show every control anew, since more than the one at hand may have changed

        Returns None, or the sentence that says why the change was refused.
        """
        with self._lock:
            try:
                changed = self.work.edit(change, key)
            except RepairError as error:
                return str(error)
            if changed:
                self._field = field
                if isinstance(key, tuple):
                    self._highlight = ".".join(key[:2])
                names = [step.name for step in self.repair.steps]
                self._after_edit(
                    choose=names[-1] if choose_last and names else choose,
                    controls=field is None or show_all,
                )
            return None

    def choose(self, step: str) -> None:
        """Choose the step whose sizes and place are shown."""
        with self._lock:
            self.repair.step(step)
            self.steps.show(self.repair, step)
            self._show_step(step)

    def show_size(self, step: str, field: str) -> None:
        """Bring the control of a size into view."""
        self.choose(step)
        self.show_sizes()

    def show_sizes(self, place: bool = False) -> None:
        """Bring the sizes of the chosen step into view, or its place."""
        self.go_back()
        self.step_pages.buttons.value = 1 if place else 0

    def type_sizes(self) -> None:
        """Put the cursor into the first number that is shown, so that sizes can be typed on."""
        self.reach.type_sizes()

    def drag_size(self, step: str, field: str, value: float) -> None:
        """Take a size that is being dragged in the picture."""
        if step != self._chosen:
            self.choose(step)
        control = self.sizes.of(self.repair.step(step)).fields.get(field)
        if not (isinstance(control, NumberField) and control.drag(value)):
            self.preview.answer()

    def rest(self, step: str, field: str) -> None:
        """Show everywhere the value at which a hand rests that drags a size in the picture."""
        with suppress(RepairError):  # where the step is gone meanwhile
            control = self.sizes.of(self.repair.step(step)).fields.get(field)
            if isinstance(control, NumberField):
                control.catch_up()

    def undo(self) -> None:
        """Take the last edit back."""
        self._go(self.work.undo)

    def redo(self) -> None:
        """Do the last edit that was taken back again."""
        self._go(self.work.redo)

    def _go(self, step: Callable[[], bool]) -> None:
        with self._lock:
            try:
                if step():
                    self._field = None
                    self._after_edit()
            except RepairError as error:
                self.message.value = told(str(error), "warning")

    def shelf_changed(self) -> None:
        """Tell the shelf that there is a new template."""
        for panel in self._panels.values():
            if isinstance(panel, Shelf):
                panel.opened()

    def suit(self) -> None:
        """Tell everything in the unit that the user reads now; nothing typed is lost."""
        with self._lock:
            self.bar.suit()
            for widget in self._widgets():
                if isinstance(widget, LengthBox):
                    widget.suit()
            for panel in self._panels.values():
                panel.suited()
                panel.edited()
            self._show_repair(self.steps.chosen)
            self._builder.put(self.work.frozen())

    # -- parts -------------------------------------------------------------------------------

    def _make_controls(self) -> None:
        self.preview = Preview(self._lock)
        self.preview.on_choose = self.choose
        self.preview.on_size = self.show_size
        self.preview.on_drag = self.drag_size
        self.preview.on_rest = self.rest
        self.steps = Steps(self)
        self.add = AddStep(self)
        self.drawing = Drawing()
        self.still = Still()
        self._kinds = tuple(PANELS)
        self._panels: dict[int, Panel] = {}
        self.bar = Bar(self, choose_unit)
        self.line = w.HTML()
        self.line.add_class("wb-line")
        self.message = w.HTML(told(_("Loading the geometry kernel …")))
        self.message.add_class("wb-slip")
        self.long_work = LongWorkNotice()
        self.shared = w.HTML("".join(told(text, "warning") for text in data.faults()))
        self.shared.add_class("wb-shared")
        self.sizes = Sizes(self)

    def _tell(self, lines: list[str], can_write: bool) -> None:
        self.kept.show(lines, can_write)

    def _write_notebook(self) -> None:
        if self._keeping is not None:
            self._keeping.write_file()

    def _lay_out(self) -> None:
        self.step_pages = Pages(
            [
                (_("Sizes"), lambda: self.sizes.widget),
                (_("Place"), lambda: self.place.widget),
                (_("Add a step"), lambda: self.add.widget),
            ],
            lambda page: self.add.shapes.look() if page == 2 else None,
        )
        left = w.VBox([region_title(_("Steps and sizes")), self.steps.widget, self.step_pages])
        middle = w.VBox(
            [
                region_title(_("The part")),
                self.preview.view,
                self.line,
                self.long_work,
                self.message,
            ]
        )
        self.pages = Pages(
            [
                *((_(kind.title), partial(self._page, i)) for i, kind in enumerate(self._kinds)),
                self.drawing.page,
            ],
            self._opened,
            [*(kind.purpose and _(kind.purpose) for kind in self._kinds), self.drawing.purpose],
        )
        self.back = button_for(
            _("Steps and sizes"), _("Back to the steps and their sizes. Key Esc"), "wb-back"
        )
        self.back.on_click(lambda _button: self.go_back())
        rows = w.HBox([self.back, self.pages.buttons])
        rows.add_class("wb-page-row")
        under = w.VBox(
            [region_title(_("Findings, files, and more where you need it")), self.pages.stack]
        )
        for region, name in ((left, "wb-left"), (middle, "wb-middle"), (under, "wb-under")):
            region.add_class("wb-region")
            region.add_class(name)
        regions = w.Box([left, middle, under])
        regions.add_class("wb-regions")
        style = w.HTML(f"<style>{style_sheet()}</style>")
        style.add_class("wb-unseen")
        hold = self.work.hold
        self.reach = Reach(
            undo=self.undo,
            redo=self.redo,
            hold=lambda: hold(True),
            release=lambda: hold(False),
            add=self.add.add_named,
        )
        self.children = (style, self.bar, self.shared, self.kept, rows, regions, self.reach)
        self.add_class("wb")

    def go_back(self) -> None:
        """Leave the page that is open for the findings, beside which the sizes have room."""
        self.pages.buttons.value = 0

    def _page(self, index: int) -> w.Widget:
        return self._panel(index).widget

    def _opened(self, index: int) -> None:
        # A page has more room than the findings need; where the screen is small it takes that of
        # the steps and sizes.
        (self.add_class if index else self.remove_class)("wb-paged")
        before, self._open = self._open, index
        if index != before and before in self._panels:
            self._panels[before].left()
        if index in self._panels:
            self._panels[index].opened()

    # -- showing -----------------------------------------------------------------------------

    def _show_repair(self, choose: str | None = None) -> None:
        repair = self.repair
        self.bar.show(repair)
        self.bar.offer(self.work.undoes, self.work.redoes)
        self.steps.show(repair, choose)
        self.add.show(repair)
        self._show_step(self.steps.chosen)

    def _show_step(self, name: str) -> None:
        if name != self._chosen:
            self._chosen = name
            self.preview.choose(name)
            for panel in self._panels.values():
                panel.chosen(name)
        if not name:
            self.sizes.show(None)
            return
        step = self.repair.step(name)
        self.sizes.show(step)
        if "place" in vars(self):
            self.place.show(self.repair, step)
        self._set_back()

    def fields(self, step: str) -> dict[str, Field]:
        """The controls of a step's sizes, by field; the step is chosen."""
        self.choose(step)
        return self.sizes.of(self.repair.step(step)).fields

    def _after_edit(self, choose: str | None = None, controls: bool = True) -> None:
        if controls:
            self._show_repair(choose)
        else:
            self.bar.offer(self.work.undoes, self.work.redoes)
        self._later.drop()
        for panel in self._panels.values():
            panel.edited()
        self._builder.put(self.work.frozen())
        if self._keeping is not None:
            self._keeping.soon()

    # -- building and checking ---------------------------------------------------------------

    def _attempt(self, repair: Repair) -> Iterator[Made | Rough | str]:
        with self.long_work.watching():
            if self._slow() and self._made is not None:
                try:
                    quick = rough(repair)
                except RepairError as error:  # of a step by itself
                    yield said(error)
                    yield from self._last_seen()
                    return
                except Exception:  # of the picture alone, or the exact solid says it as well
                    quick = None
                if quick is not None:
                    yield quick
                    if self._overtaken():
                        return
            if self._made is None:
                _rehearse(repair)
            yield from self._exact(repair)

    def _slow(self) -> bool:
        """Whether the exact solid takes longer than a frame."""
        return max(self._took) > FRAME

    def _overtaken(self) -> bool:
        """Wait till a hand has rested, or moves on; returns whether it did."""
        return self._builder.overtaken(max(REST, min(2 * max(self._took), LONGEST_REST)))

    def _last_seen(self) -> Iterator[Made]:
        """The exact solid of the part that stays in the picture while newer values are refused."""
        seen = self.preview.shown
        if isinstance(seen, Rough) and not self._overtaken():
            yield from (made for made in self._exact(seen.repair) if isinstance(made, Made))

    def _exact(self, repair: Repair) -> Iterator[Made | str]:
        """The exact solid; where it is refused, the last good one comes back for its rough picture."""
        start = time.perf_counter()
        for result in _attempt(repair):
            self._took.append(time.perf_counter() - start)
            yield result
            if isinstance(result, str) and isinstance(self.preview.shown, Rough) and self._made:
                yield self._made

    def _built(self, result: Made | Rough | str, repair: Repair) -> None:
        with self._lock:
            if isinstance(result, Rough):
                self._accept()
                self.preview.show(result, self.steps.chosen)
                self.bar.wait()
                return
            if isinstance(result, str):
                self._refuse(result)
                return
            if result.repair is repair:  # else it is what an earlier value came to
                self._accept()
            self._made = result
            self.preview.show(result, self.steps.chosen)
            told_apart = (f"<span>{escape(part)}</span>" for part in result.line.split(" · "))
            self.line.value = f'<p role="status">{" · ".join(told_apart)}</p>'
            if not self._refusal:
                self.message.value = ""
                self.bar.wait()
            self._set_back()
            for panel in self._panels.values():
                panel.made(result)
            self._later.put(result)

    def _set_back(self) -> None:
        """Set back the chosen step's sizes that change nothing as its others stand."""
        if self._made is not None and self._chosen:
            found = idle(self._made.repair, self._made.assembly, self._chosen)
            self.sizes.without_effect(self._chosen, found)

    def _accept(self) -> None:
        """The repair can be built as it is now."""
        if self._field is not None:
            self._field.complain("")
        if self._refusal:
            self._refusal = self.message.value = ""
            if self._judged is not None:
                self.bar.judged(self._judged[1])
            for panel in self._panels.values():
                panel.refused(False)

    def _refuse(self, text: str) -> None:
        self._refusal = text
        kept = _(" The last good solid is shown.") if self._made is not None else ""
        loose = self._loose()
        if loose:
            self.message.value = told(
                _(
                    "{step} has no place yet: under Place, seat it on a step, or give x, y and z. "
                    "{reason}"
                ).format(step=loose, reason=text)
            )
        else:
            end = "." if kept and text[-1:] not in ".!?" else ""
            self.message.value = told(text + end + kept, "stop")
        self.bar.refused(kept=self._made is not None, loose=loose)
        if self._field is not None:
            self._field.complain(text)
        for panel in self._panels.values():
            panel.refused(bool(self._made) and not loose)
        # Under a hand the picture stays at the last value that could be: it does not jump back.
        self.preview.answer()
        if self._made is not None and (not self._judged or self._made is not self._judged[0]):
            self._later.put(self._made)  # it was dropped for a newer one, and stays after all

    def _loose(self) -> str:
        """The chosen step, where it was added by itself and has not been moved yet."""
        for step in self.repair.steps[1:]:
            if step.name == self._chosen and step.place == At() and not step.cuts:
                return step.name
        return ""

    def _look_closer(self, made: Made) -> Iterator[Any]:
        """What may take longer than a slider allows, one result after the other."""
        subject = Subject(made.repair, made.assembly)
        vars(subject)["mesh"] = (made.vertices, made.faces)  # it is known already
        for look in (
            lambda: self._beside(made),
            lambda: self.drawing.drawn(made, self._highlight),
            lambda: _judged(subject),
            lambda: self.still.drawn(made, self.drawing.svg, made.line),
            lambda: self._expected(made),
        ):
            try:
                yield look()
            except Exception as error:
                fault = told(said(error), "stop")
                yield lambda fault=fault: setattr(self.message, "value", fault)

    def _beside(self, made: Made) -> Callable[[], None]:
        """The ghosts of what the part works with; what cannot be read is told by the checks."""
        found = []
        for other in made.repair.counterparts:
            with suppress(RepairError):
                found.append(other.mesh(made.assembly))
        return partial(self.preview.show_beside, found)

    def _expected(self, made: Made) -> Callable[[], None]:
        """The rough picture of the part as it is, most of which the next one has as well."""
        with suppress(Exception):
            found = rough(made.repair) if self._slow() else None
            if found is not None:
                return partial(self.preview.expect, found)
        return lambda: None

    def _looked(self, result: Any, made: Made) -> None:
        with self._lock:
            if made is not self._made:
                return
            if isinstance(result, Report):
                self._judged = made, result
                if not self._refusal:
                    self.bar.judged(result)
                self.preview.judged(made, result)
                for panel in self._panels.values():
                    panel.judged(made, result)
            else:
                result()
            self.sizes.settle()

    # -- in the notebook ---------------------------------------------------------------------

    def _ipython_display_(self, **_options: Any) -> None:
        from IPython.display import display

        display(self._repr_mimebundle_(), raw=True)
        self.still.place()
        running = shell()
        if running is not None and self._hook is None:
            self._hook = watching(weakref.ref(self))
            running.events.register("post_run_cell", self._hook)

    def check_again(self) -> None:
        """Judge the part afresh, as after something was learnt of the printer."""
        if self._made is not None:
            self._later.put(self._made)

    def look_again(self, fault: str = "") -> None:
        """Take in what was done to the repair elsewhere, such as in a notebook cell."""
        if self._keeping is not None:
            if fault:
                self._keeping.cell_failed(fault)
            else:
                self._keeping.cell_ran()
        with self._lock:
            if self.work.noticed():
                self._field = None
                self._after_edit()


def _attempt(repair: Repair) -> Iterator[Made | str]:
    """The solid, or the sentence that says why there is none."""
    try:
        yield make(repair)
    except Exception as error:  # the geometry kernel raises types of its own
        yield said(error)


def first_look(repair: Repair) -> None:
    """What a bench first asks the geometry kernel for."""
    from workbench.output.drawing.drawing import views_with_sizes

    assembly = make(repair).assembly
    for part in assembly.parts.values():
        mesh_apart(part)
    rough(repair)
    views_with_sizes(repair, assembly)


def _rehearse(repair: Repair) -> None:
    with suppress(Exception):  # it is told where it is done
        rehearsed(repair, partial(first_look, repair))


def _judged(subject: Subject) -> Report:
    from workbench.checks.check import judge

    return judge(subject)
