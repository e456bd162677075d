"""Several readings of one size: read out of one line of text, and held against each other."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

import numpy as np

from workbench import units
from workbench.errors import RepairError
from workbench.measure.reading import Reading, as_typed
from workbench.words import _, setting, sized, with_unit

if TYPE_CHECKING:
    from workbench.measure.sketches.table_row import Row

#: Readings of one size that lie further apart than this, in mm, and twice the instrument's step
#: besides, are not of the same size. Common practice, no source.
APART = 0.3

#: A hurried hand's settings differ by so much, in mm: common practice, no source.
HURRIED = 0.05

#: Repeats that scatter so much by luck in fewer cases than this are those of another hand.
LUCK = 0.05

_FRACTIONS = "¼½¾⅐-⅞"
_AMOUNT = (
    rf"[-+−]?(?:\d+[\s-]+\d+\s*/\s*\d+|\d+\s*/\s*\d+|\d*\s*[{_FRACTIONS}]|\d+(?:[.,]\d*)?|[.,]\d+)"
)
_FRACTION = re.compile(rf"[/{_FRACTIONS}]")
_LENGTH = re.compile(
    rf"(?P<amount>{_AMOUNT})\s*(?P<unit>mm|cm|inches|inch|in|zoll|\"|″)?(?=[\s;]|$)", re.I
)
#: Signs that are shown of a text, and that one may have: for some hundred readings.
_LONGEST, _MOST_SIGNS = 60, 1000


def readings_in(text: str, unit: str) -> list[str]:
    """The readings in one line, each with its unit, parted by spaces or semicolons.

    A unit that stands at the end only is that of all. A fraction that nobody gave a unit is left
    without one where ``unit`` is metric, so that whoever reads it asks.

    >>> readings_in("34.9 35,0; 34.95", "mm")
    ['34.9 mm', '35,0 mm', '34.95 mm']
    >>> readings_in("1 3/8 in 1 5/16 in", "mm"), readings_in("1.375 1.380 in", "mm")
    (['1 3/8 in', '1 5/16 in'], ['1.375 in', '1.380 in'])

    Raises RepairError when the text is not lengths only, or some of several have units and others
    none.
    """
    if len(text) > _MOST_SIGNS:
        raise RepairError(
            _("{text!r} has more than {most} characters; give the last few readings").format(
                text=text[:_LONGEST], most=_MOST_SIGNS
            )
        )
    found: list[tuple[str, str]] = []
    rest = as_typed(text).strip().strip(";").strip()
    while rest:
        match = _LENGTH.match(rest)
        if match is None:
            raise RepairError(
                _(
                    "{text!r} is not a list of lengths; write them like 34.9 35.0 mm or 1 3/8 in, "
                    "separated by spaces or semicolons"
                ).format(text=text[:_LONGEST])
            )
        found.append((match["amount"].strip(), (match["unit"] or "").lower()))
        rest = rest[match.end() :].lstrip("; \t\n\r\u00a0")
    named = [unit for _amount, unit in found if unit]
    if named and len(named) < len(found):
        if len(named) > 1 or not found[-1][1]:
            raise RepairError(
                _("{text!r} has a unit on only some readings; write it on each").format(
                    text=text[:_LONGEST]
                )
            )
        unit = named[0]
    asks = not named and unit != "in"
    return [
        amount if asks and _FRACTION.search(amount) else f"{amount} {own or unit}"
        for amount, own in found
    ]


def spread(reading: Reading) -> float:
    """From the least to the greatest of the readings, in mm."""
    return max(reading.values) - min(reading.values)


def most_apart(reading: Reading) -> float:
    """How far readings of one size with this instrument may lie apart, in mm."""
    return APART + 2 * reading.resolution


def too_far_apart(reading: Reading) -> bool:
    """Whether the readings of one size cannot be of the same size."""
    return spread(reading) > most_apart(reading)


def doubt(reading: Reading) -> str:
    """Which of several readings to take again, and why; empty where they agree.

    >>> doubt(Reading([36.0, 36.1, 63.1]))
    '63.1 mm is far from the others, which read about 36.05 mm (two digits swapped, 36.1?); take it again'
    >>> doubt(Reading([36.0, 36.1]))
    ''
    """
    if not too_far_apart(reading):
        return ""
    middle = float(np.median(reading.values))
    worst = max(reading.values, key=lambda value: abs(value - middle))
    others = list(reading.values)
    others.remove(worst)
    if len(others) > 1 and not too_far_apart(Reading(others, reading.instrument)):
        rest, one = Reading(others, reading.instrument), Reading(worst, reading.instrument)
        near = 3 * math.hypot(rest.uncertainty, one.uncertainty)
        hints = (hint for mm, hint in swapped(worst, reading.unit) if abs(mm - rest.value) <= near)
        hint = next(hints, "")
        text = _("{value} is far from the others, which read about {mean}; take it again")
        if hint:
            text = _(
                "{value} is far from the others, which read about {mean} ({hint}); take it again"
            )
        return text.format(value=with_unit(worst), mean=with_unit(rest.value), hint=hint)
    return _("readings from {low} to {high} are too far apart; take them again").format(
        low=sized(min(reading.values)), high=with_unit(max(reading.values))
    )


def swapped(length: float, unit: str) -> Iterator[tuple[float, str]]:
    """A length in mm with each two neighbouring digits changed over, as typed in ``unit``: what it
    would be, in mm, and a hint that says so.

    >>> next(swapped(-14.2, "mm")), [round(mm, 2) for mm, _hint in swapped(-14.2, "mm")]
    ((-41.2, 'two digits swapped, -41.2?'), [-41.2, -12.4, -14.02])
    """
    own = units.UNITS.get(unit, units.MM)
    places = 2 if own is units.MM else 3
    digits = [*f"{abs(own.of(length)):.{places}f}".replace(".", "")]
    for i in range(len(digits) - 1):
        if digits[i] != digits[i + 1]:
            other = [*digits[:i], digits[i + 1], digits[i], *digits[i + 2 :]]
            value = math.copysign(int("".join(other)) / 10**places, length)
            hint = _("two digits swapped, {value}?").format(value=setting(value, places))
            yield value * own.mm, hint


def hand_of(rows: Iterable[Row], setting: float) -> float:
    """How far two settings of the jaws differ, standard, in mm: as supposed, or as repeats tell.

    Repeats of several sizes count together; they are believed where they scatter more than
    ``setting`` and the instrument's step explain.
    """
    from workbench.measure.chances import chdtrc

    squares, spare = _scatter(rows, setting)
    if not spare or not setting or chdtrc(spare, squares) >= LUCK:
        return setting
    return setting * math.sqrt(squares / spare)


def hurried(rows: Iterable[Row], hand: float) -> float:
    """The most that two settings of the jaws may differ, standard, in mm.

    A hurried hand's, or less where repeats tell that this hand is calm.
    """
    from workbench.measure.chances import chdtri

    if not hand:
        return hand
    squares, spare = _scatter(rows, hand)
    most = max(HURRIED, hand)
    if not spare:
        return most
    return min(most, max(hand, hand * math.sqrt(squares / float(chdtri(spare, 1 - LUCK)))))


def _scatter(rows: Iterable[Row], setting: float) -> tuple[float, int]:
    """Sum of squares of repeats about their means over what is supposed, and degrees of freedom."""
    total, spare = 0.0, 0
    for row in rows:
        n = len(row.values)
        if n > 1 and row.measures == "mm" and row.uncertainty is None:
            reading = Reading(row.values, row.instrument)
            supposed = setting**2 + reading.resolution**2 / 12
            total += reading.scatter**2 * n * (n - 1) / max(supposed, 1e-12)
            spare += n - 1
    return total, spare
