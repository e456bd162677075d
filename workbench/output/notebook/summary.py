"""A repair and what was found in it, as plain lines for a terminal or a notebook."""

from __future__ import annotations

import textwrap

from workbench.checks.check import judge
from workbench.checks.orientation.orient import ways_up
from workbench.checks.report import Finding, Report
from workbench.checks.subject import Subject
from workbench.solids.recipe.repair import Repair
from workbench.words import _, measured, measured_with_unit, number

_MARGIN = 9


def summary(
    what: Repair | Subject, report: Report | None = None, width: int = 96, everything: bool = False
) -> str:
    """Name, size, volume and mass, then the findings, worst first.

    what : a repair, or one that is built already
    report : what the checks found; they are run unless it is given
    width : of the lines, in characters
    everything : the checks that passed, each for itself, and the sources as well

    Raises RepairError when the repair does not build.
    """
    subject = what if isinstance(what, Subject) else Subject.of(what)
    report = judge(subject) if report is None else report
    repair, solid = subject.repair, subject.assembly.solid
    box = solid.bounding_box().size
    mass = solid.volume / 1000 * subject.material.density
    lines = [
        _("{name} ({material}, {printer}), steps: {count}").format(
            name=repair.name,
            count=len(repair.steps),
            material=repair.material,
            printer=repair.printer,
        ),
        _("size {size}, volume {volume} mm³, mass if solid {mass} g").format(
            size=" x ".join([measured(box.X), measured(box.Y), measured_with_unit(box.Z)]),
            volume=number(solid.volume, 1),
            mass=number(mass),
        ),
        _way_up(subject, report),
    ]
    if report.takes:
        lines.append(textwrap.fill(report.takes, width))
    lines += [
        _told(f, width, everything) for f in (report.findings if everything else report.shown)
    ]
    if report.passed and not everything:
        lines.append(f"{'':<{_MARGIN}}{report.passed_told}")
    if not everything:
        lines += [_told(question, width, everything) for question in report.questions]
    return "\n".join(lines)


def _way_up(subject: Subject, report: Report) -> str:
    """How it is laid on the bed; why is among the findings."""
    ways = report.orientations or ways_up(subject)
    lies = next((way for way in ways if way.chosen), ways[0])
    return _("way up: {side}").format(side=lies.name)


def _told(finding: Finding, width: int, everything: bool) -> str:
    word = {
        "stop": _("STOP"),
        "warning": _("warning"),
        "note": _("note"),
        "question": _("question"),
    }[finding.kind]
    parts = [f"{_('passed') if finding.passed else word:<{_MARGIN}}{finding.text}"]
    if finding.remedy:
        parts.append(f"{'':<{_MARGIN}}> {finding.remedy}")
    if everything and finding.source:
        parts.append(f"{'':<{_MARGIN}}({finding.source_told})")
    return "\n".join(
        textwrap.fill(part, width, subsequent_indent=" " * _MARGIN, break_long_words=False)
        for part in parts
    )
