"""One way up, judged by the minutes that it is likely to cost.

Printing, taking the support off, printing again when it falls over or breaks at a layer, and
touching up a side that shows. The figures behind them are in plain units.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.layer_analysis import SUPPORT, layers_of
from workbench.checks.layers.overhang_patches import ANGLE, SLACK
from workbench.checks.layers.slices import mass
from workbench.checks.orientation.candidates import ON_BED, Facets, candidates
from workbench.checks.orientation.print_cost import Figures, figures_of, rough
from workbench.checks.orientation.side_names import SIDES, lies_flat, name_of
from workbench.checks.orientation.step_at_point import steps_at
from workbench.checks.strength import beams
from workbench.errors import RepairError
from workbench.overtaken import leave_if_overtaken
from workbench.solids.building.build import frame
from workbench.solids.facts import facts_of
from workbench.solids.lay import unit

if TYPE_CHECKING:
    from workbench.checks.subject import Subject

#: The direction of the part, as it stands, that lies on the bed.
Down = tuple[float, float, float]

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
        self.fits = {fit.step for fit in subject.repair.fits} | {
            step.name for step in subject.repair.steps if facts_of(step.template).holds
        }
        self.fits -= {step.name for step in subject.repair.steps if step.cuts}
        self.facets = Facets.of(self.vertices, self.faces)
        self.centre = mass(self.vertices, self.faces)[1]

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
        leave_if_overtaken()
        found = rough(self.facets, self.subject.corners, down, self.printer, self.centre)
        return self.of(found, self._fits_below(found.down))

    def closely(self, down: Sequence[float]) -> Orientation:
        """Judge a direction layer by layer, or roughly where that cannot be sliced."""
        leave_if_overtaken()
        try:
            found = figures_of(layers_of(self.subject, down), self.printer, self.material)
        except RepairError:
            return self.rough(down)
        return self.of(found)

    def of(self, found: Figures, fits: Sequence[str] | None = None) -> Orientation:
        """Judge an orientation by its figures, and by the steps that fit something and hang."""
        ratios = self._ratios(found.down)
        broken = sum((1 - ratio) * pull.weight for ratio, pull in ratios)
        least, weakest = min(
            ((ratio, pull.step) for ratio, pull in ratios), default=(1.0, ""), key=lambda r: r[0]
        )
        facing = self.facets.normals @ unit(found.down)
        spoilt = self._spoilt(found.down, facing)
        stepped = self._stepped(facing)
        fits = self._fits_touched(found) if fits is None else fits
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
            + UNDERSIDE * self._undersides(facing) / 100
            + FIT_WORK * len(fits)
            + (NO_ROOM if found.turn is None else 0.0),
            rough_fits=tuple(fits),
            flat=lies_flat(found),
            chosen=self.chosen is not None
            and float(np.dot(unit(self.chosen), found.down)) > 1 - 1e-9,
        )

    def _fits_touched(self, found: Figures) -> list[str]:
        """Steps with a fit, tabs and pegs among them, that hang and so are touched by support."""
        if not self.fits:
            return []
        places = [region.place for region in found.hanging if region.area > TOUCHED]
        return sorted(self.fits & set(steps_at(self.subject, found.down, places)))

    def _fits_below(self, down: Sequence[float]) -> list[str]:
        """The same from the triangles that lie where the step is."""
        if not self.fits:
            return []
        hanging = self._hanging(down, self.facets.normals @ unit(down))
        return sorted(
            name for name, mine in self._near_fits.items() if hanging[mine].sum() > TOUCHED
        )

    @cached_property
    def _near_fits(self) -> dict[str, np.ndarray]:
        """The triangles that lie in the box round each step that fits something."""
        middles = self.facets.corners.mean(axis=1)
        return {
            name: np.flatnonzero(
                ((middles >= low - ON_BED) & (middles <= high + ON_BED)).all(axis=1)
            )
            for name, (low, high) in zip(*self.subject.part_boxes, strict=True)
            if name in self.fits
        }

    def _hanging(self, down: Sequence[float], facing: np.ndarray) -> np.ndarray:
        """(m,) area of each triangle, seen from above, where support would touch it."""
        depth = self.facets.along(unit(down))
        on_bed = depth.min(axis=0) > depth.max() - ON_BED
        hangs = (facing > np.sin(np.radians(ANGLE + SLACK))) & ~on_bed
        return np.where(hangs, self.facets.areas * facing, 0.0)

    def _ratios(self, down: Sequence[float]) -> list[tuple[float, Pull]]:
        """What is left of the strength of each loaded stretch."""
        axes = np.array([pull.axis for pull in self.pulls]).reshape(-1, 3)
        slopes = np.degrees(np.arcsin(np.minimum(np.abs(axes @ down), 1.0))).tolist()
        left = {slope: beams.strength_ratio(self.material.across, slope) for slope in set(slopes)}
        return [(left[slope], pull) for slope, pull in zip(slopes, self.pulls, strict=True)]

    def _stepped(self, facing: np.ndarray) -> float:
        """Area of faces between 1 and 20 degrees from level, up or down."""
        level = np.abs(facing)
        nearly = (level > np.cos(np.radians(20))) & (level < np.cos(np.radians(1)))
        return float(self.facets.areas[nearly].sum())

    def _undersides(self, facing: np.ndarray) -> float:
        """Area of faces that look down by 15 to 45 degrees; a curved wall that stands is none."""
        leans = (facing > np.sin(np.radians(15))) & (facing < np.sin(np.radians(ANGLE + SLACK)))
        return float(self.facets.areas[leans].sum())

    def _spoilt(self, down: Sequence[float], facing: np.ndarray) -> float:
        """Area of the sides that show which support touches, or which slope so gently that
        layers show as steps; what lies on the bed stays clean."""
        if not self.shows:
            return 0.0
        touched = self._hanging(down, facing) > 0
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
