"""Where the chosen step sits: on which face of which step, or by itself; joined or cut."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import ipywidgets as w

from workbench.jupyter.panel import told
from workbench.jupyter.sizes.fields import Field
from workbench.jupyter.sizes.sliders import field_for
from workbench.jupyter.step_list import CUT, JOIN
from workbench.solids.parameters import Parameter, Size
from workbench.solids.repair import Repair
from workbench.solids.seat import FACES, At, Place, Seat
from workbench.solids.step import Step
from workbench.words import _

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench

_SEAT = (
    Parameter("along", Size(-400, 400, 0.1, measure="level along the face, from its middle"), 0.0),
    Parameter("across", Size(-400, 400, 0.1, measure="up the face, or to the back"), 0.0),
    Parameter("sink", Size(-400, 400, 0.1, measure="pushed into the face"), 0.0),
    Parameter("turn", Size(-180, 180, 1, unit="°", measure="about the line out of the face"), 0.0),
)
_AT = (
    Parameter("x", Size(-400, 400, 0.1, measure="to the right"), 0.0),
    Parameter("y", Size(-400, 400, 0.1, measure="to the back"), 0.0),
    Parameter("z", Size(-400, 400, 0.1, measure="up"), 0.0),
    Parameter("turn", Size(-180, 180, 1, unit="°", measure="seen from above"), 0.0),
    Parameter("tilt", Size(-180, 180, 1, unit="°", measure="seen from the front"), 0.0),
)


class PlaceEditor:
    """The controls of the chosen step's place."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self._quiet = False
        self._step = ""
        self.on = w.Dropdown(
            description=_("Sits on step"), tooltip=_("Step that the chosen one sits on")
        )
        self.face = w.Dropdown(
            description=_("Its face"),
            options=[(_(face), face) for face in FACES],
            tooltip=_("Face that the chosen step sits on"),
        )
        self.by = w.Dropdown(
            description=_("Laid on it"),
            options=[(_(face), face) for face in FACES],
            tooltip=_("Own face of the chosen step that is laid on the seat"),
        )
        self.joins = w.ToggleButtons(
            options=[(_("Adds to the part"), JOIN), (_("Takes away from the part"), CUT)],
        )
        self.joins.add_class("wb-pair")
        self.note = w.HTML()
        self.seat_fields = {p.name: field_for(p, self._move) for p in _SEAT}
        self.at_fields = {p.name: field_for(p, self._move) for p in _AT}
        self._seat_box = w.VBox(
            [self.face, self.by, *(field.widget for field in self.seat_fields.values())]
        )
        self._at_box = w.VBox([field.widget for field in self.at_fields.values()])
        for control in (self.on, self.face, self.by, self.joins):
            control.observe(lambda _change: self._reseat(), "value")
        self.widget = w.VBox([self.joins, self.on, self._seat_box, self._at_box, self.note])
        self.widget.add_class("wb-form")

    def field(self, name: str) -> Field:
        """The control of one number of the chosen step's place."""
        return self._fields[name]

    def show(self, repair: Repair, step: Step) -> None:
        """Show where a step sits."""
        self._quiet = True
        try:
            self._step = step.name
            others = [s.name for s in repair.steps if s.name != step.name]
            self.on.options = [(_("nothing: stands by itself"), ""), *((n, n) for n in others)]
            self.joins.value = CUT if step.cuts else JOIN
            place = step.place
            seated = isinstance(place, Seat)
            self.on.value = place.step if isinstance(place, Seat) else ""
            if isinstance(place, Seat):
                self.face.value, self.by.value = place.face, place.by
            self._seat_box.layout.display = "" if seated else "none"
            self._at_box.layout.display = "none" if seated else ""
            for name, field in self._fields.items():
                field.show(getattr(place, name))
            self.note.value = ""
        finally:
            self._quiet = False

    @property
    def _fields(self) -> dict[str, Field]:
        return self.seat_fields if self.on.value else self.at_fields

    def _move(self, name: str, value: Any) -> str | None:
        step = self._step

        def change(repair: Repair) -> None:
            repair.change(step, place=replace(repair.step(step).place, **{name: value}))

        return self._bench.edit(change, key=(step, "place", name), field=self.field(name))

    def _reseat(self) -> None:
        if self._quiet:
            return
        step, on = self._step, self.on.value

        def change(repair: Repair) -> None:
            old = repair.step(step).place
            place: Place = At() if isinstance(old, Seat) else old
            if on:
                kept = old if isinstance(old, Seat) else Seat(f"top of {on}")
                place = replace(kept, on=f"{self.face.value} of {on}", by=self.by.value)
            repair.change(step, place=place, cuts=self.joins.value == CUT)

        refused = self._bench.edit(change, show_all=True)
        if refused:
            self.show(self._bench.repair, self._bench.repair.step(step))
        self.note.value = told(refused or "", "stop")
