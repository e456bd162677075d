"""What a user states against a stop: it must name what was done, and of a caution what it is about.

Words decide, since nobody can check the deed: a statement is for whoever reads the sheet later.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

from workbench import data, gate
from workbench.checks.report import RULE_NAMES, Finding
from workbench.checks.subject import Subject
from workbench.data.danger_words import spotted
from workbench.errors import RepairError
from workbench.words import _, meant, nearest

#: Different words that a statement has at least. Our choice.
LEAST_WORDS = 4


def answered(findings: Iterable[Finding], statements: Mapping[str, str]) -> list[Finding]:
    """Turn each stop that the user answered into a warning that carries the answer."""
    return [_answer(finding, statements.get(finding.rule)) for finding in findings]


def unknown_rules(subject: Subject) -> Iterator[Finding]:
    """Statements about what no check asks, as an older record may have them."""
    text = _("A reason is given why {rule!r} does not apply, but no check has that name.")
    remedy = _("Give the reason for one of these: {known}.").format(known=_rules())
    for rule in subject.repair.statements:
        if rule not in RULE_NAMES:
            told, name = text.format(rule=gate.short(rule)), subject.repair.name
            yield Finding(
                severity="warning", rule="statement", where=name, text=told, remedy=remedy
            )


def _answer(finding: Finding, statement: str | None) -> Finding:
    if finding.severity != "stop" or statement is None:
        return finding
    stated = str(statement).strip()
    if says_enough(finding.rule, stated):
        text = _('Stated: "{statement}"').format(statement=stated)
        return replace(finding, severity="warning", text=f"{finding.text} {text}")
    text = _(
        'The statement "{statement}" does not say what was done: write something like {example}.'
    ).format(statement=stated, example=_example(finding.rule))
    return replace(finding, text=f"{finding.text} {text}")


def says_enough(rule: str, statement: str) -> bool:
    """Whether a statement names what was done and, of a caution, what it is about.

    >>> says_enough("mains", "bla bla bla"), says_enough("mains", "it holds a 12 V lamp only")
    (False, True)
    """
    known = _known()
    words = re.findall(r"[^\W_]+|°\s?[CF]", known["empty"].sub(" ", statement.casefold()))
    if len(set(words)) < LEAST_WORDS:
        return False
    done = any(known["done"].fullmatch(word) or word.isdigit() for word in words)
    about = known.get(rule)
    return done and (
        about is None or any(map(about.fullmatch, words)) or rule in spotted(statement)
    )


def rule_named(text: str) -> str:
    """The rule that a text names.

    Raises RepairError with the nearest rule, or with all where none is near.
    """
    rule = meant(text, RULE_NAMES, "rule")
    if rule in RULE_NAMES:
        return rule
    if close := nearest(text, RULE_NAMES, "rule"):
        hint = _("there is no rule {rule!r}; did you mean {close!r}?")
        raise RepairError(hint.format(rule=text, close=close))
    raise RepairError(
        _("there is no rule {rule!r}; rules: {known}").format(rule=text, known=_rules())
    )


def _rules() -> str:
    return ", ".join(_(name, "rule") for name in RULE_NAMES)


def _example(rule: str) -> str:
    examples = {
        "mains": _('"it holds a 12 V lamp only; no mains wire comes near it"'),
        "pressure": _('"it is a drain without pressure; a fitter checked it"'),
        "weight": _('"nobody stands on it; it carries 2 kg of towels"'),
        "fire": _('"the gas is shut off for good and the hob is a display"'),
        "vehicle": _('"it only holds the bicycle on the wall, not on the road"'),
        "medical": _('"it is a stand for storage and never touches skin"'),
        "sport": _('"it only hangs the helmet on the wall"'),
        "small parts": _('"it is glued into the lid, and no child under three is in the house"'),
        "heat": _('"I measured 42 °C beside it after an hour"'),
    }
    return examples.get(rule, _('"I printed it once, tested it with 10 kg, and it held"'))


@lru_cache(maxsize=1)
def _known() -> dict[str, re.Pattern[str]]:
    rows = tomllib.loads((data.HERE / "statement_words.toml").read_text(encoding="utf-8"))
    lists = {"done": rows["done"], "empty": rows["empty"], **rows["about"]}
    return {
        name: re.compile("|".join(re.escape(word).replace(r"\*", r"\w*") for word in words))
        for name, words in lists.items()
    }
