"""How a part is used, in words: "child", "food", "heat 70"."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass

from workbench.errors import RepairError
from workbench.words import _, meant

_WRITTEN = re.compile(
    r"^\s*(?P<word>[^\W\d]+)\s*(?:(?P<amount>\d+(?:[.,]\d+)?)\s*(?P<unit>°?[CF])?)?\s*$"
)


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
    }


def read(uses: Iterable[str]) -> tuple[Use, ...]:
    """The uses of a repair.

    Raises
    ------
    RepairError
        When a word is none of :func:`known`.

    >>> read(["child", "heat 70"])
    (Use(word='child', amount=None), Use(word='heat', amount=70.0))
    >>> read(["heat 158 F"])[0].amount
    70.0
    """
    return tuple(_read(text) for text in ([uses] if isinstance(uses, str) else uses))


def _read(text: str) -> Use:
    found = _WRITTEN.match(text) if isinstance(text, str) else None
    word = meant(found["word"], known(), "use") if found else ""
    if found is None or word not in known() or (found["amount"] and word != "heat"):
        close = difflib.get_close_matches(word, list(known()), n=1)
        hint = _("; did you mean {close!r}?").format(close=_(close[0], "use")) if close else ""
        raise RepairError(
            _(
                'uses has {text!r}; give words out of {known}, and for heat the °C, such as "heat 70"{hint}'
            ).format(text=text, known=", ".join(_(word, "use") for word in known()), hint=hint)
        )
    if not found["amount"]:
        return Use(word)
    amount = float(found["amount"].replace(",", "."))
    if (found["unit"] or "").endswith("F"):
        amount = (amount - 32) / 1.8
    return Use(word, amount)
