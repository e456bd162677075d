"""More readings than needed become the outline that fits them best."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np

from workbench.errors import RepairError
from workbench.measure import mirror
from workbench.measure.adjust import Adjusted, adjust, as_drawn
from workbench.measure.advice import Next, to_hold, to_tell_shapes_apart
from workbench.measure.derived import Derived, plus_minus
from workbench.measure.equations import Equations
from workbench.measure.outline import Outline
from workbench.measure.row import Row
from workbench.measure.sketch import Sketch
from workbench.measure.suspect import Doubt, chance, find_doubt
from workbench.words import _, number

#: Chance below which the readings as a whole do not agree.
AGREES = 0.01

#: Redundancy below which a gross error in a reading would hardly show.
WEAK = 0.1


class Undetermined(RepairError):
    """Too few readings: ``free`` corners can still move; ``take`` holds them."""

    def __init__(self, message: str, free: tuple[str, ...], take: tuple[Next, ...]) -> None:
        super().__init__(message)
        self.free = free
        self.take = take


@dataclass(frozen=True, eq=False)
class Solution:
    """The outline that fits a sketch's readings best, and how far to trust it.

    The left end of the lowest side is at (0, 0) and its right end level with it.

    outline : the sharp corners, as an :class:`Outline`
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
        """The outline with sharp corners."""
        return Outline(self._spots()[: len(self.sketch.corners)])

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

    def profile(self, deviation: float = 0.02) -> Outline:
        """The outline with its rounded corners as short straight sides.

        Parameters
        ----------
        deviation : greatest distance of a side from the arc, in mm

        Raises
        ------
        RepairError
            When two rounds do not fit on the side between them.
        """
        spots = list(self.corners.items())
        arcs = self.adjusted.equations.arc_of(self.adjusted.x)
        points: list[np.ndarray] = []
        for i, (name, spot) in enumerate(spots):
            if name not in arcs:
                points.append(spot)
                continue
            ends = [spots[i - 1][1], spots[(i + 1) % len(spots)][1]]
            points.extend(_arc_points(spot, *arcs[name], ends, deviation))
        self._refuse_long_arcs(arcs)
        # Where a round goes over into the next one, its last point is the other's first.
        kept = [
            p for p, before in zip(points, [points[-1], *points], strict=False) if _apart(p, before)
        ]
        return Outline(kept)

    def _refuse_long_arcs(self, arcs: Mapping[str, tuple[np.ndarray, float]]) -> None:
        spots = list(self.corners.items())
        for i, (name, spot) in enumerate(spots):
            other, end = spots[(i + 1) % len(spots)]
            side = math.dist(spot, end)
            along = (end - spot) / side
            used = sum(
                abs(float((arcs[corner][0] - place) @ along))
                for corner, place in ((name, spot), (other, end))
                if corner in arcs
            )
            if used > side + 1e-6:
                raise RepairError(
                    _(
                        "side {a} {b} is {side} mm, too short for its rounds; read their radii again"
                    ).format(a=name, b=other, side=number(side))
                )

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
                    name=corner, known=", ".join(names)
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
        """Name of the reading whose removal restores agreement, or None."""
        return self.doubt.suspect

    @property
    def undecided(self) -> tuple[str, ...]:
        """Readings of which one is wrong but which cannot be told apart."""
        return self.doubt.undecided

    @cached_property
    def unchecked(self) -> tuple[str, ...]:
        """Readings in which an error would hardly show, since little else checks them."""
        redundancy = self.redundancy
        rows = (row.name for row in self.sketch.rows if not row.exact)
        return tuple(name for name in rows if redundancy[name] < WEAK)

    def alike(self, name: str) -> dict[str, float]:
        """How like each other reading's residual is to this one's: 1 cannot be told apart."""
        names = self.adjusted.equations.names
        self.sketch.row(name)
        return self._by_name(self.adjusted.with_all().alike(names.index(name)))

    def size(self, kind: str, where: str | Iterable[str] = "") -> Derived:
        """A size of the solved outline, read or not, with its uncertainty and where it is from.

        >>> sketch = Sketch({"A": (0, 0), "B": (4, 0), "C": (4, 3)})
        >>> for place, value in (("A B", 40), ("B C", 30), ("A C", 50)):
        ...     sketch = sketch.read("side", place, value)
        >>> print(solve(sketch).size("height", "B over A C"))
        height B over A C is 24.00 ± 0.02 mm, 52 % of the doubt from side B C
        """
        probe = Sketch(self.sketch.corners)
        probe.circles = self.sketch.circles
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

        They are looked for when first asked for, and only where the readings agree.
        """
        if self.p_value < AGREES:
            return ()
        return tuple(
            Solution(self.sketch, other, other, Doubt()) for other in mirror.others(self.adjusted)
        )

    # -- in words ----------------------------------------------------------------------------

    @cached_property
    def lines(self) -> list[str]:
        """What there is to say, a sentence each, the most pressing first."""
        return [*self._disagreement(), *self._mirrors(), *self._checks()]

    def __str__(self) -> str:
        width, height = self.outline.size
        head = _("{corners} corners, {width} by {height} mm").format(
            corners=len(self.outline), width=number(width), height=number(height)
        )
        return "\n".join([head, *self.lines])

    def _disagreement(self) -> list[str]:
        doubt = self.doubt
        if doubt.suspect is not None:
            return [self._accusation(doubt)]
        if doubt.undecided:
            said = _("one of these is wrong, but they cannot be told apart: {names}").format(
                names=", ".join(doubt.undecided)
            )
            if doubt.settle is not None:
                said += _("; read {next} to settle it").format(next=doubt.settle)
            return [said]
        if self.p_value < AGREES:
            return [
                _(
                    "the readings disagree more than they should, and no single one stands out; "
                    "take the ones with the largest residuals again"
                )
            ]
        return []

    def _accusation(self, doubt: Doubt) -> str:
        row = next((r for r in self.sketch.rows if r.name == doubt.suspect), None)
        if row is None or not row.values or doubt.expected is None:
            said = _("{name} does not agree with the readings; check it").format(name=doubt.suspect)
        else:
            value, uncertainty = doubt.expected
            gap = "" if row.measures == "°" else " "
            said = _("take {name} again: it was read as {read}, the others say {expected}").format(
                name=row.name,
                read=f"{number(row.value)}{gap}{row.measures}",
                expected=plus_minus(value, uncertainty, row.measures),
            )
        if doubt.hint:
            said += f" ({doubt.hint})"
        if doubt.more:
            said += _("; the rest does not agree either")
        return said

    def _mirrors(self) -> list[str]:
        said = []
        for other in self.alternatives:
            told = to_tell_shapes_apart(self.adjusted.equations, self.adjusted.x, other.adjusted.x)
            if told is not None:
                said.append(
                    _(
                        "another shape fits as well: read {next}; it is {here} mm as drawn "
                        "and {there} mm in the other"
                    ).format(next=told[0], here=number(told[1]), there=number(told[2]))
                )
        return said

    def _checks(self) -> list[str]:
        if self.spare < 1:
            return [_("nothing checks these readings; take one or two more")]
        if self.unchecked:
            return [
                _("an error would not show in: {names}").format(names=", ".join(self.unchecked))
            ]
        return []


def solve(sketch: Sketch) -> Solution:
    """The outline that fits a sketch's readings best, by weighted least squares.

    Parameters
    ----------
    sketch : corners as drawn, and readings between them; see :meth:`Sketch.read`

    Returns
    -------
    Solution
        With ``outline``, ``residuals``, ``uncertainty`` of each corner, ``suspect`` and more.

    Raises
    ------
    Undetermined
        When corners are free to move: it says which, and what to read next.
    RepairError
        When there are fewer than 3 corners, statements contradict each other, or the outline
        that fits best crosses itself.

    >>> sketch = Sketch({"A": (0, 0), "B": (4, 0), "C": (4, 3)})
    >>> sketch = sketch.read("side", "AB", 40).read("side", "BC", 30).read("side", "AC", 50)
    >>> solution = solve(sketch)
    >>> round(solution.outline.area, 6), solution.suspect
    (600.0, None)
    """
    if not isinstance(sketch, Sketch):
        raise RepairError(_("solve takes a Sketch; make one with Sketch or sketch_of"))
    if len(sketch.corners) < 3:
        raise RepairError(
            _("sketch has {count} corners; draw at least 3").format(count=len(sketch.corners))
        )
    adjusted = adjust(Equations(sketch))
    _refuse_contradictions(adjusted)
    if adjusted.movable.shape[1]:
        adjusted = _flattened(adjusted)
    doubt = find_doubt(adjusted)
    solution = Solution(sketch, _without_suspect(adjusted, doubt), adjusted, doubt)
    solution.outline  # noqa: B018 - refuses an outline that crosses itself
    return solution


def _without_suspect(adjusted: Adjusted, doubt: Doubt) -> Adjusted:
    if doubt.suspect is None or doubt.x is None:
        return adjusted
    active = np.array([name != doubt.suspect for name in adjusted.equations.names])
    return adjust(adjusted.equations, doubt.x, active)


def _flattened(adjusted: Adjusted) -> Adjusted:
    """What to judge a sketch by that its own readings have pulled flat.

    Two sides too short to meet pull their corner onto a line; there it seems free to move,
    though the readings would hold it.
    """
    if as_drawn(adjusted.equations).movable.shape[1]:
        raise _undetermined(adjusted)
    held = adjusted.held()
    if find_doubt(held) == Doubt():
        off = np.abs(held.misfit) / held.equations.sigma
        names = [held.equations.names[i] for i in np.flatnonzero(off > 2)]
        if not names:
            raise _undetermined(adjusted)
        raise RepairError(
            _("these readings cannot all be true: {names}; take them again").format(
                names=", ".join(names)
            )
        )
    return held


def _refuse_contradictions(adjusted: Adjusted) -> None:
    equations = adjusted.equations
    off = np.abs(adjusted.misfit) * equations.exact
    if off.max(initial=0.0) > 1e-6:
        names = [equations.names[i] for i in np.flatnonzero(off > 1e-6)]
        raise RepairError(
            _("these cannot all be true: {names}; take one of them out").format(
                names=", ".join(names)
            )
        )


def _undetermined(adjusted: Adjusted) -> Undetermined:
    equations = adjusted.equations
    moves = np.hypot.reduce(adjusted.movable, axis=1)
    spots = np.hypot.reduce(moves[: equations.count].reshape(-1, 2), axis=1)
    free = tuple(
        name for name, move in zip(equations.points, spots, strict=True) if move > 0.3 * moves.max()
    )
    take = tuple(to_hold(adjusted))
    read = _(" and ").join(str(reading) for reading in take) or _("more")
    if not free:
        message = _("the readings leave the sketch open; read {next} next").format(next=read)
    elif len(free) == 1:
        message = _("{corner} is free to move; read {next} next").format(corner=free[0], next=read)
    else:
        message = _("{corners} are free to move; read {next} next").format(
            corners=", ".join(free), next=read
        )
    return Undetermined(message, free, take)


def _apart(a: np.ndarray, b: np.ndarray) -> bool:
    return math.dist(a, b) > 1e-6


def _arc_points(
    corner: np.ndarray,
    middle: np.ndarray,
    radius: float,
    ends: list[np.ndarray],
    deviation: float,
) -> list[np.ndarray]:
    """Points of a rounded corner from one side to the next, ends included."""
    feet = []
    for end in ends:
        along = (end - corner) / math.dist(end, corner)
        feet.append(corner + along * float((middle - corner) @ along) - middle)
    start, stop = (math.atan2(foot[1], foot[0]) for foot in feet)
    turn = (stop - start + math.pi) % math.tau - math.pi
    step = 2 * math.acos(max(0.0, 1 - deviation / max(radius, deviation)))
    count = max(1, math.ceil(abs(turn) / step))
    angles = start + turn * np.arange(count + 1) / count
    return [middle + radius * np.array([math.cos(a), math.sin(a)]) for a in angles]
