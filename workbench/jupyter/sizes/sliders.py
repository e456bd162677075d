"""One control for each thing that a template asks for, made from its annotation alone."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import ipywidgets as w

from workbench import units
from workbench.errors import RepairError
from workbench.jupyter.panel import chooser, entry, told_words
from workbench.jupyter.sizes.fields import CountField, Field, SizeField, Tell
from workbench.measure.reading import Reading, parse_length
from workbench.solids.parameters import (
    Choice,
    Corners,
    Count,
    Flag,
    Parameter,
    Size,
    Template,
    Words,
)
from workbench.words import _, sized, unit_word


class ChoiceField(Field):
    """One word out of a list."""

    def controls(self) -> list[w.Widget]:
        kind = self.parameter.kind
        assert isinstance(kind, Choice)
        label = self.parameter.said
        self.list = chooser(label, f"{label}: {self.help()}", told_words(kind.options))
        self.list.observe(lambda change: self.take(change["new"]), "value")
        return [self.list]

    def display(self, value: Any) -> None:
        self.list.value = value


class FlagField(Field):
    """Yes or no."""

    def controls(self) -> list[w.Widget]:
        label = self.parameter.said
        self.mark = w.Checkbox(description=label, indent=False, tooltip=f"{label}: {self.help()}")
        self.mark.observe(lambda change: self.take(change["new"]), "value")
        return [self.mark]

    def display(self, value: Any) -> None:
        self.mark.value = bool(value)


class WordsField(Field):
    """A text of one line."""

    def controls(self) -> list[w.Widget]:
        label = self.parameter.said
        self.text = entry(label, f"{label}: {self.help()}", continuous_update=False)
        self.text.observe(lambda change: self._typed(change["new"]), "value")
        return [self.text]

    def display(self, value: Any) -> None:
        self.text.value = value

    def _typed(self, text: str) -> None:
        if self._quiet:
            return
        try:
            self.take(self.parameter.kind.check(self.parameter.said, text))
        except RepairError as error:
            self.complain(str(error))


class CornersField(Field):
    """A list of corners, one a line; a line left alone keeps its corner."""

    _unit = units.MM
    _kept: Mapping[str, tuple[float, ...]] = {}

    def controls(self) -> list[w.Widget]:
        label = self.parameter.said
        self.text = w.Textarea(description=label, continuous_update=False, rows=4)
        self.text.observe(lambda change: self._typed(change["new"]), "value")
        return [self.text]

    def help(self) -> str:
        return super().help() or _(
            "one corner a line, in {unit} and in order: x, y; then its radius; then the radius of the arc to the next corner (− bulges in), or x and y of a point on it"
        ).format(unit=unit_word())

    def display(self, value: Any) -> None:
        self._unit = units.chosen()
        self.text.tooltip = _(
            "{label}: one corner a line, in {unit} and in order: x, y; then its radius; then the radius of the arc to the next corner (− bulges in), or x and y of a point on it"
        ).format(label=self.parameter.said, unit=unit_word())
        between = "  " if self._unit is units.MM else "; "  # for 1 3/8 has a space of its own
        self._kept = {between.join(sized(number, 4) for number in c): c for c in value}
        self.text.value = "\n".join(self._kept)

    def _typed(self, text: str) -> None:
        if self._quiet:
            return
        try:
            corners = [self._corner(row) for row in text.splitlines() if row.strip()]
        except RepairError:
            self.complain(
                _("{field}: write two numbers a line, in {unit}, such as 35 0 or 1 3/8; 0").format(
                    field=self.parameter.said, unit=unit_word()
                )
            )
            return
        try:
            checked = self.parameter.kind.check(self.parameter.said, corners)
        except RepairError as error:
            self.complain(str(error))
            return
        self.take(checked)

    def _corner(self, row: str) -> tuple[float, ...]:
        row = row.strip()
        if row in self._kept:
            return self._kept[row]
        cells = row.strip(";").split(";") if ";" in row else row.split()
        return tuple(parse_length(cell, self._unit.name) for cell in cells)


_FIELDS: Mapping[type, type[Field]] = {
    Size: SizeField,
    Count: CountField,
    Choice: ChoiceField,
    Flag: FlagField,
    Corners: CornersField,
    Words: WordsField,
}


def field_for(parameter: Parameter, tell: Tell) -> Field:
    """The control that suits a parameter."""
    return _FIELDS[type(parameter.kind)](parameter, tell)


class Sliders:
    """The controls of one step, by field; ``widget`` is what is shown."""

    def __init__(self, template: Template, tell: Tell) -> None:
        self.fields = {p.name: field_for(p, tell) for p in template.parameters}
        self.widget = w.VBox([field.widget for field in self.fields.values()])
        self.widget.add_class("wb-fields")

    def show(self, values: Mapping[str, Any], read: Mapping[str, Reading] | None = None) -> None:
        """Show the values that a step has and what was read for them, without telling anyone."""
        for name, field in self.fields.items():
            field.show(values[name], (read or {}).get(name))

    def settle(self) -> None:
        """Lay the sliders' spans anew where a drag came to an end of one."""
        for field in self.fields.values():
            if isinstance(field, SizeField):
                field.settle()
