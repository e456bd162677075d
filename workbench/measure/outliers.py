"""Which reading is wrong: data snooping, with the doubt said where it cannot choose."""

from __future__ import annotations

import math
from copy import copy
from dataclasses import dataclass, field

import numpy as np

from workbench import units
from workbench.measure.adjust import UNCHECKED, Adjusted, adjust
from workbench.measure.next_reading import Next, to_tell_apart
from workbench.measure.table_row import Row
from workbench.words import _, measured, setting

#: How often a sketch without an error may have a reading accused: a little under 5 %, since
#: the bound is for small misfits and a bent sketch adds some.
LEVEL = 0.04

#: Misfits that correlate more than this point at both readings alike.
ALIKE = 0.9

#: Odds of 20 to 1 between two readings, as a difference of chi-squares: 2 ln 20.
ODDS = 2 * math.log(20.0)

#: How many of the worst readings are left out in turn.
_TRIED = 6


@dataclass(frozen=True)
class Doubt:
    """What does not agree.

    suspect : the reading to take again, or None if there is none or no choice between several
    undecided : readings of which one is wrong but which cannot be told apart
    expected : what the others say the suspect should be, with its standard uncertainty
    hint : what may have happened, in words, or ""
    settle : the extra reading that would tell the undecided apart
    more : whether the rest still disagrees without the suspect
    x : (p,) unknowns that fit the rest
    """

    suspect: str | None = None
    undecided: tuple[str, ...] = ()
    expected: tuple[float, float] | None = None
    hint: str = ""
    settle: Next | None = None
    more: bool = False
    x: np.ndarray | None = field(default=None, repr=False, compare=False)


def critical(tests: int, spare: int, level: float = LEVEL) -> float:
    """Standardised misfit beyond which a reading is accused.

    At most ``level`` of sketches without an error have any of ``tests`` misfits beyond it,
    whatever their correlation: the lower of the two bounds of Sidak (for each of the tests)
    and Scheffe (for any combination of ``spare`` degrees of freedom).
    """
    from scipy.special import chdtri, ndtri

    sidak = -ndtri((1 - (1 - level) ** (1 / max(tests, 1))) / 2)
    scheffe = math.sqrt(chdtri(max(spare, 1), level))
    return float(min(sidak, scheffe))


def chance(chi_square: float, spare: int) -> float:
    """How often readings that are all right disagree at least so much."""
    from scipy.special import chdtrc

    return float(chdtrc(spare, chi_square)) if spare > 0 else 1.0


def find_doubt(adjusted: Adjusted) -> Doubt:
    """Look for the one reading whose removal restores agreement (after Baarda).

    A statement such as "parallel" is tested like a reading of high precision.
    """
    equations = adjusted.equations
    if equations.exact.any():
        soft = copy(equations)
        soft.exact = np.zeros_like(equations.exact)
        adjusted = adjust(soft, adjusted.x)
        adjusted = adjusted.held() if adjusted.movable.shape[1] else adjusted
    checked = np.flatnonzero(adjusted.redundancy > UNCHECKED)
    if adjusted.spare < 1 or not len(checked):
        return Doubt()
    limit = critical(len(checked), adjusted.spare)
    scores = np.abs(adjusted.standardised)
    if scores.max() <= limit:
        return Doubt()
    order = checked[np.argsort(-scores[checked])]
    without = _each_without(adjusted, order[:_TRIED])
    if not without or min(_still_off(one) for one in without.values()):
        # One error may bend the whole sketch; then the scores mislead: try every reading.
        without |= _each_without(adjusted, order[_TRIED:])
    if not without:
        return Doubt()
    best = min(without, key=lambda i: without[i].chi_square)
    return _accuse(adjusted, best, without)


def _each_without(adjusted: Adjusted, readings: np.ndarray) -> dict[int, Adjusted]:
    """The sketch without each of these readings, where the rest still holds it."""
    tried = {int(i): _without(adjusted, int(i)) for i in readings}
    return {i: one for i, one in tried.items() if not one.movable.shape[1]}


def _without(adjusted: Adjusted, i: int) -> Adjusted:
    active = adjusted.active.copy()
    active[i] = False
    near = adjust(adjusted.equations, adjusted.x, active)
    if not near.movable.shape[1] and not _still_off(near):
        return near
    far = adjust(adjusted.equations, None, active)
    return min(near, far, key=lambda one: (one.movable.shape[1] > 0, one.chi_square))


def _still_off(adjusted: Adjusted) -> bool:
    return chance(adjusted.chi_square, adjusted.spare) < 1e-3


def _accuse(adjusted: Adjusted, best: int, without: dict[int, Adjusted]) -> Doubt:
    right = without[best]
    there = right.with_all()
    alike = there.alike(best)
    rivals = []
    for j in np.flatnonzero(alike >= ALIKE):
        if int(j) != best:
            rest = without.get(int(j)) or _each_without(adjusted, np.array([j])).get(int(j))
            if rest is not None and rest.chi_square - right.chi_square < ODDS:
                rivals.append(int(j))
    names = right.equations.names
    more = _still_off(right)
    if rivals:
        return Doubt(
            undecided=tuple(names[i] for i in sorted([best, *rivals])),
            settle=to_tell_apart(there, best, rivals[0]),
            more=more,
        )
    slopes = right.equations.evaluate(right.x)[1][best]
    value = float(right.fitted[best])
    expected = (value, right.spread_of(slopes))
    rows = right.equations.sketch.rows
    hint = hint_for(rows[best], *expected) if best < len(rows) else ""
    return Doubt(names[best], expected=expected, hint=hint, more=more, x=right.x)


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
    own = units.UNITS.get(row.unit, units.MM)  # the digits are those that were typed
    places = 2 if own is units.MM else 3
    for swapped in _swapped(own.of(read), places):
        if abs(swapped * own.mm - expected) <= near:
            return _("two digits swapped, {value}?").format(value=setting(swapped, places))
    for slip in (1.0, 10.0):
        if abs(abs(read - expected) - slip) <= min(near, 0.1 * slip):
            return _("miscounted by {slip} mm?").format(slip=measured(slip))
    return ""


def _swapped(value: float, places: int) -> list[float]:
    """The value with each two neighbouring digits changed over."""
    digits = [*f"{value:.{places}f}".replace(".", "")]
    found = []
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            other = digits.copy()
            other[i], other[i + 1] = other[i + 1], other[i]
            found.append(int("".join(other)) / 10**places)
    return found
