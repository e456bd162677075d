"""What a hand load does to the roots that carry it: that of the loaded step, and those that hold.

A load on a blade bends the blade at its root, and goes on through the foot that holds it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import Any

import numpy as np

from workbench import data
from workbench.checks.fit.printed_size import measured
from workbench.checks.fit.smallest_change import Change, Lever, advice, changes
from workbench.checks.fix import Fix
from workbench.checks.layers.layer_analysis import INFILL, WALLS
from workbench.checks.report import Finding
from workbench.checks.strength import beams
from workbench.checks.strength.beam_model import (
    Cut,
    Level,
    Member,
    bending_stress,
    member,
    shear_stress,
)
from workbench.checks.strength.holding import (
    beam,
    carriers,
    cuts_of,
    held_by,
    loaded_point,
    necked,
    walls_of,
)
from workbench.checks.strength.layer_strength import Grain, another_way, grain
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.building.build import frame
from workbench.solids.facts import Facts, facts_of
from workbench.solids.parameters import Size
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.service import Load
from workbench.solids.recipe.step import Step
from workbench.words import _, number, with_unit

#: Strength over the stress that is allowed, for a load that comes once and for one that comes
#: again and again; for the latter a corner's own peak has to stay below the strength as well. Our
#: choice, no source.
MARGIN_ONCE, MARGIN_OFTEN = 1.5, 2.5

#: Newtons to a kilogram.
GRAVITY = 9.81

#: Less than this is none, in MPa. Our choice.
_NO_STRESS = 1e-3

#: A force that acts no farther than this beside the root only pulls or pushes, in mm. Our choice.
_NO_LEVER = 0.1

#: A bar sheared off holds this part of what it holds when pulled apart (von Mises).
SHEAR = 1 / math.sqrt(3)


def under_load(subject: Subject, load: Load) -> Iterator[Finding]:
    """Findings for the loaded step, for each that it sits on, and for each tab or peg through
    which the load is held."""
    repair = subject.repair
    step = repair.step(load.step)
    own, point = beam(subject, step), loaded_point(subject, step)
    through = carriers(subject, step)
    holders = [
        other
        for other in repair.steps
        if facts_of(other.template).holds
        and not other.cuts
        and other not in (step, *through)
        and held_by(subject, other) == "bottom"
    ]
    springs = facts_of(step.template).springs  # its catch holds it: nothing goes on to the others
    beams_of = {} if springs else {other.name: beam(subject, other) for other in through}
    seated = [other for other in through if isinstance(other.place, Seat)]
    unknown = [other for other in seated if other.name in beams_of and not beams_of[other.name]]
    if own is None or unknown:
        sure = [*(other for other in through if beams_of.get(other.name)), *holders]
        yield _not_checked(load, step if own is None else unknown[0], sure if own is None else [])
    if own is not None:
        yield from _Case(subject, load, step, own, point, 1).findings()
    child = step
    for other in through:
        stands = beams_of.get(other.name)
        if stands is not None:
            seat = frame(repair, child.name)[:3, 3]
            yield from _Case(subject, load, other, stands, point, 1, seat).findings()
        elif (
            not isinstance(other.place, Seat) and own is not None and necked(subject, other, child)
        ):
            yield _not_checked(load, other, [])
        child = other
    for holder in () if springs else holders:
        stands = beam(subject, holder)
        if stands is not None:
            yield from _Case(subject, load, holder, stands, point, len(holders)).findings()


@dataclass(frozen=True)
class _Case:
    """One load at one root.

    point : (3,) where the load acts on the bench, mm
    sharing : how many roots share it evenly
    seat : (3,) where the load comes into a step that it goes through, on the bench, mm
    """

    subject: Subject
    load: Load
    step: Step
    beam: Member
    point: np.ndarray
    sharing: int
    seat: np.ndarray | None = None

    def findings(self) -> Iterator[Finding]:
        yield self._bending()
        if self._round_holder and self._sheared(self.step.values) > _NO_STRESS:
            yield self._shear()
        yield from self._buckling()

    @property
    def _round_holder(self) -> bool:
        return self._facts.holds and self.beam.root.is_round

    def _buckling(self) -> Iterator[Finding]:
        """A post that is pressed along itself and gives way sideways."""
        pressed = -float(self._force[2] * np.sign(self.beam.reach[2]))
        if pressed <= 0 or self._facts.springs or (self._facts.holds and not self._stands_free):
            return
        weak = self._material.span("modulus")[0]

        def share(values: Mapping[str, Any]) -> float:
            """Of the force at which it buckles."""
            beam = self._beam(values)
            length = abs(float((self._point(beam) - beam.root.middle)[2]))
            least = min(beam.root.section.inertia_along_x, beam.root.section.inertia_along_y)
            return pressed / beams.buckling_force(length, weak, least)

        found = share(self.step.values)
        if found <= 1 / self._margin:
            return
        eased = changes(self.subject.repair, self.step, share, 1 / self._margin, self._levers())
        remedy, fix = advice(self.step, eased)
        yield Finding(
            severity="stop" if found > 1 else "warning",
            rule="buckling",
            where=self.step.name,
            text=_(
                "{cause}, pressed along the {step}, may buckle it: it gives way at {limit} N."
            ).format(cause=self._cause(), step=self.step.name, limit=number(pressed / found, 0)),
            number=pressed,
            limit=pressed / found / self._margin,
            unit="N",
            remedy=remedy,
            fix=fix,
            source=f"{beams.BUCKLING}; {self._material.cite('modulus')}",
        )

    def _bending(self) -> Finding:
        full = self._full
        walls = walls_of(self.subject, self.step)

        found, plain = self._demand(self.step.values), self._bent(self.step.values)
        corner = self._bent(self.step.values, walls)
        raised = ""
        if corner > 1.2 * plain:
            raised = " " + _("The corner there raises it {times} times.").format(
                times=number(corner / plain, 1)
            )
        return self._judged(
            "root bending",
            _("bends") if self._lever > _NO_LEVER else _("loads"),
            found,
            full / self._margin,
            breaks=plain > full,
            metric=_Case._demand,
            more=raised,
            source=f"{beams.BEAM}; {beams.CORNER}; {beams.TWIST}",
            share=1.0,
        )

    def _shear(self) -> Finding:
        full = self._full * SHEAR
        found = self._sheared(self.step.values)
        return self._judged(
            "peg shear",
            _("shears"),
            found,
            full / self._margin,
            breaks=found > full,
            metric=_Case._sheared,
            source=_(
                "shear 4/3 F/A in a round, any handbook; strength over the root of 3 (von Mises)"
            ),
            share=SHEAR,
        )

    def _judged(
        self,
        rule: str,
        does: str,
        found: float,
        limit: float,
        breaks: bool,
        metric: Callable[[_Case, Mapping[str, Any]], float],
        source: str,
        share: float,
        more: str = "",
    ) -> Finding:
        """share : of the strength in tension that it has against this; more : to be said"""
        material, ratio = self._material, self._lie.ratio(self._material)
        words = {
            "step": self.step.name,
            "cause": self._cause(),
            "does": does,
            "lever": with_unit(self._lever, 1),
            "found": number(found, 1),
            "limit": number(limit, 1),
            "low": number(share * ratio * material.span("strength")[0], 1),
            "high": number(share * self._lie.best(material) * material.span("strength")[1], 1),
            "grain": self._lie,
            "times": number(share * self._full / found if found else math.inf, 1),
        }
        holds = found <= limit
        text = (
            _("{step} holds {cause} {times} times over, {lever} from its root, {grain}.")
            if holds
            else _(
                "{cause}, {lever} from its root, {does} the {step}: {found} MPa where {limit} MPa is allowed, {grain}; it breaks at {low} to {high} MPa."
            )
        ).format(**words)
        text += more
        if breaks:
            text += " " + _("It is expected to break.")
        margin = _("margin {margin}, our choice").format(margin=number(self._margin, 1))
        section = _("section of {walls} walls and {infill} % infill").format(
            walls=WALLS, infill=number(100 * INFILL, 0)
        )
        remedy, fix = ("", None) if holds else self._eased(metric, found, limit, share)
        return Finding(
            severity="stop" if breaks else "note" if holds else "warning",
            rule=rule,
            where=self.step.name,
            text=text + self._give(),
            number=found,
            limit=limit,
            unit="MPa",
            remedy=remedy,
            source=f"{source}; {material.cite('strength')}{self._lie.cite(material)}; {section}; {margin}",
            fix=fix,
            passed=holds,
        )

    def _eased(
        self,
        metric: Callable[[_Case, Mapping[str, Any]], float],
        found: float,
        limit: float,
        share: float,
    ) -> tuple[str, Fix | None]:
        """What to change, in words, and the first of it as a fix."""

        def passes(other: data.Material, ratio: float) -> bool:
            return found <= other.span("strength")[0] * ratio * share / self._margin

        def holds(change: Change) -> bool:
            values = {**self.step.values, change.field: change.value}
            return metric(self._built_with(values), values) <= limit

        eased = changes(
            self.subject.repair, self.step, partial(metric, self), limit, self._levers()
        )
        if self._cuts:
            eased = eased.where(holds)
        other = another_way(self.subject, self._lie, passes)
        return advice(self.step, eased, other)

    def _built_with(self, values: Mapping[str, Any]) -> _Case:
        """The case with other values of its step, whose cuts may go along with what they sit on."""
        try:
            repair = self.subject.repair.copy().change(self.step.name, **values)
            subject = Subject.of(repair)
            step, loaded = repair.step(self.step.name), repair.step(self.load.step)
            stands, point = beam(subject, step), loaded_point(subject, loaded)
        except RepairError:  # a size that cannot be
            return self
        return replace(self, subject=subject, step=step, beam=stands or self.beam, point=point)

    def _levers(self) -> list[Lever]:
        """The sizes that ease bending: across the root larger, and along the beam, where the
        load is its own, smaller."""
        found = []
        for parameter in catalogue.find(self.step.template).parameters:
            if not isinstance(parameter.kind, Size) or parameter.kind.unit != "mm":
                continue
            what = measured(self.step, parameter.name)
            if self._facts.springs:
                if parameter.name in ("root_thickness", "width"):
                    found.append(Lever(parameter.name, True))
            elif what.inside or not what.square:
                continue
            elif what.round or what.axis in (0, 1):
                found.append(Lever(parameter.name, True))
            elif self._own:
                found.append(Lever(parameter.name, False))
        return found

    def _demand(self, values: Mapping[str, Any]) -> float:
        """The stress, or what a corner makes of it where that alone reaches the strength."""
        corner = 0.0
        if self.load.repeats:
            corner = self._bent(values, walls_of(self.subject, self.step)) / self._margin
        return max(self._bent(values), corner)

    def _bent(self, values: Mapping[str, Any], walls: tuple[float, float] | None = None) -> float:
        """Greatest stress along the beam with other values; with walls, at its corners."""
        beam = self._beam(values)
        point = self._point(beam)
        worst = 0.0
        for place, level in enumerate(self._levels_of(beam)):
            along_y = along_x = 1.0
            steps = level.shoulder != (0.0, 0.0)
            if walls is not None and (place == 0 or steps):
                fillet = max(
                    beam.fillet if place == 0 else 0.0, self.subject.printer.line_width / 2
                )
                wall_x, wall_y = level.shoulder if steps else walls
                along_y = beams.concentration(level.thickness, fillet, wall_y, level.is_round)
                along_x = beams.concentration(level.width, fillet, wall_x, level.is_round)
            reach = point - level.middle
            stress = bending_stress(level.section, self._force, reach, along_y, along_x)
            if self._stands_free or (self.sharing == 1 and not level.is_round):
                torque = abs(float(np.cross(reach, self._force)[2]))
                stress = math.hypot(stress, torque / level.twist_modulus / SHEAR)
            if not self._round_holder:
                stress = max(stress, shear_stress(level.section, self._force) / SHEAR)
            worst = max(worst, stress)
        return worst

    def _levels_of(self, beam: Member) -> tuple[Level, ...]:
        """Where the beam is looked at: all along it, as far as the load goes through it."""
        if self._own:
            return beam.levels
        if self.seat is None:
            return beam.neck
        where = frame(self.subject.repair, self.step.name)
        return beam.up_to(float(where[:3, 2] @ (self.seat - where[:3, 3])))

    @property
    def _stands_free(self) -> bool:
        """Whether nothing is round it: it is loaded itself, or the load goes through it."""
        return self._own or self.seat is not None

    def _sheared(self, values: Mapping[str, Any]) -> float:
        levels = self._beam(values).neck
        return max(shear_stress(level.section, self._force) for level in levels)

    def _beam(self, values: Mapping[str, Any]) -> Member:
        line = self.subject.printer.line_width
        held = held_by(self.subject, self.step)
        return member(self.step, line, held, values, self._cuts) or self.beam

    @cached_property
    def _cuts(self) -> tuple[Cut, ...]:
        return cuts_of(self.subject, self.step)

    def _give(self) -> str:
        """How far the end of a beam gives way, where the load is on it."""
        if not self._own or self._facts.springs or (self._facts.holds and self.beam.root.is_round):
            return ""
        x, y, _z = self._force
        along, weak = abs(float(self.beam.reach[2])), self._material.span("modulus")[0]
        levels = [
            (abs(one.middle[2] - self.beam.root.middle[2]), one.section) for one in self.beam.levels
        ]
        stiff_y = beams.even_inertia(along, [(z, at.inertia_along_y) for z, at in levels])
        stiff_x = beams.even_inertia(along, [(z, at.inertia_along_x) for z, at in levels])
        give = math.hypot(
            beams.cantilever_deflection(y, along, weak, stiff_y),
            beams.cantilever_deflection(x, along, weak, stiff_x),
        )
        if give < 0.05:
            return ""
        if give > along / 3:
            return " " + _("It bends farther than the formula covers.")
        return " " + _("Its end bends by up to {give}.").format(give=with_unit(give, 1))

    def _cause(self) -> str:
        force = number(self.load.force, 1)
        if self._own:
            return _("{force} N").format(force=force)
        if self.sharing > 1:
            return _("{force} N on the {loaded}, shared by {count}").format(
                force=force, loaded=self.load.step, count=self.sharing
            )
        return _("{force} N on the {loaded}").format(force=force, loaded=self.load.step)

    @property
    def _lever(self) -> float:
        """How far the load acts from the root, square to its own direction, in mm."""
        reach = self._point(self.beam) - self.beam.root.middle
        way = self._force / np.linalg.norm(self._force)
        return float(np.linalg.norm(reach - (reach @ way) * way))

    @property
    def _full(self) -> float:
        """What the weakest filament of the table bears, as it is laid, in MPa."""
        return self._material.span("strength")[0] * self._lie.ratio(self._material)

    @cached_property
    def _facts(self) -> Facts:
        return facts_of(self.step.template)

    @property
    def _material(self) -> data.Material:
        return self.subject.material

    @property
    def _margin(self) -> float:
        return MARGIN_OFTEN if self.load.repeats else MARGIN_ONCE

    @property
    def _own(self) -> bool:
        return self.load.step == self.step.name

    @cached_property
    def _lie(self) -> Grain:
        return grain(self.subject, self.step)

    @cached_property
    def _force(self) -> np.ndarray:
        """(3,) in the step's own axes, N."""
        direction = np.array(self.load.direction) / np.linalg.norm(self.load.direction)
        turn = frame(self.subject.repair, self.step.name)[:3, :3]
        return turn.T @ direction * self.load.force / self.sharing

    def _point(self, beam: Member) -> np.ndarray:
        """(3,) where the load acts, in the step's own axes, mm."""
        if self._own:
            return np.array(beam.end)
        where = frame(self.subject.repair, self.step.name)
        return np.asarray(where[:3, :3].T @ (self.point - where[:3, 3]))


def _not_checked(load: Load, step: Step, holders: list[Step]) -> Finding:
    text = _("Not checked: whether the {step} holds {force} N ({mass} kg).").format(
        step=step.name, force=number(load.force, 1), mass=number(load.force / GRAVITY, 1)
    )
    if holders:
        names = ", ".join(holder.name for holder in holders)
        text += " " + _("Only what holds it was checked: {names}.").format(names=names)
    return Finding(
        severity="warning",
        rule="load not checked",
        where=step.name,
        text=text,
        number=load.force,
        limit=None,
        unit="N",
        remedy=_("Try it by hand with twice the load before you rely on it."),
    )
