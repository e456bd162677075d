"""The list of steps, and the form that adds one."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import ipywidgets as w

from workbench.errors import RepairError
from workbench.jupyter.panel import OnBench, button_for, chooser, entry, told, told_words
from workbench.jupyter.shape_chooser import ShapeChooser
from workbench.solids import catalogue
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same, named_for_sum
from workbench.solids.recipe.seat import FACES, PREFIX, At, Place, Seat
from workbench.solids.recipe.step import Step
from workbench.solids.size_across import size_across
from workbench.words import _

JOIN, CUT = "join", "cut"


def title_of(step: Step) -> str:
    """A step in one line of the list, such as "+ foot: tab on bottom of blade"."""
    sign = "−" if step.cuts else "+"
    template = _(step.template.replace("_", " "))
    if isinstance(step.place, Seat):
        return _("{sign} {name}: {template} on {seat}").format(
            sign=sign, name=step.name, template=template, seat=_seat(step.place)
        )
    return _("{sign} {name}: {template}").format(sign=sign, name=step.name, template=template)


def _seat(place: Seat) -> str:
    return _("{face} of {step}").format(face=_(place.face), step=place.step)


class Steps(OnBench):
    """The list in which a step is chosen and taken out."""

    def lay_out(self) -> None:
        self.list = w.Select(
            description=_("Steps"),
            rows=5,
            tooltip=_("Steps of the repair; the chosen one is changed below"),
        )
        self.list.add_class("wb-steps")
        self.remove = button_for(_("Remove"), _("Remove the chosen step"))
        self.up = button_for(_("Up"), _("Move the step up: it is done earlier"))
        self.down = button_for(_("Down"), _("Move the step down: it is done later"))
        self.again = button_for(_("Duplicate"), _("Duplicate the chosen step"))
        self.name = entry(
            _("Called"), _("Name of the chosen step, a word or two"), continuous_update=False
        )
        self.list.observe(self._choose, "value")
        self.name.observe(lambda _change: self._rename(), "value")
        for button, change in (
            (self.up, lambda repair, name: repair.move(name, -1)),
            (self.down, lambda repair, name: repair.move(name, 1)),
            (self.again, lambda repair, name: repair.duplicate(name)),
            (self.remove, lambda repair, name: repair.remove(name)),
        ):
            button.add_class("wb-quiet")
            button.on_click(lambda _button, change=change: self._change(change))
        self.note = w.HTML()
        buttons = w.HBox([self.up, self.down, self.again, self.remove])
        self.widget = w.VBox([self.list, buttons, self.name, self.note])
        self.widget.add_class("wb-steplist")

    @property
    def chosen(self) -> str:
        """The name of the chosen step, empty where there is none."""
        return self.list.value or ""

    def show(self, repair: Repair, choose: str | None = None) -> None:
        """Show the steps, keeping the chosen one, or choosing ``choose``."""
        names = [step.name for step in repair.steps]
        wanted = choose if choose is not None else self.chosen
        options = [(title_of(step), step.name) for step in repair.steps]
        with self.quietly():
            if tuple(options) != tuple(self.list.options):
                self.list.options = options
                self.list.rows = min(max(len(options), 2), 10)
            self.list.value = wanted if wanted in names else (names[-1] if names else None)
        at = names.index(self.chosen) if self.chosen in names else -1
        self.up.disabled, self.down.disabled = at < 1, not 0 <= at < len(names) - 1
        self.again.disabled = self.remove.disabled = self.name.disabled = not names
        with self.quietly():
            self.name.value = self.chosen
        self.note.value = ""

    def _choose(self, _change: Any) -> None:
        if not self._quiet and self.chosen:
            self.bench.choose(self.chosen)

    def _change(self, change: Callable[[Repair, str], Any]) -> None:
        name = self.chosen
        self.carry_out(self.note, lambda repair: change(repair, name))

    def _rename(self) -> None:
        new, name = self.name.value.strip(), self.chosen
        if self._quiet or new == name:
            return
        self.carry_out(self.note, lambda repair: repair.rename(name, new), choose=new)


class AddStep(OnBench):
    """The form that adds a step: which template, on which face or by itself, join or cut."""

    def lay_out(self) -> None:
        self.template = chooser(_("Shape"), _("Template or plain shape to add"))
        self.shapes = ShapeChooser()
        w.link(
            (self.shapes, "chosen"),
            (self.template, "value"),
            (lambda name: name or None, lambda name: name or ""),
        )
        self.name = entry(_("Name"), _("Name of the new step, a word or two"))
        self.face = chooser(_("Its face"), _("Face that the new step sits on"), told_words(FACES))
        self.on = chooser(_("Sits on step"), _("Step that the new one sits on"))
        self.joins = w.ToggleButtons(
            options=[(_("Adds to the part"), JOIN), (_("Takes away from the part"), CUT)],
        )
        self.joins.add_class("wb-pair")
        self.through = w.Checkbox(
            value=True,
            description=_("goes right through"),
            indent=False,
            tooltip=_("Goes through all of what it sits on, even if the thickness changes"),
        )
        self.name.add_class("wb-enter")
        self.button = button_for(_("Add step"), _("Add this step to the repair"), "wb-main")
        self.summary = w.HTML()
        self.note = w.HTML()
        self.template.observe(lambda _change: self._summarise(), "value")
        for control in (self.on, self.joins):
            control.observe(lambda _change: self._able(), "value")
        self.button.on_click(self._add)
        # What is asked last stays in sight, however low the screen.
        foot = w.VBox([self.note, w.HBox([self.through, self.button])])
        foot.add_class("wb-foot")
        self.widget = w.VBox(
            [
                self.shapes,
                self.template,
                self.summary,
                self.name,
                self.on,
                self.face,
                self.joins,
                foot,
            ]
        )
        self.widget.add_class("wb-form")

    def show(self, repair: Repair) -> None:
        """Offer the templates known now and the steps there are."""
        names = catalogue.names()
        if [value for _label, value in self.template.options] != names:
            before = self.template.value
            self.template.options = [(_(name.replace("_", " ")), name) for name in names]
            self.shapes.offer(names)
            self.template.value = before or names[0]
        options = [(_("nothing"), "")]
        options += [(step.name, step.name) for step in repair.steps]
        if tuple(options) != tuple(self.on.options):
            before = self.on.value
            self.on.options = options
            values = ["", *(step.name for step in repair.steps if not step.cuts)]
            self.on.value = before if before in values and before else values[-1]
        self._able()
        self._summarise()

    def _able(self) -> None:
        self.face.disabled = not self.on.value
        self.through.layout.display = "" if self.on.value and self._cuts else "none"

    @property
    def _cuts(self) -> bool:
        return bool(self.joins.value == CUT)

    def _summarise(self) -> None:
        if self.template.value:
            self.summary.value = told(_(catalogue.find(self.template.value).summary) + ".")
            self.name.placeholder = _("such as {name}").format(
                name=_(self.template.value.replace("_", " "))
            )

    def add_named(self, name: str) -> None:
        """Add the step by the name that was typed."""
        self.name.value = name
        self._add(None)

    def _add(self, _button: Any) -> None:
        template, cuts = self.template.value, self._cuts
        name = self.name.value.strip() or None
        free = not self.on.value

        def change(repair: Repair) -> None:
            (repair.cut if cuts else repair.add)(template, seat=self._place(), name=name)
            if cuts and not free:
                _let_in(repair, self.face.value, self.through.value)

        if self.carry_out(self.note, change, choose_last=True):
            self.name.value = ""
            # The first part stands where it stands; another one by itself needs its place first.
            self.bench.show_sizes(place=free and len(self.bench.repair.steps) > 1)
            self.bench.type_sizes()

    def _place(self) -> Place:
        return Seat(f"{self.face.value} of {self.on.value}") if self.on.value else At()


def _let_in(repair: Repair, face: str, through: bool) -> None:
    """Sink the last step, which cuts, flush into its face, or right through what it sits on.

    Its depth and the size of what it sits on are followed from then on, where they are one size.
    """
    new = repair.steps[-1]
    tall = size_across(new.template, dict(new.values), At(), "top")
    if tall is None:
        repair.change_all({new.name: {PREFIX + "sink": _height(new)}})
        return
    assert isinstance(new.place, Seat)
    under = repair.step(new.place.step)
    deep = size_across(under.template, dict(under.values), under.place, face) if through else None
    values = {PREFIX + "sink": Same(f"{named_for_sum(new.name)}.{tall}")}
    if deep is not None:
        values[tall] = Same(f"{named_for_sum(under.name)}.{deep}")
    repair.change_all({new.name: values})


def _height(step: Step) -> float:
    """How tall a step stands by itself."""
    try:
        size = catalogue.find(step.template).function(**step.values).bounding_box().size
    except RepairError:
        return 0.0
    return round(float(size.Z), 3)
