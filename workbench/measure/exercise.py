"""An exercise: a pupil's own number is checked, and a hint says where to look, not what is right."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from workbench.errors import RepairError
from workbench.measure.reading import Reading, parse_length
from workbench.words import _, number


class Exercise:
    """One question with a number for an answer.

    expected : the right number, worked out from the pupil's own readings
    within : how far off still counts as right
    hints : sentences that say where to look; each new wrong number brings the next one
    unit : "mm" also takes text such as "1 3/8 in"; any other unit, or "", takes plain numbers
    slips : numbers that come of a known slip, each with the sentence that tells it

    >>> area = Exercise(40, within=0.1, hints=["Add both sides first."], slips=[(80, "Halve it.")])
    >>> print(area.tell(None))
    Put your number in place of None and run the cell again.
    >>> print(area.tell("4 cm"))
    40 mm: right.
    >>> print(area.tell(80))
    80 mm: not yet. Halve it.
    >>> print(area.tell(4))
    4 mm: not yet. Ten times too small? Look at the decimal point.
    """

    def __init__(
        self,
        expected: float | Reading,
        within: float,
        hints: Sequence[str],
        unit: str = "mm",
        slips: Sequence[tuple[float, str]] = (),
    ) -> None:
        value = expected.value if isinstance(expected, Reading) else float(expected)
        if not math.isfinite(value) or not within > 0:
            raise RepairError(
                _("exercise expects {value} within {within}; give numbers, within above 0").format(
                    value=value, within=within
                )
            )
        if isinstance(hints, str) or not hints:
            raise RepairError(_("an exercise needs hints; give a list of one sentence or more"))
        self.expected, self.within, self.unit = value, float(within), unit
        self.hints, self.slips = tuple(hints), tuple(slips)
        self._wrong: list[float] = []

    def right(self, mine: Any) -> bool:
        """Whether a number is near enough; RepairError where it is no number."""
        return abs(self._number(mine) - self.expected) <= self.within + 1e-9

    def tell(self, mine: Any) -> str:
        """What to say of the pupil's number: that it is right, or a hint."""
        if mine is None or mine is ...:
            return _("Put your number in place of None and run the cell again.")
        try:
            value = self._number(mine)
        except RepairError as error:
            return str(error)
        said = f"{number(value, 3)} {self.unit}".strip()
        if self.right(value):
            return _("{number}: right.").format(number=said)
        return _("{number}: not yet. {hint}").format(number=said, hint=self._hint(value))

    def _number(self, mine: Any) -> float:
        if isinstance(mine, Reading):
            return mine.value
        if isinstance(mine, tuple) and len(mine) == 2:
            raise RepairError(
                _("Python reads {value} as two numbers; write a point, or put it in quotes").format(
                    value=", ".join(map(_short, mine))
                )
            )
        try:
            if self.unit == "mm":
                return parse_length(mine)
            if isinstance(mine, str):
                mine = mine.strip().removesuffix(self.unit).replace(",", ".").replace("−", "-")
            value = math.nan if isinstance(mine, bool) else float(mine)
        except (RepairError, TypeError, ValueError, OverflowError):
            value = math.nan
        if not math.isfinite(value):
            example = "12.5, 12.5 mm, 1 3/8 in" if self.unit == "mm" else "12.5"
            raise RepairError(
                _("your number is {value}; give one number such as {example}").format(
                    value=_short(mine), example=example
                )
            )
        return value

    def _hint(self, value: float) -> str:
        for slip, hint in self.slips:
            if abs(value - slip) <= self.within:
                return hint
        for factor, hint in (
            (10, _("Ten times too large? Look at the decimal point.")),
            (0.1, _("Ten times too small? Look at the decimal point.")),
            (1 / 25.4, _("That looks like inches; give mm, or write in after it.")),
            (-1, _("The size is there; think about the sign.")),
        ):
            if self.expected and abs(value - factor * self.expected) <= abs(factor) * self.within:
                return hint
        if value not in self._wrong:
            self._wrong.append(value)
        return self.hints[min(self._wrong.index(value), len(self.hints) - 1)]


def mm(size: float | str | Reading) -> float:
    """A length as a pupil puts it into a cell: a number of mm, text, or readings.

    >>> mm("34,9"), mm(2), mm(Reading([4.9, 5.1]))
    (34.9, 2.0, 5.0)
    """
    return size.value if isinstance(size, Reading) else parse_length(size)


def _short(value: Any) -> str:
    """A value as it was written, cut where it is longer than a line."""
    plain = isinstance(value, (str, int, float, list, tuple))
    written = repr(value) if plain else type(value).__name__
    return written if len(written) <= 40 else f"{written[:36]} ..."
