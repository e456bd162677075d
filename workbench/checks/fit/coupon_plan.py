"""What to try with a coupon, and how to use it."""

from __future__ import annotations

import math

from workbench import gate
from workbench.checks.fit.coupon import LARGEST, OFFSETS, coupon_printed, sizes_of, triable
from workbench.checks.fit.fits import window
from workbench.checks.fit.printed_size import field_of, limits, printed_as, size_of
from workbench.checks.fit.printer_profile import Profile
from workbench.checks.fit.trials import next_size, said_fit
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.recipe.repair import Repair
from workbench.words import _


def coupon_sizes(repair: Repair) -> list[tuple[str, str]]:
    """Every (step, field) that a coupon can be made for; those with a fit come first."""
    listed = []
    for step in repair.steps:
        for parameter in catalogue.find(step.template).parameters:
            try:
                wanted = triable(step, parameter.name)
                sizes_of(step, wanted, [0.0])
            except RepairError:
                continue
            if (step.name, wanted) not in listed:
                listed.append((step.name, wanted))
    fitted = {(fit.step, field_of(repair.step(fit.step), fit.field)) for fit in repair.fits}
    return sorted(listed, key=lambda size: size not in fitted)


def named_size(repair: Repair, text: str | None = None) -> tuple[str, str]:
    """The (step, field) that "foot.thickness" names; the first that can be tried where not given.

    Raises RepairError when it names none, listing those that coupons can be made for.
    """
    known = coupon_sizes(repair)
    if text is None and known:
        return known[0]
    step, _dot, field = (text or "").rpartition(".")
    step = step_called(repair, step)
    named = next((s for s in repair.steps if s.name == step), None)
    field = {named.said(f): f for s, f in known if named and s == step}.get(field, field)
    if not step or not field or (named and field not in named.values):
        raise RepairError(
            _("size is {text!r}; name a step and its size, one of {known}").format(
                text=text or "", known=gate.listed(f"{s}.{f}" for s, f in known) or _("none")
            )
        )
    return step, field


def step_called(repair: Repair, name: str) -> str:
    """The step of that name, where a shipped template has it in the user's language."""
    own = _(name, "step")
    return own if own in (step.name for step in repair.steps) else name


def fitting_offsets(
    repair: Repair, step: str, field: str, profile: Profile | None = None
) -> tuple[float, ...]:
    """Five offsets in mm about the size that is likeliest to fit, or about the present one.

    They are as far apart as leaves no gap between what one piece and the next would fit.
    """
    found = repair.step(step)
    fit = said_fit(repair, step, field)
    if fit is None:
        return OFFSETS
    proposal = next_size(repair, step, field, profile)
    at = window(fit.kind, fit.mating.value)
    rung = max(0.05, 0.05 * math.floor(0.7 * (at.high - at.low) / 0.05))
    middle = 0.05 * round(proposal.size / 0.05)
    low, high = limits(found, field)[0], min(limits(found, field)[1], LARGEST)
    sizes = [min(max(middle + n * rung, low), high) for n in (-2, -1, 0, 1, 2)]
    return tuple(sorted({round(size - size_of(found, field), 2) for size in sizes}))


def coupon_note(repair: Repair, step: str, field: str) -> str:
    """How to print and use the coupon, in words for its sheet."""
    subject = Subject.of(repair)
    part, comb = printed_as(subject, step, field), coupon_printed(subject, step, field)
    if part.feature == comb.feature == "height":
        lies = _("The size being tried runs up through the layers, as in the part.")
    elif part.feature == comb.feature:
        lies = _("The size being tried lies level, as in the part.")
    else:
        lies = _(
            "The size being tried lies level here but not in the part, which may differ by half a layer."
        )
    spread = _("In the part this edge lies on the bed and spreads: file it before you compare.")
    texts = [
        _("Print it as it stands, without supports."),
        lies,
        spread if part.at_bed and not comb.at_bed else "",
        _("Snap the pieces apart; the notches count them, the figures give their size in mm."),
        _("Measure each, try each in place, and note how it went."),
    ]
    return " ".join(text for text in texts if text)
