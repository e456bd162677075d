"""What changes nothing: a cut that goes past the part, a rounding that finds no sharp edge."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from workbench.checks.report import Finding, Subject
from workbench.solids import kernel
from workbench.solids.build import build
from workbench.words import _, number

#: A cut that takes away less than this, in mm³, takes away nothing.
NOTHING = 1e-6


def misses(subject: Subject) -> Iterator[Finding]:
    """Each cut meets the material of some step that adds."""
    parts = subject.assembly.parts
    whole = [parts[step.name] for step in subject.repair.steps if not step.cuts]
    for step in subject.repair.steps:
        if step.cuts and not any(_meet(added, parts[step.name]) for added in whole):
            away = min(_apart(added, parts[step.name]) for added in whole)
            yield Finding(
                "warning",
                "cut misses",
                step.name,
                _("{step} cuts nothing away: it goes past the part, {away} mm off.").format(
                    step=step.name, away=number(away)
                ),
                away,
                0.0,
                "mm",
                remedy=_("Move it until it meets the part, or remove it."),
            )


def rounds_nothing(subject: Subject) -> Iterator[Finding]:
    """A rounding takes something away, or it is said why not."""
    repair = subject.repair
    if not repair.rounding:
        return
    sharp = build(repair.copy().round(0.0))
    if sharp.volume - subject.assembly.solid.volume <= NOTHING:
        yield Finding(
            "note",
            "rounding",
            repair.name,
            _(
                "The rounding of {radius} mm rounds nothing: it is for edges sharper than those "
                "of a box, which cut a hand; none is here."
            ).format(radius=number(repair.rounding)),
            remedy=_("Ease a box's edges with a step's own fillet or chamfer, or with a file."),
        )


def _meet(added: Any, tool: Any) -> bool:
    """Whether two shapes have a piece in common; the cheap question comes first."""
    (low, high), (from_, to) = kernel.extent([added.wrapped]), kernel.extent([tool.wrapped])
    if np.any(np.minimum(high, to) - np.maximum(low, from_) < 0):
        return False
    return _shared(added, tool) > NOTHING


def _shared(added: Any, tool: Any) -> float:
    left = sum(solid.volume for solid in kernel.difference([added], [tool]))
    return float(added.volume - left)


def _apart(added: Any, tool: Any) -> float:
    return float(added.distance_to(tool))
