"""Every text that a person sees passes through here, so that it can be translated.

Write ``_("{field} is {value} mm; give more than 0 mm").format(field=..., value=...)``: the
sentence stays whole for the translator and the numbers are filled in afterwards.
"""

from __future__ import annotations

import gettext
import os
from functools import lru_cache
from pathlib import Path

DOMAIN = "workbench"
_LOCALES = Path(__file__).parent / "locale"


@lru_cache(maxsize=8)
def _catalogue(language: str) -> gettext.NullTranslations:
    languages = [language] if language else None
    return gettext.translation(DOMAIN, str(_LOCALES), languages=languages, fallback=True)


def _(text: str) -> str:
    """Return ``text`` in the user's language, or unchanged where there is no translation.

    The language comes from ``WORKBENCH_LANGUAGE``, else from the usual locale variables.
    """
    return _catalogue(os.environ.get("WORKBENCH_LANGUAGE", "")).gettext(text)


def number(value: float, places: int = 2) -> str:
    """Write a number as a person would: no trailing zeros, a plain minus, never ``-0``.

    >>> number(34.850), number(12.0), number(-0.0001)
    ('34.85', '12', '0')
    """
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def measured(value: float) -> str:
    """Write a size in mm as calipers show it: one decimal at least, two at most.

    >>> measured(71), measured(34.85), measured(-0.001)
    ('71.0', '34.85', '0.0')
    """
    text = f"{value:.2f}"
    text = text[:-1] if text.endswith("0") else text
    return "0.0" if text == "-0.0" else text


def sentence(words: str) -> str:
    """The words with a capital at the beginning and a full stop at the end.

    >>> sentence("set a brim of 5 mm"), sentence("Does it hold?")
    ('Set a brim of 5 mm.', 'Does it hold?')
    """
    stop = "" if words.rstrip().endswith((".", "!", "?", '."')) else "."
    return f"{words[:1].upper()}{words[1:]}{stop}"
