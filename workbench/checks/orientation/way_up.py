"""One way up, judged by the minutes that it is likely to cost.

Printing, taking the support off, printing again when it falls over or breaks at a layer, and
touching up a side that shows. The figures behind them are in plain units.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.layer_analysis import SUPPORT
from workbench.checks.layers.overhang_patches import ANGLE, SLACK
from workbench.checks.layers.slices import mass
from workbench.checks.orientation.candidates import ON_BED, Facets, candidates
from workbench.checks.orientation.print_cost import Figures, figures, rough
from workbench.checks.orientation.side_names import SIDES, lies_flat, name_of
from workbench.checks.orientation.step_at_point import step_at
from workbench.checks.strength import beams
from workbench.errors import RepairError
from workbench.solids.build import frame
from workbench.solids.facts import facts_of
from workbench.solids.lay import unit

if TYPE_CHECKING:
    from workbench.checks.report import Subject

#: Minutes lost when a part breaks in use: another evening's printing and fitting. A guess.
BREAKS = 60.0

#: Minutes to touch up each cm² of a side that shows: a guess.
TOUCH_UP = 3.0

#: Minutes to smooth each cm² of a face that is nearly but not quite level: a guess.
STEPS = 1.0

#: Minutes to smooth each cm² of an underside that leans out but needs no support, such as that of
#: a countersink whose heads look down: a guess.
UNDERSIDE = 1.0

#: Minutes to bring a step that fits something back to size where support touched it: a guess.
FIT_WORK = 10.0

#: Less than this of a fitting step is soon sanded, in mm². Our choice.
TOUCHED = 5.0

#: What an orientation costs that does not fit the bed: more than any that does, in minutes.
NO_ROOM = 1e6

#: What an unmarked part that is made to bend or hold counts for, against a marked load. Our choice.
_UNMARKED = 0.25


@dataclass(frozen=True)
class Pull:
    """A stretch of the part that is loaded along ``axis``: what it is, and how much it counts."""

    step: str
    axis: tuple[float, float, float]
    weight: float
    marked: bool


@dataclass(frozen=True)
class Orientation:
    """One way up, judged.

    down : the direction, as the part stands, that lies on the bed
    name : in words, such as "laid flat on its back"
    rank : 1 is the best
    figures : in plain units
    grams : of support
    strength : least strength left at a loaded step, as a part of that along the layers
    weakest : the step where that is, or "" where nothing is loaded
    spoilt : area of the sides that show that support touches or layers step, in mm²
    stepped : area of faces that are nearly level, on which layers show as steps, in mm²
    rough_fits : the steps that fit something and that support would touch
    minutes : that it is likely to cost in all
    flat : whether it lies low for its size
    chosen : whether the user chose it
    reasons : for and against it, in sentences
    """

    down: tuple[float, float, float]
    name: str
    rank: int
    figures: Figures = field(repr=False)
    grams: float
    strength: float
    weakest: str
    spoilt: float
    stepped: float
    rough_fits: tuple[str, ...]
    minutes: float
    flat: bool
    chosen: bool = False
    reasons: tuple[str, ...] = ()


class Judge:
    """What the orientations of one repair are judged by: its loads, sides that show, material."""

    def __init__(self, subject: Subject) -> None:
        self.vertices, self.faces = subject.mesh
        self.printer = subject.printer
        self.material = subject.material
        self.subject = subject
        self.pulls = pulls(subject)
        self.shows = subject.repair.shows
        self.chosen = subject.repair.down
        self.facets = Facets.of(self.vertices, self.faces)
        self.volume, self.centre = mass(self.vertices, self.faces)

    def candidates(self, most: int) -> list[tuple[float, float, float]]:
        """Directions to try, the user's own among them."""
        found = candidates(self.vertices, self.faces, most)
        if self.chosen is not None:
            x, y, z = unit(self.chosen)
            own = (float(x), float(y), float(z))
            found = [own, *(down for down in found if np.dot(down, own) < 1 - 1e-9)]
        return found

    def rough(self, down: Sequence[float]) -> Orientation:
        """Judge a direction from the triangles alone."""
        return self.of(
            rough(self.facets, self.vertices, down, self.printer, self.volume, self.centre)
        )

    def closely(self, down: Sequence[float]) -> Orientation:
        """Judge a direction layer by layer, or roughly where that cannot be sliced."""
        try:
            return self.of(figures(self.vertices, self.faces, down, self.printer, self.material))
        except RepairError:
            return self.rough(down)

    def of(self, found: Figures) -> Orientation:
        """Judge an orientation by its figures."""
        ratios = [(self._ratio(pull, found.down), pull) for pull in self.pulls]
        broken = sum((1 - ratio) * pull.weight for ratio, pull in ratios)
        least, weakest = min(
            ((ratio, pull.step) for ratio, pull in ratios), default=(1.0, ""), key=lambda r: r[0]
        )
        spoilt = self._spoilt(found.down)
        stepped = self._stepped(found.down)
        fits = self._fits_touched(found)
        tries = 1 / (1 - found.risk)
        return Orientation(
            down=found.down,
            name=name_of(found),
            rank=0,
            figures=found,
            grams=found.support * SUPPORT * self.material.density / 1000,
            strength=least,
            weakest=weakest,
            spoilt=spoilt,
            stepped=stepped,
            minutes=(found.minutes + found.cleaning) * tries
            + BREAKS * broken
            + TOUCH_UP * spoilt / 100
            + STEPS * stepped / 100
            + UNDERSIDE * self._undersides(found.down) / 100
            + FIT_WORK * len(fits)
            + (NO_ROOM if found.turn is None else 0.0),
            rough_fits=fits,
            flat=lies_flat(found),
            chosen=self.chosen is not None
            and float(np.dot(unit(self.chosen), found.down)) > 1 - 1e-9,
        )

    def _fits_touched(self, found: Figures) -> tuple[str, ...]:
        """Steps with a fit, tabs and pegs among them, that hang and so are touched by support."""
        repair = self.subject.repair
        fits = {fit.step for fit in repair.fits}
        fits |= {
            step.name for step in repair.steps if facts_of(step.template).holds and not step.cuts
        }
        if not fits:
            return ()
        hanging = {
            step_at(self.subject, found.down, region.place)
            for region in found.hanging
            if region.area > TOUCHED
        }
        return tuple(sorted(fits & hanging))

    def _ratio(self, pull: Pull, down: Sequence[float]) -> float:
        across = min(1.0, abs(float(np.dot(pull.axis, down))))
        return beams.strength_ratio(self.material.across, float(np.degrees(np.arcsin(across))))

    def _stepped(self, down: Sequence[float]) -> float:
        """Area of faces between 1 and 20 degrees from level, up or down."""
        level = np.abs(self.facets.normals @ unit(down))
        nearly = (level > np.cos(np.radians(20))) & (level < np.cos(np.radians(1)))
        return float(self.facets.areas[nearly].sum())

    def _undersides(self, down: Sequence[float]) -> float:
        """Area of faces that look down by 15 to 45 degrees; a curved wall that stands is none."""
        facing = self.facets.normals @ unit(down)
        leans = (facing > np.sin(np.radians(15))) & (facing < np.sin(np.radians(ANGLE + SLACK)))
        return float(self.facets.areas[leans].sum())

    def _spoilt(self, down: Sequence[float]) -> float:
        """Area of the sides that show which support touches, or which slope so gently that
        layers show as steps; what lies on the bed stays clean."""
        if not self.shows:
            return 0.0
        facing = self.facets.normals @ unit(down)
        depth = self.facets.corners @ unit(down)
        on_bed = depth.min(axis=1) > depth.max() - ON_BED
        touched = (facing > np.sin(np.radians(ANGLE + SLACK))) & ~on_bed
        steps = (facing < -np.sin(np.radians(45))) & (facing > -np.cos(np.radians(2)))
        seen = np.zeros(len(facing), dtype=bool)
        for side in self.shows:
            seen |= self.facets.normals @ np.array(SIDES[side]) > np.cos(np.radians(30))
        return float(self.facets.areas[seen & touched].sum()) + float(
            self.facets.areas[seen & steps].sum() / 2
        )


def pulls(subject: Subject) -> tuple[Pull, ...]:
    """What is loaded: each step with a marked load, the tabs and pegs that hold it, and, less,
    arms and tongues without one. A step is loaded along the way it stands out from its root; a
    plate, which has none, along its longer side."""
    repair = subject.repair
    marked = {load.step for load in repair.loads}
    found = []
    for step in repair.steps:
        if step.cuts:
            continue
        known = facts_of(step.template)
        holds = known.holds
        if step.name in marked or (marked and holds):
            found.append(Pull(step.name, _axis(subject, step.name), 1.0, True))
        elif known.springs or holds:
            found.append(Pull(step.name, _axis(subject, step.name), _UNMARKED, False))
    return tuple(found)


def _axis(subject: Subject, step: str) -> tuple[float, float, float]:
    axes = frame(subject.repair, step)[:3, :3]
    along = 2
    if facts_of(subject.repair.step(step).template).lies:
        width, height, _thickness = np.ptp(subject.part_mesh(step)[0] @ axes, axis=0)
        along = int(height > width)
    x, y, z = axes[:, along]
    return float(x), float(y), float(z)
