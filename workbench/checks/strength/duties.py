"""What a shape is usually asked to do, and where it must not be trusted to."""

from __future__ import annotations

from collections.abc import Iterator

from workbench.checks.report import PRACTICE, Finding
from workbench.checks.subject import Subject
from workbench.solids.facts import facts_of
from workbench.words import _


def _told() -> dict[str, tuple[str, str]]:
    """For each duty what it is, and where it must not be trusted."""
    return {
        "hangs": (
            _("A hook bends open slowly under what hangs in it, and breaks without warning."),
            _(
                "Hang only light things on it, nothing over people, and nothing that swings or climbs."
            ),
        ),
        "control": (
            _("A knob may sit on a control that gets hot, or that switches gas or mains voltage."),
            _("On a cooker, a heater, a boiler or a gas tap use the maker's own knob."),
        ),
        "hinge": (
            _("A hinge pin that shears lets the lid or the door fall."),
            _("Use a metal pin where a hand, a child or glass is under it, or on a gate."),
        ),
        "stops": (
            _("If a stop gives way, the drawer comes right out or the door swings too far."),
            _("Do not rely on it alone to keep a heavy drawer in, or a door off a child."),
        ),
        "cable": (
            _("A cable that is squeezed or bent sharply is damaged inside."),
            _(
                "Let cables lie loose in it: none that gets warm, and no mains cable without its sheath."
            ),
        ),
        "stands": (
            _("A foot carries what stands on it; if it breaks, that tips over."),
            _(
                "Not for a ladder, a step, a stool, a cot or anything that a person climbs or sits on."
            ),
        ),
        "shuts": (
            _("A strike keeps a door shut when somebody leans on it."),
            _("Not for a house door, a fire door, a window, or a lock that keeps a child safe."),
        ),
        "clamped": (
            _("A plastic spacer creeps under a tight screw, and the screw comes loose."),
            _(
                "Use metal where a loose screw would be dangerous, as on a wheel, a brake or a seat."
            ),
        ),
    }


def duties(subject: Subject) -> Iterator[Finding]:
    """One note for each kind of shape that people trust with something."""
    told = _told()
    seen = set()
    for step in subject.repair.steps:
        duty = facts_of(step.template).duty
        if duty in told and duty not in seen and not step.cuts:
            seen.add(duty)
            text, remedy = told[duty]
            yield Finding(
                severity="note",
                rule="duty",
                where=step.name,
                text=text,
                remedy=remedy,
                source=PRACTICE,
            )
