"""Will it hold: the strain of a clip, and what a hand load does to a tab, a fin or a peg.

The formulas are in :mod:`workbench.checks.strength.beams`. Printed plastic scatters, so limits are kept
well below what a data sheet says, and every finding shows its number, its limit and its source.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import Any

from workbench import data, gate
from workbench.checks.fit.smallest_change import Lever, advice, changes
from workbench.checks.fix import Fix
from workbench.checks.report import Finding
from workbench.checks.strength import beams
from workbench.checks.strength.beam_model import sunk
from workbench.checks.strength.hand_load import under_load
from workbench.checks.strength.layer_strength import Grain, another_way, grain
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids.facts import facts_of
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.step import Step
from workbench.words import _, number

#: Strain beyond this many times the strain allowed once is expected to break the arm. Our choice.
BREAKS = 2.0

#: An arm shorter than this many root thicknesses is no slender beam any more: 3D elasticity gives
#: it less strain and less force than the formula (tests/outside/test_strength_elasticity.py).
#: Our choice.
SLENDER = 3.0

#: Stress concentration at a clip's root that a fillet should not let it exceed. Our choice.
CORNER = 1.5

#: More than this to push a clip home is hard by hand, in N. Our choice, no source.
HARD_PUSH = 80.0


def strength(subject: Subject) -> Iterator[Finding]:
    """Everything about springing, bending and shearing.

    Raises RepairError when a load is on a step that is not there, or on one that cuts.
    """
    refuse_loads(subject.repair)
    for step in subject.repair.steps:
        springs = facts_of(step.template).springs and not step.cuts
        if springs and step.values["length"] > sunk(step):
            yield from _clip(subject, step)
    for load in subject.repair.loads:
        yield from under_load(subject, load)


# -- clips ------------------------------------------------------------------------------------


def _clip(subject: Subject, step: Step) -> Iterator[Finding]:
    values, material = step.values, subject.material
    once = _loaded_once(subject, step)
    lie = grain(subject, step)
    strain = 100 * _arm_strain(values, sunk(step))
    key = "strain_once" if once else "strain_often"
    limit = getattr(material, key) * lie.ratio(material)
    how_often = _("once") if once else _("again and again")
    source = f"{beams.SNAP}; {material.cite(key)}{lie.cite(material)}"
    text = _(
        "Snapping over stretches the arm of the {step} by {strain} %, where {limit} % is allowed {how_often}, {grain}."
    ).format(
        step=step.name, strain=number(strain), limit=number(limit), how_often=how_often, grain=lie
    )
    if values["length"] - sunk(step) < SLENDER * values["root_thickness"]:
        text += " " + _("The arm is short for this formula, which then reads too high.")
    broken = strain > BREAKS * material.strain_once * lie.ratio(material)
    holds = strain <= limit
    remedy, fix = ("", None) if holds else _softer_clip(subject, step, limit, key, lie)
    yield Finding(
        severity="stop" if broken else "note" if holds else "warning",
        rule="clip strain",
        where=step.name,
        text=text + (" " + _("It is expected to break.") if broken else ""),
        number=strain,
        limit=limit,
        unit="%",
        remedy=remedy,
        source=source,
        fix=fix,
        passed=holds,
    )
    yield _clip_forces(subject, step)
    yield from _clip_corner(subject, step)


def _arm_strain(values: Mapping[str, Any], depth: float) -> float:
    return beams.arm_strain(
        values["hook_depth"],
        values["length"] - depth,
        values["root_thickness"],
        values["tip_thickness"],
    )


def _softer_clip(
    subject: Subject, step: Step, limit: float, key: str, lie: Grain
) -> tuple[str, Fix | None]:
    lines = 2 * subject.printer.line_width
    levers = [
        Lever("length", up=True),
        Lever("root_thickness", up=False, limit=max(step.values["tip_thickness"], lines)),
        Lever("hook_depth", up=False),
        Lever("tip_thickness", up=False, limit=lines),
    ]
    eased = changes(
        subject.repair,
        step,
        lambda v: 100 * _arm_strain(v, sunk(step)),
        limit,
        levers,
        called=_("arm"),
    )
    strain = 100 * _arm_strain(step.values, sunk(step))
    other = another_way(subject, lie, lambda other, ratio: strain <= getattr(other, key) * ratio)
    return advice(step, eased, other)


def _clip_forces(subject: Subject, step: Step) -> Finding:
    material = subject.material

    def push(values: Mapping[str, Any]) -> float:
        across = _across(values, sunk(step), material)
        return beams.sliding_force(across, values["lead_in_angle"], material.friction)

    on = push(step.values)
    across = _across(step.values, sunk(step), material)
    off = beams.sliding_force(across, step.values["return_angle"], material.friction)
    if math.isinf(off):
        held = _("it holds until the arm is bent back by hand")
    else:
        held = _("about {off} N to pull off").format(off=number(off, 0))
    levers = [Lever("lead_in_angle", up=False), Lever("width", up=False), Lever("length", up=True)]
    remedy, fix = "", None
    if on > HARD_PUSH:
        usable = levers[:1] if math.isinf(on) else levers
        eased = changes(subject.repair, step, push, HARD_PUSH, usable, called=_("arm"))
        remedy, fix = advice(step, eased)
    if math.isinf(on):
        jams = beams.locking_angle(material.friction)
        return Finding(
            severity="warning",
            rule="clip force",
            where=step.name,
            text=_(
                "The {step} jams as it is pushed home: its lead-in of {angle}° is too steep."
            ).format(step=step.name, angle=number(step.values["lead_in_angle"])),
            number=step.values["lead_in_angle"],
            limit=jams,
            unit="°",
            remedy=remedy,
            fix=fix,
            source=f"{beams.SNAP}; {material.cite('friction')}",
        )
    low, high = (number(on * bound / material.modulus, 0) for bound in material.span("modulus"))
    told = number(on, 0)
    if low != high:
        told = _("{on} ({low} to {high})").format(on=told, low=low, high=high)
    return Finding(
        severity="warning" if remedy else "note",
        rule="clip force",
        where=step.name,
        text=_("The {step} takes about {told} N to push home; {held}.").format(
            step=step.name, told=told, held=held
        ),
        number=on,
        limit=HARD_PUSH,
        unit="N",
        remedy=remedy,
        fix=fix,
        passed=not remedy,
        source=f"{beams.SNAP}; {material.cite('modulus')}; {material.cite('friction')}",
    )


def _across(values: Mapping[str, Any], depth: float, material: data.Material) -> float:
    """Force across the arm's end that bends it aside by the depth of its hook, in N."""
    return beams.arm_force(
        values["hook_depth"],
        values["length"] - depth,
        values["root_thickness"],
        values["tip_thickness"],
        values["width"],
        material.modulus,
    )


def _clip_corner(subject: Subject, step: Step) -> Iterator[Finding]:
    # The arm springs in the sketch plane, against a body taken as far thicker than the arm.
    def corner(values: Mapping[str, Any]) -> float:
        root = values["root_thickness"]
        fillet = max(values["root_fillet"], subject.printer.line_width / 2)
        return beams.concentration(root, fillet, 4 * root)

    found = corner(step.values)
    if found <= CORNER:
        return
    lever = Lever("root_fillet", up=True, limit=step.values["length"] / 2)
    remedy, fix = advice(step, changes(subject.repair, step, corner, CORNER, [lever]))
    yield Finding(
        severity="warning",
        rule="clip corner",
        where=step.name,
        text=_(
            "The corner at the root of the {step} raises the stress {found} times; keep it to {limit} times."
        ).format(step=step.name, found=number(found, 1), limit=number(CORNER, 1)),
        number=found,
        limit=CORNER,
        unit=_("times"),
        remedy=remedy,
        fix=fix,
        source=f"{beams.CORNER}; {_('limit: our choice, no source')}",
    )


def _loaded_once(subject: Subject, step: Step) -> bool:
    own = [load for load in subject.repair.loads if load.step == step.name]
    return bool(own) and not any(load.repeats for load in own)


def refuse_loads(repair: Repair) -> None:
    """Raise RepairError for a load on a step that is not there, or on one that cuts."""
    names = {step.name: step for step in repair.steps}
    for load in repair.loads:
        if load.step not in names:
            raise RepairError(
                _(
                    "load of {force} N is on {step!r}, which is not a step; put it on one of {known}"
                ).format(force=number(load.force), step=load.step, known=gate.listed(names))
            )
        if names[load.step].cuts:
            raise RepairError(
                _(
                    "load of {force} N is on {step}, which cuts away and carries nothing; put it on a step that adds"
                ).format(force=number(load.force), step=load.step)
            )
