"""How a part is used, in words: "child", "food", "heat 70"."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from workbench.data.danger_words import spotted
from workbench.errors import RepairError
from workbench.words import _, meant, nearest

_WRITTEN = re.compile(
    r"^\s*(?P<word>[^\W\d]+)\s*(?:(?P<amount>\d+(?:[.,]\d+)?)\s*(?P<unit>°?[CF])?)?\s*$"
)

#: Between several uses in one text; a decimal comma is none.
_COMMA = re.compile(r"\s*[,;]\s*(?=[^\W\d])")


@dataclass(frozen=True)
class Use:
    """One word of :func:`known`, with a temperature in °C where it is "heat"."""

    word: str
    amount: float | None = None

    def __str__(self) -> str:
        return self.word if self.amount is None else f"{self.word} {self.amount:g}"


def known() -> dict[str, str]:
    """The words for uses that matter, and what each means, for a list to tick."""
    return {
        "child": _("children use it or can reach it"),
        "pet": _("a pet uses it or can chew it"),
        "food": _("food or drink touches it"),
        "heat": _('it gets warm; add how warm in °C, such as "heat 70"'),
        "outdoors": _("it stays in sun and rain"),
        "mains": _("it insulates, holds or covers something on mains voltage"),
        "pressure": _("gas, water or steam presses on it"),
        "weight": _("it carries people, or hangs or stands over them"),
        "fire": _("gas, a flame or smoke is near, or it guards against them"),
        "vehicle": _("it is for a vehicle, a brake, or a machine with blades"),
        "medical": _("it is a health aid, or worn on the skin"),
        "sport": _("it protects or holds somebody in sport, such as climbing"),
        NONE: _("none of these"),
    }


#: The word for a use that has no dangers: an answer, too.
NONE = "none"


def read(uses: Iterable[str]) -> tuple[Use, ...]:
    """The uses of a repair; other words than those of :func:`known` are read for dangers.

    Raises RepairError when a word is none of :func:`known` and tells of none of them.

    >>> read(["child", "heat 70"])
    (Use(word='child', amount=None), Use(word='heat', amount=70.0))
    >>> read(["heat 158 F"])[0].amount, read(["bicycle brake"])[0].word
    (70.0, 'vehicle')
    """
    texts = [uses] if isinstance(uses, str) else uses
    return tuple(dict.fromkeys(use for text in texts for use in _read(text)))


def _read(text: str) -> tuple[Use, ...]:
    several = _COMMA.split(text) if isinstance(text, str) else [text]
    if len(several) > 1 and (any(map(_is_known, several)) or all(map(_WRITTEN.match, several))):
        return tuple(use for one in several for use in _read(one))
    found = _WRITTEN.match(text) if isinstance(text, str) else None
    word = meant(found["word"], known(), "use") if found else ""
    if found is None or word not in known() or (found["amount"] and word != "heat"):
        told = () if word in known() or not isinstance(text, str) else tuple(spotted(text))
        if told:
            return tuple(Use(each, _warmth(text) if each == "heat" else None) for each in told)
        close = nearest(word, known(), "use")
        hint = _("; did you mean {close!r}?").format(close=close) if close else ""
        raise RepairError(
            _(
                'uses has {text!r}; give words out of {known}, and for heat the °C, such as "heat 70"{hint}'
            ).format(text=text, known=", ".join(_(word, "use") for word in known()), hint=hint)
        )
    if not found["amount"]:
        return (Use(word),)
    return (Use(word, _celsius(found["amount"], found["unit"])),)


def _is_known(text: str) -> bool:
    found = _WRITTEN.match(text)
    return found is not None and meant(found["word"], known(), "use") in known()


def _warmth(text: str) -> float | None:
    """The temperature that a text names, such as "oven, 180 °C"."""
    found = re.search(r"(\d+(?:[.,]\d+)?)\s*(°\s*[CF]|[CF]\b)", text)
    return _celsius(found[1], found[2]) if found else None


def _celsius(amount: str, unit: str | None) -> float:
    degrees = float(amount.replace(",", "."))
    return (degrees - 32) / 1.8 if (unit or "").endswith("F") else degrees
