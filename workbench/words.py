"""Every text that a person sees passes through here, so that it can be translated.

Write ``_("{field} is {value}; give more than 0").format(field=..., value=with_unit(3.2))``: the
sentence stays whole for the translator and the values are filled in afterwards. A length is given
in mm to :func:`with_unit`, the one place that writes it in the unit that the user reads.
"""

from __future__ import annotations

import gettext
import math
import os
import re
from collections.abc import Iterable
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

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
    return catalogue.pgettext(about, text) if about else catalogue.gettext(text)


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


def nearest(text: str, words: Iterable[str], about: str = "") -> str:
    """The one of ``words``, as the user reads it, that a text is nearly, in English or in the
    user's language; "" where none is near.

    >>> nearest("coars", ["fine", "coarse"]), nearest("odd", ["fine", "coarse"])
    ('coarse', '')
    """
    from difflib import get_close_matches

    told = {word: _(word, about) for word in words}
    names = {name.casefold(): shown for word, shown in told.items() for name in (word, shown)}
    close = get_close_matches(text.strip().casefold(), names, 1)
    return names[close[0]] if close else ""


def number(value: float, places: int = 2) -> str:
    """Write a number as a person would: no trailing zeros, a plain minus, never ``-0``.

    >>> number(34.850), number(12.0), number(-0.0001)
    ('34.85', '12', '0')
    """
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else marked(text)


def sized(value: float, places: int = 2) -> str:
    """Write a length given in mm in the user's unit, without naming the unit.

    places : that it has in mm; inches come as fine as those, or as a fraction that is exact

    >>> sized(34.850), sized(0)
    ('34.85', '0')
    """
    unit = units.chosen()
    if unit is units.MM:
        return number(value, places)
    return marked(unit.spelled(value, places))


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
    return marked(f"{in_unit(value):.{places}f} ± {doubt:.{places}f}")


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
    return marked("0.0" if text == "-0.0" else text)


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


def with_unit(value: float, places: int = 2) -> str:
    """Write a length given in mm with its unit.

    >>> with_unit(34.85)
    '34.85 mm'
    """
    return f"{sized(value, places)} {unit_sign()}"


def lengths(**sizes: float) -> dict[str, str]:
    """Several lengths given in mm, each with its unit, for a sentence that names them.

    >>> "{a} of {b}".format(**lengths(a=3, b=34.85))
    '3 mm of 34.85 mm'
    """
    return {name: with_unit(value) for name, value in sizes.items()}


#: What keeps two words on one line, and the spaces between numbers and units where it is wanted.
TIE = "\u00a0"
_WITH_UNIT = re.compile(r"(?<=\d) (?=(?:mm²|mm³|mm|cm|m|g|kg|N|MPa|min|s|h|%|°C|°)(?:\W|$))")


def tied(text: str) -> str:
    """A text in which no line can end between a number and its unit.

    >>> tied("leave 0.2 mm").split(" ")
    ['leave', '0.2\\xa0mm']
    """
    return _WITH_UNIT.sub(TIE, text)


def area_with_unit(value: float, places: int = 2) -> str:
    """Write an area given in mm² with its unit; square inches have three digits.

    >>> area_with_unit(12.345)
    '12.35 mm²'
    """
    if units.chosen() is units.MM:
        return f"{number(value, places)} mm²"
    return f"{_area(value)} {unit_sign()}²"


def shown_root(value: float) -> float:
    """A reckoned length in mm as a calculator's user rounds it: to 0.01 mm, or 0.001 in.

    >>> shown_root(59.6449)
    59.64
    """
    unit = units.chosen()
    return rounded(value) if unit is units.MM else rounded(value / unit.mm, 3) * unit.mm


def shown_area(value: float) -> float:
    """An area in mm² as :func:`area_figure` writes it, so that sums of what is written come out.

    >>> shown_area(12.345)
    12.35
    """
    unit = units.chosen().mm ** 2
    return rounded(value, 2) if unit == 1 else rounded(value / unit, 3) * unit


def area_figure(value: float) -> str:
    """Write an area in mm² of a sum without its unit: to 0.01 mm², or 0.001 in².

    >>> area_figure(12.345)
    '12.35'
    """
    unit = units.chosen().mm ** 2
    return number(shown_area(value) / unit, 2 if unit == 1 else 3)


def area_of_sum(value: float) -> str:
    """The same with its unit."""
    return f"{area_figure(value)} {unit_sign()}²"


def uncertain_with_unit(value: float, uncertainty: float) -> str:
    """Write a length with its standard uncertainty, both given in mm, and the unit.

    >>> uncertain_with_unit(34.948, 0.0289)
    '34.95 ± 0.03 mm'
    """
    return f"{uncertain(value, uncertainty)} {unit_sign()}"


def measured_with_unit(value: float) -> str:
    """Write a length in mm as calipers show it, with its unit.

    >>> measured_with_unit(71)
    '71.0 mm'
    """
    return f"{measured(value)} {unit_sign()}"


def sizes_with_unit(lengths: Iterable[float], places: int = 2, between: str = ", ") -> str:
    """Write several lengths given in mm, with the unit behind the last.

    >>> sizes_with_unit((46, 3.2, 70), between=" x ")
    '46 x 3.2 x 70 mm'
    """
    return f"{sizes(lengths, places, between)} {unit_sign()}"


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
    return between.join(sized(float(part), places) for part in lengths)


def quantity(value: float, unit: str, places: int = 2) -> str:
    """Write a value with its unit: a length in mm in the user's unit, an angle, or a plain number.

    >>> quantity(34.9, "mm"), quantity(63.5, "°"), quantity(3, "")
    ('34.9 mm', '63.5°', '3')
    """
    if unit == "mm":
        return with_unit(value, places)
    gap = "" if unit in ("", "°") else " "
    return f"{number(value, places)}{gap}{unit}"


def on_the_piece(value: float) -> str:
    """Write a length in mm as it stands on a printed piece, and what it is in the user's unit.

    >>> on_the_piece(2.45)
    '2.45'
    """
    raised = setting(value)
    return raised if units.chosen() is units.MM else f"{raised} = {with_unit(value)}"


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


def unit_word() -> str:
    """What the user's own unit is called in a label or by a screen reader."""
    return "mm" if units.chosen() is units.MM else _("inches")


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


def marked(text: str) -> str:
    """The number with the language's decimal mark, which stands in its way of writing 1.5."""
    return text.replace(".", _("1.5")[1])


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
