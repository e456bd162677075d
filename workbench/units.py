"""The unit that the user reads and types lengths in; everything is kept in mm.

``WORKBENCH_UNIT`` says it, else the user's own choice in ``unit.toml`` in their data folder, else
it is mm. One rule turns mm into inches for reading: a fraction where it is one exactly, to the
64th, else decimals as fine as the mm would be, to 0.0005 in for 0.01 mm. Nothing is ever rounded
to a fraction, so that what is shown can be typed again.
"""

from __future__ import annotations

import math
import os
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from io import BytesIO
from pathlib import Path

from workbench.folders import FOLDER_VARIABLE, folder, folders

#: The environment variable that goes before the user's own choice.
VARIABLE = "WORKBENCH_UNIT"

#: The file in the user's data folder that keeps the choice.
FILE = "unit.toml"

#: An inch is 25.4 mm exactly (international yard and pound agreement, 1959; ISO 31-1).
MM_PER_INCH = 25.4

#: What is nearer to a 64th of an inch than this, in inches, is that fraction.
_EXACT = 1e-6

#: Decimal places of a mm that are told in inches at most.
_FINEST = 3

_SPELLINGS = {"in": "in", "inch": "in", "inches": "in", '"': "in"}


@dataclass(frozen=True)
class Unit:
    """A unit to read lengths in.

    name : as the parser knows it, "mm" or "in"
    mm : its length in mm
    grid : lines of a bed's grid are this far apart, in mm, and every ``strong``-th is stronger
    fine : sizes that follow from readings are rounded to this, in mm
    slack : what was typed may miss a limit by this, in mm, since limits are shown rounded
    """

    name: str
    mm: float
    grid: float
    strong: int
    fine: float
    slack: float

    def spelled(self, value: float, places: int) -> str:
        """A length of ``value`` mm in this unit, with a decimal point and no trailing zeros.

        places : that the mm would have; inches come as fine as those

        >>> INCH.spelled(34.925, 2), INCH.spelled(34.9, 2), INCH.spelled(0.01, 2)
        ('1 3/8', '1.374', '0.0005')
        >>> INCH.spelled(-12.7, 2), INCH.spelled(0, 2), MM.spelled(34.9, 2)
        ('-1/2', '0', '34.9')
        """
        if self is MM:
            return _plain(value, places)
        inches = value / self.mm
        parts = round(inches * 64)
        if abs(inches - parts / 64) < _EXACT:
            return _fraction(parts)
        places = min(places, _FINEST)
        step = 0.05 * 10.0**-places
        return _plain(round(inches / step) * step, places + 2)

    def step(self, mm: float) -> float:
        """The round step in this unit that is nearest to one of ``mm``.

        >>> MM.step(0.1), [INCH.step(mm) for mm in (0.01, 0.05, 0.1, 1)]
        (0.1, [0.0005, 0.002, 0.005, 0.05])
        """
        if self is MM:
            return mm
        power = math.floor(math.log10(mm / self.mm))
        steps = [float(f"{digit}e{power + more}") for more in (0, 1) for digit in (1, 2, 5)]
        return min(steps, key=lambda step: abs(math.log(step * self.mm / mm)))

    def of(self, mm: float) -> float:
        """A length of so many mm in this unit."""
        return mm / self.mm

    def rounded(self, value: float) -> float:
        """A size in mm that follows from readings, without digits that no calipers show."""
        return round(round(value / self.fine) * self.fine, 6)


MM = Unit("mm", 1.0, grid=10.0, strong=5, fine=0.01, slack=0.0)
INCH = Unit("in", MM_PER_INCH, grid=12.7, strong=2, fine=0.0005 * MM_PER_INCH, slack=0.007)

UNITS = {unit.name: unit for unit in (MM, INCH)}

_using: ContextVar[Unit | None] = ContextVar("unit", default=None)


def chosen() -> Unit:
    """The unit that the user reads lengths in."""
    unit = _using.get()
    if unit is not None:
        return unit
    return _named(os.environ.get(VARIABLE, "")) or _kept()


def is_fixed() -> bool:
    """Whether ``WORKBENCH_UNIT`` says the unit, so that a choice would change nothing."""
    return _named(os.environ.get(VARIABLE, "")) is not None


@contextmanager
def using(unit: Unit) -> Iterator[None]:
    """Tell lengths in a unit whatever the user's choice, such as in a file that others read."""
    token = _using.set(unit)
    try:
        yield
    finally:
        _using.reset(token)


def choose(unit: Unit) -> Path:
    """Read lengths in a unit from now on; returns the file that is to keep the choice.

    The caller writes :func:`content` to it, which is how it lasts beyond this session.
    """
    _choices[os.environ.get(FOLDER_VARIABLE)] = unit
    return folder() / FILE


def content(unit: Unit) -> bytes:
    """What the file that keeps the choice says."""
    return (
        f'# The unit for lengths, "mm" or "in"; all files keep mm.\nunit = "{unit.name}"\n'.encode()
    )


#: What was read or chosen in this session, by what names the data folders.
_choices: dict[str | None, Unit] = {}


def _kept() -> Unit:
    named = os.environ.get(FOLDER_VARIABLE)
    if named not in _choices:
        _choices[named] = _read(folders())
    return _choices[named]


def _read(places: tuple[Path, ...]) -> Unit:
    """The first folder's choice, else that of those that are shared; a file with a fault is none."""
    for place in places:
        try:
            # Below the gate: a plain file, and only its first line or two.
            with (place / FILE).open("rb") if (place / FILE).is_file() else BytesIO() as file:
                said = tomllib.loads(file.read(1000).decode()).get("unit")
        except (OSError, ValueError, RecursionError):
            continue
        unit = _named(str(said))
        if unit is not None:
            return unit
    return MM


@lru_cache(maxsize=16)
def _named(text: str) -> Unit | None:
    plain = text.strip().lower()
    return UNITS.get(_SPELLINGS.get(plain, plain))


def _plain(value: float, places: int) -> str:
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _fraction(parts: int) -> str:
    """So many 64ths of an inch as a whole number and a fraction.

    >>> _fraction(88), _fraction(64), _fraction(-32), _fraction(0)
    ('1 3/8', '1', '-1/2', '0')
    """
    whole, rest = divmod(Fraction(abs(parts), 64), 1)
    text = " ".join([str(whole)] * (whole > 0 or not rest) + [str(rest)] * (rest > 0))
    return f"-{text}" if parts < 0 else text
