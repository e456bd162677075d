"""What a trace found: an outline, its sides and its round holes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from workbench.measure.outlines.outline import Outline
from workbench.measure.sketches.sketch import Sketch, sketch_of
from workbench.words import _, uncertain_with_unit, with_unit

#: Relative standard uncertainty of a trace's scale that calipers are to settle: the part's upper
#: edge is nearer to the camera than the sheet, by its thickness over the camera's distance.
SCALE = 0.01

#: The same where the sheet's bar and the part's thickness were given: printers draw the paper's two
#: directions to scales of their own, and the bar tells one. Common practice, no source.
BAR_SCALE = 0.002


@dataclass(frozen=True)
class Side:
    """One edge of a traced outline: straight, or an arc with a radius; lengths in mm."""

    kind: str
    length: float
    uncertainty: float
    radius: float | None = None

    def __str__(self) -> str:
        if self.radius is None:
            told = _("straight side, {length}")
        else:
            told = _("arc of radius {radius}, {length} along it")
        return told.format(
            length=uncertain_with_unit(self.length, self.uncertainty),
            radius=with_unit(self.radius or 0.0, 1),
        )


@dataclass(frozen=True)
class Hole:
    """A round hole: its middle and diameter, in mm, and the diameter's standard uncertainty."""

    x: float
    y: float
    diameter: float
    uncertainty: float

    def __str__(self) -> str:
        return _("hole, {diameter} across").format(
            diameter=uncertain_with_unit(self.diameter, self.uncertainty)
        )


@dataclass(frozen=True, eq=False)
class Traced:
    """What a trace found.

    outline : in mm, its lowest and leftmost point's coordinates 0, with its arcs
    corners : (n, 2) where the edges meet, in mm; side k runs from corner k-1 to corner k
    sides : straight edges and arcs, in order
    holes : round holes
    border : (m, 2) every traced point, in mm
    notes : sentences for the person
    own : standard uncertainty of a corner's place that it shares with no other, in mm
    ways : (n, 2) each: what the corners share and readings settle, such as how far the edges are
        broken, as mm by which it may have moved them
    scale : relative standard uncertainty of the scale
    """

    outline: Outline
    corners: np.ndarray
    sides: tuple[Side, ...]
    holes: tuple[Hole, ...]
    border: np.ndarray
    notes: tuple[str, ...]
    own: float = 0.0
    ways: tuple[np.ndarray, ...] = ()
    scale: float = SCALE

    def sketch(self) -> Sketch:
        """A sketch with the traced corners, in which one or two caliper readings pull it to size.

        They settle what all corners share: the scale, and how far the edges are broken. An arc
        follows its ends. A disc is given four corners, so that A to C is its diameter.
        """
        if len(self.outline.path) != len(self.corners) or len(self.corners) < 3:
            worst = max(side.uncertainty for side in self.sides)
            return sketch_of(self.outline, uncertainty=max(worst, 0.005), scale=self.scale)
        return sketch_of(
            self.outline, uncertainty=max(self.own, 0.005), scale=self.scale, ways=self._in_order()
        )

    def _in_order(self) -> list[np.ndarray]:
        """The ways with their corners in the outline's order."""
        starts = np.array([stretch.start for stretch in self.outline.path])
        order = [int(np.hypot(*(self.corners - spot).T).argmin()) for spot in starts]
        return [way[order] for way in self.ways]
