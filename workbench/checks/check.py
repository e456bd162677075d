"""All the checks, run over one repair."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from workbench import gate
from workbench.checks import printability, together
from workbench.checks.cautions.by_use import cautions
from workbench.checks.cautions.statements import answered, unknown_rules
from workbench.checks.cut_edges import bores, thin_places
from workbench.checks.fit import fit_report
from workbench.checks.fit.reading_spread import readings_agree
from workbench.checks.no_effect import comes_out_nowhere, no_effect, rounds_nothing
from workbench.checks.orientation.estimate import estimate
from workbench.checks.orientation.orient import laid_layers, ways_up
from workbench.checks.orientation.proud import proud
from workbench.checks.outer_size import taken_off
from workbench.checks.report import SEVERITIES, Finding, Report
from workbench.checks.strength.duties import duties
from workbench.checks.strength.loads import refuse_loads, strength
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.overtaken import leave_if_overtaken
from workbench.solids.recipe import uses
from workbench.solids.recipe.repair import Repair
from workbench.words import sentence

Rule = Callable[[Subject], Iterable[Finding]]

#: Every rule, in the order in which a person would ask.
RULES: tuple[Rule, ...] = (
    readings_agree,
    printability.one_piece,
    no_effect,
    comes_out_nowhere,
    rounds_nothing,
    taken_off,
    printability.fits_bed,
    thin_places,
    bores,
    printability.hanging,
    proud,
    printability.stands,
    fit_report.fits,
    together.against,
    together.loose,
    strength,
    duties,
    cautions,
    unknown_rules,
)

#: Of what a person should see first among findings of one severity: what fails most often.
LIKELY = ("fit", "hangs in the air", "root bending", "peg shear", "clip strain", "open edge")


@gate.asked
def check(repair: Repair) -> Report:
    """Build the repair and judge it.

    Raises RepairError when the repair cannot be built at all, a load is on no step that adds, or a
    use is not known.
    """
    return judge(Subject.of(repair))


def judge(subject: Subject) -> Report:
    """Judge a repair that is already built.

    A rule that cannot be worked out, such as one about layers for a part lower than a layer,
    becomes a finding that says why; the same reason is told once.

    Raises RepairError when a load is on no step that adds, or a use is not known.
    """
    refuse_loads(subject.repair)
    uses.read(subject.repair.uses)
    found = [finding for rule in RULES for finding in _findings(rule, subject)]
    told = {finding.text: finding for finding in reversed(found)}
    findings = answered(reversed(told.values()), subject.repair.statements)
    findings.sort(key=_urgency)
    judged = subject.repair.to_json()
    return Report(tuple(findings), ways_up(subject), _takes(subject), judged)


def _urgency(finding: Finding) -> tuple[int, bool, int]:
    """What stops goes first, then what is likeliest to go wrong, in the order of asking; a
    question is put last."""
    place = LIKELY.index(finding.rule) if finding.rule in LIKELY else len(LIKELY)
    return SEVERITIES.index(finding.severity), finding.asked, place


def _takes(subject: Subject) -> str:
    """What one print takes, laid as it is chosen to be laid."""
    try:
        return estimate(laid_layers(subject), subject.material, subject.printer).in_words()
    except RepairError:  # lower than a layer: a finding says so
        return ""


def _findings(rule: Rule, subject: Subject) -> Iterator[Finding]:
    leave_if_overtaken()
    try:
        yield from rule(subject)
    except RepairError as error:
        told, _mark, remedy = str(error).rpartition("; ")
        yield Finding(
            severity="stop",
            rule="can be printed",
            where=subject.repair.name,
            text=f"{told}." if told else str(error),
            remedy=sentence(f"{remedy}."),
        )
