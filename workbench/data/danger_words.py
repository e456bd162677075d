"""Words of danger in plain text: which uses the name of a part, or what is said of it, tells of."""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache

from workbench import data

#: Ends of an English plural.
_PLURAL = "(?:s|es)?"

#: The heading of the words for what keeps a thing, such as a rack.
_KEEPS = "keeps"

#: How umlauts are typed where a keyboard has none.
_TYPED = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})


def spotted(*texts: str) -> dict[str, str]:
    """The uses that texts tell of, each with the words that do.

    >>> spotted("gas hob knob"), spotted("Leitersprosse"), spotted("curtain ring")
    ({'fire': 'gas hob', 'heat': 'hob'}, {'weight': 'leitersprosse'}, {})
    """
    found: dict[str, str] = {}
    for text in texts:
        for use, words in _spotted(str(text)):
            found.setdefault(use, words)
    return found


@lru_cache(maxsize=2000)
def _spotted(text: str) -> tuple[tuple[str, str], ...]:
    parted = re.sub(r"(?<=[a-zäöüß])(?=[A-ZÄÖÜ])", " ", text)
    plain = " ".join(re.findall(r"[^\W_]+", _folded(parted)))
    found = []
    for use, stems in _stems().items():
        # Most names hold no word of danger: its pattern need not be made.
        if any(stem in plain for stem in stems):
            words, harmless = _patterns(use)
            if seen := words.search(harmless.sub(" | ", plain) if harmless else plain):
                found.append((use, seen[0]))
    return tuple(found)


@lru_cache(maxsize=1)
def _rows() -> dict[str, dict[str, list[str]]]:
    return tomllib.loads((data.HERE / "danger_words.toml").read_text(encoding="utf-8"))


@lru_cache(maxsize=1)
def _stems() -> dict[str, list[str]]:
    """For each use the longest piece of each of its words that must stand in a text as it is."""
    return {
        use: [max(_folded(word).split("*"), key=len) for word in (*row["en"], *row["de"])]
        for use, row in _rows().items()
        if use != _KEEPS
    }


@lru_cache(maxsize=64)
def _patterns(use: str) -> tuple[re.Pattern[str], re.Pattern[str] | None]:
    """The pattern of a use's words, longest first, and of what is harmless."""
    row = _rows()[use]
    english, german = _not_kept() if row.get("stored") else ("", "")
    words = _any(
        [(w, _PLURAL + r"\b" + english) for w in row["en"]] + [(w, german) for w in row["de"]]
    )
    return words, _any([(w, r"\w*") for w in row["but"]]) if row.get("but") else None


def _not_kept() -> tuple[str, str]:
    """What must not follow, or end, a word: that which keeps the thing, in English and German."""
    keeps = {tongue: list(map(_folded, words)) for tongue, words in _rows()[_KEEPS].items()}
    english = rf"(?! (?:wall )?(?:{'|'.join(keeps['en'])}){_PLURAL}$)"
    return english, "".join(f"(?<!{word})" for word in keeps["de"])


def _folded(text: str) -> str:
    return text.casefold().translate(_TYPED)


def _any(words: list[tuple[str, str]]) -> re.Pattern[str]:
    ordered = sorted(words, key=lambda word: -len(word[0]))
    each = (
        re.escape(_folded(word)).replace(r"\*", r"\w*").replace(r"\ ", " ") + end
        for word, end in ordered
    )
    return re.compile(rf"\b(?:{'|'.join(each)})\b")
