"""How often the chosen step stands: once, in a row, in a ring, or as a pair."""

from __future__ import annotations

from typing import Any

import ipywidgets as w

from workbench.jupyter.panel import OnBench, chooser, told, told_words
from workbench.jupyter.sizes.fields import Field
from workbench.jupyter.sizes.sliders import field_for
from workbench.solids.recipe.repeats import MIRRORS, ONCE, REPEAT, WAYS, Repeat, Ring, Row
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.step import Step
from workbench.words import _

#: What each choice begins with.
_BEGUN: dict[str, Repeat] = {"row": Row(2, 20.0), "ring": Ring(3, 10.0)}


class PatternEditor(OnBench):
    """The controls of the chosen step's pattern and of its mirror image."""

    _step = ""

    def lay_out(self) -> None:
        self.stands = chooser(
            _("Stands"),
            _("How the step is repeated; all copies have the same sizes"),
            [(_("once"), ONCE), (_("in a row"), "row"), (_("in a ring"), "ring")],
        )
        self.way = chooser(_("Row runs"), _("Direction of the row in the face"), told_words(WAYS))
        self.mirror = chooser(
            _("Mirrored"),
            _("Makes a pair, mirrored in the middle of what the step sits on"),
            [(_("not mirrored"), ""), *((_(name), name) for name in MIRRORS)],
        )
        for control in (self.stands, self.way, self.mirror):
            control.observe(lambda _change: self._chosen(), "value")
        self.fields: dict[tuple[type[Repeat], str], Field] = {}
        self.numbers, self.note = w.VBox(), w.HTML()
        self.widget = w.VBox([self.stands, self.way, self.numbers, self.mirror, self.note])
        self.widget.add_class("wb-form")

    def show(self, step: Step) -> None:
        """Show how often a step stands."""
        with self.quietly():
            self._step = step.name
            repeat = step.repeat
            self.stands.value = type(repeat).__name__.lower() if repeat else ONCE
            self.way.layout.display = "" if isinstance(repeat, Row) else "none"
            self.way.value = repeat.direction if isinstance(repeat, Row) else WAYS[0]
            self.mirror.value = step.mirror
            fields = []
            for name, value in (repeat.numbers() if repeat else {}).items():
                assert repeat is not None
                key = (type(repeat), name)
                if key not in self.fields:
                    self.fields[key] = field_for(repeat.parameter(name), self._tell(key))
                self.fields[key].follow(step.follows.get(REPEAT + name))
                self.fields[key].show(value)
                fields.append(self.fields[key].widget)
            self.numbers.children = tuple(fields)
            self.note.value = ""

    def _tell(self, key: tuple[type[Repeat], str]) -> Any:
        def tell(name: str, value: Any) -> str | None:
            step = self._step
            return self.bench.edit(
                lambda repair: repair.change(step, **{REPEAT + name: value}),
                key=(step, REPEAT, name),
                field=self.fields[key],
                show_all=isinstance(value, Same),
            )

        return tell

    def _chosen(self) -> None:
        if self._quiet:
            return
        name, kind, way, mirror = self._step, self.stands.value, self.way.value, self.mirror.value

        def change(repair: Any) -> None:
            old = repair.step(name).repeat
            same = old is not None and type(old).__name__.lower() == kind
            new = old if same else _BEGUN.get(kind, ONCE)
            if isinstance(new, Row):
                new = Row(new.n, new.pitch, way)
            repair.change(name, repeat=new, mirror=mirror)

        refused = self.bench.edit(change, show_all=True)
        if refused:
            self.show(self.bench.repair.step(name))
        self.note.value = told(refused or "", "stop")
