"""Collect every text for translation, and bring each language's catalogues up to date.

``python -m workbench.locale.collect`` reads the sentences inside ``_()`` and those that reach it
from elsewhere: what to measure, a template's summary, words that are data. What stands in the
lessons goes into a catalogue of its own. It adds what is new to each ``.po``, leaves there what
stands, and writes the ``.mo`` that the tool reads. A language behind the command begins it. Needs
Babel (extra ``test``).
"""

from __future__ import annotations

import ast
import errno
import json
import os
import sys
from collections.abc import Iterator
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any

from workbench.words import DOMAIN, LESSONS

if TYPE_CHECKING:
    from babel.messages.catalog import Catalog

HOUSE = Path(__file__).parent.parent
LOCALES = Path(__file__).parent


def in_code() -> dict[str, list[str]]:
    """Every constant text inside ``_()`` and every ``measure=``, with the files where it stands.

    Texts with a context are in :func:`with_context`.
    """
    found: dict[str, list[str]] = {}
    for path, node in _calls():
        texts = [word.value for word in node.keywords if word.arg == "measure"]
        texts += node.args[:1] if _of_parameter(node) else []
        texts += node.args[:1] if _is_said(node) and len(node.args) == 1 else []
        for text in texts:
            if isinstance(text, ast.Constant) and text.value:
                found.setdefault(str(text.value), []).append(path)
    return found


@cache
def _calls() -> list[tuple[str, ast.Call]]:
    """Each call that may hold a text, with its file."""
    return [
        (f"workbench/{path.relative_to(HOUSE).as_posix()}", node)
        for path in sorted(HOUSE.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and (
            _is_said(node) or _of_parameter(node) or any(k.arg == "measure" for k in node.keywords)
        )
    ]


def _is_said(node: ast.Call) -> bool:
    return isinstance(node.func, ast.Name) and node.func.id == "_"


def _of_parameter(node: ast.Call) -> bool:
    return getattr(node.func, "id", "") == "Parameter"


#: What goes wrong with files, as the system tells it.
_OF_FILES = (
    *(errno.ENOENT, errno.EACCES, errno.EPERM, errno.ENOSPC, errno.EROFS, errno.EISDIR),
    *(errno.ENOTDIR, errno.EEXIST, errno.ENAMETOOLONG),
)


#: Sizes whose name is another word elsewhere: a hook's back is no side, a stop's base no triangle's.
TOLD_APART = (("hook", "back"), ("stop", "base"), ("thread", "size"))


def in_data() -> set[str]:
    """Every text that reaches ``_()`` as a variable."""
    return {text for text in _variables() if text.strip()}


def _variables() -> Iterator[str]:
    from workbench import data
    from workbench.checks import printability, report
    from workbench.checks.cautions import small_parts
    from workbench.checks.fit import fit_report
    from workbench.checks.strength import beams
    from workbench.cli import COMMANDS, OF_ARGPARSE
    from workbench.jupyter.bench import PANELS
    from workbench.measure import reading
    from workbench.measure.outlines import piece, triangles
    from workbench.measure.sketches import table_row
    from workbench.output.notebook import shelf
    from workbench.output.roster import class_summary, roster_row
    from workbench.solids.recipe import seat, service

    for numbers in (seat.SEAT_NUMBERS, seat.AT_NUMBERS, seat.INSETS):
        yield from (size.measure for size in numbers.values())
    yield from seat.FACES + service.FITS + triangles.WAYS
    yield from (piece.BOX, piece.RIGHT, piece.ISOSCELES, piece.EQUILATERAL, piece.SCALENE)
    yield from reading.RESOLUTION
    yield from table_row.KINDS
    yield from (*class_summary.HEAD, *fit_report.FitRow.HEADINGS, *fit_report.TrialRow.HEADINGS)
    yield from map(
        data.label, (*data.Material.__dataclass_fields__, *data.Printer.__dataclass_fields__)
    )
    yield from roster_row.STATES
    yield from shelf.WHAT
    yield from OF_ARGPARSE.values()
    for panel in PANELS:
        yield from (panel.title, panel.purpose)
    yield from map(os.strerror, _OF_FILES)
    for source in (
        *(report.PRACTICE, fit_report.SOURCE, printability.OVERHANG, small_parts.SOURCE),
        *(beams.BEAM, beams.CORNER, beams.SNAP, beams.OFF_AXIS),
    ):
        yield from source.split("; ")
    yield from (
        " ".join((declare.__doc__ or "").strip().splitlines()) for declare in COMMANDS.values()
    )
    for meta in _templates():
        yield from (meta["title"], meta["note"], meta["repair"]["name"])
    yield from _of_templates()
    yield from _of_materials()


def _of_templates() -> Iterator[str]:
    from workbench.solids import catalogue

    for name in catalogue.SHIPPED:
        template = catalogue.find(name)
        yield from (name.replace("_", " "), template.summary)
        for parameter in template.parameters:
            yield parameter.label
            yield from map(str, getattr(parameter.kind, "options", ()))


def _templates() -> Iterator[dict[str, Any]]:
    """What stands in the metadata of each shipped template."""
    from workbench.output.notebook.bundled import folders

    for path in sorted(folders().templates.glob("*.ipynb")):
        yield json.loads(path.read_text(encoding="utf-8"))["metadata"]["workbench"]


def _of_materials() -> Iterator[str]:
    import tomllib

    for name, table in (
        pair
        for file in ("materials.toml", "printers.toml")
        for pair in tomllib.loads((HOUSE / "data" / file).read_text(encoding="utf-8")).items()
    ):
        if name == "sources":
            yield from table.values()
            continue
        yield table.get("summary", "")
        for figure in table.values():
            if isinstance(figure, dict):
                yield figure.get("text", "")


def in_lessons() -> dict[str, list[str]]:
    """Every text of the lessons, with the notebooks where it stands."""
    from workbench.output.notebook.bundled import folders
    from workbench.output.notebook.language import pieces

    found: dict[str, list[str]] = {}
    for path in sorted(folders().notebooks.glob("*.ipynb")):
        for cell in json.loads(path.read_text(encoding="utf-8"))["cells"]:
            for piece in pieces(cell["cell_type"], "".join(cell["source"])):
                found.setdefault(piece.text, []).append(f"{path.parent.name}/{path.name}")
    return found


def with_context() -> Iterator[tuple[str, str]]:
    """Texts that are looked up together with what they are about."""
    from workbench.checks import report
    from workbench.measure.sketches.corners import FILLERS
    from workbench.output.notebook.language import STEP
    from workbench.output.sheets import caliper_jaws
    from workbench.solids import catalogue
    from workbench.solids.recipe import uses
    from workbench.solids.recipe.seat import FACES
    from workbench.solids.recipe.service import OUTCOMES

    for _path, node in _calls():
        if _is_said(node) and all(isinstance(part, ast.Constant) for part in node.args[:2]):
            text, *about = (str(part.value) for part in node.args if isinstance(part, ast.Constant))
            yield from ((text, context) for context in about)
    yield from ((outcome, "outcome") for outcome in OUTCOMES)
    yield from ((face, "side") for face in FACES)
    yield from ((word, "use") for word in uses.known())
    yield from ((rule, "rule") for rule in report.RULE_NAMES)
    yield from ((word, "place") for word in FILLERS)
    yield from (
        (word, "calipers")
        for word in (caliper_jaws.OUTSIDE, caliper_jaws.INSIDE, caliper_jaws.DEPTH)
    )
    for template, size in TOLD_APART:
        parameter = catalogue.find(template).parameter(size)
        yield parameter.label, parameter.kind.measure
    names = {step["name"] for meta in _templates() for step in meta["repair"]["steps"]}
    yield from ((name, STEP) for name in sorted(names))


def collected(domain: str = DOMAIN) -> Catalog:
    """All texts of a domain as one catalogue without translations."""
    from babel.messages.catalog import Catalog

    catalogue = Catalog(domain=domain, project="workbench", fuzzy=False)
    placed = in_lessons() if domain == LESSONS else in_code()
    for text in sorted(set(placed) | (set() if domain == LESSONS else in_data())):
        places = sorted({(name, 0) for name in placed.get(text, [])})
        flags = ["python-brace-format"] if "{" in text and domain == DOMAIN else []
        catalogue.add(text, locations=places, flags=flags)
    for text, about in sorted(set(with_context())) if domain == DOMAIN else ():
        catalogue.add(text, context=about)
    return catalogue


def stored(path: Path) -> Catalog:
    """The catalogue in a ``.po`` file."""
    from babel.messages.pofile import read_po

    with path.open("rb") as file:
        return read_po(file, locale=path.parent.parent.name, domain=path.stem)


def compiled(catalogue: Catalog) -> bytes:
    """The catalogue as the ``.mo`` that gettext reads."""
    from babel.messages.mofile import write_mo

    into = BytesIO()
    write_mo(into, catalogue)
    return into.getvalue()


def update(*begin: str) -> None:
    """Write each language's ``.po`` and ``.mo`` anew: new texts in, texts that are gone out.

    begin : languages to begin, such as "es"
    """
    from babel.messages.pofile import write_po

    languages = {path.name for path in LOCALES.iterdir() if path.is_dir() and path.name[0] != "_"}
    for domain in (DOMAIN, LESSONS):
        template = collected(domain)
        for language in sorted({*languages, *begin}):
            path = LOCALES / language / "LC_MESSAGES" / f"{domain}.po"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.touch()
            catalogue = stored(path)
            catalogue.update(template, no_fuzzy_matching=True)
            into = BytesIO()
            write_po(into, catalogue, ignore_obsolete=True, width=96, include_lineno=False)
            path.write_bytes(into.getvalue())
            path.with_suffix(".mo").write_bytes(compiled(catalogue))


if __name__ == "__main__":
    update(*sys.argv[1:])
