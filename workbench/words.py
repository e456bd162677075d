"""Every text that a person sees passes through here, so that it can be translated.

Write ``_("{field} is {value} mm; give more than 0 mm").format(field=..., value=...)``: the
sentence stays whole for the translator and the numbers are filled in afterwards.

A sentence says its lengths in mm, as the ``{value} mm`` above. Where the user reads inches, ``_``
puts them into inches, as it puts the words into the user's language.
"""

from __future__ import annotations

import gettext
import math
import os
import re
from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Any

from workbench import units

DOMAIN = "workbench"

#: Apart from the tool's own texts: what stands in the lessons.
LESSONS = "lessons"

_LOCALES = Path(__file__).parent / "locale"


@lru_cache(maxsize=8)
def _catalogue(domain: str, language: str) -> gettext.NullTranslations:
    languages = [language] if language else None
    return gettext.translation(domain, str(_LOCALES), languages=languages, fallback=True)


def _spoken(domain: str = DOMAIN) -> gettext.NullTranslations:
    return _catalogue(domain, os.environ.get("WORKBENCH_LANGUAGE", ""))


def _(text: str, about: str = "") -> str:
    """Return ``text`` in the user's language, or unchanged where there is no translation.

    The language comes from ``WORKBENCH_LANGUAGE``, else from the usual locale variables. ``about``
    tells words apart that are one in English, such as right, a side, and right, an "outcome".
    """
    catalogue = _spoken()
    said = catalogue.pgettext(about, text) if about else catalogue.gettext(text)
    # argparse asks for the translation of no title, too
    plain = not said or units.chosen() is units.MM
    return said if plain else _in_inches(said, catalogue.gettext("1.5"))


def of_lesson(text: str) -> str:
    """A text of the lessons in the user's language, or unchanged."""
    return _spoken(LESSONS).gettext(text)


def translated() -> bool:
    """Whether the user's language is another one than the English of the code."""
    return bool(_spoken().info())


def meant(text: str, words: Iterable[str], about: str = "") -> str:
    """The one of ``words`` that a text names, in English or the user's language; else the text.

    >>> meant("Fine ", ["fine", "coarse"]), meant("odd", ["fine", "coarse"])
    ('fine', 'odd')
    """
    typed = text.strip().casefold()
    known = {word: (word.casefold(), _(word, about).casefold()) for word in words}
    return next((word for word, names in known.items() if typed in names), text)


def number(value: float, places: int = 2) -> str:
    """Write a number as a person would: no trailing zeros, a plain minus, never ``-0``.

    >>> number(34.850), number(12.0), number(-0.0001)
    ('34.85', '12', '0')
    """
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    text = "0" if text in ("-0", "") else _with_mark(text)
    return text if units.chosen() is units.MM else _Number(text, value, places)


def sized(value: float, places: int = 2) -> str:
    """Write a length given in mm in the user's unit, without naming the unit.

    places : that it has in mm; inches come as fine as those, or as a fraction that is exact

    >>> sized(34.850), sized(0)
    ('34.85', '0')
    """
    unit = units.chosen()
    if unit is units.MM:
        return number(value, places)
    return _Size(_with_mark(unit.spelled(value, places)))


def uncertain(value: float, uncertainty: float) -> str:
    """Write a length with its standard uncertainty, both given in mm, without naming the unit.

    The uncertainty has one significant digit, or two where the first is a 1; the length has as
    many places as that (JCGM 100:2008, 7.2.6).

    >>> uncertain(31, 0.0122), uncertain(34.948, 0.0289), uncertain(5, 0)
    ('31.000 ± 0.012', '34.95 ± 0.03', '5')
    """
    doubt = in_unit(uncertainty)
    if not doubt > 0:
        return sized(value)
    power = math.floor(math.log10(doubt))
    places = max(0, (0 if doubt / 10.0**power >= 1.95 else 1) - power)
    told = _with_mark(f"{in_unit(value):.{places}f} ± {doubt:.{places}f}")
    return told if units.chosen() is units.MM else _Size(told)


def measured(value: float) -> str:
    """Write a length in mm as calipers show it: one decimal at least, two at most.

    In inches it is as :func:`sized` has it.

    >>> measured(71), measured(34.85), measured(-0.001)
    ('71.0', '34.85', '0.0')
    """
    if units.chosen() is not units.MM:
        return sized(value)
    text = f"{value:.2f}"
    text = text[:-1] if text.endswith("0") else text
    return _with_mark("0.0" if text == "-0.0" else text)


def rounded(value: float, places: int = 2) -> float:
    """A number as a pocket calculator's user rounds it: halves away from 0.

    >>> rounded(2.625), rounded(1.005), rounded(-0.125), rounded(800.3688)
    (2.63, 1.01, -0.13, 800.37)
    """
    scale = 10.0**places
    return math.copysign(math.floor(abs(value) * scale + 0.5 + 1e-7) / scale, value)


def shown(value: float) -> float:
    """A length in mm as :func:`measured` writes it, so that sums of what is written come out.

    >>> shown(59.6449), shown(34.9)
    (59.64, 34.9)
    """
    unit = units.chosen()
    if unit is units.MM:
        return rounded(value)
    parts = unit.spelled(abs(value), 2).split()
    return math.copysign(float(sum(map(Fraction, parts))) * unit.mm, value)


def length(value: float, places: int = 2) -> str:
    """Write a length given in mm with its unit.

    >>> length(34.85)
    '34.85 mm'
    """
    return f"{sized(value, places)} {unit_sign()}"


def setting(value: float, places: int = 2) -> str:
    """Write what the trade states in mm everywhere, such as a nozzle or the height of a layer.

    A sentence leaves it in mm for those who read inches, too.

    >>> setting(0.2)
    '0.2'
    """
    with units.using(units.MM):
        return number(value, places)


def sizes(lengths: Iterable[float], places: int = 2, between: str = ", ") -> str:
    """Write several lengths given in mm, such as the coordinates of a point, without the unit.

    >>> sizes((1, 2.5)), sizes((35, 3.2, 70), between=" x ")
    ('1, 2.5', '35 x 3.2 x 70')
    """
    told = between.join(sized(float(part), places) for part in lengths)
    return told if units.chosen() is units.MM else _Size(told)


def quantity(value: float, unit: str, places: int = 2) -> str:
    """Write a value with its unit: a length in mm in the user's unit, an angle, or a plain number.

    >>> quantity(34.9, "mm"), quantity(63.5, "°"), quantity(3, "")
    ('34.9 mm', '63.5°', '3')
    """
    if unit == "mm":
        return length(value, places)
    gap = "" if unit in ("", "°") else " "
    return f"{number(value, places)}{gap}{unit}"


def on_the_piece(value: float) -> str:
    """Write a length in mm as it stands on a printed piece, and what it is in the user's unit.

    >>> on_the_piece(2.45)
    '2.45'
    """
    raised = setting(value)
    return raised if units.chosen() is units.MM else f"{raised} = {length(value)}"


def in_unit(value: float) -> float:
    """A length given in mm as a number in the user's unit.

    >>> in_unit(34.9)
    34.9
    """
    return value / units.chosen().mm


def unit_sign(unit: str = "mm") -> str:
    """What stands behind a number: for mm the sign of the user's own unit.

    >>> unit_sign(), unit_sign("°")
    ('mm', '°')
    """
    reads_mm = units.chosen() is units.MM
    return unit if unit != "mm" or reads_mm else _("in", "inches, behind a number")


def unit_word(unit: str = "mm") -> str:
    """What the unit is called in a label or by a screen reader: for mm the user's own.

    >>> unit_word(), unit_word("°")
    ('mm', 'degrees')
    """
    if unit == "°":
        return _("degrees")
    return unit if unit != "mm" or units.chosen() is units.MM else _("inches")


def named_in(label: str, unit: str = "mm") -> str:
    """The name of a number's box or slider, with what it is in: for mm the user's own unit.

    >>> named_in("bottom"), named_in("turn", "°"), named_in("count", "")
    ('bottom in mm', 'turn in °', 'count')
    """
    if not unit:
        return label
    if unit == "mm" and units.chosen() is not units.MM:
        return _("{label}, inches").format(label=label)  # not "bottom in in"
    return _("{label} in {unit}").format(label=label, unit=unit)


def _with_mark(text: str) -> str:
    """The number with the language's decimal mark, which stands in its way of writing 1.5."""
    return text.replace(".", _("1.5")[1])


class _Number(str):
    """A number as it is written, which knows its value: it may turn out to be a length in mm."""

    value: float
    places: int

    def __new__(cls, text: str, value: float, places: int) -> _Number:
        made = super().__new__(cls, text)
        made.value, made.places = float(value), places
        return made


class _Size(str):
    """A length that is in the user's unit already."""


#: A number in a sentence, or where one comes; several that share one unit; and the unit.
_VALUE = r"(?:\{\w+\}|_{3,}|(?<![\w.,])\d+(?:[.,]\d+)?)"
_RUN = re.compile(
    rf"{_VALUE}(?:(?:\s?[x×±–]\s?|\s(?:to|by|bis|mal)\s){_VALUE})*\)?"
    r"\s(?P<unit>mm²?|\{unit\})(?![\w³/])"
)
_TOKEN = re.compile(_VALUE)


class _InInches(str):
    """A sentence that says its lengths in mm and tells them in inches when it is filled in.

    A value that is no number, such as a :func:`setting` or what somebody typed, stays as it is
    with its mm.
    """

    def format(self, *args: Any, **values: Any) -> str:
        return _RUN.sub(lambda found: _told(found, values), self).format(*args, **values)


@lru_cache(maxsize=4096)
def _in_inches(text: str, mark: str) -> _InInches:
    """A sentence for a reader of inches; lengths that stand in it as numbers are told at once."""
    return _InInches(_RUN.sub(lambda found: _told(found, {}), text))


def _told(run: re.Match[str], values: Mapping[str, Any]) -> str:
    """A run of numbers with its mm in inches, or as it is where its last is no length."""
    unit = run["unit"]
    if unit == "{unit}" and values.get("unit") != "mm":
        return run[0]
    text = run[0].removesuffix(unit)
    ends = []
    for token in reversed(list(_TOKEN.finditer(text))):
        told = _token_told(token[0], values, unit == "mm²")
        if told is None:  # as the step in "set {step} to {size} mm"
            break
        ends.append((token, told))
    for token, told in ends:
        text = text[: token.start()] + told + text[token.end() :]
    if not ends:
        return run[0]
    return text + unit_sign() + ("²" if unit == "mm²" else "")


def _token_told(token: str, values: Mapping[str, Any], is_area: bool) -> str | None:
    if token.startswith("_"):
        return token
    value = values.get(token[1:-1]) if token.startswith("{") else float(token.replace(",", "."))
    if isinstance(value, _Size) or (isinstance(value, str) and set(value) == {"_"}):
        return value
    if isinstance(value, _Number):
        return _area(value.value) if is_area else sized(value.value, value.places)
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _area(value) if is_area else sized(value)
    return None


def _area(value: float) -> str:
    """An area given in mm², in square inches to three digits."""
    inches = value / units.MM_PER_INCH**2
    places = 3 if not inches else max(0, 2 - math.floor(math.log10(abs(inches))))
    return number(inches, min(places, 5))


def sentence(words: str) -> str:
    """The words with a capital at the beginning and a full stop at the end.

    What is called by a name with an underscore or a dot keeps it as it is written elsewhere.

    >>> sentence("set a brim of 5 mm"), sentence("Does it hold?"), sentence("blade_top is missing")
    ('Set a brim of 5 mm.', 'Does it hold?', 'blade_top is missing.')
    """
    stop = "" if words.rstrip().endswith((".", "!", "?", '."')) else "."
    first = words.split(" ", 1)[0].rstrip(".")
    named = "_" in first or "." in first
    return f"{words if named else words[:1].upper() + words[1:]}{stop}"
