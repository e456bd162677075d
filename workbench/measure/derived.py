"""Sizes that nobody read but that follow: their sum in words, their doubt, and its source."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import Reading
from workbench.words import (
    _,
    in_unit,
    marked,
    measured,
    number,
    quantity,
    rounded,
    shown,
    unit_sign,
)


@dataclass(frozen=True)
class Derived:
    """A size that follows from readings.

    name : what it is called
    value : in ``unit``
    contributions : for each reading, its standard uncertainty times the slope of the size by
        it, signed, in ``unit``; sizes that share a reading stay correlated when combined
    arithmetic : how it comes about, in words, without the uncertainty
    unit : "mm" or "°"
    reckoned : what the arithmetic comes to with the figures it shows, where there is one
    """

    name: str
    value: float
    contributions: Mapping[str, float] = field(default_factory=dict)
    arithmetic: str = ""
    unit: str = "mm"
    reckoned: float | None = None

    @cached_property
    def uncertainty(self) -> float:
        """Standard uncertainty (k = 1), from independent readings (JCGM 100:2008, 5.1.2)."""
        return math.sqrt(math.fsum(c * c for c in self.contributions.values()))

    @cached_property
    def shares(self) -> dict[str, float]:
        """How much of the variance each reading brings, largest first; they add up to 1."""
        whole = self.uncertainty**2
        ranked = sorted(self.contributions.items(), key=lambda item: -abs(item[1]))
        return {name: c * c / whole for name, c in ranked if c} if whole else {}

    @property
    def most(self) -> str | None:
        """The reading that contributes most to the doubt: the one to measure better."""
        return next(iter(self.shares), None)

    def __str__(self) -> str:
        comes_to = self.value if self.reckoned is None else self.reckoned
        value = plus_minus(comes_to, self.uncertainty, self.unit)
        if self.arithmetic:
            text = _("{arithmetic} {value}").format(arithmetic=self.arithmetic, value=value)
        else:
            text = _("{name} is {value}").format(name=self.name, value=value)
        if self.most is None or len(self.shares) < 2:
            return text
        return _("{text}, {share} % of the uncertainty from {reading}").format(
            text=text, share=number(100 * self.shares[self.most], 0), reading=self.most
        )


Part = Reading | Derived | float | str


@gate.asked
def combine(
    plus: Mapping[str, Part], minus: Mapping[str, Part] | None = None, name: str = ""
) -> Derived:
    """Add sizes up and take others away, with the doubt that is left.

    plus, minus : name -> Reading, Derived, number or text such as "1 3/8 in"
    name : of the outcome

    Raises RepairError when there is nothing to add, or a size is not a length.

    >>> left = combine(plus={"overall": Reading("64.2")}, minus={"inset": Reading("11.5", "ruler")})
    >>> print(left)
    overall 64.2 minus inset 11.5 leaves 52.7 ± 0.3 mm, 99 % of the uncertainty from inset
    """
    if not plus:
        raise RepairError(_("there is nothing to add up; name at least one size"))
    for field_name, parts in (("plus", plus), ("minus", minus or {})):
        gate.needed(parts, Mapping, field_name, '{"inset": 11.5}')
    gate.needed(name, str, _("name"), "opening")
    value = reckoned = 0.0
    contributions: dict[str, float] = {}
    words = []
    for sign, field_name, parts in ((1, "plus", plus), (-1, "minus", minus or {})):
        for label, part in parts.items():
            gate.name(field_name, label)
            size = _as_derived(label, part)
            value += sign * size.value
            reckoned += sign * shown(size.value)
            for reading, own in size.contributions.items():
                contributions[reading] = contributions.get(reading, 0.0) + sign * own
            template = _("minus {name} {value}") if sign < 0 else _("plus {name} {value}")
            words.append(template.format(name=label, value=measured(shown(size.value))))
    first = next(iter(plus))
    words[0] = _("{name} {value}").format(
        name=first, value=measured(shown(_as_derived(first, plus[first]).value))
    )
    end = _("leaves") if minus else _("makes")
    return Derived(name, value, contributions, " ".join([*words, end]), reckoned=reckoned)


def _as_derived(label: str, part: Part) -> Derived:
    if isinstance(part, Derived):
        return part
    try:
        reading = part if isinstance(part, Reading) else Reading(part)
    except RepairError as error:
        raise RepairError(f"{label}: {error}") from None
    return Derived(label, reading.value, {label: reading.uncertainty})


def plus_minus(value: float, uncertainty: float, unit: str = "mm", digits: int = 1) -> str:
    """A value with its uncertainty, both rounded to where the doubt begins.

    ``digits`` of the uncertainty are kept, one more where it begins with 1, and the value is
    rounded to fit (JCGM 100:2008, 7.2.6, which allows up to two).

    >>> plus_minus(52.7031, 0.0995), plus_minus(10.05762, 0.027, "ohm", digits=2)
    ('52.7 ± 0.1 mm', '10.058 ± 0.027 ohm')
    >>> plus_minus(35, 0), plus_minus(63.46, 0.14, "°")
    ('35.0 mm', '63.46 ± 0.14°')
    """
    gap = "" if unit == "°" else " "
    if not uncertainty > 0:
        return f"{measured(value)} {unit_sign()}" if unit == "mm" else quantity(value, unit)
    if unit == "mm":
        value, uncertainty, unit = in_unit(value), in_unit(uncertainty), unit_sign()
    first, second = f"{uncertainty:.1e}"[0], f"{uncertainty:.1e}"[2]
    kept = digits + (digits == 1 and first == "1" and second != "0")
    # Rounding may carry: 0.0995 becomes 0.1, which has one place less.
    carried = round(uncertainty, kept - 1 - math.floor(math.log10(uncertainty)))
    places = max(0, kept - 1 - math.floor(math.log10(carried)))
    both = marked(f"{rounded(value, places):.{places}f} ± {carried:.{places}f}")
    return f"{both}{gap}{unit}"
