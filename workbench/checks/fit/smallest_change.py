"""The smallest change that passes, found as a root and not by trial."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from workbench.checks.fix import Fix, resized
from workbench.solids import catalogue
from workbench.solids.parameters import Size, Template
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.step import Step
from workbench.words import _, number, with_unit

#: Changes beyond these parts of the present size are no small change. Our choice.
_MOST, _LEAST = 2.5, 0.3

Metric = Callable[[Mapping[str, Any]], float]


@dataclass(frozen=True)
class Change:
    """One size, as it is and as it has to be, in the size's own steps."""

    field: str
    now: float
    value: float

    @property
    def share(self) -> float:
        """How large the change is, as a part of the present size."""
        return abs(self.value - self.now) / abs(self.now) if self.now else math.inf


@dataclass(frozen=True)
class Lever:
    """A size that may be changed: which way it helps, and how far it may go."""

    field: str
    up: bool
    limit: float = math.nan


def smallest_change(
    template: Template, values: Mapping[str, Any], metric: Metric, limit: float, lever: Lever
) -> Change | None:
    """The nearest value of one size with which ``metric(values)`` is within ``limit``.

    The size stays within the template's range and the lever's own limit, and is rounded to the
    template's step, away from the present value. None where no such value does it.
    """
    from scipy.optimize import brentq

    size = template.parameter(lever.field).kind
    if not isinstance(size, Size):
        return None
    now = float(values[lever.field])
    # The far end and the answer are whole steps, as a person would set them.
    end = _rounded(_far_end(size, lever, now), size.step, not lever.up)
    if (end <= now) if lever.up else (end >= now):
        return None

    def excess(amount: float) -> float:
        return metric({**values, lever.field: amount}) - limit

    if excess(now) <= 0:
        return Change(lever.field, now, now)
    if excess(end) > 0:
        return None
    value = _rounded(float(brentq(excess, now, end, xtol=1e-9)), size.step, lever.up)
    if excess(value) > 0:  # the root lay a hair on the wrong side of a step
        value = round(value + math.copysign(size.step, end - now), 6)
    return Change(lever.field, now, value)


def smallest_changes(
    template: Template,
    values: Mapping[str, Any],
    metric: Metric,
    limit: float,
    levers: Iterable[Lever],
) -> list[Change]:
    """The smallest change of each size that passes by itself, the least change first."""
    found = (smallest_change(template, values, metric, limit, lever) for lever in levers)
    return sorted((change for change in found if change), key=lambda change: change.share)


def in_words(change: Change, step: str = "", field: str = "") -> str:
    """The change as a phrase; sizes without a name of their own are called after the step.

    step, field : what step and size are called

    >>> in_words(Change("root_thickness", 2.0, 1.7)), in_words(Change("width", 20, 23), "foot")
    ('root 0.3 mm thinner (1.7 mm)', 'foot 3 mm wider (23 mm)')
    """
    texts = {
        "length": (_("{step} {by} longer ({value})"), _("{step} {by} shorter ({value})")),
        "width": (_("{step} {by} wider ({value})"), _("{step} {by} narrower ({value})")),
        "height": (_("{step} {by} longer ({value})"), _("{step} {by} shorter ({value})")),
        "thickness": (_("{step} {by} thicker ({value})"), _("{step} {by} thinner ({value})")),
        "hook_depth": (_("hook {by} deeper ({value})"), _("hook {by} shallower ({value})")),
        "root_thickness": (_("root {by} thicker ({value})"), _("root {by} thinner ({value})")),
        "tip_thickness": (_("tip {by} thicker ({value})"), _("tip {by} thinner ({value})")),
        "root_fillet": (
            _("root fillet {by} larger ({value})"),
            _("root fillet {by} smaller ({value})"),
        ),
    }
    texts["lead_in_angle"] = (
        _("lead-in angle {by}° larger ({value}°)"),
        _("lead-in angle {by}° smaller ({value}°)"),
    )
    texts["diameter"] = texts["depth"] = texts["thickness"]
    other = (_("{field} {by} more ({value})"), _("{field} {by} less ({value})"))
    more, less = texts.get(change.field, other)
    written = number if change.field == "lead_in_angle" else with_unit
    return (more if change.value > change.now else less).format(
        step=step,
        field=field,
        by=written(abs(change.value - change.now)),
        value=written(change.value),
    )


@dataclass(frozen=True)
class Eased:
    """Changes that pass each by itself, the least first, and each in words."""

    changes: tuple[Change, ...]
    words: tuple[str, ...]

    def where(self, holds: Callable[[Change], bool]) -> Eased:
        """Those of which something holds."""
        kept = [pair for pair in zip(self.changes, self.words, strict=True) if holds(pair[0])]
        return Eased(tuple(pair[0] for pair in kept), tuple(pair[1] for pair in kept))


def changes(
    repair: Repair,
    step: Step,
    metric: Metric,
    limit: float,
    levers: Iterable[Lever],
    called: str = "",
) -> Eased:
    """The two smallest changes of a step that pass.

    A size that has to fit a counterpart is left alone as long as another does it. ``called`` is what the step is called in
    words, where its name will not do.
    """
    fitted = {fit.field for fit in repair.fits if fit.step == step.name}
    template = catalogue.find(step.template)
    found = smallest_changes(template, step.values, metric, limit, levers)
    free = [change for change in found if change.field not in fitted]
    name = called or step.name
    if free:
        kept, text = free[:2], "{change}"
    else:
        kept, text = found[:1], _("{change}, and its hole or slot with it")
    words = (in_words(change, name, step.said(change.field)) for change in kept)
    return Eased(tuple(kept), tuple(text.format(change=each) for each in words))


def advice(
    step: Step, eased: Eased, others: Sequence[tuple[str, Fix | None]] = ()
) -> tuple[str, Fix | None]:
    """What to change in one sentence, and the first of it that is an edit.

    others : more choices, each with its fix
    """
    fixes: list[Fix | None] = [
        resized(step.name, **{change.field: change.value}) for change in eased.changes
    ]
    fixes += [fix for _text, fix in others]
    words = [*eased.words, *(text for text, _fix in others)]
    return sentence(words), next((fix for fix in fixes if fix), None)


def sentence(choices: Iterable[str]) -> str:
    """The choices as one sentence; without any, what is left to do.

    >>> sentence(["arm 2.4 mm longer", "root 0.3 mm thinner"])
    'Arm 2.4 mm longer, or root 0.3 mm thinner.'
    """
    text = _(", or ").join(choices)
    if not text:
        return _("Changing one size is not enough: change two, or the material.")
    return text[:1].upper() + text[1:] + "."


def _far_end(size: Size, lever: Lever, now: float) -> float:
    """How far a size may go: to the lever's own limit, else so many times what it is."""
    if lever.up:
        return min(size.high, now * _MOST if math.isnan(lever.limit) else lever.limit)
    return max(size.low, now * _LEAST if math.isnan(lever.limit) else lever.limit)


def _rounded(value: float, step: float, up: bool) -> float:
    steps = value / step
    count = math.ceil(steps - 1e-6) if up else math.floor(steps + 1e-6)
    return round(count * step, 6)
