"""What a solved sketch is: the outline, its uncertainty, and what to say about it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.derived import Derived
from workbench.measure.outlines.outline import Outline
from workbench.measure.outlines.path import signed_area
from workbench.measure.outlines.stretch import Stretch
from workbench.measure.sketches import alternatives, solution_report
from workbench.measure.sketches.adjust import Adjusted
from workbench.measure.sketches.outliers import Doubt, chance
from workbench.measure.sketches.sketch import Sketch
from workbench.measure.sketches.table_row import Row
from workbench.words import _, sized, with_unit


@dataclass(frozen=True, eq=False)
class Solution:
    """The outline that fits a sketch's readings best, and how far to trust it.

    The left end of the lowest side is at (0, 0) and its right end level with it.

    outline : the shape, rounds and arcs included, as an :class:`Outline`
    corners : name -> (2,) place in mm
    residuals : name -> reading minus what fits best, in mm or degrees
    uncertainty : corner -> standard uncertainty of its place, in mm, seen from the base
    suspect : name of the reading that disagrees, or None; the shape is then what the other
        readings say
    adjusted : the fit behind the shape
    everything : the fit of all readings, the suspect among them
    """

    sketch: Sketch
    adjusted: Adjusted = field(repr=False)
    everything: Adjusted = field(repr=False)
    doubt: Doubt

    # -- the shape ---------------------------------------------------------------------------

    @cached_property
    def corners(self) -> dict[str, np.ndarray]:
        """Name -> (2,) place of each corner in mm."""
        spots = self._spots()
        return {name: spots[i] for i, name in enumerate(self.sketch.corners)}

    @cached_property
    def outline(self) -> Outline:
        """The outline, with its rounds and arcs as they are."""
        radii, bows = self.radii, self._bows()
        spots = list(self.corners.items())
        outward = 1.0 if signed_area(np.array([spot for _name, spot in spots])) >= 0 else -1.0
        corners = []
        for i, (name, spot) in enumerate(spots):
            corner = [*spot, radii.get(name, 0.0)]
            if name in bows:
                _next, end = spots[(i + 1) % len(spots)]
                through = Stretch.bowed(spot, end, bows[name] * outward).through
                corner += [] if through is None else list(through)
            corners.append(corner)
        return Outline(corners)

    def _bows(self) -> dict[str, float]:
        """Of each side that is an arc, by the corner it starts from: its rise over half its chord."""
        sizes = self.adjusted.equations.arc_sizes(self.adjusted.x)
        bows = dict(self.sketch.bows)
        for name, read in sizes.items():
            a, b = name, self.sketch.neighbours(name)[1]
            half = math.dist(self.corners[a], self.corners[b]) / 2
            bows[name] = math.copysign(_bow(a, b, half, read, bows[name]), bows[name])
        return bows

    @cached_property
    def circles(self) -> dict[str, tuple[np.ndarray, float]]:
        """Name -> (2,) middle and diameter of each circle, in mm."""
        spots = self._spots()[len(self.sketch.corners) :]
        equations = self.adjusted.equations
        across = self.adjusted.x[equations.count :]
        return {name: (spots[i], float(across[i])) for i, name in enumerate(self.sketch.circles)}

    @cached_property
    def radii(self) -> dict[str, float]:
        """Name -> radius of each rounded corner, in mm."""
        arcs = self.adjusted.equations.arc_of(self.adjusted.x)
        return {name: radius for name, (_middle, radius) in arcs.items()}

    def _spots(self) -> np.ndarray:
        return self.adjusted.x[: self.adjusted.equations.count].reshape(-1, 2)

    # -- how far to trust it -----------------------------------------------------------------

    @cached_property
    def residuals(self) -> dict[str, float]:
        """Reading minus what fits best, by name, in mm or degrees; statements left out."""
        return self._by_name(self.adjusted.misfit)

    @cached_property
    def standardised(self) -> dict[str, float]:
        """Residuals over their own standard deviation: about -2 to 2 if all is well."""
        return self._by_name(self.adjusted.standardised)

    @cached_property
    def redundancy(self) -> dict[str, float]:
        """How much the other readings check each one: from 0, not at all, to 1."""
        return self._by_name(self.adjusted.redundancy)

    @cached_property
    def uncertainty(self) -> dict[str, float]:
        """Standard uncertainty of each corner's place, in mm, seen from the base."""
        return {name: math.sqrt(np.trace(self.covariance(name))) for name in self.sketch.corners}

    def covariance(self, corner: str) -> np.ndarray:
        """(2, 2) covariance of a corner's place, in mm²."""
        names = list(self.sketch.corners)
        if corner not in names:
            raise RepairError(
                _("there is no corner {name!r}; corners: {known}").format(
                    name=corner, known=gate.listed(names)
                )
            )
        i = 2 * names.index(corner)
        return self.adjusted.covariance[i : i + 2, i : i + 2]

    @property
    def chi_square(self) -> float:
        """Squared residuals over squared uncertainties, summed, of the best fit of all readings.

        About ``spare`` if all is well.
        """
        return self.everything.chi_square

    @property
    def spare(self) -> int:
        """How many readings there are more than needed (degrees of freedom)."""
        return self.everything.spare

    @cached_property
    def p_value(self) -> float:
        """How often readings that are all right would disagree at least so much."""
        return chance(self.chi_square, self.spare)

    @property
    def suspect(self) -> str | None:
        """Name of the reading whose removal restores agreement, or None; the first of two."""
        return self.doubt.suspect

    @property
    def suspects(self) -> tuple[str, ...]:
        """Names of the readings, none, one or two, whose removal restores agreement."""
        return self.doubt.suspects

    @property
    def undecided(self) -> tuple[str, ...]:
        """Readings of which one or two are wrong but which cannot be told apart."""
        return self.doubt.undecided

    @cached_property
    def widening(self) -> float:
        """By how much every uncertainty was widened because the readings scatter more than stated."""
        sigma = self.everything.equations.sigma
        return float(self.adjusted.equations.sigma[0] / sigma[0])

    @cached_property
    def unchecked(self) -> tuple[str, ...]:
        """Readings in which an error would hardly show, since little else checks them."""
        redundancy = self.redundancy
        rows = (row.name for row in self.sketch.rows if not row.exact)
        return tuple(name for name in rows if redundancy[name] < solution_report.WEAK)

    def alike(self, name: str) -> dict[str, float]:
        """How like each other reading's residual is to this one's: 1 cannot be told apart."""
        names = self.adjusted.equations.names
        self.sketch.row(name)
        return self._by_name(self.adjusted.with_all().alike(names.index(name)))

    def size(self, kind: str, where: str | Iterable[str] = "") -> Derived:
        """A size of the solved outline, read or not, with its uncertainty and where it is from.

        >>> from workbench.measure.sketches.solve import solve
        >>> sketch = Sketch({"A": (0, 0), "B": (4, 0), "C": (4, 3)})
        >>> for place, value in (("A B", 40), ("B C", 30), ("A C", 50)):
        ...     sketch = sketch.read("side", place, value)
        >>> print(solve(sketch).size("height", "B over A C"))
        height B over A C is 24.00 ± 0.03 mm, 52 % of the uncertainty from side B C
        """
        probe = Sketch(self.sketch.corners)
        probe.circles, probe.bows = self.sketch.circles, self.sketch.bows
        probe.read(kind, where, 45.0 if kind == "angle" else 1.0, rim="centre")
        row: Row = probe.rows[0]
        fitted, slopes = self.adjusted.equations.asking([row]).evaluate(self.adjusted.x)
        value = float(fitted[0])
        if kind == "angle" and len(row.where) == 1:
            value %= 360.0
        own = self.adjusted.contributions(slopes[0])
        named = zip(self.adjusted.equations.names, own, strict=True)
        contributions = {name: float(share) for name, share in named if share}
        return Derived(row.name, value, contributions, unit=row.measures)

    def _by_name(self, values: np.ndarray) -> dict[str, float]:
        equations = self.adjusted.equations
        return {
            name: float(value)
            for name, value, exact in zip(equations.names, values, equations.exact, strict=True)
            if not exact
        }

    # -- other shapes that fit ---------------------------------------------------------------

    @cached_property
    def alternatives(self) -> tuple[Solution, ...]:
        """Other outlines that fit the same readings as well, such as with a corner folded over.

        They are looked for when first asked for, and only where the readings agree, or what is left
        of them without those that are suspected. Each one's sketch is drawn as its shape is, so
        that solving it again finds that shape.
        """
        if chance(self.adjusted.chi_square, self.adjusted.spare) < solution_report.AGREES:
            return ()
        return tuple(
            Solution(self._drawn_as(other), other, other.with_all(), self.doubt)
            for other in alternatives.others(self.adjusted)
        )

    def _drawn_as(self, other: Adjusted) -> Sketch:
        points = other.equations.points
        spots = other.x[: other.equations.count].reshape(-1, 2)
        return self.sketch.drawn_as(dict(zip(points, spots, strict=True)))

    # -- in words ----------------------------------------------------------------------------

    @cached_property
    def lines(self) -> list[str]:
        """What there is to say, a sentence each, the most pressing first."""
        return solution_report.lines(self)

    def __str__(self) -> str:
        width, height = self.outline.size
        head = _("{corners} corners, {width} by {height}").format(
            corners=len(self.outline), width=sized(width), height=with_unit(height)
        )
        return "\n".join([head, *self.lines])


def _bow(a: str, b: str, half: float, read: Mapping[str, float], drawn: float) -> float:
    """Rise over half the chord of an arc whose radius or rise was read, in mm."""
    if "rise" in read:
        return read["rise"] / half
    radius = read["radius"]
    if radius < half * (1 - 1e-9):
        raise RepairError(
            _(
                "side {a} {b}: an arc of radius {radius} does not span {apart}; read its radius again, or its rise"
            ).format(a=a, b=b, radius=with_unit(radius), apart=with_unit(2 * half))
        )
    sagging = math.sqrt(max(0.0, radius**2 - half**2))
    return (radius + sagging if abs(drawn) > 1 else radius - sagging) / half
