"""The findings of the checks, worst first, each with its remedy."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

import ipywidgets as w

from workbench.checks.report import Finding, Report
from workbench.jupyter.panel import Panel, told
from workbench.jupyter.state import Made
from workbench.words import _

if TYPE_CHECKING:
    from workbench.jupyter.bench import Bench

#: Shape and word go with each severity, so that colour alone never tells.
_MARKS = {"stop": "■", "warning": "▲", "note": "●"}


class Findings(Panel):
    """What the checks found."""

    def __init__(self, bench: Bench) -> None:
        super().__init__(bench)
        self.title = _("Findings")
        self.purpose = _("Whether it prints, fits and holds, and what to do where it does not")
        self.text = w.HTML(told(_("The checks run as soon as there is a solid.")))
        self.widget = w.VBox([self.text])
        self.widget.add_class("wb-findings")

    def made(self, made: Made) -> None:
        self.widget.add_class("wb-waiting")

    def judged(self, made: Made, report: Report) -> None:
        self.widget.remove_class("wb-waiting")
        self.text.value = as_html(report)


def summary(report: Report) -> str:
    """The report in one line, such as "Nothing stops a print: 1 warning, 2 notes"."""
    counts = [
        (sum(f.severity == severity for f in report.findings), one, many)
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


def as_html(report: Report) -> str:
    """The whole report as a list."""
    head = told(summary(report), "done" if report.ok else "stop")
    return head + "".join(_finding(finding) for finding in report.findings)


def _finding(finding: Finding) -> str:
    word = {"stop": _("stop"), "warning": _("warning"), "note": _("note")}[finding.severity]
    parts = [
        f'<p class="wb-what"><span class="wb-mark" aria-hidden="true">'
        f"{_MARKS[finding.severity]}</span> <strong>{escape(word)}</strong> "
        f"{escape(finding.text)}</p>"
    ]
    if finding.remedy:
        parts.append(f'<p class="wb-remedy">{escape(finding.remedy)}</p>')
    if finding.source:
        parts.append(f'<p class="wb-source">{escape(finding.source_told)}</p>')
    return f'<section class="wb-finding wb-{finding.severity}">{"".join(parts)}</section>'
