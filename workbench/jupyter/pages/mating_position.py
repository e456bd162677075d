"""Where what the part works with stands, how the two come together, and what is found."""

from __future__ import annotations

import math
from typing import Any

import ipywidgets as w

from workbench.checks.report import Report
from workbench.errors import RepairError
from workbench.jupyter.pages.downloads import Downloads
from workbench.jupyter.pages.findings_page import as_html
from workbench.jupyter.pages.loads_page import directions
from workbench.jupyter.pages.mating_part import changed, removed
from workbench.jupyter.panel import OnBench, button_for, chooser, entry, said, told, told_words
from workbench.jupyter.sizes.fields import Field
from workbench.jupyter.sizes.length_boxes import LengthBox
from workbench.jupyter.sizes.sliders import field_for
from workbench.output.notebook.current_notebook import own, templates_folder, with_room
from workbench.solids.counterpart import Counterpart, Loose
from workbench.solids.motion import AXES, WAYS, Motion, Slide, Turn
from workbench.solids.parameters import Size
from workbench.solids.recipe.seat import FACES, At, Place, Seat
from workbench.words import _, number, unit_word

#: The rules that judge two parts together.
RULES = ("runs into", "least gap", "way in")

#: A turn that nobody has given a number yet, in degrees.
_QUARTER = 90.0


class Standing(OnBench):
    """The controls of one part beside this one, or of one loose body."""

    def lay_out(self) -> None:
        self._fields: dict[tuple[type[Place], str], Field] = {}
        ways = {direction: way for way, direction in WAYS.items()}
        self.which = chooser(_("Shown"), _("What is beside the part, or stands loose"))
        self.drop = button_for(_("Remove"), _("Take it away again"), "wb-quiet")
        self.on = chooser(_("Sits on step"), _("Step of this part that it sits on"))
        self.face = chooser(_("Its face"), _("Face that it sits on"), told_words(FACES))
        self.by = chooser(
            _("Own face"), _("Its own face that rests on the seat"), told_words(FACES)
        )
        self.way = chooser(
            _("Goes in"),
            _("How this part goes into place, or how the loose body does"),
            [
                (_("not checked"), ""),
                *(
                    (_("slides {way}").format(way=word), ways[way])
                    for word, way in directions().items()
                ),
                *((_("turns about {axis}").format(axis=axis), axis) for axis in AXES),
            ],
        )
        self.far = _box(_("How far"), _("How far it slides on its way in, in {unit}"))
        self.angle = entry(
            _("By degrees"),
            _("Counter-clockwise, as seen from the end that the axis points to"),
            continuous_update=False,
        )
        self.through = {
            axis: _box(_("Axis at {axis}").format(axis=axis), _("A point of the axis, in {unit}"))
            for axis in AXES
        }
        self.gap = _box(
            _("Clearance wanted"),
            _("Least room between the two, in {unit}; empty: that of a clearance fit"),
        )
        self.save = button_for(
            _("Save as a notebook"), _("Write the other part as a notebook of its own"), "wb-quiet"
        )
        self.saved, self.template = w.HTML(), Downloads()
        self.numbers, self.note, self.found = w.VBox(), w.HTML(), w.HTML()
        self.which.observe(lambda _change: self._choose(), "value")
        self.drop.on_click(lambda _button: self._edit(removed))
        for control in (self.on, self.face, self.by):
            control.observe(lambda _change: self._reseat(), "value")
        for box in (self.way, self.far, self.angle, *self.through.values()):
            box.observe(lambda _change: self._move(), "value")
        self.gap.observe(lambda _change: self._room(), "value")
        self.save.on_click(lambda _button: self._save())
        self._seat = w.VBox([self.on, self.face, self.by])
        row = w.HBox([self.drop, self.save])
        motion = [self.way, self.far, self.angle, *self.through.values(), self.gap]
        self._all = w.VBox([self._seat, *motion, self.note, self.numbers])
        self.widget = w.VBox([self.which, self.found, row, self.saved, self.template, self._all])
        self.show()

    @property
    def fields(self) -> dict[str, Field]:
        """The controls of the numbers of its place, by name."""
        one = self.chosen
        kind = type(one.place) if isinstance(one, Counterpart) else None
        return {name: field for (of, name), field in self._fields.items() if of is kind}

    @property
    def widgets(self) -> list[w.Widget]:
        """The controls of every number, shown or not."""
        return [field.widget for field in self._fields.values()]

    @property
    def chosen(self) -> Counterpart | Loose | None:
        """What is shown."""
        repair, (kind, name) = self.bench.repair, self.which.value or ("", "")
        if kind == "beside":
            return next((one for one in repair.counterparts if one.name == name), None)
        return next((one for one in repair.loose if one.step == name), None)

    # -- showing -----------------------------------------------------------------------------

    def show(self, choose: tuple[str, str] | None = None) -> None:
        """Show what there is now, and choose one of it."""
        repair = self.bench.repair
        options = [(one.name, ("beside", one.name)) for one in repair.counterparts]
        options += [
            (_("of this part: {step}").format(step=one.step), ("loose", one.step))
            for one in repair.loose
        ]
        with self.quietly():
            known = [value for _label, value in options]
            wanted = choose or self.which.value
            if tuple(options) != tuple(self.which.options):
                self.which.options = options
            self.which.value = wanted if wanted in known else (known[-1] if known else None)
            for control in (self.which, self.drop):
                control.layout.display = "" if options else "none"
            self._show_chosen()

    def _show_chosen(self) -> None:
        one = self.chosen
        self._all.layout.display = self.found.layout.display = "none" if one is None else ""
        is_repair = isinstance(one, Counterpart) and bool(one.record)
        self.save.layout.display = "" if is_repair else "none"
        for box in (self._seat, self.numbers):
            box.layout.display = "" if isinstance(one, Counterpart) else "none"
        if one is None:
            self.found.value = ""
            return
        if isinstance(one, Counterpart):
            self._show_place(one.place)
        motion = one.motion
        self.way.value = "" if motion is None else _word(motion)
        self.far.show([motion.by] if isinstance(motion, Slide) else ())
        self.angle.value = number(motion.by, 1) if isinstance(motion, Turn) else ""
        self.far.layout.display = "" if isinstance(motion, Slide) else "none"
        self.angle.layout.display = "" if isinstance(motion, Turn) else "none"
        for axis, box in self.through.items():
            turns = isinstance(motion, Turn) and axis != motion.about
            box.layout.display = "" if turns else "none"
            box.show([getattr(motion, axis)] if isinstance(motion, Turn) else ())
        self.gap.show(() if one.gap is None else [one.gap])

    def _show_place(self, place: Place) -> None:
        steps = [step.name for step in self.bench.repair.steps]
        self.on.options = [(_("nothing"), ""), *((n, n) for n in steps)]
        self.on.value = place.step if isinstance(place, Seat) else ""
        self.face.value = place.face if isinstance(place, Seat) else "top"
        self.by.value = place.by if isinstance(place, Seat) else "bottom"
        for control in (self.face, self.by):
            control.layout.display = "" if isinstance(place, Seat) else "none"
        shown = []
        for name, value in place.numbers().items():
            key = (type(place), name)
            if key not in self._fields:
                self._fields[key] = field_for(place.parameter(name), self._shift)
            self._fields[key].show(value)
            shown.append(self._fields[key].widget)
        self.numbers.children = tuple(shown)

    def judged(self, report: Report) -> None:
        """Show what was found of the two together."""
        loose = {body.step for body in self.bench.repair.loose}
        found = [
            one
            for one in report.findings
            if one.rule in RULES or (one.rule == "one piece" and one.where in loose)
        ]
        self.found.value = "".join(
            told(one.text, "done") if one.passed else as_html(one) for one in found
        )

    # -- what the user does ------------------------------------------------------------------

    def _choose(self) -> None:
        if not self._quiet:
            self.saved.value = ""
            self.template.offer(())
            self.show()

    def _edit(self, change: Any, field: Field | None = None, **values: Any) -> str | None:
        """Change what is shown; the controls are as the repair then has it."""
        if self._quiet or self.which.value is None:
            return None
        kind, name = self.which.value
        refused = self.bench.edit(
            lambda repair: change(repair, kind, name, **values),
            key=("beside", name, *values),
            field=field,
        )
        if field is None:
            self.note.value = told(refused or "", "stop")
            if refused:
                self.show()
        return refused

    def _shift(self, name: str, value: Any) -> str | None:
        one = self.chosen
        assert isinstance(one, Counterpart)
        field = self._fields[type(one.place), name]
        try:
            place = one.place.with_numbers({name: value})
        except RepairError as error:
            return str(error)
        return self._edit(changed, field, place=place)

    def _reseat(self) -> None:
        if self._quiet:
            return
        on = self.on.value
        place = Seat(f"{self.face.value} of {on}", by=self.by.value) if on else At()
        self._edit(changed, place=place)

    def _move(self) -> None:
        if self._quiet:
            return
        try:
            motion = self._motion()
        except RepairError as error:
            self.note.value = told(str(error), "stop")
            return
        self._edit(changed, motion=motion)

    def _motion(self) -> Motion | None:
        way, one = self.way.value, self.chosen
        before = one.motion if one is not None else None
        if way in WAYS:
            typed = self.far.value.strip() and isinstance(before, Slide)
            return Slide(way, self.far.length() if typed else self._clear_of(way))
        if way not in AXES:
            return None
        typed = self.angle.value.strip() and isinstance(before, Turn)
        angle = Size(-360, 360, unit="°").check(_("By degrees"), self.angle.value) if typed else 0.0
        points = {
            axis: box.length() for axis, box in self.through.items() if typed and box.value.strip()
        }
        return Turn(way, angle or _QUARTER, **points)

    def _clear_of(self, way: str) -> float:
        """The part's own size the way that it slides: so far it is likely to come from outside."""
        made = self.bench.shown
        if made is None:
            return 20.0
        size = abs(made.bounds[1] - made.bounds[0]) @ [abs(part) for part in WAYS[way]]
        return float(math.ceil(size) or 1.0)

    def _room(self) -> None:
        if self._quiet:
            return
        try:
            gap = self.gap.length() if self.gap.value.strip() else None
        except RepairError as error:
            self.note.value = told(str(error), "stop")
            return
        self._edit(changed, gap=gap)

    def _save(self) -> None:
        from workbench.output.notebook.template_notebook import save_template

        one = self.chosen
        assert isinstance(one, Counterpart)
        try:
            path = save_template(
                one.repair(), with_room(own(templates_folder())), title=one.name, note=""
            )
        except Exception as error:
            self.saved.value = told(said(error), "stop")
            return
        self.saved.value = told(
            _("Saved as {path}; it is on the shelf now").format(path=path.resolve()), "done"
        )
        self.template.offer([path])
        self.bench.shelf_changed()


def _box(label: str, tip: str) -> LengthBox:
    def told_tip() -> str:
        return tip.format(unit=unit_word())

    box = LengthBox(label, told_tip)
    box.continuous_update = False
    return box


def _word(motion: Motion) -> str:
    return motion.way if isinstance(motion, Slide) else motion.about
