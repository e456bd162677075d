"""A reading: what the instrument said, and how far it can be trusted."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from itertools import islice
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.words import _, sized, with_unit

MM_PER_INCH = 25.4

#: Smallest step that each instrument shows, in mm.
RESOLUTION = {"calipers": 0.01, "dial calipers": 0.02, "ruler": 1.0, "tape": 1.0}

#: How far off each instrument may read, in mm: a digital caliper's sheet says 0.02 mm, a dial
#: one's 0.03 mm (common practice, no source); a ruler's 0.1 mm and a tape's 0.5 mm over the first
#: metre are the limits of DIN 866 and of class II of directive 2014/32/EU (from memory).
LIMIT = {"calipers": 0.02, "dial calipers": 0.03, "ruler": 0.1, "tape": 0.5}

#: How far two settings of hand-held jaws on one size differ: standard deviation in mm.
#: Common practice, no source; repeats replace it where they scatter more.
SETTING = 0.02

#: Units that a reading may be given in, and their length in mm.
UNITS = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}

#: Lengths in mm up to this are taken: a kilometre, so that nothing reckoned from them overflows.
FARTHEST = 1e6

#: Readings of one size at most.
MOST = 100_000

_LENGTH = re.compile(
    r"""\s*(?P<sign>[-+]?)\s*
        (?:(?P<whole>\d+)(?:\s+|-\s*|\s+-\s+)(?=\d+\s*/))?  # the 1 of "1 3/8" and of "1-3/8"
        (?:(?P<top>\d+)\s*/\s*(?P<under>\d+)      # 3/8
          |(?P<decimal>\d+(?:[.,]\d*)?|[.,]\d+)  # 34.85 or 34,85
        )
        \s*(?P<unit>mm|cm|in|inch|inches|zoll|"|″)?\s*$""",
    re.VERBOSE | re.IGNORECASE,
)


def parse_length(text: str | float, unit: str = "mm") -> float:
    """Read a length as a person writes it and return it in mm.

    text : "34.9", "34,9 mm", "1 3/8 in", '5/16"', or a plain number
    unit : taken where the text names none: "mm", "cm" or "in"

    Raises RepairError when the text is not one length, a fraction has no unit, or the unit is
    unknown.

    >>> parse_length("34.9"), parse_length("1 3/8 in"), parse_length("2,5", "cm")
    (34.9, 34.925, 25.0)
    """
    gate.choice("unit", unit, UNITS)
    if isinstance(text, str):
        return _from_text(text, unit)
    try:
        amount = math.nan if isinstance(text, (bool, bytes)) else float(text)
    except (TypeError, ValueError, OverflowError):
        amount = math.nan
    return _within_reach(amount * UNITS[unit], text)


def _from_text(text: str, unit: str) -> float:
    found = _LENGTH.match(_plain(text)) if len(text.strip()) <= gate.NUMBER else None
    if not found:
        raise _not_a_length(text)
    written = found["unit"]
    if found["decimal"] is not None:
        amount = float(found["decimal"].replace(",", "."))
    else:
        if int(found["under"]) == 0:
            raise _not_a_length(text)
        if written is None and unit != "in":
            raise RepairError(
                _("reading {text!r} is a fraction without a unit; write {text} in").format(
                    text=text.strip()
                )
            )
        amount = float(int(found["whole"] or 0) + Fraction(int(found["top"]), int(found["under"])))
    factor = UNITS[unit] if written is None else UNITS.get(written.lower(), MM_PER_INCH)
    return _within_reach((-amount if found["sign"] == "-" else amount) * factor, text)


def _within_reach(length: float, given: object) -> float:
    """The length in mm, or RepairError where it is none that anything has."""
    if abs(length) <= FARTHEST:  # which is false of what is no number
        return length
    raise _not_a_length(given)


def as_typed(text: str) -> str:
    """The text with a typographer's minus, dash, slash and inch mark as a keyboard has them.

    >>> as_typed("−1–3⁄8”")
    '-1-3/8"'
    """
    return text.translate(_KEYS).replace("''", '"')


_KEYS = str.maketrans("−–⁄”", '--/"')


def _plain(text: str) -> str:
    """The text with signs such as ⅜ and − spelled with plain digits and a hyphen."""
    spelled = []
    for sign in as_typed(text):
        fraction = unicodedata.decomposition(sign).startswith("<fraction>")
        spelled.append(" " + unicodedata.normalize("NFKC", sign) if fraction else sign)
    return as_typed("".join(spelled))


def _listed(values: Any) -> list[Any]:
    if isinstance(values, (str, bytes, dict)):
        return [values]
    try:
        listed = list(islice(iter(values), MOST + 1))
    except TypeError:
        return [values]
    if len(listed) > MOST:
        raise RepairError(
            _("reading has more than {most} values; give the last few").format(most=MOST)
        )
    return listed


def _not_a_length(text: object) -> RepairError:
    return RepairError(
        _("reading {text!r} is not a length; write a number such as {examples}").format(
            text=gate.short(text), examples='34.9, 34,9 mm, 1 3/8 in, 1.375"'
        )
    )


@gate.asked
@dataclass(frozen=True, init=False)
class Reading:
    """One size, read once or several times with one instrument.

    values : one reading or several, as numbers or text ("34.9", "1 3/8 in")
    instrument : "calipers", "dial calipers", "ruler" or "tape"
    unit : of values that name none: "mm", "cm" or "in"

    Raises RepairError when there is no value, one is not finite, or the instrument or unit is
    unknown.

    >>> lid = Reading([48.3, 48.4, 48.35])
    >>> round(lid.value, 2), round(lid.uncertainty, 3)
    (48.35, 0.043)
    >>> round(Reading("48.3").uncertainty, 3)
    0.023
    >>> round(Reading("1 3/8 in", instrument="ruler").uncertainty, 3)
    0.295
    """

    values: tuple[float, ...]
    instrument: str
    unit: str

    def __init__(
        self,
        values: str | float | Iterable[str | float],
        instrument: str = "calipers",
        unit: str = "mm",
    ) -> None:
        gate.choice("instrument", instrument, RESOLUTION)
        lengths = tuple(parse_length(value, unit) for value in _listed(values))
        if not lengths:
            raise RepairError(_("reading has no values; measure the part at least once, in mm"))
        object.__setattr__(self, "values", lengths)
        object.__setattr__(self, "instrument", instrument)
        object.__setattr__(self, "unit", unit)

    @property
    def value(self) -> float:
        """Mean of the repeats, in mm."""
        return math.fsum(self.values) / len(self.values)

    @property
    def resolution(self) -> float:
        """Smallest step that the instrument shows, in mm."""
        return RESOLUTION[self.instrument]

    @property
    def scatter(self) -> float:
        """Standard deviation of the mean of the repeats, in mm; 0 for one reading.

        Type A evaluation, JCGM 100:2008, 4.2.3.
        """
        n = len(self.values)
        if n < 2:
            return 0.0
        mean = self.value
        squares = math.fsum((v - mean) ** 2 for v in self.values)
        return math.sqrt(squares / (n - 1) / n)

    @property
    def uncertainty(self) -> float:
        """Standard uncertainty (k = 1), in mm: instrument and hand combined.

        The display step d and the error limit a are rectangular distributions of standard
        deviation d/sqrt(12) and a/sqrt(3) (JCGM 100:2008, 4.3.7 and F.2.2.1), which repeats
        do not bring down; the hand's part falls with the root of their number.
        """
        return self.uncertainty_by(SETTING)

    def uncertainty_by(self, setting: float) -> float:
        """Standard uncertainty in mm for a hand whose settings differ by ``setting`` mm.

        Few repeats may agree by luck, so the hand counts for at least ``setting``; and they tell
        their scatter badly, so it is widened as a Student's t with n + 1 degrees of freedom: one
        less than there are readings, and two for what is known of hands beforehand.
        With 0 the step and the scatter are all there is.
        """
        if not (isinstance(setting, (int, float)) and 0 <= setting <= FARTHEST):
            raise RepairError(
                _("setting is {value!r} mm; give 0 or more, such as 0.02").format(value=setting)
            )
        n = len(self.values)
        step = self.resolution / math.sqrt(12)
        if setting == 0:
            return math.hypot(step, self.scatter)
        seen = self.scatter * math.sqrt((n + 1) / (n - 1)) if n > 1 else 0.0
        hand = max(seen, setting / math.sqrt(n))
        return math.hypot(step, LIMIT[self.instrument] / math.sqrt(3), hand)

    def __str__(self) -> str:
        return _("{value} ± {uncertainty}").format(
            value=sized(self.value), uncertainty=with_unit(self.uncertainty, 3)
        )

    def to_dict(self) -> dict:
        """Plain data for the record; the values are in mm."""
        return {"values": list(self.values), "instrument": self.instrument, "unit": self.unit}

    @classmethod
    def from_dict(cls, data: Mapping[str, Any]) -> Reading:
        """Read back what :meth:`to_dict` wrote."""
        gate.needed(data, Mapping, "data", '{"values": [34.9]}')
        reading = cls(data.get("values", ()), data.get("instrument", "calipers"), "mm")
        unit = data.get("unit", "mm")
        parse_length(0, unit)
        object.__setattr__(reading, "unit", unit)
        return reading
