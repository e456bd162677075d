"""Trials: what was printed and tried, and which size to set next."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from datetime import date
from itertools import pairwise
from pathlib import Path

from workbench import gate
from workbench.checks.fit.bias import ENTERING
from workbench.checks.fit.fits import Belief, Mating, Proposal, Tried, propose, told_window
from workbench.checks.fit.printed_size import Printed, field_of, limits, printed_as, size_of
from workbench.checks.fit.printer_profile import Profile, near, profile_of
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.measure.reading import parse_length
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import OUTCOMES, Fit, Trial
from workbench.solids.recipe.step import Step
from workbench.words import _, sized, with_unit

#: The revision under which the pieces of a coupon are logged.
COUPON = 0


def log_trial(
    repair: Repair,
    revision: int,
    step: str,
    field: str,
    outcome: str,
    measured: float | str | None = None,
    *,
    revisions: str | Path | Iterable[int] = (),
    note: str = "",
) -> Repair:
    """Note how a print of a revision went; the repair gets one more trial.

    revision : the number of the export that was printed
    step, field : the size that mattered, such as "foot", "thickness"
    outcome : "would not enter", "too tight", "right", "loose" or "fell out"
    measured : the printed size in mm, where it was measured
    revisions : the folder that holds ``revision-1`` and so on, from which the size that was set
        is read; or the numbers that exist, where the size set is the one that the repair has now

    Raises RepairError when there is no such revision, step, field or outcome, or ``measured``
    cannot be the printed size. Nothing is noted then.

    >>> divider = Repair("tray divider").add("tab", name="foot", thickness=2.3)
    >>> log_trial(divider, 1, "foot", "thickness", "too tight", 2.41, revisions=[1]).trials[0].set_to
    2.3
    """
    wanted = field_of(repair.step(step), field)
    printed = _revision(repair, revision, revisions)
    size = size_of(printed.step(step), field)
    return _logged(repair, revision, (step, wanted), size, outcome, measured, note)


def log_coupon(
    repair: Repair,
    step: str,
    field: str,
    size: float,
    outcome: str,
    measured: float | str | None = None,
) -> Repair:
    """Note how one piece of a coupon went in place; parameters as for :func:`log_trial`.

    size : of the piece in mm, as its raised figures say
    """
    wanted = field_of(repair.step(step), field)
    near(size_of(repair.step(step), field), size, _("{step}: coupon").format(step=step))
    return _logged(repair, COUPON, (step, wanted), size, outcome, measured, "")


def _logged(
    repair: Repair,
    revision: int,
    where: tuple[str, str],
    size: float,
    outcome: str,
    measured: float | str | None,
    note: str,
) -> Repair:
    step, field = where
    length = None if measured is None else parse_length(measured)
    if length is not None:
        near(size, length, f"{step}: {field}")
    trial = Trial(revision, step, field, outcome, size, length, note, date.today().isoformat())
    repair.trials = (*repair.trials, trial)
    return repair


def next_size(
    repair: Repair,
    step: str,
    field: str,
    profile: Profile | None = None,
    printed: Printed | None = None,
) -> Proposal:
    """The size to set next, from the counterpart's reading, the printer and the trials so far.

    step, field : a size with a fit (``repair.fit``)
    profile : what is known of the printer; by default what the user's data folder holds
    printed : how the size is printed, where that is known already

    Raises RepairError when no fit was said for the size, or the repair cannot be built.
    """
    fit = fit_of(repair, step, field)
    how = printed or printed_as(Subject.of(repair), step, field)
    known = profile or profile_of(repair.printer, repair.material)
    return proposal(repair, fit, how, known, believed(repair, fit, known, how))


def proposal(repair: Repair, fit: Fit, how: Printed, profile: Profile, belief: Belief) -> Proposal:
    """The size to set next for one fit, from what is believed of it (:func:`believed`)."""
    tried = tuple(trials_of(repair, fit.step, fit.field))
    because = [told_window(fit.kind, belief)]
    if tried:
        because.append(_told_trials(tried))
        if _disagree(tried, how.feature in ENTERING):
            because.append(_("these prints vary more than their sizes do: print one of them again"))
        if tried[-1].outcome == "right":
            size = tried[-1].set_to
            because.append(_("this one fitted: keep it"))
            return propose(belief, size, belief.expect(size), because)
    else:
        because.append(profile.told(how.feature, fit.mating.value, how.at_bed))
    step = repair.step(fit.step)
    low, high = limits(step, fit.field)
    size, each = belief.best(low, high)
    if size in (low, high):
        because.append(
            _("{field} of {step} can only be {low} to {high}").format(
                field=label(step, fit.field), step=fit.step, low=sized(low), high=with_unit(high)
            )
        )
    return propose(belief, size, each, because)


def believed(repair: Repair, fit: Fit, profile: Profile, how: Printed) -> Belief:
    """What is believed of one fit after its trials; the profile may hold them as well."""
    known = profile.without(group_of(repair, fit))
    belief = Belief(fit.kind, Mating.of(fit.mating), how.feature, known.bias, how.at_bed)
    for trial in trials_of(repair, fit.step, fit.field):
        belief.learn(Tried(trial.set_to, trial.outcome, trial.measured))
    return belief


def said_fit(repair: Repair, step: str, field: str) -> Fit | None:
    """The fit that was said for a size, or None."""
    wanted = field_of(repair.step(step), field)
    for fit in repair.fits:
        if fit.step == step and field_of(repair.step(step), fit.field) == wanted:
            return fit
    return None


def fit_of(repair: Repair, step: str, field: str) -> Fit:
    """The fit that was said for a size, or RepairError asking for it."""
    fit = said_fit(repair, step, field)
    if fit is not None:
        return fit
    raise RepairError(
        _(
            "{step}: {field} has no fit yet; measure what it goes into or onto, in mm, and save "
            "it with repair.fit({step!r}, {field!r}, reading)"
        ).format(step=step, field=field)
    )


def trials_of(repair: Repair, step: str, field: str) -> Iterator[Trial]:
    """The trials of one size, in the order in which they were noted."""
    wanted = field_of(repair.step(step), field)
    return (trial for trial in repair.trials if (trial.step, trial.field) == (step, wanted))


def label(step: Step, field: str) -> str:
    return step.said(field_of(step, field))


def _revision(repair: Repair, revision: int, revisions: str | Path | Iterable[int]) -> Repair:
    """The repair as it was exported, or RepairError where there is no such revision."""
    folder = Path(revisions) if isinstance(revisions, (str, Path)) else None
    known = sorted(_numbers(folder) if folder else revisions)  # type: ignore[arg-type]
    if isinstance(revision, bool) or revision not in known:
        raise RepairError(
            _("there is no revision {revision!r}; revisions: {known}").format(
                revision=revision, known=", ".join(map(str, known)) or _("none, export one first")
            )
        )
    if folder is None:
        return repair
    path = folder / f"revision-{revision}" / "record.json"
    try:
        stored = gate.json_file(path)
        return Repair.from_json(json.dumps(stored["repair"]))
    except (OSError, ValueError, KeyError, TypeError) as error:
        raise RepairError(
            _("{path} cannot be read ({reason}); choose another revision").format(
                path=path, reason=error
            )
        ) from None


def _numbers(folder: Path) -> Iterator[int]:
    for path in folder.glob("revision-*"):
        digits = path.name.removeprefix("revision-")
        if digits.isdecimal() and path.is_dir():
            yield int(digits)


def group_of(repair: Repair, fit: Fit) -> str:
    """What the observations against one counterpart share, in the profile."""
    return f"{repair.name}/{fit.step}.{field_of(repair.step(fit.step), fit.field)}"


def print_name(trial: Trial) -> str:
    if trial.revision == COUPON:
        return _("coupon")
    return _("revision {revision}").format(revision=trial.revision)


def _told_trials(tried: tuple[Trial, ...]) -> str:
    latest = tried[-4:]
    told = _("; ").join(
        _("{name} at {size}: {outcome}").format(
            name=print_name(trial),
            size=with_unit(trial.set_to),
            outcome=_(trial.outcome, "outcome"),
        )
        for trial in latest
    )
    return (
        told
        if len(latest) == len(tried)
        else _("the latest of {count}: {told}").format(count=len(tried), told=told)
    )


def _disagree(tried: tuple[Trial, ...], entering: bool) -> bool:
    """Whether a part that ought to be looser was tried and found tighter."""
    ranks = sorted((trial.set_to, OUTCOMES.index(trial.outcome)) for trial in tried)
    order = [rank for _size, rank in (reversed(ranks) if entering else ranks)]
    return any(later < earlier for earlier, later in pairwise(order))
