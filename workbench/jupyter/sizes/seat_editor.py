"""Where the chosen step sits: on which face of which step, or by itself; joined or cut."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import ipywidgets as w

from workbench.jupyter.panel import OnBench, chooser, told, told_words
from workbench.jupyter.sizes.ease_editor import EaseEditor
from workbench.jupyter.sizes.fields import Field
from workbench.jupyter.sizes.nine_places import NinePlaces
from workbench.jupyter.sizes.pattern_editor import PatternEditor
from workbench.jupyter.sizes.sliders import field_for
from workbench.jupyter.step_list import CUT, JOIN
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import FACES, PREFIX, At, Place, Seat, edges_of, ways_of
from workbench.solids.recipe.step import Step
from workbench.words import _


class PlaceEditor(OnBench):
    """The controls of the chosen step's place."""

    _step = ""

    def lay_out(self) -> None:
        self.on = chooser(_("Sits on step"), _("Step that the chosen one sits on"))
        self.face = chooser(
            _("Its face"), _("Face that the chosen step sits on"), told_words(FACES)
        )
        self.by = chooser(
            _("Own face"), _("Face of the chosen step that rests on the seat"), told_words(FACES)
        )
        self.joins = w.ToggleButtons(
            options=[(_("Adds to the part"), JOIN), (_("Takes away from the part"), CUT)],
        )
        self.joins.add_class("wb-pair")
        self.note, self.ways = w.HTML(), w.HTML()
        self.nine = NinePlaces(self._hold)
        self.within = w.Checkbox(
            description=_("must stay on the face"),
            indent=False,
            tooltip=_("Refuse sizes with which it would reach past an edge of the face"),
        )
        self._kept: dict[tuple[str, Size], Field] = {}
        self._shown: dict[str, Field] = {}
        self._seat_box = w.VBox([self.face, self.by, self.nine.widget, self.within])
        self._numbers = w.VBox()
        for control in (self.on, self.face, self.by, self.joins, self.within):
            control.observe(lambda _change: self._reseat(), "value")
        self.pattern, self.eases = PatternEditor(self.bench), EaseEditor(self.bench)
        self.widget = w.VBox(
            [
                self.joins,
                self.on,
                self._seat_box,
                self.ways,
                self._numbers,
                self.note,
                told_box(_("Pairs and patterns")),
                self.pattern.widget,
                told_box(_("Rounds and chamfers")),
                self.eases.widget,
            ]
        )
        self.widget.add_class("wb-form")

    @property
    def widgets(self) -> list[w.Widget]:
        """The controls of every number, shown or not."""
        return [field.widget for field in (*self._kept.values(), *self.pattern.fields.values())]

    def field(self, name: str) -> Field:
        """The control of one number of the chosen step's place."""
        return self._shown[name]

    def show(self, repair: Repair, step: Step) -> None:
        """Show where a step sits."""
        with self.quietly():
            self._step = step.name
            others = [s.name for s in repair.steps if s.name != step.name]
            self.on.options = [(_("nothing"), ""), *((n, n) for n in others)]
            self.joins.value = CUT if step.cuts else JOIN
            place = step.place
            seated = isinstance(place, Seat)
            self.on.value = place.step if isinstance(place, Seat) else ""
            if isinstance(place, Seat):
                self.face.value, self.by.value = place.face, place.by
                self.within.value = place.within
                self.nine.show(place)
            self._seat_box.layout.display = "" if seated else "none"
            self.ways.value = told(conventions(place))
            self._shown = {name: self._field(place, name) for name in place.numbers()}
            for name, value in place.numbers().items():
                self._shown[name].follow(step.follows.get(PREFIX + name))
                self._shown[name].show(value)
            self._numbers.children = tuple(field.widget for field in self._shown.values())
            self.pattern.show(step)
            self.eases.show(repair)
            self.note.value = ""

    def _field(self, place: Place, name: str) -> Field:
        asked = place.parameter(name)
        assert isinstance(asked.kind, Size)
        key = (name, asked.kind)
        if key not in self._kept:
            self._kept[key] = field_for(asked, self._move)
        return self._kept[key]

    def _move(self, name: str, value: Any) -> str | None:
        step = self._step
        return self.bench.edit(
            lambda repair: repair.change(step, **{PREFIX + name: value}),
            key=(step, "place", name),
            field=self.field(name),
            show_all=isinstance(value, Same),
        )

    def _hold(self, edges: tuple[str, ...]) -> None:
        """Measure the place from other edges, or from the middle; what is measured starts anew."""
        step = self._step

        def change(repair: Repair) -> None:
            old = repair.step(step).place
            assert isinstance(old, Seat)
            place = replace(old, edge=None, inset=0.0)
            for edge in edges:
                place = place.held_by(edge)
            # In a corner each edge has a number of its own, the same or not.
            place = replace(place, inset=place.insets if len(edges) > 1 else place.inset)
            repair.change(step, place=place)

        self.carry_out(self.note, change, show_all=True)

    def _reseat(self) -> None:
        if self._quiet:
            return
        step, on = self._step, self.on.value

        def change(repair: Repair) -> None:
            old = repair.step(step).place
            place: Place = At() if isinstance(old, Seat) else old
            if on:
                kept = old if isinstance(old, Seat) else Seat(f"top of {on}")
                face = self.face.value
                held = kept.edges if set(kept.edges) <= set(edges_of(face)) else ()
                place = replace(
                    replace(kept, edge=None, inset=0.0),
                    on=f"{face} of {on}",
                    by=self.by.value,
                    within=self.within.value,
                    edge=held or None,
                    inset=kept.inset if held else 0.0,
                )
            repair.change(step, place=place, cuts=self.joins.value == CUT)

        refused = self.bench.edit(change, show_all=True)
        if refused:
            self.show(self.bench.repair, self.bench.repair.step(step))
        self.note.value = told(refused or "", "stop")


def conventions(place: Place) -> str:
    """Which way a place's numbers lead, before one is changed."""
    if isinstance(place, At):
        return _(
            "x points to the right, y to the back, z up. A turn is counter-clockwise seen from above; a tilt lifts the right end, a lean lifts the back end."
        )
    along, _back, across, _down = ways_of(place.face)
    return _(
        "It points out of the {face}. Along runs to the {along}, across to the {across}. A turn is counter-clockwise as you look at the face; a tilt lifts its {along} end off the face, a lean its {across} end."
    ).format(face=_(place.face), along=_(along), across=_(across))


def told_box(text: str) -> w.HTML:
    """A quiet heading within the form."""
    return w.HTML(f'<span class="wb-told wb-heading">{text}</span>')
