"""The findings of the checks, worst first, each with its remedy."""

from __future__ import annotations

from html import escape

import ipywidgets as w

from workbench import data
from workbench.checks.fix import apply, in_words
from workbench.checks.report import Finding, Report
from workbench.jupyter.page_buttons import widgets_of
from workbench.jupyter.panel import Panel, button_for, told
from workbench.jupyter.state import Made
from workbench.solids.recipe.repair import Repair
from workbench.words import _, tied

#: Shape and word go with each severity, so that colour alone never tells.
_MARKS = {"stop": "■", "warning": "▲", "note": "●", "question": "?"}


class Findings(Panel):
    """What the checks found, each with a button where its remedy is an edit."""

    title = "Findings"
    purpose = "Whether it prints, fits and holds, and what to do where it does not"

    def lay_out(self) -> None:
        self._summary = told(_("The checks run as soon as there is a solid."))
        self.text = w.HTML(self._summary)
        self.list = w.VBox()
        self.widget = w.VBox([self.text, self.list])
        self.widget.add_class("wb-findings")

    def made(self, made: Made) -> None:
        self.widget.add_class("wb-waiting")

    def judged(self, made: Made, report: Report) -> None:
        self.widget.remove_class("wb-waiting")
        self._summary = told(summary(report), "done" if report.ok else "stop")
        self.refused(bool(self.bench.refusal))
        old = self.list.children
        self.list.children = (
            *(
                self._finding(finding, made.repair)
                for finding in (*report.shown, *report.questions)
            ),
            w.HTML(_rest(report, made.repair)),
        )
        for widget in widgets_of(*old):
            widget.close()

    def refused(self, on: bool) -> None:
        # The findings below it are those of the part that is shown.
        self.text.value = told(not_built(), "stop") if on else self._summary

    def _finding(self, finding: Finding, repair: Repair) -> w.Widget:
        text = w.HTML(as_html(finding))
        if finding.fix is None:
            return text
        button = button_for(
            in_words(finding.fix, repair), _("One edit; undo takes it back."), "wb-fix"
        )
        button.on_click(lambda _button: self._fix(finding, text))
        return w.VBox([text, button])

    def _fix(self, finding: Finding, text: w.HTML) -> None:
        fix = finding.fix or {}
        refused = self.bench.edit(lambda repair: apply(fix, repair), show_all=True)
        if refused:
            text.value = as_html(finding) + told(refused, "stop")


def not_built() -> str:
    """That what is shown is not what was asked for last."""
    return _("The part cannot be built with the last value: an earlier one is shown.")


def summary(report: Report) -> str:
    """The report in one line, such as "Nothing stops a print: 1 warning, 2 notes"."""
    counts = [
        (sum(f.severity == severity for f in report.shown), one, many)
        for severity, one, many in (
            ("stop", _("1 stop"), _("{n} stops")),
            ("warning", _("1 warning"), _("{n} warnings")),
            ("note", _("1 note"), _("{n} notes")),
        )
    ]
    said = ", ".join(one if n == 1 else many.format(n=n) for n, one, many in counts if n)
    if not said:
        return _("Nothing found that stops a print.")
    if report.ok:
        return _("Nothing stops a print: {counts}.").format(counts=said)
    return _("Do not print this yet: {counts}.").format(counts=said)


def as_html(finding: Finding) -> str:
    """One finding: its verdict, what to do, and where the rule comes from for whoever asks."""
    word = {
        "stop": _("stop", "severity"),
        "warning": _("warning"),
        "note": _("note"),
        "question": _("question"),
    }[finding.kind]
    parts = [
        f'<p class="wb-what"><span class="wb-mark" aria-hidden="true">'
        f"{_MARKS[finding.kind]}</span> <strong>{escape(word)}</strong> "
        f"{escape(tied(finding.text))}</p>"
    ]
    if finding.remedy:
        parts.append(f'<p class="wb-remedy">{escape(tied(finding.remedy))}</p>')
    if finding.source:
        parts.append(_unfolded(_("source"), f"<p>{escape(finding.source_told)}</p>", "wb-source"))
    return f'<section class="wb-finding wb-{finding.kind}">{"".join(parts)}</section>'


def _rest(report: Report, repair: Repair) -> str:
    """What one print takes, the checks that passed, and what is known of the material."""
    parts = [f"<p>{escape(report.takes)}</p>"] if report.takes else []
    if report.passed:
        rows = "".join(f"<li>{escape(finding.text)}</li>" for finding in report.passed)
        parts.append(_unfolded(report.passed_told, f"<ul>{rows}</ul>", "wb-passed"))
    material = data.material(repair.material)
    facts = {_("fumes"): material.fumes, _("gluing"): material.gluing, _("drying"): material.drying}
    rows = "".join(
        f"<li>{escape(what.capitalize())}: {escape(_(text))}</li>"
        for what, text in facts.items()
        if text
    )
    if rows:
        about = _("About {material}").format(material=material.name)
        parts.append(_unfolded(about, f"<ul>{rows}</ul>", "wb-about"))
    return "".join(parts)


def _unfolded(title: str, html: str, kind: str) -> str:
    return f'<details class="{kind}"><summary>{escape(title)}</summary>{html}</details>'
