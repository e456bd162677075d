"""Words of danger in plain text: which uses the name of a part, or what is said of it, tells of."""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache

from workbench import data

#: Ends of an English plural.
_PLURAL = "(?:s|es)?"

#: How umlauts are typed where a keyboard has none.
_TYPED = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})


def spotted(*texts: str) -> dict[str, str]:
    """The uses that texts tell of, each with the words that do.

    >>> spotted("gas hob knob"), spotted("Leitersprosse"), spotted("curtain ring")
    ({'fire': 'gas hob', 'heat': 'hob'}, {'weight': 'leitersprosse'}, {})
    """
    found: dict[str, str] = {}
    for text in texts:
        parted = re.sub(r"(?<=[a-zäöüß])(?=[A-ZÄÖÜ])", " ", str(text))
        plain = " ".join(re.findall(r"[^\W_]+", _folded(parted)))
        for use, (words, harmless) in _patterns().items():
            seen = words.search(harmless.sub(" | ", plain)) if harmless else words.search(plain)
            if seen and use not in found:
                found[use] = seen[0]
    return found


@lru_cache(maxsize=1)
def _patterns() -> dict[str, tuple[re.Pattern[str], re.Pattern[str] | None]]:
    """For each use the pattern of its words, longest first, and of what is harmless."""
    rows = tomllib.loads((data.HERE / "danger_words.toml").read_text(encoding="utf-8"))
    return {
        use: (
            _any([(w, _PLURAL) for w in row["en"]] + [(w, "") for w in row["de"]]),
            _any([(w, r"\w*") for w in row["but"]]) if row.get("but") else None,
        )
        for use, row in rows.items()
    }


def _folded(text: str) -> str:
    return text.casefold().translate(_TYPED)


def _any(words: list[tuple[str, str]]) -> re.Pattern[str]:
    ordered = sorted(words, key=lambda word: -len(word[0]))
    each = (
        re.escape(_folded(word)).replace(r"\*", r"\w*").replace(r"\ ", " ") + end
        for word, end in ordered
    )
    return re.compile(rf"\b(?:{'|'.join(each)})\b")
