"""A pocket calculator: every sum that a sentence shows is reckoned again from its figures."""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_UP, Decimal

#: A number as the tool writes it: with a point, or in inches as a fraction.
_N = r"(\d+ \d+/\d+|\d+/\d+|\d+(?:\.\d+)?)"

#: Sentences with a sum, and what it comes to.
SUMS = [
    (rf"{_N} (?:across|up) minus {_N} leaves {_N}", lambda a, b: a - b),
    (rf"{_N} (?:across|up) plus {_N}(?: up)? makes {_N}", lambda a, b: a + b),
    (rf"{_N} across minus {_N} lean leaves {_N}", lambda a, b: a - b),
    (rf"{_N} across minus {_N} lean minus {_N} lean leaves {_N}", lambda a, b, c: a - b - c),
    (rf"{_N} across, with no lean inward, stays {_N}", lambda a: a),
    (rf"{_N} across and {_N} up make a slope of {_N}", lambda a, b: (a * a + b * b).sqrt()),
    (rf"; {_N} minus {_N} leaves {_N}", lambda a, b: a - b),
    (rf"half of {_N} times {_N} is {_N} (?:mm|in)²", lambda a, b: a * b / 2),
    (rf"^{_N} times {_N} is {_N} (?:mm|in)²", lambda a, b: a * b),
    (rf"half of {_N} across is {_N}", lambda a: a / 2),
    (rf"^{_N} times {_N} times 3.14 is {_N} (?:mm|in)²", lambda a, b: a * b * Decimal("3.14")),
    (
        rf"radius {_N}: {_N} times {_N} times 3.1416 times {_N} over 360 is {_N} (?:mm|in)²",
        lambda _r, a, b, degrees: a * b * Decimal("3.1416") * degrees / 360,
    ),
    (
        rf"half of {_N} times {_N} times the sine of {_N}°, {_N}, is {_N} (?:mm|in)²",
        lambda a, b, _degrees, sine: a * b * sine / 2,
    ),
    (rf"the sine of {_N}°, {_N},", lambda d: Decimal(repr(math.sin(math.radians(float(d)))))),
    (rf"^{_N} minus {_N} leaves {_N} (?:mm|in)²", lambda a, b: a - b),
]


def typed(text: str) -> Decimal:
    """What a calculator shows when a number is typed, "1 3/8" as 1 + 3 / 8."""
    return sum(
        (
            Decimal(part.partition("/")[0]) / Decimal(part.partition("/")[2] or 1)
            for part in text.split()
        ),
        Decimal(0),
    )


def sums_in(sentence: str) -> list[tuple[str, bool]]:
    """Each sum in a sentence, and whether a calculator agrees to the last digit shown."""
    found = []
    for pattern, reckon in SUMS:
        for match in re.finditer(pattern, sentence):
            *parts, outcome = match.groups()
            value = reckon(*map(typed, parts))
            # Trailing zeros are not written: the last digit is the hundredth, or finer.
            inches = "in²" in match[0] or "/" in outcome
            places = max(3 if inches else 2, len(outcome.partition(".")[2]))
            step = Decimal(1).scaleb(-places)
            agrees = value.quantize(step, ROUND_HALF_UP) == typed(outcome).quantize(
                step, ROUND_HALF_UP
            )
            found.append((match[0], agrees))
    return found
