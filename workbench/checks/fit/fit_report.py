"""What is said of a repair's fits: on the bench, on paper and in every check."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from workbench.checks.fit.fits import Proposal
from workbench.checks.fit.printed_size import field_of, printed_as, size_of
from workbench.checks.fit.printer_profile import Observation, Profile, profile_of
from workbench.checks.fit.trials import believed, group_of, label, print_name, proposal, trials_of
from workbench.checks.report import Finding, Subject
from workbench.errors import RepairError
from workbench.solids.repair import Repair
from workbench.solids.service import OUTCOMES, Fit
from workbench.words import _, number

#: A size this much less likely to be right than the best one is worth changing.
WORTH = 0.8

#: A coupon is to hold a piece that is right with at least this probability.
ENOUGH = 0.8

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
            remedy=_("put the file right or delete it"),
        )
    if any(step.template == "coupon_tile" for step in repair.steps):
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
                remedy=_("say the fit again"),
            )


def _judged(subject: Subject, fit: Fit, profile: Profile) -> Finding:
    repair = subject.repair
    step = repair.step(fit.step)
    how = printed_as(subject, fit.step, fit.field)
    belief = believed(repair, fit, profile, how)
    best = proposal(repair, fit, how, profile, belief)
    size = size_of(step, fit.field)
    chance = dict(zip(OUTCOMES, map(float, belief.expect(size)), strict=True))
    text = _(
        "{step}: {field} {size} mm is expected to leave {clearance} mm to its counterpart of "
        "{mating} mm ({kind} fit); it enters with a probability of {enters} % and is right with "
        "{right} %"
    ).format(
        step=fit.step,
        field=label(step, fit.field),
        size=number(size),
        clearance=number(belief.clearance(size)[0]),
        mating=number(fit.mating.value),
        kind=_(fit.kind),
        enters=number(100 * (1 - chance["would not enter"]), 0),
        right=number(100 * chance["right"], 0),
    )
    fine = chance["right"] >= WORTH * best.probability and not _wrong(repair, fit, size, best.size)
    remedy = (
        _("print a coupon, or print the part, try it and note how it went")
        if fine
        else _("set {field} to {size} mm, which is right with a probability of {right} %").format(
            field=label(step, fit.field),
            size=number(best.size),
            right=number(100 * best.probability, 0),
        )
    )
    return Finding(
        severity="note" if fine else "warning",
        rule="fit",
        where=fit.step,
        text=text,
        number=round(chance["right"], 4),
        limit=round(best.probability, 4),
        remedy=remedy,
        source=SOURCE,
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
            "A piece is right with a probability of {right} %, likeliest that of {size} mm "
            "(counterpart {mating} mm, {kind} fit)"
        ).format(
            right=number(100 * right, 0),
            size=number(likeliest),
            mating=number(fit.mating.value),
            kind=_(fit.kind),
        ),
        number=round(right, 4),
        limit=ENOUGH,
        remedy=""
        if enough
        else _("choose offsets about {size} mm").format(size=number(belief.best(0.01, 500)[0])),
        source=SOURCE,
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
    size: str
    fit: str
    right: str
    proposal: Proposal

    #: What stands above the columns up to the proposal.
    HEADINGS = ("step", "size", "set to", "fit", "right with")


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
                _("{size} mm").format(size=number(size)),
                _("{kind} fit to {mating} mm").format(
                    kind=_(fit.kind), mating=number(fit.mating.value)
                ),
                _("{right} %").format(
                    right=number(100 * belief.expect(size)[OUTCOMES.index("right")], 0)
                ),
                proposal(repair, fit, how, known, belief),
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
            _("{size} mm").format(size=number(trial.set_to)),
            "–" if trial.measured is None else _("{size} mm").format(size=number(trial.measured)),
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
