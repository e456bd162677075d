"""Which readings are wrong: data snooping, with the doubt said where it cannot choose."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from copy import copy
from dataclasses import dataclass, field

import numpy as np

from workbench.measure.repeated_readings import swapped
from workbench.measure.sketches.adjust import UNCHECKED, Adjusted, adjust
from workbench.measure.sketches.equations import Equations
from workbench.measure.sketches.next_reading import Next, to_tell_apart
from workbench.measure.sketches.table_row import Row
from workbench.words import _, measured_with_unit

#: How often a sketch without an error may have a reading accused: a little under 5 %, since
#: the bound is for small misfits and a bent sketch adds some.
LEVEL = 0.04

#: Odds of 10 to 1 between two readings, as a difference of chi-squares: 2 ln 10.
ODDS = 2 * math.log(10.0)

#: Below this chance the rest still disagrees.
OFF = 0.01

#: The rest tells how hurried the hand may have been: so much that a chi-square as small as the
#: rest's would have this chance.
_CALM = 0.05

#: Readings off by more than this part of the sketch's size bend it.
BENT = 0.005

#: How many of the most promising readings, and pairs of them, are left out in full.
_TRIED, _PAIRS = 6, 8

#: Where the sketch is bent, all of so many are, and of more readings only the likeliest.
_MOST = 60

#: The closed form is trusted where it was right about the best reading, to within this part.
_FORESEEN = 0.1

#: With so many readings or fewer every pair is tried where the sketch is bent.
_FEW = 10


@dataclass(frozen=True)
class Doubt:
    """What does not agree.

    suspects : the readings to take again: none, one or two
    undecided : readings that cannot be told apart, of which some are wrong
    wrong : how many of the undecided are
    left_out : readings that the shape does without: the suspects, or the likeliest two
    expected : of what is left out, what the others say it should be, with standard uncertainty
    hints : of what is left out, what may have happened, in words, or ""
    settle : the extra reading that would tell the undecided apart
    more : whether the rest still disagrees without them
    x : (p,) unknowns that fit the rest
    """

    suspects: tuple[str, ...] = ()
    undecided: tuple[str, ...] = ()
    wrong: int = 0
    left_out: tuple[str, ...] = ()
    expected: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    hints: Mapping[str, str] = field(default_factory=dict)
    settle: Next | None = None
    more: bool = False
    x: np.ndarray | None = field(default=None, repr=False, compare=False)

    @property
    def suspect(self) -> str | None:
        """The first of the readings to take again, or None."""
        return self.suspects[0] if self.suspects else None

    def told(self, name: str) -> str:
        """A reading's name, with what may have happened to it."""
        return f"{name} ({self.hints[name]})" if self.hints.get(name) else name


#: Readings left out, and the fit of the rest.
Removal = tuple[tuple[int, ...], Adjusted]


def critical(tests: int, spare: int, level: float = LEVEL) -> float:
    """Standardised misfit beyond which a reading is accused.

    At most ``level`` of sketches without an error have any of ``tests`` misfits beyond it,
    whatever their correlation: the lower of the two bounds of Sidak (for each of the tests)
    and Scheffe (for any combination of ``spare`` degrees of freedom).
    """
    from workbench.measure.chances import chdtri, ndtri

    sidak = -ndtri((1 - (1 - level) ** (1 / max(tests, 1))) / 2)
    scheffe = math.sqrt(chdtri(max(spare, 1), level))
    return float(min(sidak, scheffe))


def chance(chi_square: float, spare: int) -> float:
    """How often readings that are all right disagree at least so much."""
    from workbench.measure.chances import chdtrc

    return float(chdtrc(spare, chi_square)) if spare > 0 else 1.0


def find_doubt(adjusted: Adjusted) -> Doubt:
    """Look for the one or two readings whose removal restores agreement (after Baarda).

    A statement such as "parallel" is tested like a reading of high precision.
    """
    adjusted = _softened(adjusted)
    checked = np.flatnonzero(adjusted.redundancy > UNCHECKED)
    if adjusted.spare < 1 or not len(checked):
        return Doubt()
    limit = critical(len(checked), adjusted.spare)
    if np.abs(adjusted.standardised).max() <= limit:
        return Doubt()
    best = _best_single(adjusted, checked)
    if adjusted.spare > 2 and (best is None or _still_off(best[1])):
        pair = _best_pair(adjusted, checked, best)
        if pair and (best is None or best[1].chi_square - pair[1].chi_square > limit**2):
            best = pair
    if best is None:
        return Doubt()
    gone, rest = best
    relief = (adjusted.chi_square - rest.chi_square) / len(gone)
    if relief <= (limit * _hurry(rest.equations, rest.chi_square, rest.spare)) ** 2:
        return Doubt()
    return _accuse(gone, rest)


def _softened(adjusted: Adjusted) -> Adjusted:
    if not adjusted.equations.exact.any():
        return adjusted
    soft = copy(adjusted.equations)
    soft.exact = np.zeros_like(soft.exact)
    adjusted = adjust(soft, adjusted.x)
    return adjusted.held() if adjusted.movable.shape[1] else adjusted


def _best_single(adjusted: Adjusted, checked: np.ndarray) -> Removal | None:
    """The reading whose removal leaves the least misfit, the most promising tried in full.

    Where one error has bent the whole sketch, the closed form misleads: then far more are tried.
    """
    order = checked[np.argsort(-adjusted.relief[checked])]
    removals: list[Removal] = []
    sure = math.inf  # by how much the chi-square fell where all was well, as was foreseen
    for i in order[:_TRIED]:
        if 2 * adjusted.relief[i] < sure < math.inf:
            break
        for gone, fit in _without(adjusted, [(int(i),)]):
            fall = adjusted.chi_square - fit.chi_square
            if not _still_off(fit) and abs(fall - adjusted.relief[i]) < _FORESEEN * fall:
                sure = fall
            removals.append((gone, fit))
    rest = order[_TRIED:]
    if len(rest) and _bent(adjusted) and all(_still_off(fit) for _gone, fit in removals):
        unlike = np.argsort(-_unlike_drawn(adjusted, rest))[: _worth_while(adjusted)]
        removals += _without(adjusted, [(int(i),) for i in rest[unlike]])
    return _least(removals)


def _best_pair(adjusted: Adjusted, checked: np.ndarray, single: Removal | None) -> Removal | None:
    """The pair whose removal restores agreement best: as all have it, and with the best single out."""
    gain = adjusted.relief_of_pairs
    rows, columns = np.triu_indices(len(checked), 1)
    first, second = checked[rows], checked[columns]
    order = np.argsort(-gain[first, second])[:_PAIRS]
    pairs = {(int(first[k]), int(second[k])) for k in order}
    if _bent(adjusted):
        # Then the closed form misleads; what is off already as drawn is a slip of unit or digit.
        few = (
            checked
            if len(checked) <= _FEW
            else checked[np.argsort(-_unlike_drawn(adjusted, checked))[:4]]
        )
        pairs |= {(int(i), int(j)) for i in few for j in few if i < j}
    if single is not None:
        (i,), rest = single
        others = np.argsort(-np.abs(rest.standardised * rest.active))[:_PAIRS].tolist()
        pairs |= {(min(i, j), max(i, j)) for j in others if j != i}
    return _least([one for one in _without(adjusted, sorted(pairs)) if not _still_off(one[1])])


def _without(adjusted: Adjusted, sets: Iterable[tuple[int, ...]]) -> list[Removal]:
    """The sketch without each set of readings, where the rest still holds it."""
    fits = [(gone, _fit_without(adjusted, gone)) for gone in sets]
    return [(gone, fit) for gone, fit in fits if not fit.movable.shape[1]]


def _fit_without(adjusted: Adjusted, gone: tuple[int, ...]) -> Adjusted:
    active = adjusted.active.copy()
    active[list(gone)] = False
    near = adjust(adjusted.equations, adjusted.x, active)
    if not _bent(adjusted) or (not near.movable.shape[1] and not _still_off(near)):
        return near
    far = adjust(adjusted.equations, None, active)
    return min(near, far, key=lambda fit: (fit.movable.shape[1] > 0, fit.chi_square))


def _unlike_drawn(adjusted: Adjusted, readings: np.ndarray) -> np.ndarray:
    """(n,) how far readings are from the drawing's proportions, as logarithms; degrees count 0."""
    equations = adjusted.equations
    drawn = np.abs(equations.evaluate(equations.start)[0][readings])
    shares = np.log(
        np.maximum(np.abs(equations.observed[readings]), 1e-9) / np.maximum(drawn, 1e-9)
    )
    return np.where(equations.degrees[readings], 0.0, np.abs(shares - np.median(shares)))


def _bent(adjusted: Adjusted) -> bool:
    """Whether readings are off by so much that slopes change on the way to where they fit."""
    reach = max(adjusted.equations.reach, 1e-9)
    turned = np.where(adjusted.equations.degrees, math.radians(1), 1 / reach)
    return bool((np.abs(adjusted.misfit) * turned).max() > BENT)


def _least(removals: Sequence[Removal]) -> Removal | None:
    """What leaves the least misfit; of about equals, what a known slip explains goes before."""
    if not removals:
        return None
    least = min(fit.chi_square for _gone, fit in removals)
    equals = [one for one in removals if one[1].chi_square < least + ODDS]
    known = [one for one in equals if all(_hint(one[1], i) for i in one[0])]
    return min(known or equals, key=lambda one: one[1].chi_square)


def _still_off(adjusted: Adjusted) -> bool:
    return chance(adjusted.chi_square, adjusted.spare) < OFF


def _hurry(equations: Equations, chi_square: float, spare: int) -> float:
    """By how much readings may be less sure than supposed, as those left tell it: from 1."""
    from workbench.measure.chances import chdtri

    most = equations.hurry
    if spare < 1 or most <= 1:
        return most
    return min(most, max(1.0, math.sqrt(chi_square / float(chdtri(spare, 1 - _CALM)))))


def _accuse(gone: tuple[int, ...], right: Adjusted) -> Doubt:
    there = right.with_all()
    names = right.equations.names
    rivals = _rivals(gone, right, there)
    sure = [i for i in gone if all(i in other for other in rivals)]
    unsure = sorted({i for one in (gone, *rivals) for i in one} - set(sure))
    return Doubt(
        suspects=tuple(names[i] for i in sure),
        undecided=tuple(names[i] for i in unsure),
        wrong=len(gone) - len(sure),
        left_out=tuple(names[i] for i in gone) if sure or len(gone) > 1 else (),
        expected={names[i]: _expected(right, i) for i in gone},
        hints={names[i]: _hint(right, i) for i in gone},
        settle=to_tell_apart(there, *unsure[:2]) if unsure else None,
        more=_still_off(right),
        x=right.x,
    )


def _expected(right: Adjusted, i: int) -> tuple[float, float]:
    slopes = right.equations.evaluate(right.x)[1][i]
    return float(right.fitted[i]), right.spread_of(slopes)


def _hint(right: Adjusted, i: int) -> str:
    rows = right.equations.sketch.rows
    return hint_for(rows[i], *_expected(right, i)) if i < len(rows) else ""


def _rivals(gone: tuple[int, ...], right: Adjusted, there: Adjusted) -> list[tuple[int, ...]]:
    """Other sets of as many readings whose removal explains about as much.

    By the closed form; where the sketch is bent that misleads, and each is tried in full.
    """
    fair = ODDS * _hurry(right.equations, right.chi_square, right.spare) ** 2
    gain = there.relief if len(gone) == 1 else there.relief_of_pairs
    good = gain > gain[gone] - fair
    found = np.argwhere(np.triu(good, 1) if len(gone) == 2 else good).tolist()
    others = [tuple(other) for other in found if tuple(other) != gone]
    if not _bent(there):
        return others
    others = sorted(others, key=lambda other: -float(gain[other]))[: _worth_while(there)]
    return [o for o, fit in _without(there, others) if fit.chi_square < right.chi_square + fair]


def _worth_while(adjusted: Adjusted) -> int:
    """How many fits may be tried: as long as it takes for all of the few, a fit costs their cube."""
    return _MOST**3 // len(adjusted.misfit) ** 2


def hint_for(row: Row, expected: float, uncertainty: float) -> str:
    """What may have gone wrong with a reading, if its value gives a clue."""
    if not row.values or row.measures != "mm" or abs(expected) < 1e-9:
        return ""
    near = max(3 * math.hypot(uncertainty, row.sigma()), 0.005 * abs(expected))
    read = row.value
    if abs(read + expected) <= near:
        return _("on the other side?")
    for factor, words in (
        (10.0, _("ten times too small?")),
        (0.1, _("ten times too large?")),
        (25.4, _("inches taken for mm?")),
        (1 / 25.4, _("mm taken for inches?")),
        (2.0, _("half of it: a radius for a diameter?")),
        (0.5, _("twice as much: a diameter for a radius?")),
    ):
        # The doubt about a reading that is scaled up is scaled up with it.
        if abs(read * factor - expected) <= near * max(1.0, factor):
            return words
    for length, hint in swapped(read, row.unit):
        if abs(length - expected) <= near:
            return hint
    for slip in (1.0, 10.0):
        if abs(abs(read - expected) - slip) <= min(near, 0.1 * slip):
            return _("miscounted by {slip}?").format(slip=measured_with_unit(slip))
    return ""
