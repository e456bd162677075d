"""How the part is used, which side lies on the bed, and why a stop does not apply."""

from __future__ import annotations

from html import escape
from typing import Any

import ipywidgets as w

from workbench.checks.report import Report
from workbench.jupyter.pages.ways import Ways
from workbench.jupyter.panel import Panel, button_for, chooser, columns, entry, labelled
from workbench.jupyter.state import Made
from workbench.solids.recipe.repair import Repair
from workbench.words import _, number

HEAT = "heat"

#: In the list of sides, for none of them: a list without a value would show nothing chosen.
CHOOSE = ""

#: How many ways up are told with their reasons.
WAYS_TOLD = 3


class Use(Panel):
    """Boxes to tick for the uses that matter, the bed side, and statements about stops."""

    title = "Use and bed side"
    purpose = "Say how the part is used, and which side of it lies on the bed"

    def lay_out(self) -> None:
        from workbench.solids.recipe import uses

        self._uses = uses
        self._rules: tuple[str, ...] = ()
        self.boxes = {
            word: w.Checkbox(description=meaning, indent=False, tooltip=meaning)
            for word, meaning in uses.known().items()
        }
        self.boxes[HEAT].description = _("it gets warm")
        self.warm = entry(
            _("Warmest, °C"), _("Highest temperature, in °C, such as 70"), continuous_update=False
        )
        self.side = chooser(
            _("Side on bed"), _("Side that lies on the bed (default: the tool chooses)")
        )
        self.reasons = w.HTML()
        self.ways = Ways()
        self.rule = chooser(_("Stop"), _("The stop that does not apply to this part"))
        self.why = entry(
            _("Because"),
            _("Why the stop does not apply; it goes into the record"),
            _("a sentence; it goes into the record"),
        )
        self.state = button_for(_("Save reason"), _("Save the statement in the record"))
        self.note = w.HTML()
        for box in self.boxes.values():
            box.observe(lambda _change: self._tick(), "value")
        self.warm.observe(lambda _change: self._tick(), "value")
        self.side.observe(lambda change: self._lay(change["new"]), "value")
        self.rule.observe(lambda _change: self._show_statement(), "value")
        self.state.on_click(self._state)
        self.ways.pictures.observe(lambda change: self._in_pictures(bool(change["new"])), "value")
        self.told = w.VBox([self.reasons, self.ways.widget])
        self.widget = columns(
            labelled(
                _("What applies"),
                w.VBox([*self.boxes.values(), self.warm, self.note]),
                kind="wb-form",
            ),
            w.VBox(
                [
                    labelled(
                        _("Which side lies on the bed"),
                        w.VBox([self.side, self.told]),
                        kind="wb-form",
                    ),
                    labelled(
                        _("A stop that does not apply"),
                        w.VBox([self.rule, self.why, self.state]),
                        kind="wb-form",
                    ),
                ]
            ),
        )
        self.side.options = [(_("let the tool choose"), CHOOSE)]
        self.edited()
        self._offer(())

    # -- what the bench tells ----------------------------------------------------------------

    def edited(self) -> None:
        with self.quietly():
            ticked = {use.word: use.amount for use in self._uses.read(self.bench.repair.uses)}
            for word, box in self.boxes.items():
                box.value = word in ticked
            self.warm.disabled = HEAT not in ticked
            amount = ticked.get(HEAT)
            self.warm.value = "" if amount is None else number(amount, 1)
            self._show_side()

    def made(self, made: Made) -> None:
        self.told.add_class("wb-waiting")

    def judged(self, made: Made, report: Report) -> None:
        self.told.remove_class("wb-waiting")
        with self.quietly():
            ways = list(report.orientations)
            self.side.options = [
                (_("let the tool choose"), CHOOSE),
                *((way.name, tuple(way.down)) for way in ways),
            ]
            self._show_side()
            self.reasons.value = "".join(_told_way(way) for way in ways[:WAYS_TOLD])
        self.ways.judged(made)
        stops = (finding.rule for finding in report.findings if finding.severity == "stop")
        self._offer((*stops, *self.bench.repair.statements))

    def settle(self, timeout: float = 60.0) -> bool:
        return self.ways.settle(timeout)

    def closed(self) -> None:
        self.ways.closed()

    # -- what the user does ------------------------------------------------------------------

    def _tick(self) -> None:
        if self._quiet:
            return
        words = [word for word, box in self.boxes.items() if box.value]
        warm = self.warm.value.strip()
        wanted = tuple(f"{HEAT} {warm}" if w == HEAT and warm else w for w in words)

        def change(repair: Repair) -> None:
            self._uses.read(wanted)
            repair.uses = wanted

        if self.carry_out(self.note, change):
            self.warm.disabled = HEAT not in words

    def _lay(self, side: Any) -> None:
        if not self._quiet:
            down = None if side == CHOOSE else side
            self.bench.edit(lambda repair: setattr(repair, "down", down))

    def _state(self, _button: Any) -> None:
        rule, why = self.rule.value, self.why.value.strip()

        def change(repair: Repair) -> None:
            others = {key: said for key, said in repair.statements.items() if key != rule}
            repair.statements = others | ({rule: why} if why else {})

        self.bench.edit(change)

    # -- showing -----------------------------------------------------------------------------

    def _show_side(self) -> None:
        down = self.bench.repair.down
        values = [value for _name, value in self.side.options]
        if down is not None and tuple(down) not in values:
            self.side.options = [*self.side.options, (_("as chosen in the repair"), tuple(down))]
        self.side.value = CHOOSE if down is None else tuple(down)

    def _in_pictures(self, shown: bool) -> None:
        """The same ways in words alone would say it twice."""
        self.reasons.layout.display = "none" if shown else ""

    def _offer(self, rules: tuple[str, ...]) -> None:
        listed = tuple(dict.fromkeys(rules))
        if listed != self._rules or not self.rule.options:
            self._rules = listed
            chosen = self.rule.value
            self.rule.options = [(_(rule, "rule"), rule) for rule in listed] or [
                (_("no stop found"), "")
            ]
            values = [value for _label, value in self.rule.options]
            self.rule.value = chosen if chosen in values else values[0]
        for control in (self.rule, self.why, self.state):
            control.disabled = not listed

    def _show_statement(self) -> None:
        self.why.value = self.bench.repair.statements.get(self.rule.value or "", "")


def _told_way(way: Any) -> str:
    """One way up with its reasons."""
    reasons = "".join(f"<li>{escape(reason)}</li>" for reason in way.reasons)
    return f'<div class="wb-way"><p>{way.rank}. {escape(way.name)}</p><ul>{reasons}</ul></div>'
