"""Words of danger in plain text: which uses the name of a part, or what is said of it, tells of."""

from __future__ import annotations

import itertools
import json
import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache, reduce

from workbench import data

#: The heading of the words for what keeps a thing, such as a rack.
_KEEPS = "keeps"

#: Letters of a word from which on one slip in typing is seen through. Our choice: shorter words are
#: too often one letter from a harmless one, such as ladder and adder.
LONG = 8

#: How umlauts are written where a keyboard has none. A long word is known without its dots too; a
#: short one is another word then, as Kuchen is of Küchen.
_TYPED = [("ä", "ae"), ("ö", "oe"), ("ü", "ue")]

_UNDOTTED = str.maketrans("äöü", "aou")

#: Which words of a name are read as one phrase, counted from its first: side by side, or with one
#: more word between them.
_TOGETHER = [(0, 1, 2, 3), (0, 1, 3), (0, 2, 3), (0, 1, 2), (0, 2), (0, 1), (0,)]


def spotted(*texts: str) -> dict[str, str]:
    """The uses that texts tell of, each with the words that do.

    >>> spotted("gas hob knob"), spotted("Leitersprosse"), spotted("curtain ring")
    ({'fire': 'gas hob knob', 'heat': 'hob'}, {'weight': 'leitersprosse'}, {})
    """
    found: dict[str, str] = {}
    for text in texts:
        for use, words in _spotted(str(text)):
            found.setdefault(use, words)
    return found


def of_shapes(name: str) -> bool:
    """Whether a step's name is a word for a shape, as often meant so as for the thing itself.

    >>> of_shapes("blade 2"), of_shapes("brake")
    (True, False)
    """
    shapes = _rows()[_KEEPS]["shapes"]
    return re.sub(r"[\W\d_]+", "", name.casefold()).removesuffix("s") in shapes


@lru_cache(maxsize=2000)
def _spotted(text: str) -> tuple[tuple[str, str], ...]:
    parted = re.sub(r"(?<=[a-zäöüß])(?=[A-ZÄÖÜ])", " ", text)
    typed = re.findall(r"[^\W_]+", " ".join(map(_apart, parted.lower().split(" "))))
    turned, rows = _turned(typed), _rows()[_KEEPS]
    found = {} if turned == typed else _told(typed)
    across = {use: words for use, words in found.items() if words != _turned(words)}
    keeps = turned == typed or not set(typed).isdisjoint(rows["for"])
    told = across | _told(turned, keeps)
    return tuple(sorted((use, " ".join(words)) for use, words in told.items()))


def _told(typed: Sequence[str], keeps: bool = True) -> dict[str, Sequence[str]]:
    """The uses that words in this order tell of, each with those that do."""
    words = [_mended(_folded(word)) for word in typed]
    found = {}
    for use in _seen(words, keeps=keeps):
        read = _struck(_harmless(use, words), words, _rows()[use].get("even", ()))
        gone = {word for word, left in zip(words, read, strict=True) if word != left}
        whole = ["|" if word in gone else word for word in words]
        if place := _seen(words, read, whole, keeps=keeps).get(use):
            found[use] = typed[place]
    return found


def _turned(words: Sequence[str]) -> Sequence[str]:
    """What a part is of put before the part, as the lid of a bin is a bin lid.

    >>> _turned("lid for the bin".split())
    ['bin', 'lid']
    """
    of = _rows()[_KEEPS]["of"]
    first = next((at for at, word in enumerate(words) if word in of), None)
    if first is None:
        return words
    return [*_turned(words[first + 1 :]), *words[:first]]


def _apart(word: str) -> str:
    """An English word of danger and what it is a part for, where they are written in one.

    >>> _apart("brakelever"), _apart("clover")
    ('brake lever', 'clover')
    """
    for part in _rows()[_KEEPS]["parts"]:
        danger = word.removesuffix(part)
        told = _known().get(danger, ()) if danger != word else ()
        if any(tongue == "en" for _use, tongue in told):
            return f"{danger} {part}"
    return word


def _struck(harmless: re.Pattern[str], words: Sequence[str], even: Sequence[str]) -> list[str]:
    """Words without what is harmless, which may begin within what else is.

    What is a danger even there stays, as a safety valve under its cap.
    """
    name, left, stays = " ".join(words), list(words), tuple(map(_folded, even))
    for found in harmless.finditer(name):
        first = name.count(" ", 0, found.start())
        for at in range(first, first + found[1].count(" ") + 1):
            if not any(each in words[at] for each in stays):
                left[at] = "|"
    return left


def _seen(words: Sequence[str], *left: Sequence[str], keeps: bool) -> dict[str, slice]:
    """For each use where its longest word of danger stands that is not taken out.

    A phrase is taken out with its first word: a bunk bed stays one before a bed rail. Of a phrase
    what is left is the first of ``left``, of a single word the last.
    """
    found: dict[str, slice] = {}
    for steps in _TOGETHER:
        for first in range(len(words) - steps[-1]):
            last = first + steps[-1]
            if left and left[0 if last > first else -1][first] == "|":
                continue
            for use, tongue, piece in _looked_up([words[first + step] for step in steps]):
                kept = keeps and _rows()[use].get("stored") and _kept(words, last, tongue, piece)
                if use not in found and not kept and not _aside(use, words, last, piece):
                    found[use] = slice(first, last + 1)
    return found


def _looked_up(words: Sequence[str]) -> Iterator[tuple[str, str, str]]:
    """The uses, each with its language and its word, of which words in a row are the name."""
    joined = "".join(words)
    single = "".join(word.removesuffix("s") for word in words[:-1]) + words[-1]
    for each in dict.fromkeys((joined, single)):
        yield from _of(each, each)
    for plural in ("s", "es"):
        if joined.endswith(plural):
            one = joined.removesuffix(plural)
            yield from (found for key in (one, f"{one}*") for found in _of(key, one, ("en",)))
    if len(words) == 1:
        for start, end in itertools.combinations(range(len(joined) + 1), 2):
            piece, before, after = joined[start:end], joined[:start], joined[end:]
            for lead, tail in (("", "*"), ("*", ""), ("*", "*")):
                if (lead or not before) and (tail or not after):
                    yield from _of(lead + piece + tail, piece)


def _of(key: str, piece: str, tongues: Sequence[str] = ("en", "de")) -> list[tuple[str, str, str]]:
    return [(use, tongue, piece) for use, tongue in _known().get(key, ()) if tongue in tongues]


def _aside(use: str, words: Sequence[str], last: int, piece: str) -> bool:
    """Whether what is named is harmless of any thing, as a label or a cushion, or of what is used so."""
    ends, beside, name = _ends("signs", use), _ends("extras", use), " ".join(words)
    closed = tuple(end.replace(" ", "") for end in ends)
    if (name.endswith(ends) or name.removesuffix("s").endswith(ends)) and not piece.endswith(
        closed
    ):
        return True
    joined = words[last].endswith(beside) and not piece.endswith(beside)
    return joined or not set(beside).isdisjoint(words[last + 1 : last + 2])


@lru_cache(maxsize=50)
def _ends(which: str, use: str) -> tuple[str, ...]:
    """What a name may end in, or have beside the word of danger, of any thing and of what is used so."""
    listed = (_rows()[_KEEPS] if which != "signs" or use != "child" else {}).get(which, [])
    return tuple(
        itertools.chain.from_iterable(map(_spelled_out, listed + _rows()[use].get(which, [])))
    )


def _kept(words: Sequence[str], last: int, tongue: str, piece: str) -> bool:
    """Whether what keeps the thing is named right after the thing, and a part of it perhaps.

    Not where the word of danger says so itself, as a lamp holder's, nor where the thing is at work
    or hot in what keeps it.
    """
    rows = _rows()[_KEEPS]
    keeps, unlike, busy = (tuple(map(_folded, rows[name])) for name in ("de", "unlike", "busy"))
    if any(each in "".join(words[: last + 1]) for each in busy):
        return False
    if tongue == "de" and words[last].endswith(keeps) and not words[last].endswith(unlike):
        return not piece.endswith(keeps)
    after = [word for word in words[last + 1 :] if word not in rows["between"]][:1]
    return any(
        word.endswith(keeps) and not word.endswith(unlike)
        if tongue == "de"
        else word.removesuffix("s") in rows["en"]
        for word in after
    )


@lru_cache(maxsize=1)
def _rows() -> dict[str, dict[str, list[str]]]:
    """The file's headings and keys, whose values are JSON as well as TOML: that is read in no time."""
    rows: dict[str, dict[str, list[str]]] = {}
    row: dict[str, list[str]] = {}
    for line in (data.HERE / "danger_words.toml").read_text(encoding="utf-8").splitlines():
        key, equals, value = line.partition(" = ")
        if line.startswith("["):
            row = rows[line.strip("[]")] = {}
        elif equals and not line.startswith("#"):
            row[key] = json.loads(value)
    return rows


@lru_cache(maxsize=1)
def _known() -> Mapping[str, tuple[tuple[str, str], ...]]:
    """The words of danger, without spaces, with the uses that they tell of, each in a language."""
    known: dict[str, tuple[tuple[str, str], ...]] = {}
    for use, row in _rows().items():
        for tongue in ("en", "de") if use != _KEEPS else ():
            told = ((use, tongue),)
            for word in itertools.chain.from_iterable(map(_spelled_out, row[tongue])):
                key = word.replace(" ", "")
                if key not in known:
                    known[key] = told
                elif told[0] not in known[key]:
                    known[key] += told
    return known


def _spelled_out(word: str) -> list[str]:
    """A word with each "{that|which}" in it written out, without umlauts.

    >>> _spelled_out("{bett|stuhl}b{ein|ügel}*")
    ['bettbein*', 'bettbuegel*', 'bettbugel*', 'stuhlbein*', 'stuhlbuegel*', 'stuhlbugel*']
    """
    plain = word.casefold()
    if "{" not in plain and plain.isascii():  # as most are
        return [plain]
    choices = [piece.split("|") for piece in re.split("[{}]", plain)]
    spelled = ["".join(pieces) for pieces in itertools.product(*choices)]
    if plain.isascii():  # nothing is left to be typed otherwise
        return list(dict.fromkeys(spelled))
    return list(dict.fromkeys(form for each in spelled for form in _forms(each)))


def _forms(word: str) -> list[str]:
    return [_folded(word)] + [word.translate(_UNDOTTED)] * (len(word.strip("*")) >= LONG)


def _harmless(use: str, words: Sequence[str]) -> re.Pattern[str]:
    """What is taken out of a name before it is read for a use, in one word or apart.

    A long word is so too where others are joined before it. What another use has is taken out where
    it is the same word that both uses have.
    """
    joined, each = "".join(words), ["$^"]
    for other, phrase, longest, pieces in _phrases():
        if (
            longest in joined
            and all(piece in joined for piece in pieces)
            and (other == use or (" " in phrase and _shared(use, other, phrase)))
        ):
            letters = "*" * (len(phrase) >= LONG) + phrase.replace(" ", "")
            apart = " ?" if " " in phrase or len(phrase) >= LONG else ""
            spread = apart.join(letters.rstrip("*").replace("*", "+")).replace("+ ?", "+")
            each.append(spread.replace("+", r"\w*"))
    return re.compile(rf"\b(?=((?:{'|'.join(sorted(each, key=len, reverse=True))})\w*\b))")


@lru_cache(maxsize=1)
def _phrases() -> list[tuple[str, str, str, list[str]]]:
    """What is harmless for a use, with its longest piece and all of them."""
    return [
        (use, phrase, max(pieces, key=len), pieces)
        for use, row in _rows().items()
        for phrase in itertools.chain.from_iterable(map(_spelled_out, row.get("but", ())))
        for pieces in [re.split(r"[* ]+", phrase)]
    ]


def _shared(use: str, other: str, phrase: str) -> bool:
    """Whether one and the same word of danger in a phrase tells of both uses."""
    words, told = phrase.replace("*", "").split(), defaultdict(set)
    for first, last in itertools.combinations(range(len(words) + 1), 2):
        for each, *piece in _looked_up(words[first:last]):
            told[each].add(tuple(piece))
    return not told[use].isdisjoint(told[other])


def _folded(text: str) -> str:
    return reduce(lambda word, pair: word.replace(*pair), _TYPED, text.casefold())


def _mended(word: str) -> str:
    """A long word with its one slip in typing put right, where that makes it a word of danger.

    Its last letter is no slip: a Schraubzwinge is no Schraube.
    """
    if len(word) < LONG:
        return word
    known, harmless = _long_words()
    alike = known.get(word[0], ())
    if word.startswith((*harmless, *alike)):
        return word
    for each in alike:
        for end in range(min(len(each) + 1, len(word)), len(each) - 2, -1):
            if word[end - 1] == each[-1] and _one_slip(word[:end], each):
                return each + word[end:]
    return word


def _one_slip(word: str, other: str) -> bool:
    """Whether words differ by a letter too many, one too few, or two that are swapped.

    A letter mistaken for another is no slip here: it makes other words, Schulter of Schalter.
    """
    pairs = enumerate(zip(word, other, strict=False))
    same = next((at for at, (one, two) in pairs if one != two), min(len(word), len(other)))
    left, right = word[same:], other[same:]
    if len(left) == len(right):
        return left[:2] == right[1::-1] and left[2:] == right[2:]
    return left[1:] == right or left == right[1:]


@lru_cache(maxsize=1)
def _long_words() -> tuple[Mapping[str, list[str]], tuple[str, ...]]:
    """Words of danger long enough to be known in spite of a slip, by first letter; what is harmless."""
    known: dict[str, list[str]] = defaultdict(list)
    for row in _rows().values():
        for word in re.findall(r"\w+", " ".join(row.get("en", []) + row.get("de", [])).casefold()):
            if len(word) >= LONG:
                known[word[0]].extend(dict.fromkeys(_forms(word)))
    return known, tuple(itertools.chain.from_iterable(map(_forms, _rows()[_KEEPS]["other"])))
