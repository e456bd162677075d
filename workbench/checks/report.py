"""What the checks found: findings with a place, a number and a remedy, gathered in a report."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from workbench.errors import RepairError
from workbench.words import _

if TYPE_CHECKING:
    from workbench.checks.orientation.way_up import Orientation

#: "stop" stops a print until it is put right or answered; "warning" wants a look; "note" tells.
SEVERITIES = ("stop", "warning", "note")

#: Names of the rules, under which a person may state why a stop does not apply.
RULE_NAMES = (
    *("can be printed", "one piece", "fits the bed", "hangs in the air", "stands firm"),
    *("small tower", "thinnest wall", "narrow gap", "fit", "readings agree", "small parts"),
    *("sharp edges", "sharp points", "root bending", "peg shear", "load not checked"),
    "buckling",
    *("clip strain", "clip force", "clip corner", "use", "food", "heat", "sun", "outdoors"),
    *("mains", "pressure", "weight", "duty", "rounding", "outer size"),
    *("runs into", "least gap", "way in"),
    *("adds nothing", "is cut away", "cut takes nothing away", "closed hollow"),
    *("fire", "vehicle", "medical", "sport", "child", "pet", "open edge", "thin edge"),
    *("way up", "statement"),
)

#: Source of what is known in the trade but was not found written down.
PRACTICE = "common practice, no source"


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One thing that a check found: a verdict of one line, and one line of what to do.

    severity : "stop", "warning" (it is likely to go wrong) or "note" (it holds for the worst)
    rule : short name of the rule, such as "fits the bed"
    where : the step or place that it is about
    text : place, what, and number against limit, in one sentence
    number, limit, unit : what was found against what is allowed, in the unit
    remedy : what to do about it
    source : where the rule or its figure comes from
    fix : the remedy as an edit of the repair (:mod:`workbench.checks.fix`), where it is one
    passed : a check that held and asks for nothing: it is counted and not shown
    asked : a question, of what a check has to know: a note that is put after all others
    """

    severity: str
    rule: str
    where: str
    text: str
    number: float | None = None
    limit: float | None = None
    unit: str = ""
    remedy: str = ""
    source: str = ""
    fix: Mapping[str, Any] | None = None
    passed: bool = False
    asked: bool = False

    @property
    def kind(self) -> str:
        """How it is marked: its severity, or "question"."""
        return "question" if self.asked else self.severity

    @property
    def source_told(self) -> str:
        """The source in the user's language, as far as it is not a title."""
        return "; ".join(_(part) for part in self.source.split("; "))

    def __post_init__(self) -> None:
        if self.severity not in SEVERITIES:
            raise ValueError(f"severity {self.severity!r} is none of {SEVERITIES}")


@dataclass(frozen=True)
class Report:
    """Everything that the checks found, worst first, and the ways up, best first.

    takes : what one print takes, in a sentence; empty where that cannot be worked out
    judged : the repair that it is of, as JSON text; empty where that is not known
    """

    findings: tuple[Finding, ...] = ()
    orientations: tuple[Orientation, ...] = field(default=())
    takes: str = ""
    judged: str = field(default="", repr=False, compare=False)

    @property
    def shown(self) -> tuple[Finding, ...]:
        """The findings that a person is to read; the others are :attr:`passed` and
        :attr:`questions`."""
        return tuple(f for f in self.findings if not f.passed and not f.asked)

    @property
    def questions(self) -> tuple[Finding, ...]:
        """What the checks have to know, asked once."""
        return tuple(finding for finding in self.findings if finding.asked)

    @property
    def passed(self) -> tuple[Finding, ...]:
        """The checks that held."""
        return tuple(finding for finding in self.findings if finding.passed)

    @property
    def passed_told(self) -> str:
        """How many checks passed, in words."""
        count = len(self.passed)
        return _("1 check passed") if count == 1 else _("{count} checks passed").format(count=count)

    def fix_for(self, rule: str) -> Finding:
        """The first finding of a rule that has a fix.

        Raises RepairError naming the rules that have one.
        """
        offered = [finding for finding in self.findings if finding.fix is not None]
        for finding in offered:
            if finding.rule == rule:
                return finding
        known = ", ".join(dict.fromkeys(_(f.rule, "rule") for f in offered)) or _("none")
        raise RepairError(
            _("no fix is offered for {rule!r}; fixes are offered for: {known}").format(
                rule=_(rule, "rule"), known=known
            )
        )

    @property
    def ok(self) -> bool:
        """Whether nothing found stops a print."""
        return not any(finding.severity == "stop" for finding in self.findings)
