"""A repair and what was found in it, as plain lines for a terminal or a notebook."""

from __future__ import annotations

import textwrap

from workbench.checks.check import judge
from workbench.checks.orient import chosen_down
from workbench.checks.report import Finding, Report, Subject
from workbench.solids.repair import Repair
from workbench.words import _, measured, number

_MARGIN = 9


def summary(what: Repair | Subject, report: Report | None = None, width: int = 96) -> str:
    """Name, size, volume and mass, then the findings, worst first.

    Parameters
    ----------
    what : a repair, or one that is built already
    report : what the checks found; they are run unless it is given
    width : of the lines, in characters

    Raises
    ------
    RepairError
        When the repair does not build.
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
        _("size {x} x {y} x {z} mm, volume {volume} mm³, mass if solid {mass} g").format(
            x=measured(box.X),
            y=measured(box.Y),
            z=measured(box.Z),
            volume=number(solid.volume, 1),
            mass=number(mass),
        ),
        _("on the bed: {side}").format(side=down_in_words(chosen_down(subject))),
    ]
    return "\n".join([*lines, *(_told(finding, width) for finding in report.findings)])


def down_in_words(down: tuple[float, float, float]) -> str:
    """Which side lies on the print bed.

    >>> down_in_words((0, 0, -1)), down_in_words((0.0, 0.6, -0.8))
    ('its bottom', 'a slanting side, towards its bottom and back')
    """
    sides = (
        (_("its right"), _("its left")),
        (_("its back"), _("its front")),
        (_("its top"), _("its bottom")),
    )
    towards = sorted(
        (
            (abs(part), pair[0] if part > 0 else pair[1])
            for part, pair in zip(down, sides, strict=True)
            if abs(part) > 0.05
        ),
        reverse=True,
    )
    names = [name for _size, name in towards]
    if len(names) == 1:
        return names[0]
    return _("a slanting side, towards {sides}").format(sides=" and ".join(names))


def _told(finding: Finding, width: int) -> str:
    word = {"stop": _("STOP"), "warning": _("warning"), "note": _("note")}[finding.severity]
    parts = [f"{word:<{_MARGIN}}{finding.text}"]
    if finding.remedy:
        parts.append(f"{'':<{_MARGIN}}> {finding.remedy}")
    return "\n".join(
        textwrap.fill(part, width, subsequent_indent=" " * _MARGIN, break_long_words=False)
        for part in parts
    )
