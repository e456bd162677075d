"""A size that follows others: which one, and what it follows, in plain arithmetic."""

from __future__ import annotations

from html import escape
from typing import Any

import ipywidgets as w

from workbench.jupyter.panel import OnBench, chooser, told
from workbench.solids.parameters import Count, Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same, named_for_sum
from workbench.solids.recipe.step import Step
from workbench.words import _


class FollowEditor(OnBench):
    """A row below the sizes of a step: "width follows base.width - 2*wall.thickness"."""

    _step = ""

    def lay_out(self) -> None:
        self.size = chooser(_("Size"), _("Size or place of this step that follows others"))
        self.text = w.Combobox(
            description=_("follows"),
            placeholder=_("such as base.width"),
            ensure_option=False,
            continuous_update=False,
            tooltip=_("Another size, or a sum with + - * / and brackets; empty: its own number"),
        )
        self.size.observe(lambda _change: self._show_text(), "value")
        self.text.observe(lambda change: self._typed(change["new"]), "value")
        self.note, self.listed = w.HTML(), w.HTML()
        self.widget = w.VBox([self.listed, w.HBox([self.size, self.text]), self.note])
        self.widget.add_class("wb-follow")

    def show(self, repair: Repair, step: Step) -> None:
        """Show what the sizes of a step follow, and offer those of the others."""
        with self.quietly():
            same_step, self._step = self._step == step.name, step.name
            chosen = self.size.value if same_step else None
            own = [name for name in step.numbers() if _is_number(step, name)]
            options = [(step.said(name), name) for name in own]
            if tuple(options) != tuple(self.size.options):
                self.size.options = options
            self.size.value = chosen if chosen in own else next(iter(own), None)
            self.text.options = tuple(
                f"{named_for_sum(other.name)}.{name}"
                for other in repair.steps
                for name in other.numbers()
                if _is_number(other, name) and other.name != step.name
            )
            rows = (f"{step.said(n)}: {escape(same.text)}" for n, same in step.follows.items())
            self.listed.value = (
                told(_("Follows: {rows}").format(rows="; ".join(rows))) if (step.follows) else ""
            )
            self.note.value = ""
        self._show_text()

    def _show_text(self) -> None:
        steps = [step for step in self.bench.repair.steps if step.name == self._step]
        same = steps[0].follows.get(self.size.value) if steps else None
        with self.quietly():
            self.text.value = same.text if same else ""

    def _typed(self, text: str) -> None:
        if self._quiet or not self.size.value:
            return
        step, name, text = self._step, self.size.value, text.strip()

        def change(repair: Repair) -> None:
            now: Any = Same(text) if text else repair.step(step).number(name)
            repair.change(step, **{name: now})

        self.carry_out(self.note, change, show_all=True)


def _is_number(step: Step, name: str) -> bool:
    return isinstance(step.parameter(name).kind, (Size, Count))
