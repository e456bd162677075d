"""All the checks, run over one repair."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from workbench.checks import trials
from workbench.checks.cautions import answered, cautions
from workbench.checks.estimate import estimates
from workbench.checks.report import SEVERITIES, Finding, Report, Subject
from workbench.checks.strength import strength
from workbench.solids.repair import Repair

Rule = Callable[[Subject], Iterable[Finding]]

#: Every rule, in the order in which a person would ask.
RULES: tuple[Rule, ...] = (trials.fits, strength, estimates, cautions)


def check(repair: Repair) -> Report:
    """Build the repair and judge it.

    Raises
    ------
    RepairError
        When the repair cannot be built at all.
    """
    return judge(Subject.of(repair))


def judge(subject: Subject) -> Report:
    """Judge a repair that is already built."""
    found = (finding for rule in RULES for finding in rule(subject))
    findings = answered(found, subject.repair.statements)
    findings.sort(key=lambda finding: SEVERITIES.index(finding.severity))
    return Report(tuple(findings))
