"""The lessons and the templates that come with the tool, in the user's language.

They are shipped in English. In a lesson the paragraphs, the comments and the texts in quotes are
translated, each by itself; the code stays as it is. In a template the title, the note and the
names of the steps are; its sizes keep the names that rosters and commands call them by.
"""

from __future__ import annotations

import ast
import io
import json
import re
import tokenize
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import accumulate

from workbench.measure.outlines.triangles import WAYS
from workbench.measure.reading import RESOLUTION
from workbench.measure.sketches.table_row import KINDS
from workbench.output.files.paths import json_bytes
from workbench.solids import catalogue
from workbench.solids.building import following
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.seat import FACES, Place, Seat
from workbench.solids.recipe.service import FITS, OUTCOMES
from workbench.words import _, of_lesson, translated

#: The names of a shipped template's steps are translated apart from other words.
STEP = "step"

#: Between the paragraphs of a text, and between the rows of a table.
_BETWEEN = re.compile(r"(\n{2,}|\n(?=\|))")

#: A text in quotes, with what may stand before them.
_QUOTED = re.compile(r"(?s)[a-zA-Z]*(?P<mark>\"{3}|'{3}|\"|')(?P<text>.*)(?P=mark)")

#: What holds no word to translate: a placeholder, a unit, a file, corners of a sketch.
_NO_WORD = re.compile(
    r"\{[^{}]*\}|(?<!\w)(?:mm[²³]?|g)(?!\w)|^\S*[/_-]\S*$|^[A-Z]+$|^[A-Z](?: \w+)*(?: [A-Z]){1,2}$|^\s*`[^`]*`$"
)
_WORD = re.compile(r"[^\W\d_]{2,}")


@dataclass(frozen=True)
class Piece:
    """A text within a cell's source: the places where it begins and ends, and the text."""

    start: int
    end: int
    text: str


def lesson(content: bytes, say: Callable[[str], str] = of_lesson) -> bytes:
    """A lesson's file with each of its texts as ``say`` has it: in the user's language."""
    row = json.loads(content)
    for cell in row["cells"]:
        source = "".join(cell["source"])
        for piece in reversed(pieces(cell["cell_type"], source)):
            source = source[: piece.start] + say(piece.text) + source[piece.end :]
        cell["source"] = source.splitlines(keepends=True)
    return json_bytes(row)


def pieces(kind: str, source: str) -> list[Piece]:
    """The texts of a "markdown" or "code" cell, in order."""
    if kind == "markdown":
        found = list(_paragraphs(source))
    else:
        found = [*_comments(source), *_quoted(source)]
    told = (piece for piece in found if _WORD.search(_NO_WORD.sub("", piece.text)))
    return sorted(told, key=lambda piece: piece.start)


def _paragraphs(source: str) -> Iterator[Piece]:
    at = 0
    for part in _BETWEEN.split(source):
        text = part.strip("\n")
        if text:
            start = at + part.index(text)
            yield Piece(start, start + len(text), text)
        at += len(part)


def _comments(source: str) -> Iterator[Piece]:
    """Each comment without its mark."""
    starts = _starts(source)
    for token in tokenize.generate_tokens(io.StringIO(source).readline):
        if token.type == tokenize.COMMENT:
            text = token.string.lstrip("# ")
            end = starts[token.end[0] - 1] + token.end[1]
            yield Piece(end - len(text), end, text)


def _quoted(source: str) -> Iterator[Piece]:
    """What stands between the quotes of each text that is no name of the code's own."""
    starts, lines = _starts(source), source.splitlines(keepends=True)
    tree = ast.parse(source)
    passed = {id(node) for node in _names(tree)}
    for node in ast.walk(tree):  # what is around comes before what is within
        if id(node) in passed or not isinstance(node, (ast.Constant, ast.JoinedStr)):
            continue
        passed |= {id(part) for part in ast.walk(node)}
        start, end = (
            starts[row - 1] + len(lines[row - 1].encode()[:column].decode())
            for row, column in (
                (node.lineno, node.col_offset),
                (node.end_lineno or 0, node.end_col_offset or 0),
            )
        )
        found = _QUOTED.fullmatch(source[start:end])
        if found and found["text"] not in _vocabulary():
            yield Piece(start + found.start("text"), start + found.end("text"), found["text"])


def _names(tree: ast.AST) -> Iterator[ast.AST]:
    """Texts that name something to the code: the template that is added, a key, a separator."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Subscript):
            yield node.slice
        elif isinstance(node, ast.Compare) and isinstance(node.left, ast.Attribute):
            yield from node.comparators
        elif isinstance(node, ast.Call):
            if isinstance(node.func, ast.Attribute) and node.func.attr in ("add", "cut"):
                yield from node.args[:1]
            yield from (word.value for word in node.keywords if word.arg == "sep")


@lru_cache(maxsize=1)
def _vocabulary() -> frozenset[str]:
    """Words that the code takes as they are, in every language."""
    shipped = map(catalogue.find, catalogue.SHIPPED)
    fields = {parameter.name for template in shipped for parameter in template.parameters}
    return frozenset({*FACES, *FITS, *OUTCOMES, *WAYS, *KINDS, *RESOLUTION, *fields})


def _starts(source: str) -> list[int]:
    """Where each line begins."""
    return [0, *accumulate(map(len, source.splitlines(keepends=True)))]


def in_own_words(repair: Repair) -> Repair:
    """The repair of a shipped template with its name and its steps' in the user's language."""
    if not translated():
        return repair
    own = repair.copy(_(repair.name))

    def place(found: Place) -> Place:
        if not isinstance(found, Seat):
            return found
        return replace(found, on=f"{found.face} of {_(found.step, STEP)}")

    own.steps = tuple(
        following.renamed(
            replace(step, name=_(step.name, STEP), place=place(step.place)),
            lambda name: _(name, STEP),
        )
        for step in own.steps
    )
    own.readings = {
        ".".join((_(where.partition(".")[0], STEP), where.partition(".")[2])): reading
        for where, reading in own.readings.items()
    }
    own.eases = tuple(ease.renamed(lambda name: _(name, STEP)) for ease in own.eases)
    own.limits = tuple(limit.renamed(lambda name: _(name, STEP)) for limit in own.limits)
    own.loads = tuple(replace(load, step=_(load.step, STEP)) for load in own.loads)
    own.fits = tuple(replace(fit, step=_(fit.step, STEP)) for fit in own.fits)
    own.loose = tuple(replace(body, step=_(body.step, STEP)) for body in own.loose)
    return own


def followed(same: Same) -> Same:
    """What a size of a shipped template follows, with the steps' names in the user's language."""
    return same.renamed(lambda name: _(name, STEP)) if translated() else same
