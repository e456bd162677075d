"""Every text that a person sees passes through here, so that it can be translated.

Write ``_("{field} is {value} mm; give more than 0 mm").format(field=..., value=...)``: the
sentence stays whole for the translator and the numbers are filled in afterwards.
"""

from __future__ import annotations

import gettext
import os
from fractions import Fraction
from functools import lru_cache
from pathlib import Path

DOMAIN = "workbench"
_LOCALES = Path(__file__).parent / "locale"


@lru_cache(maxsize=8)
def _catalogue(language: str) -> gettext.NullTranslations:
    languages = [language] if language else None
    return gettext.translation(DOMAIN, str(_LOCALES), languages=languages, fallback=True)


def _(text: str, about: str = "") -> str:
    """Return ``text`` in the user's language, or unchanged where there is no translation.

    The language comes from ``WORKBENCH_LANGUAGE``, else from the usual locale variables. ``about``
    tells words apart that are one in English, such as right, a side, and right, an "outcome".
    """
    catalogue = _catalogue(os.environ.get("WORKBENCH_LANGUAGE", ""))
    return catalogue.pgettext(about, text) if about else catalogue.gettext(text)


def number(value: float, places: int = 2) -> str:
    """Write a number as a person would: no trailing zeros, a plain minus, never ``-0``.

    >>> number(34.850), number(12.0), number(-0.0001)
    ('34.85', '12', '0')
    """
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else _with_mark(text)


def measured(value: float) -> str:
    """Write a size in mm as calipers show it: one decimal at least, two at most.

    >>> measured(71), measured(34.85), measured(-0.001)
    ('71.0', '34.85', '0.0')
    """
    text = f"{value:.2f}"
    text = text[:-1] if text.endswith("0") else text
    return _with_mark("0.0" if text == "-0.0" else text)


def _with_mark(text: str) -> str:
    """The number with the language's decimal mark, which stands in its way of writing 1.5."""
    return text.replace(".", _("1.5")[1])


def in_inches() -> bool:
    """Whether the user reads inches: ``WORKBENCH_UNIT`` is ``in``."""
    return os.environ.get("WORKBENCH_UNIT", "mm").strip().lower() == "in"


def length(value: float) -> str:
    """Write a length given in mm with its unit: mm, or inches where ``WORKBENCH_UNIT`` is ``in``.

    Inches come as a fraction to the nearest 64th and as decimals, for fractions are rounded.

    >>> length(34.85)
    '34.85 mm'
    """
    if not in_inches():
        return f"{measured(value)} mm"
    inches = value / 25.4
    return f"{_fraction(inches)} in ({number(inches, 3)} in)"


def _fraction(inches: float) -> str:
    """Inches as a whole number and a fraction, to the nearest 64th.

    >>> _fraction(1.375), _fraction(0.999), _fraction(-0.5), _fraction(0)
    ('1 3/8', '1', '-1/2', '0')
    """
    parts = Fraction(round(abs(inches) * 64), 64)
    whole, rest = divmod(parts, 1)
    text = " ".join([str(whole)] * (whole > 0 or not rest) + [str(rest)] * (rest > 0))
    return f"-{text}" if inches < 0 and parts else text


def sentence(words: str) -> str:
    """The words with a capital at the beginning and a full stop at the end.

    >>> sentence("set a brim of 5 mm"), sentence("Does it hold?")
    ('Set a brim of 5 mm.', 'Does it hold?')
    """
    stop = "" if words.rstrip().endswith((".", "!", "?", '."')) else "."
    return f"{words[:1].upper()}{words[1:]}{stop}"
