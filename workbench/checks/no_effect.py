"""What changes nothing: a step that leaves the part as it was, a rounding without a sharp edge; and
what nobody sees, a cut that comes out nowhere."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import partial
from typing import Any

import numpy as np

from workbench.checks.effects import HALF, NOTHING, Effect, effects
from workbench.checks.fix import Fix
from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.solids.building.build import sharp
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.step import Step
from workbench.words import _, number, with_unit

ADDS, AWAY, TAKES = "adds nothing", "is cut away", "cut takes nothing away"
CLOSED = "closed hollow"


def no_effect(subject: Subject) -> Iterator[Finding]:
    """Each step changes the part, and more than half of what it does is still there at the end."""
    for effect in effects(subject, HALF):
        told = _cut(subject, effect) if effect.step.cuts else _added(subject, effect)
        if told is not None:
            yield told


def _added(subject: Subject, effect: Effect) -> Finding | None:
    name = effect.step.name
    taking = [step for step in effect.below if step.cuts]
    cuts = _names(taking)
    share = effect.left / effect.own
    # A room or a bore is seated on what it hollows out, or on what that sits on.
    place = effect.step.place
    under = (name, place.step if isinstance(place, Seat) else name)
    meant = all(isinstance(cut.place, Seat) and cut.place.step in under for cut in taking)
    if effect.nothing and (share > HALF or not cuts):
        others = [step for step in (*effect.above, *effect.below) if not step.cuts]
        text = _("{step} adds nothing: it lies inside {others}.")
        remedy = _("Make it larger, move it, or remove it.")
        text = text.format(step=name, others=_names(others))
        return _finding(ADDS, name, text, 0.0, remedy, fix=_without(subject, name))
    if effect.nothing or (share < HALF and not meant and not effect.hollow):
        text = _("{step} is cut away: {share} % of it is left after {cuts}.")
        if effect.nothing:
            text = _("{step} is cut away: nothing of it is left after {cuts}.")
        percent = 100 * share
        text = text.format(step=name, cuts=cuts, share=number(percent, 0))
        remedy = _("If it should stand in the cut, move it below the cut in the list.")
        return _finding(AWAY, name, text, percent, remedy, gone=effect.nothing)
    return None


def _cut(subject: Subject, effect: Effect) -> Finding | None:
    name = effect.step.name
    fill = _names(step for step in effect.below if not step.cuts)
    below = _("To cut through them, move the cut below them in the list.")
    if not effect.nothing:
        if effect.left >= HALF * effect.first or effect.hollow or not fill:
            return None
        percent = 100 * (1 - effect.left / effect.first)
        text = _("{share} % of what {step} takes away is filled again by {others}.")
        text = text.format(step=name, others=fill, share=number(percent, 0))
        return _finding(TAKES, name, text, percent, below, gone=False)
    if effect.first > NOTHING and fill:
        text = _("{step} takes nothing away: it is filled again by {others}, below it in the list.")
        return _finding(TAKES, name, text.format(step=name, others=fill), 0.0, below)
    if any(not step.cuts for step in effect.above):
        text = _("{step} takes nothing away: {cuts} took all of it first.")
        cuts = _names(step for step in effect.above if step.cuts)
        text = text.format(step=name, cuts=cuts)
        return _finding(TAKES, name, text, 0.0, _("Remove it."), fix=_without(subject, name))
    if fill:
        text = _(
            "{step} takes nothing away: it stands above {others} in the list, and a cut takes "
            "from what stands above it."
        )
        return _finding(TAKES, name, text.format(step=name, others=fill), 0.0, below)
    away = _off(subject, effect.step)
    text = _("{step} takes nothing away: it misses the part by {away}.")
    if with_unit(away) == with_unit(0.0):
        text = _("{step} takes nothing away: it only touches the part.")
    remedy = _("Move it until it meets the part, or remove it.")
    text = text.format(step=name, away=with_unit(away))
    return _finding(TAKES, name, text, away, remedy, unit="mm", fix=_without(subject, name))


def _finding(
    rule: str,
    where: str,
    text: str,
    found: float,
    remedy: str,
    gone: bool = True,
    unit: str = "%",
    fix: Fix | None = None,
) -> Finding:
    return Finding(
        severity="warning" if gone else "note",
        rule=rule,
        where=where,
        text=text,
        number=found,
        limit=0.0 if unit == "mm" else 100 * HALF,
        unit=unit,
        remedy=remedy,
        fix=fix,
    )


def _without(subject: Subject, name: str) -> Fix | None:
    """The fix that removes a step, where nothing sits on it."""
    places = (step.place for step in subject.repair.steps)
    held = any(isinstance(place, Seat) and place.step == name for place in places)
    return None if held else {"steps": {name: None}}


def _names(steps: Iterable[Step]) -> str:
    return ", ".join(step.name for step in steps)


def _off(subject: Subject, cut: Step) -> float:
    """How far a cut is from the nearest step that adds, in mm."""
    parts: dict[str, Any] = subject.assembly.parts
    added = (parts[step.name] for step in subject.repair.steps if not step.cuts)
    return min(float(shape.distance_to(parts[cut.name])) for shape in added)


def comes_out_nowhere(subject: Subject) -> Iterator[Finding]:
    """A cut reaches a side of the part, or leaves a hollow that nothing gets into."""
    cuts = [step.name for step in subject.repair.steps if step.cuts]
    if not cuts or subject.repair.loose:  # what is loose may lie in a room of its own
        return
    for faces, holds in subject.shells:
        if holds >= 0:
            continue
        name = min(cuts, key=partial(_beyond, subject, subject.mesh[0][faces.ravel()]))
        yield Finding(
            severity="warning",
            rule=CLOSED,
            where=name,
            text=_("{step} comes out nowhere: it leaves a closed hollow inside.").format(step=name),
            number=-holds,
            limit=0.0,
            unit="mm³",
            remedy=_("Move it until it comes out at a side, make it longer, or remove it."),
            fix=_without(subject, name),
        )


def _beyond(subject: Subject, corners: np.ndarray, cut: str) -> float:
    """How far corners (n, 3) lie beyond the box round a cut, in mm."""
    tool = subject.part_mesh(cut)[0]
    return float(np.maximum(tool.min(axis=0) - corners, corners - tool.max(axis=0)).max())


def rounds_nothing(subject: Subject) -> Iterator[Finding]:
    """A rounding takes something away, or it is said why not."""
    repair = subject.repair
    if not repair.rounding:
        return
    if sharp(repair).volume - subject.assembly.solid.volume <= NOTHING:
        yield Finding(
            severity="note",
            rule="rounding",
            where=repair.name,
            text=_(
                "The rounding of {radius} rounds nothing: it is only for edges sharper than a "
                "box's, which can cut a hand, and this part has none."
            ).format(radius=with_unit(repair.rounding)),
            remedy=_(
                "To ease the edges of a box, use its step's own fillet or chamfer, or a file."
            ),
        )
