"""What a hand load does to the roots that carry it: that of the loaded step, and those that hold.

A load on a blade bends the blade at its root, and goes on through the foot that holds it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from workbench import data
from workbench.checks.fit.smallest_change import Lever, changes, sentence
from workbench.checks.report import Finding, Subject
from workbench.checks.strength import beams
from workbench.checks.strength.beam_model import (
    HOLDERS,
    Member,
    bending_stress,
    member,
    shear_stress,
)
from workbench.checks.strength.holding import beam, held_by, loaded_point, walls_of
from workbench.checks.strength.layer_strength import Grain, another_way, grain
from workbench.solids.build import frame
from workbench.solids.service import Load
from workbench.solids.step import Step
from workbench.words import _, number, with_unit

#: Strength over the stress that is allowed, for a load that comes once and for one that comes
#: again and again; for the latter a corner's own peak has to stay below the strength as well. Our
#: choice, no source.
MARGIN_ONCE, MARGIN_OFTEN = 1.5, 2.5

#: A bar sheared off holds this part of what it holds when pulled apart (von Mises).
SHEAR = 1 / math.sqrt(3)

#: The sizes that ease bending at the root, and which way.
_EASING = {
    "tab": (Lever("thickness", True), Lever("width", True), Lever("length", False)),
    "fin": (Lever("thickness", True),),
    "peg": (Lever("diameter", True), Lever("length", False)),
    "clip": (Lever("root_thickness", True), Lever("width", True)),
    "box": (Lever("depth", True), Lever("width", True), Lever("height", False)),
    "cylinder": (Lever("diameter", True), Lever("height", False)),
}


def under_load(subject: Subject, load: Load) -> Iterator[Finding]:
    """Findings for the loaded step and for each tab or peg through which the load is held."""
    step = subject.repair.step(load.step)
    own = beam(subject, step)
    holders = [
        other
        for other in subject.repair.steps
        if other.template in HOLDERS
        and not other.cuts
        and other.name != step.name
        and held_by(subject, other) == "bottom"
    ]
    if own is None:
        yield _not_checked(load, step, holders)
    else:
        yield from _Case(subject, load, step, own, loaded_point(subject, step), 1).findings()
    if step.template == "clip":  # its catch holds it: nothing goes on to the others
        return
    point = loaded_point(subject, step)
    for holder in holders:
        stands = beam(subject, holder)
        if stands is not None:
            yield from _Case(subject, load, holder, stands, point, len(holders)).findings()


@dataclass(frozen=True)
class _Case:
    """One load at one root.

    point : (3,) where the load acts on the bench, mm
    sharing : how many roots share it evenly
    """

    subject: Subject
    load: Load
    step: Step
    beam: Member
    point: np.ndarray
    sharing: int

    def findings(self) -> Iterator[Finding]:
        yield self._bending()
        if self.step.template == "peg":
            yield self._shear()

    def _bending(self) -> Finding:
        material, values = self._material, self.step.values
        full = material.strength * self._lie.ratio(material)
        walls = walls_of(self.subject, self.step)

        def demand(other: Mapping[str, Any]) -> float:
            """The stress, or what a corner makes of it where that alone reaches the strength."""
            corner = self._bent(other, walls) / self._margin if self.load.repeats else 0.0
            return max(self._bent(other), corner)

        found, corner = demand(values), self._bent(values, walls)
        plain = self._bent(values)
        text = _(
            "{cause} bends the {step}: {found} MPa at its root, where {limit} MPa is allowed, {grain}."
        ).format(**self._words(found, full / self._margin))
        if corner > 1.2 * plain:
            text += " " + _("The corner there raises it {times} times.").format(
                times=number(corner / plain, 1)
            )
        return self._judged(
            "root bending",
            text + self._give(),
            found,
            full / self._margin,
            breaks=plain > full,
            metric=demand,
            source=f"{beams.BEAM}; {beams.CORNER}",
            passes=lambda other, ratio: found <= other.strength * ratio / self._margin,
        )

    def _shear(self) -> Finding:
        found = self._sheared(self.step.values)
        full = self._material.strength * self._lie.ratio(self._material) * SHEAR
        text = _(
            "{cause} shears the {step}: {found} MPa at its root, where {limit} MPa is allowed, {grain}."
        ).format(**self._words(found, full / self._margin))
        return self._judged(
            "peg shear",
            text,
            found,
            full / self._margin,
            breaks=found > full,
            metric=self._sheared,
            source=_(
                "shear 4/3 F/A in a round, any handbook; strength over the root of 3 (von Mises)"
            ),
            passes=lambda other, ratio: found <= other.strength * ratio * SHEAR / self._margin,
        )

    def _judged(
        self,
        rule: str,
        text: str,
        found: float,
        limit: float,
        breaks: bool,
        metric: Callable[[Mapping[str, Any]], float],
        source: str,
        passes: Callable[[data.Material, float], bool],
    ) -> Finding:
        remedy = ""
        if found > limit:
            levers = [v for v in _EASING[self.step.template] if self._own or v.up]
            choices = changes(self.subject.repair, self.step, metric, limit, levers)
            remedy = sentence(choices + another_way(self.subject, self._lie, passes))
        if breaks:
            text += " " + _("It is expected to break.")
        margin = _("margin {margin}, our choice").format(margin=number(self._margin, 1))
        return Finding(
            severity="stop" if breaks else "warning" if found > limit else "note",
            rule=rule,
            where=self.step.name,
            text=text,
            number=found,
            limit=limit,
            unit="MPa",
            remedy=remedy,
            source=f"{source}; {self._material.cite('strength')}{self._lie.cite(self._material)}; {margin}",
        )

    def _bent(self, values: Mapping[str, Any], walls: tuple[float, float] | None = None) -> float:
        """Stress at the root with other values; with walls, at the corner there."""
        beam = self._beam(values)
        along_y = along_x = 1.0
        if walls is not None:
            fillet = max(beam.fillet, self.subject.printer.line_width / 2)
            wall_x, wall_y = (max(wall, beam.shoulder) for wall in walls)
            along_y = beams.concentration(beam.thickness, fillet, wall_y, beam.is_round)
            along_x = beams.concentration(beam.width, fillet, wall_x, beam.is_round)
        return bending_stress(beam.section, self._force, self._reach(beam), along_y, along_x)

    def _sheared(self, values: Mapping[str, Any]) -> float:
        return shear_stress(self._beam(values).section, self._force)

    def _beam(self, values: Mapping[str, Any]) -> Member:
        return member(self.step, held_by(self.subject, self.step), values) or self.beam

    def _give(self) -> str:
        """How far the end of a fin or a tab gives way, where the load is on it."""
        if not self._own or self.step.template not in ("fin", "tab", "box", "cylinder"):
            return ""
        x, y, _z = self._force
        section, length = self.beam.section, abs(self.beam.reach[2])
        give = math.hypot(
            beams.cantilever_deflection(y, length, self._material.modulus, section.inertia_along_y),
            beams.cantilever_deflection(x, length, self._material.modulus, section.inertia_along_x),
        )
        if give < 0.05:
            return ""
        if give > length / 3:
            return " " + _("It gives way farther than the formula reaches.")
        return " " + _("Its end gives way by {give}.").format(give=with_unit(give, 1))

    def _words(self, found: float, limit: float) -> dict[str, Any]:
        if self._own:
            cause = _("{force} N").format(force=number(self.load.force, 1))
        elif self.sharing > 1:
            cause = _("{force} N on the {loaded}, shared by {count},").format(
                force=number(self.load.force, 1), loaded=self.load.step, count=self.sharing
            )
        else:
            cause = _("{force} N on the {loaded}").format(
                force=number(self.load.force, 1), loaded=self.load.step
            )
        return {
            "cause": cause,
            "step": self.step.name,
            "found": number(found, 1),
            "limit": number(limit, 1),
            "grain": self._lie,
        }

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

    def _reach(self, beam: Member) -> np.ndarray:
        """(3,) from the middle of the root to the load, in the step's own axes, mm."""
        if self._own:
            return np.array(beam.reach)
        where = frame(self.subject.repair, self.step.name)
        return where[:3, :3].T @ (self.point - where[:3, 3]) - np.array(beam.root)


def _not_checked(load: Load, step: Step, holders: list[Step]) -> Finding:
    text = _(
        "No formula here fits a {template} held like the {step}, so what {force} N does to it is not checked."
    ).format(step=step.name, template=step.template.replace("_", " "), force=number(load.force, 1))
    if holders:
        names = ", ".join(holder.name for holder in holders)
        text += " " + _("Only what holds it is: {names}.").format(names=names)
    return Finding(
        severity="note",
        rule="load not checked",
        where=step.name,
        text=text,
        number=load.force,
        limit=None,
        unit="N",
        remedy=_("Try it by hand with twice the load before you rely on it."),
    )
