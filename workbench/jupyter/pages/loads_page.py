"""The panel about forces: what pushes or pulls on which step, and edges kind to hands."""

from __future__ import annotations

from typing import Any

import ipywidgets as w

from workbench.checks.cautions.by_shape import KIND
from workbench.checks.orientation.side_names import SIDES
from workbench.errors import RepairError
from workbench.jupyter.panel import Panel, button_for, chooser, columns, entry, labelled
from workbench.jupyter.sizes.length_boxes import LengthBox
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import Load
from workbench.words import _, number, unit_word, with_unit


def directions() -> dict[str, tuple[float, float, float]]:
    """Which way a hand pushes or pulls, in words, as the repair stands."""
    words = {
        "bottom": _("down"),
        "top": _("up"),
        "left": _("to the left"),
        "right": _("to the right"),
        "front": _("to the front"),
        "back": _("to the back"),
    }
    return {words[side]: SIDES[side] for side in words}


class Loading(Panel):
    """Loads on steps and the rounding of edges; every edit can be undone."""

    title = "Loads"
    purpose = "Say what pushes or pulls on it, and round sharp edges"

    def lay_out(self) -> None:
        self.step = chooser(_("On step"), _("Step that is loaded"))
        self.force = entry(
            _("Force"),
            _("Force in newtons; 10 N is about the weight of 1 kg"),
            _("N; a firm push by hand is about 50 N"),
        )
        self.way = chooser(
            _("Direction"),
            _("Which way it pushes or pulls, as the part stands"),
            directions().items(),
        )
        self.again = w.Checkbox(
            value=True,
            description=_("repeats"),
            indent=False,
            tooltip=_("The load comes again and again, not once"),
        )
        self.add = button_for(_("Add load"), _("Save this load in the repair"), "wb-main")
        self.loads = chooser(_("Loads"), _("Loads so far"))
        self.drop = button_for(_("Remove load"), _("Remove the chosen load"))
        self.round = LengthBox(
            _("Radius"),
            lambda: _("Radius given to sharp outer edges, in {unit}; 0 leaves them sharp").format(
                unit=unit_word()
            ),
            lambda: _("{kind} is easy on the hands").format(kind=with_unit(KIND)),
        )
        self.rounder = button_for(
            _("Round edges"), _("Round the sharp outer edges of the part"), "wb-main"
        )
        self.note, self.round_note = w.HTML(), w.HTML()
        self.add.on_click(lambda _button: self._add())
        self.drop.on_click(lambda _button: self._drop())
        self.rounder.on_click(lambda _button: self._round())
        self.widget = columns(
            labelled(
                _("What pushes or pulls on it"),
                *(self.step, self.force, self.way, self.again, self.add, self.note),
                *(self.loads, self.drop),
                kind="wb-form",
            ),
            labelled(_("Sharp edges"), self.round, self.rounder, self.round_note, kind="wb-form"),
        )
        self._shown: Any = None
        self.edited()

    def edited(self) -> None:
        repair = self.bench.repair
        names = tuple(step.name for step in repair.steps if not step.cuts)
        if (names, repair.loads, repair.rounding) == self._shown:
            return
        self._shown = (names, repair.loads, repair.rounding)
        before = self.step.value
        self.step.options = names
        self.step.value = before if before in names else (names[0] if names else None)
        listed = [(_told(load), i) for i, load in enumerate(repair.loads)]
        self.loads.options = listed or [(_("none yet"), -1)]
        self.loads.value = len(repair.loads) - 1
        self.round.show([repair.rounding] if repair.rounding else ())
        self.add.disabled = not names
        self.drop.disabled = self.loads.disabled = not repair.loads

    def _add(self) -> None:
        def change(repair: Repair) -> None:
            force = _newtons(self.force.value)
            load = Load(self.step.value, force, self.way.value, self.again.value)
            repair.loads = (*repair.loads, load)

        self.carry_out(self.note, change, _("The load is saved"))

    def _drop(self) -> None:
        chosen = self.loads.value

        def change(repair: Repair) -> None:
            repair.loads = tuple(load for i, load in enumerate(repair.loads) if i != chosen)

        self.carry_out(self.note, change)

    def _round(self) -> None:
        def change(repair: Repair) -> None:
            repair.round(self.round.length() if self.round.value.strip() else 0.0)

        self.carry_out(self.round_note, change)


def _newtons(text: str) -> float:
    try:
        return float(text.strip().removesuffix("N").replace(",", "."))
    except ValueError:
        raise RepairError(
            _("{field} is {text!r}; give a number in {unit}").format(
                field=_("force"), text=text, unit="N"
            )
        ) from None


def _told(load: Load) -> str:
    ways = {way: word for word, way in directions().items()}
    way = ways.get(load.direction) or ", ".join(number(part) for part in load.direction)
    often = _("again and again") if load.repeats else _("once")
    return _("{step}: {force} N {way}, {often}").format(
        step=load.step, force=number(load.force, 1), way=way, often=often
    )
