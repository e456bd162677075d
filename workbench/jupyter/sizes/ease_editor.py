"""Rounds and chamfers on edges that a hand chooses."""

from __future__ import annotations

import ipywidgets as w

from workbench import units
from workbench.jupyter.panel import OnBench, button_for, entry, told
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import FACES, Seat
from workbench.words import _, sized, unit_sign

ROUND, CHAMFER = "round", "chamfer"


class EaseEditor(OnBench):
    """What is rounded or chamfered, a row each, and the form that adds one."""

    def lay_out(self) -> None:
        self.kind = w.ToggleButtons(
            options=[(_("Round"), ROUND), (_("Chamfer"), CHAMFER)],
            tooltips=[_("Round the edges"), _("Chamfer the edges")],
        )
        self.kind.add_class("wb-pair")
        self.where = w.Combobox(
            description=_("Edges"),
            placeholder=_("such as top of key"),
            ensure_option=False,
            tooltip=_("Edges of one face of a step, all edges of a step, or an inside corner"),
        )
        self.size = entry(_("By"), _("Radius, or width of the chamfer"), value="0.5")
        self.button = button_for(_("Ease edges"), _("Round or chamfer them"))
        self.button.on_click(lambda _button: self._add())
        self.rows, self.note = w.VBox(), w.HTML()
        self.widget = w.VBox([self.rows, self.kind, self.where, self.size, self.button, self.note])
        self.widget.add_class("wb-form")

    def show(self, repair: Repair) -> None:
        """Show what is eased, and offer edges."""
        self.where.options = tuple(edges_to_offer(repair))
        rows = []
        for ease in repair.eases:
            what = _("chamfer") if ease.chamfer else _("round")
            text = f"{ease.where}: {what} {sized(ease.size)} {unit_sign()}"
            button = button_for(
                _("Take back"), _("Take back: {ease}").format(ease=text), "wb-quiet"
            )
            where = ease.where if ease.at is None else ease.at
            button.on_click(lambda _button, where=where: self._edit(lambda r: r.round(where, 0)))
            rows.append(w.HBox([w.HTML(told(text)), button]))
        self.rows.children = tuple(rows)

    def _add(self) -> None:
        chamfer, where, size = self.kind.value == CHAMFER, self.where.value.strip(), self.size.value

        def change(repair: Repair) -> None:
            from workbench.measure.reading import parse_length

            amount = parse_length(size, units.chosen().name)
            (repair.chamfer if chamfer else repair.round)(where, amount)

        self._edit(change)

    def _edit(self, change) -> None:
        self.carry_out(self.note, change, show_all=True)


def edges_to_offer(repair: Repair) -> list[str]:
    """The edges of a repair in words: of each step that adds, and inside corners where one sits."""
    offered = []
    for step in repair.steps:
        offered += [f"all of {step.name}", *(f"{face} of {step.name}" for face in FACES)]
        if isinstance(step.place, Seat):
            offered.insert(0, f"between {step.name} and {step.place.step}")
    return offered
