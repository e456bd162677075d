"""The shelf: shipped notebooks and templates, the user's own, and fresh copies of them."""

from __future__ import annotations

import json
import textwrap
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path

from workbench import gate
from workbench.errors import RepairError
from workbench.output.files.paths import folder_for, numbered, write_new, write_over
from workbench.output.notebook import language, shared_folders
from workbench.output.notebook.bundled import Folders, folders, is_checkout
from workbench.output.notebook.current_notebook import NOTEBOOKS, TEMPLATES
from workbench.output.notebook.household_words import household_words
from workbench.output.notebook.pupil_copy import for_pupils
from workbench.output.notebook.template_notebook import (
    KEY,
    as_notebook,
    open_template,
    read_template,
)
from workbench.solids import catalogue
from workbench.solids.parameters import Template
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.revision import checksum, read_record
from workbench.words import _, translated

#: The first repair of the class, which the demo makes.
FIRST = "tray-divider"

#: In a user's folder: what was put there by the tool, so that only unchanged files are renewed.
_LEDGER = ".workbench-copies.json"


#: How many parts are named that come nearest to some words.
_NEAREST = 5

#: The least letters of a name within a joined word, and the most that a plural adds.
_PART, _PLURAL = 4, 2

#: What happened to a file that was left alone.
KEPT = "as it was"

#: What may happen to a file; "beside" is put where theirs was changed, so that it stays.
WHAT = ("new", "renewed", "beside", KEPT)


@dataclass(frozen=True)
class Card:
    """What the shelf shows of one template.

    path : its file
    title, note : what it is called and what to know about it
    picture : PNG bytes
    steps : the names of its steps and of the templates that these are
    version : of the tool that saved it
    """

    path: Path
    title: str
    note: str
    picture: bytes
    steps: tuple[str, ...] = ()
    version: str = ""


@dataclass(frozen=True)
class Copy:
    """One file put into a user's folder.

    what : one of the words of WHAT
    """

    path: Path
    what: str


def cards(*more: Path) -> list[Card]:
    """Every template on the shelf: those in the folders ``more``, the shared, the shipped ones.

    A notebook that is no template, or is damaged, is left out.
    """
    found: dict[str, Card] = {}
    for path in paths(*more):
        if path.name not in found:
            card = _card(path)
            if card is not None:
                found[path.name] = card
    return list(found.values())


def paths(*more: Path) -> list[Path]:
    """The notebooks in the folders ``more``, the shared and the shipped; names may come twice.

    In each folder the first repair of the class comes first, then the others by name.
    """
    listed = [
        *(sorted(place.glob("*.ipynb")) for place in more),
        *shared_folders.notebooks().values(),
        sorted(folders().templates.glob("*.ipynb")),
    ]
    return [path for paths in listed for path in sorted(paths, key=lambda path: path.stem != FIRST)]


def search(words: str, *more: Path) -> list[Card]:
    """The templates whose name, title, note or steps have every one of these words in them.

    Capitals do not matter, and part of a word is enough; no words find every template. Those
    that are named so come first.
    """
    wanted = words.casefold().split()
    found = [card for card in cards(*more) if all(word in _said(card) for word in wanted)]
    return sorted(found, key=lambda card: not all(word in _named(card) for word in wanted))


def nearest(words: str, *more: Path) -> list[Card]:
    """The few templates that are called most of these words, for where none has every one.

    A plural counts too, and a joined word as its last part does: "knobs", "Ofenknopf".
    """
    wanted, shelf = words.casefold().split(), cards(*more)
    hits = [sum(_calls(word, names) for word in wanted) for names in map(_names, shelf)]
    most = max(hits, default=0)
    return [card for count, card in zip(hits, shelf, strict=True) if count == most > 0][:_NEAREST]


def _names(card: Card) -> set[str]:
    texts = (_named(card), *household_words(card.path.stem))
    return set(" ".join(texts).casefold().replace("-", " ").split())


def _calls(word: str, names: set[str]) -> bool:
    return word in names or any(
        word.endswith(name) or (word.startswith(name) and len(word) <= len(name) + _PLURAL)
        for name in names
        if len(name) >= _PART
    )


def _named(card: Card) -> str:
    return f"{card.path.stem} {card.title}".casefold()


def _said(card: Card) -> str:
    words = household_words(card.path.stem)
    return " ".join((card.path.stem, card.title, card.note, *card.steps, *words)).casefold()


def plain(words: str) -> list[Template]:
    """The template functions whose name or summary has every one of these words in it."""
    wanted = words.casefold().split()
    every = [catalogue.find(name) for name in catalogue.names() if name != "coupon_tile"]
    return [found for found in every if all(word in _of_shape(found) for word in wanted)]


def _of_shape(found: Template) -> str:
    words = (found.name, found.summary, _(found.name.replace("_", " ")), _(found.summary))
    return " ".join((*words, *household_words(found.name))).casefold()


def told(words: str, *more: Path, width: int = 96) -> str:
    """What on the shelf matches the words or comes nearest, and how to begin with it.

    width : of the lines, in characters

    Raises RepairError when nothing does.
    """
    parts, title = search(words, *more), _("Measured parts:")
    shapes = [(found.name, _(found.summary)) for found in plain(words)]
    if not parts and not shapes:
        parts = nearest(words, *more)
        title = _("Nothing matches all of {words!r}; the nearest are:").format(words=words)
    measured = [(card.path.stem, card.note or card.title) for card in parts]
    if not measured and not shapes:
        raise RepairError(
            _(
                "nothing on the shelf matches {words!r}; try fewer words, or none for everything"
            ).format(words=words)
        )
    wide = max(len(name) for name, _text in measured + shapes)
    lines = []
    for head, listed in ((title, measured), (_("Plain shapes:"), shapes)):
        if listed:
            lines += [
                head,
                *(_hung(f"  {name:{wide}}  ", text, width) for name, text in listed),
                "",
            ]
    first = (measured or shapes)[0][0]
    return "\n".join([*lines, _("what to measure: workbench new {name} --help").format(name=first)])


def _hung(head: str, text: str, width: int) -> str:
    """A text beside its head, as lines that all begin where the first does."""
    under = " " * len(head)
    return textwrap.fill(
        text, max(width, 2 * len(head)), initial_indent=head, subsequent_indent=under
    )


def find(name: str, *more: Path, also: Iterable[str] = ()) -> Path:
    """The template notebook called ``name``, such as "tray-divider", or at that path.

    also : names that whoever asks takes too, for one that is nearly right

    Raises RepairError when there is none; the sentence lists those there are.
    """
    if name.endswith(".ipynb"):
        return Path(name)
    known = {path.stem: path for path in reversed(paths(*more))}
    if name in known:
        return known[name]
    if name in catalogue.SHIPPED:
        raise RepairError(
            _(
                "{name} is a plain template; begin a repair from it with workbench new {name}"
            ).format(name=name)
        )
    beside = [f"{name}.ipynb"] if Path(f"{name}.ipynb").is_file() else []
    near = beside or get_close_matches(name.casefold(), [*also, *known], n=1)
    if near:
        hint = _("did you mean {near}?").format(near=near[0])
        raise RepairError(
            _("there is no template {name!r} on the shelf; {hint}").format(name=name, hint=hint)
        )
    raise RepairError(
        _("{name!r} is no notebook, no revision and not on the shelf; it has {known}").format(
            name=name, known=gate.listed(sorted(known), 40)
        )
    )


def repair_at(where: str, *more: Path) -> Repair:
    """The repair in a notebook, in a revision's folder or record.json, or on the shelf by name.

    No code is run: of a notebook whose build cell was changed it is the repair that was saved.

    Raises RepairError when it is not there or cannot be read; the sentence says why.
    """
    path = Path(where)
    if path.is_dir() or path.suffix == ".json":
        return read_record(path)
    named = path.suffix or len(path.parts) > 1
    if named and path.suffix != ".ipynb" and path.is_file():
        raise RepairError(
            _("{file} is not a notebook; choose a file that ends in .ipynb").format(file=path.name)
        )
    return read_template(find(where, *more), changed=True)


def stated(repair: Repair, uses: Iterable[str], statements: Iterable[str]) -> Repair:
    """Say of a repair how it is used, and why a stop does not apply.

    uses : words such as "child" or "heat"
    statements : "rule=why", such as "food=it holds closed packets only"

    Raises RepairError when a statement does not say why.
    """
    from workbench.checks.cautions.statements import rule_named
    from workbench.solids.recipe.uses import read

    repair.uses = tuple(dict.fromkeys((*repair.uses, *map(str, read(uses)))))
    for statement in statements:
        rule, _equals, why = (part.strip() for part in statement.partition("="))
        if not rule or not why:
            raise RepairError(
                _("statement is {statement!r}; write the rule, = and why it does not apply").format(
                    statement=statement
                )
            )
        repair.statements[rule_named(rule)] = why
    return repair


def copy_to(folder: str | Path, for_pupil: bool = False) -> list[Copy]:
    """Put fresh copies of the shipped notebooks and of the shelf into a user's folder.

    A file of theirs is never overwritten: one that is still as it was shipped is renewed, and
    beside one that they changed the new one is put with a number. A checkout is left alone.

    for_pupil : leaves out the cells and pages that are for the teacher

    Raises RepairError when the folder cannot be written to.
    """
    folder = Path(folder)
    shipped = folders()
    sources = {
        f"{name}/{path.name}": path
        for name, listed in (
            (NOTEBOOKS, sorted(shipped.notebooks.glob("*.ipynb"))),
            (TEMPLATES, sorted(shipped.templates.glob("*.ipynb"))),
            *((TEMPLATES, listed) for listed in reversed(shared_folders.notebooks().values())),
        )
        for path in listed
    }
    if is_checkout(folder):
        return [Copy(folder / name, KEPT) for name in sources]
    folder_for(folder)
    ledger = _read_ledger(folder)
    done = []
    for name, source in sources.items():
        whole = _in_own_words(source, shipped) if translated() else gate.content(source)
        content = for_pupils(whole) if for_pupil else whole
        if content is None:
            continue
        done.append(_put(folder / name, content, ledger.get(name)))
        ledger[name] = checksum(content)
    write_over(folder / _LEDGER, (json.dumps(ledger, indent=1, sort_keys=True) + "\n").encode())
    return done


def _in_own_words(source: Path, shipped: Folders) -> bytes:
    """A file's content in the user's language; what a class shares is as its teacher wrote it."""
    if source.parent == shipped.notebooks:
        return language.lesson(gate.content(source))
    if source.parent == shipped.templates:
        saved, card = open_template(source), _card(source)
        picture = card.picture if card else None
        return as_notebook(read_template(source), saved.title, saved.note, saved.names, picture)
    return gate.content(source)


def _put(target: Path, content: bytes, last: str | None) -> Copy:
    """Decide for one file and do it; ``last`` is the digest of what was put there before."""
    if write_new(target, content):
        return Copy(target, "new")
    theirs = checksum(gate.content(target))
    if checksum(content) in (theirs, last):
        return Copy(target, KEPT)
    if theirs == last:
        write_over(target, content)
        return Copy(target, "renewed")
    for path in numbered(target):
        if write_new(path, content):
            return Copy(path, "beside")
        if gate.content(path) == content:
            return Copy(path, KEPT)
    raise AssertionError("numbers do not end")


def _read_ledger(folder: Path) -> dict[str, str]:
    try:
        row = gate.json_file(folder / _LEDGER)
    except (OSError, ValueError):
        return {}
    return {str(k): str(v) for k, v in row.items()} if isinstance(row, dict) else {}


def _card(path: Path) -> Card | None:
    import base64

    try:
        row = gate.notebook(path)
        meta = row["metadata"][KEY]
        pictures = [
            cell["attachments"][file]["image/png"]
            for cell in row["cells"]
            for file in cell.get("attachments", {})
        ]
        return Card(
            path=path,
            title=_(gate.name(_("title"), meta["title"])),
            note=_(gate.note(_("note"), meta.get("note", ""))),
            picture=base64.b64decode(pictures[0]) if pictures else b"",
            steps=tuple(
                _(str(step[key]), about)
                for step in meta["repair"]["steps"]
                for key, about in (("name", language.STEP), ("template", ""))
            ),
            version=str(meta.get("version", "")),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return None
