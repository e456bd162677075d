"""A box for a length, or for several readings of one, in the user's unit."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from contextlib import suppress

import ipywidgets as w

from workbench import units
from workbench.errors import RepairError
from workbench.measure.reading import Reading, parse_length
from workbench.measure.repeated_readings import readings_in
from workbench.words import sized


class LengthBox(w.Text):
    """Takes 34.9, 34,9, 35 mm, 1 3/8 in or 1.375"; a bare number is in the user's unit."""

    def __init__(
        self, description: str, tooltip: Callable[[], str], hint: Callable[[], str] = str
    ) -> None:
        """``tooltip`` and ``hint`` may name the unit; they are asked again where it changes."""
        super().__init__(description=description)
        self.add_class("wb-number")
        self._told = (hint, tooltip)
        self._unit = units.chosen()
        self.observe(lambda _change: self._name(), "value")
        self._name()

    def suit(self) -> None:
        """Take in that the user reads another unit: lengths that were typed are told in it."""
        before, self._unit = self._unit, units.chosen()
        self._name()
        with suppress(RepairError):  # what is half typed stays as it is
            typed = readings_in(self.value, before.name)
            self.show([parse_length(text) for text in typed])

    def show(self, values: Iterable[float]) -> None:
        """Show lengths given in mm."""
        self.value = "; ".join(sized(value, 3) for value in values)

    def length(self) -> float:
        """The one length in mm, or a RepairError."""
        return parse_length(self.value, self._unit.name)

    def reading(self) -> Reading:
        """What was typed as a reading, several values as repeats; or a RepairError."""
        return Reading(readings_in(self.value, self._unit.name), unit=self._unit.name)

    def _name(self) -> None:
        """Name the unit behind the box, unless what was typed names its own."""
        self.placeholder, self.tooltip = (tell() for tell in self._told)
        own = any(sign.isalpha() or sign == '"' for sign in self.value)
        for unit in (units.MM, units.INCH):
            put = self.add_class if unit is self._unit and not own else self.remove_class
            put(f"wb-{unit.name}")
