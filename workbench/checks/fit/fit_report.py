"""What is said of a repair's fits: on the bench, on paper and in every check."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from workbench.checks.fit.fits import Belief, Proposal
from workbench.checks.fit.printed_size import (
    Printed,
    field_of,
    limits,
    printed_as,
    size_of,
    with_size,
)
from workbench.checks.fit.printer_profile import Observation, Profile, profile_of
from workbench.checks.fit.trials import believed, group_of, label, print_name, proposal, trials_of
from workbench.checks.fix import resized
from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids.facts import facts_of
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import OUTCOMES, Fit
from workbench.words import _, lengths, number, sized, with_unit

#: A size this much less likely to be right than the best one is worth changing. Our choice.
WORTH = 0.8

#: A coupon is to hold a piece that is right with at least this probability, and a size that is
#: right with it needs no word. Our choice.
ENOUGH = 0.8

#: A size that goes in less often than this does not go in; one that is right less often than
#: even is likely to disappoint. Our choice.
NEVER, EVEN = 0.05, 0.5

SOURCE = "words and tolerances of ISO 286-1; allowances: common practice, no source"


def fits(subject: Subject) -> Iterator[Finding]:
    """Whether each size that has a fit will fit when printed as it is set now."""
    repair = subject.repair
    if not repair.fits:
        return
    profile = profile_of(repair.printer, repair.material)
    if profile.problem:
        yield Finding(
            severity="warning",
            rule="fit",
            where=_("profile of {printer}").format(printer=repair.printer),
            text=profile.problem,
            remedy=_("Put the file right or delete it."),
        )
    if any(facts_of(step.template).marks for step in repair.steps):
        yield _comb_judged(subject, profile)
        return
    for fit in repair.fits:
        try:
            yield _judged(subject, fit, profile)
        except RepairError as error:
            yield Finding(
                severity="warning",
                rule="fit",
                where=fit.step,
                text=str(error),
                remedy=_("Save the fit with another size, or remove it."),
            )


def _judged(subject: Subject, fit: Fit, profile: Profile) -> Finding:
    repair = subject.repair
    step = repair.step(fit.step)
    how = printed_as(subject, fit.step, fit.field)
    belief = believed(repair, fit, profile, how)
    best = proposal(repair, fit, how, profile, belief)
    size = size_of(step, fit.field)
    chance = dict(zip(OUTCOMES, map(float, belief.expect(size)), strict=True))
    right, enters = chance["right"], 1 - chance["would not enter"]
    better = right < WORTH * best.probability or _wrong(repair, fit, size, best.size)
    severity = "stop" if enters < NEVER else "warning" if right < EVEN or better else "note"
    remedy, fix = _("Print the comb first."), None
    if best.probability < NEVER:
        low, high = limits(step, fit.field)
        remedy = _(
            "It can only be {low} to {high}: read {mating} again, or build it of another part."
        ).format(low=sized(low), **lengths(high=high, mating=fit.mating.value))
    elif better:
        fix = resized(fit.step, **with_size(step, fit.field, best.size))
        remedy = (
            _("Set it to {size}: {right} % likely a good fit.")
            if best.probability >= EVEN
            else _("Print the comb first, or set {size}: {right} % likely a good fit.")
        ).format(size=with_unit(best.size), right=number(100 * best.probability, 0))
    elif asks_of_holes(repair, fit, how, profile):
        remedy = _(
            "Do holes come out true on this printer? Say so under Fit, or print the comb first."
        )
    elif severity == "note":
        remedy = _("Print it, try it, and note how it went; or print the comb first.")
    passed = severity == "note" and right >= ENOUGH
    return Finding(
        severity=severity,
        rule="fit",
        where=fit.step,
        text=_told(belief, fit, label(step, fit.field), size, enters, right),
        number=round(right, 4),
        limit=round(best.probability, 4),
        remedy="" if passed else remedy,
        source=SOURCE,
        fix=fix,
        passed=passed,
    )


def asks_of_holes(repair: Repair, fit: Fit, how: Printed, profile: Profile) -> bool:
    """Whether it matters, and is not known yet, how holes come out on this printer."""
    tried = any(True for _trial in trials_of(repair, fit.step, fit.field))
    return how.feature == "hole" and not profile.knows_holes and not tried


def has_to_know_of_holes(subject: Subject) -> bool:
    """The same of any fit of a repair, without working its fits out."""
    repair = subject.repair
    profile = profile_of(repair.printer, repair.material)
    printed = ((fit, printed_as(subject, fit.step, fit.field)) for fit in repair.fits)
    return any(asks_of_holes(repair, fit, how, profile) for fit, how in printed)


def _told(belief: Belief, fit: Fit, field: str, size: float, enters: float, right: float) -> str:
    """The verdict on one fit; what is certain is not told as a chance."""
    clearance = belief.clearance(size)[0]
    if belief.entering:
        never = _("{step}, {field}: {size} does not go into {mating}.")
        text = _(
            "{step}, {field}: {size} in {mating}: {enters} % likely to go in, {right} % likely a good {kind} fit."
        )
        printed = belief.mating - clearance
    else:
        never = _("{step}, {field}: {size} prints about {printed} and does not go onto {mating}.")
        text = _(
            "{step}, {field}: {size} prints about {printed}, for {mating}: {enters} % likely to go on, {right} % likely a good {kind} fit."
        )
        printed = belief.mating + clearance
    return (never if enters < NEVER else text).format(
        step=fit.step,
        field=field,
        enters=number(100 * enters, 0),
        right=number(100 * right, 0),
        kind=_(fit.kind),
        **lengths(size=size, mating=fit.mating.value, printed=printed),
    )


def _comb_judged(subject: Subject, profile: Profile) -> Finding:
    """Whether one of a coupon's pieces is right, all against the same counterpart."""
    repair = subject.repair
    fit = repair.fits[0]
    belief = believed(repair, fit, profile, printed_as(subject, fit.step, fit.field))
    sizes = [size_of(repair.step(each.step), each.field) for each in repair.fits]
    likeliest = max(sizes, key=lambda size: belief.expect(size)[OUTCOMES.index("right")])
    right = belief.any_right(sizes)
    enough = right >= ENOUGH
    return Finding(
        severity="note" if enough else "warning",
        rule="fit",
        where=repair.name,
        text=_(
            "It is {right} % likely that one of the pieces is a good {kind} fit to {mating}; try {size} first."
        ).format(
            right=number(100 * right, 0),
            kind=_(fit.kind),
            **lengths(size=likeliest, mating=fit.mating.value),
        ),
        number=round(right, 4),
        limit=ENOUGH,
        remedy=""
        if enough
        else _("Choose offsets around {size}.").format(size=with_unit(belief.best(0.01, 500)[0])),
        source=SOURCE,
        passed=enough,
    )


def _wrong(repair: Repair, fit: Fit, size: float, best: float) -> bool:
    """Whether this very size was tried, did not go right, and there is a better one."""
    tried = [t.outcome for t in trials_of(repair, fit.step, fit.field) if t.set_to == size]
    return bool(tried) and tried[-1] != "right" and best != size


@dataclass(frozen=True)
class FitRow:
    """One fit in words, for a table on the bench or on paper."""

    step: str
    field: str
    label: str
    size: str
    fit: str
    right: str
    proposal: Proposal
    asks_of_holes: bool = False

    #: What stands above the columns up to the proposal.
    HEADINGS = ("step", "size", "set to", "fit", "chance")


def fit_rows(subject: Subject, profile: Profile | None = None) -> tuple[FitRow, ...]:
    """Every fit of a repair in words, with the size that is proposed for it and why.

    profile : what is known of the printer; by default what the user's data folder holds
    """
    repair = subject.repair
    known = profile or profile_of(repair.printer, repair.material)
    listed = []
    for fit in repair.fits:
        how = printed_as(subject, fit.step, fit.field)
        belief = believed(repair, fit, known, how)
        size = size_of(repair.step(fit.step), fit.field)
        listed.append(
            FitRow(
                fit.step,
                field_of(repair.step(fit.step), fit.field),
                label(repair.step(fit.step), fit.field),
                _("{size}").format(size=with_unit(size)),
                _("{kind} fit to {mating}").format(
                    kind=_(fit.kind), mating=with_unit(fit.mating.value)
                ),
                _("{right} %").format(
                    right=number(100 * belief.expect(size)[OUTCOMES.index("right")], 0)
                ),
                proposal(repair, fit, how, known, belief),
                asks_of_holes(repair, fit, how, known),
            )
        )
    return tuple(listed)


@dataclass(frozen=True)
class TrialRow:
    """One trial in words, for a table on the bench or on paper."""

    printed: str
    size: str
    measured: str
    outcome: str
    note: str

    #: What stands above the columns.
    HEADINGS = ("print", "set to", "measured", "how it went", "note")


def trial_rows(repair: Repair, step: str, field: str) -> tuple[TrialRow, ...]:
    """The trials of one size in words, the first one first."""
    return tuple(
        TrialRow(
            print_name(trial),
            _("{size}").format(size=with_unit(trial.set_to)),
            "–" if trial.measured is None else _("{size}").format(size=with_unit(trial.measured)),
            _(trial.outcome, "outcome"),
            " ".join(part for part in (trial.note, trial.date) if part),
        )
        for trial in trials_of(repair, step, field)
    )


def observations(subject: Subject) -> tuple[Observation, ...]:
    """What the repair's trials say about its printer, ready to be kept in the profile."""
    repair = subject.repair
    seen = []
    for fit in repair.fits:
        how = printed_as(subject, fit.step, fit.field)
        for count, trial in enumerate(trials_of(repair, fit.step, fit.field), start=1):
            seen.append(
                Observation(
                    how.feature,
                    trial.set_to,
                    trial.measured,
                    how.at_bed,
                    fit.kind,
                    fit.mating.value,
                    fit.mating.uncertainty,
                    trial.outcome,
                    f"{group_of(repair, fit)}/{count}",
                    trial.date,
                )
            )
    return tuple(seen)
