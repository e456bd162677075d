"""The bar along the top of the bench: what the part is called, whether it may be printed, and more."""

from __future__ import annotations

from collections.abc import Callable
from html import escape
from typing import TYPE_CHECKING

import ipywidgets as w

from workbench import data, units
from workbench.checks.report import Report
from workbench.jupyter.pages.findings_page import not_built, summary
from workbench.jupyter.panel import button_for, chooser, told
from workbench.solids.recipe.repair import Repair
from workbench.words import _

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench


class Bar(w.HBox):
    """Name, verdict, undo and redo, material, printer and unit."""

    def __init__(self, bench: Bench, choose_unit: Callable[[units.Unit], None]) -> None:
        self._bench = bench
        self.name, self.verdict = w.HTML(), w.HTML()
        self.verdict.add_class("wb-verdict")
        self.undo = button_for(_("Undo"), _("Undo the last edit, Ctrl+Z"))
        self.redo = button_for(_("Redo"), _("Redo, Ctrl+Shift+Z"))
        self.undo.on_click(lambda _button: bench.undo())
        self.redo.on_click(lambda _button: bench.redo())
        self.material = chooser(
            _("Material"), _("Filament; its density gives the mass"), data.materials()
        )
        self.printer = chooser(
            _("Printer"), _("Printer; the checks use its bed and nozzle"), data.printers()
        )
        self.material.observe(lambda change: self._set("material", change["new"]), "value")
        self.printer.observe(lambda change: self._set("printer", change["new"]), "value")
        self.unit = w.Dropdown(
            description=_("Lengths in"),
            options=[("mm", units.MM), (_("inches"), units.INCH)],
            value=units.chosen(),
            disabled=units.is_fixed(),
        )
        self.unit.observe(lambda change: choose_unit(change["new"]), "value")
        self.suit()
        super().__init__(
            [
                *(self.name, self.verdict, self.undo, self.redo),
                *(self.material, self.printer, self.unit),
            ]
        )
        self.add_class("wb-bar")

    def show(self, repair: Repair) -> None:
        """Show what the repair is called and made of."""
        self.name.value = f'<h2 class="wb-name">{escape(repair.name)}</h2>'
        self.material.value, self.printer.value = repair.material, repair.printer

    def offer(self, undo: str, redo: str) -> None:
        """Say what edit there is to undo, and which to do again; empty for none."""
        for button, what, name in (
            (self.undo, undo, _("Undo: {edit}")),
            (self.redo, redo, _("Redo: {edit}")),
        ):
            button.disabled = not what
            if what:
                button.tooltip = name.format(edit=what)
        self.undo.description = _("Undo: {edit}").format(edit=undo) if undo else _("Undo")

    def suit(self) -> None:
        """Show the unit that the user reads lengths in."""
        self.unit.value = units.chosen()
        self.unit.tooltip = (
            _("Unit for lengths, set by {variable}").format(variable=units.VARIABLE)
            if units.is_fixed()
            else _("Unit for lengths. Remembered; files keep mm.")
        )

    def wait(self) -> None:
        """The verdict is about the part as it was."""
        self.verdict.add_class("wb-waiting")

    def refused(self, kept: bool, loose: str = "") -> None:
        """The repair as it is now does not build.

        kept : whether an earlier part is shown
        loose : the step that is only waiting for its place, if that is all
        """
        self.verdict.remove_class("wb-waiting")
        if loose:
            self.verdict.value = told(_("Give {step} a place.").format(step=loose))
            return
        text = not_built() if kept else _("There is no part yet.")
        self.verdict.value = told(text, "stop" if kept else "")

    def judged(self, report: Report) -> None:
        """Show what the checks came to, in a line that is in sight on every page."""
        self.verdict.remove_class("wb-waiting")
        self.verdict.value = told(summary(report), "done" if report.ok else "stop")

    def _set(self, what: str, value: str) -> None:
        if value != getattr(self._bench.repair, what):
            self._bench.edit(lambda repair: setattr(repair, what, value))
