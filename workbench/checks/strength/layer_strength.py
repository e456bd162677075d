"""How the layers lie to what pulls on a step, and what else would carry it."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from workbench import data
from workbench.checks.fix import Fix
from workbench.checks.orientation.orient import chosen_down, ways_up
from workbench.checks.strength import beams
from workbench.checks.subject import Subject
from workbench.solids.building.build import frame
from workbench.solids.recipe.step import Step
from workbench.words import _, number

#: Layers run along an axis that leans off them by less than this, as a sine (5 degrees).
#: Our choice.
ALONG = 0.087


@dataclass(frozen=True)
class Grain:
    """The layers against a pull along a step's axis.

    slope : between the pull and the layers, degrees: 0 along them, 90 square across them
    axis : (3,) the pull, as the repair stands
    """

    slope: float
    axis: tuple[float, float, float] = (0.0, 0.0, 1.0)

    def ratio(self, material: data.Material) -> float:
        """Strength that is left, as a part of that along the layers, of the worst filament."""
        return beams.strength_ratio(material.span("across")[0], self.slope)

    def best(self, material: data.Material) -> float:
        """The same of the best filament."""
        return beams.strength_ratio(material.span("across")[1], self.slope)

    def cite(self, material: data.Material) -> str:
        """Where the ratio comes from; nothing where the layers run along the pull."""
        if self.slope < 1:
            return ""
        return f"; {material.cite('across')}; {beams.OFF_AXIS}"

    def __str__(self) -> str:
        if self.slope < 5:
            return _("with layers along it")
        if self.slope > 85:
            return _("with layers across it")
        return _("with layers at {slope}° to it").format(slope=number(self.slope, 0))


def grain(subject: Subject, step: Step) -> Grain:
    """How the layers lie to a step's axis, for the side that is chosen to lie on the bed."""
    axis = frame(subject.repair, step.name)[:3, 2]
    down = np.array(chosen_down(subject), dtype=float)
    part = abs(axis @ down) / np.linalg.norm(down)
    x, y, z = (float(value) for value in axis)
    return Grain(math.degrees(math.asin(min(1.0, part))), (x, y, z))


def another_way(
    subject: Subject, found: Grain, passes: Callable[[data.Material, float], bool]
) -> list[tuple[str, Fix | None]]:
    """Another way to lay the part, or another material, where that alone is enough, with its fix.

    passes : of a material and the strength ratio of its layers
    """
    own = subject.material
    known = [m for m in data.materials().values() if m.modulus > own.modulus / 4]
    lay = _("laid so that its layers run along it")
    along = _laid_along(subject, found)
    choices: list[tuple[str, Fix | None]] = []
    if found.ratio(own) < 0.95 and passes(own, 1.0):
        choices.append((lay, along))
    better = [m.name for m in known if m.name != own.name and passes(m, found.ratio(m))]
    both = [m.name for m in known if m.name != own.name and passes(m, 1.0)]
    if better:
        choices.append((_("in {material}").format(material=better[0]), {"material": better[0]}))
    elif both and not choices:
        fix = None if along is None else {**along, "material": both[0]}
        choices.append((_("{lay} and in {material}").format(lay=lay, material=both[0]), fix))
    return choices


def _laid_along(subject: Subject, found: Grain) -> Fix | None:
    """The best way up in which the layers run along the step's axis."""
    for way in ways_up(subject):
        if abs(float(np.dot(way.down, found.axis))) < ALONG and way.figures.turn is not None:
            return {"down": list(way.down)}
    return None
