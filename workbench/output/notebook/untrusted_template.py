"""A template from somebody else: what it holds, and its code to look at before it is run."""

from __future__ import annotations

import ast
import json
import re
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from workbench.errors import RepairError
from workbench.gate import fitted, shown, statements
from workbench.output.notebook import beginning, cells
from workbench.output.notebook.repair_sizes import named_sizes
from workbench.output.notebook.template_notebook import KEY, open_template, read_json
from workbench.solids.recipe.repair import Repair
from workbench.words import _

_WIDE = 96

#: The end of a whole number that is written with a decimal place.
_POINT_NOUGHT = re.compile(r"(?<=\d)\.0(?![\d.\w])")


@dataclass(frozen=True)
class Code:
    """A code cell that the tool did not write: its number in the notebook, and its text."""

    cell: int
    text: str


def own_code(path: str | Path) -> tuple[Code, ...]:
    """The code cells of a notebook that are not as the tool writes them; none of it is run.

    The tool's own cells are written anew from the repair in the metadata and compared, however
    they are spaced. A cell of plain values, as for the sizes, counts as harmless.

    Raises RepairError when the file cannot be read, or is larger than any template.
    """
    row = read_json(Path(path))
    known = _written_by_the_tool(row)
    return tuple(
        Code(number, text)
        for number, text in _code(row)
        if _fingerprint(text) not in known and not _harmless(text)
    )


def _written_by_the_tool(row: Any) -> set[str]:
    """Fingerprints of the code cells that the tool would write for the repair in a notebook."""
    try:
        repair = Repair.from_json(json.dumps(row["metadata"][KEY]["repair"]))
        listed = row["metadata"][KEY].get("parameters", ())
        kept = {str(name): (str(step), str(field)) for name, step, field in listed}
        ours = cells.write(repair, named_sizes(repair, kept), repair.name, "", b"")
    except (RepairError, KeyError, TypeError, ValueError, AttributeError):
        return set()
    written = [cell["source"] for cell in ours if cell["cell_type"] == "code"]
    return {_fingerprint(source) for source in (*written, *cells.FORMER)}


def _fingerprint(source: str) -> str:
    """That of the code with whole numbers as a browser keeps them, which writes 1.0 as 1."""
    return cells.fingerprint(_POINT_NOUGHT.sub("", source))


def described(path: str | Path) -> str:
    """A template in words: what it is, its sizes with ranges, and the code that is its author's.

    Raises RepairError when the file cannot be read at all. One that is no template, or a broken
    one, is told with its code, since that is what there is to look at.
    """
    path = Path(path)
    theirs = own_code(path)
    try:
        lines = _about(path)
    except RepairError as error:
        lines = [str(error)]
    if not list(_code(read_json(path))):
        return "\n".join([*lines, "", _("There is no code in it.")])
    if not theirs:
        return "\n".join([*lines, "", _("Its code is as the tool writes it.")])
    warned = _(
        "Cells that the tool did not write: {count}. None of them was run. Whoever runs the "
        "notebook runs them, and they can do anything on this computer that this person can. "
        "Read them first, or do without them: workbench new takes the sizes and writes the code "
        "anew."
    ).format(count=len(theirs))
    lists = [
        line
        for code in theirs
        for line in (
            "",
            _("cell {number}:").format(number=code.cell),
            textwrap.indent(shown(code.text), "    "),
        )
    ]
    return "\n".join([*lines, "", *textwrap.wrap(warned, _WIDE), *lists])


def _about(path: Path) -> list[str]:
    saved = open_template(path, changed=True)
    began = beginning.beginning(str(path))
    version = read_json(path)["metadata"][KEY].get("version", "?")
    wide = max((len(name) for name in began.sizes), default=0)
    return [
        saved.title,
        *textwrap.wrap(saved.note, _WIDE),
        _("saved by workbench {version}").format(version=fitted(str(version))),
        "",
        *(
            f"  {name:{wide}}  {beginning.help_for(asked, value)}"
            for name, (asked, value) in began.sizes.items()
        ),
    ]


def _code(row: dict[str, Any]) -> Iterator[tuple[int, str]]:
    """What may be run: every cell that is not plainly one of text."""
    for number, cell in enumerate(row.get("cells", []), 1):
        if isinstance(cell, dict) and cell.get("cell_type") not in ("markdown", "raw"):
            source = cell.get("source", "")
            yield number, "".join(map(str, source)) if isinstance(source, list) else str(source)


def _harmless(text: str) -> bool:
    """Whether a cell is nothing but names with plain values, or with sums of other sizes."""
    try:
        return all(map(_plain_line, statements(text)))
    except (ValueError, TypeError, SyntaxError, MemoryError, RecursionError):
        return False


def _plain_line(line: ast.stmt) -> bool:
    if isinstance(line, ast.ImportFrom):
        return ast.unparse(line) == "from workbench import Same"
    return (
        isinstance(line, ast.Assign)
        and all(isinstance(target, ast.Name) for target in line.targets)
        and _plain_value(line.value)
    )


def _plain_value(value: ast.expr) -> bool:
    if isinstance(value, ast.Name):
        return True
    if isinstance(value, ast.BinOp):
        reckons = isinstance(value.op, (ast.Add, ast.Sub, ast.Mult, ast.Div))
        return reckons and _plain_value(value.left) and _plain_value(value.right)
    if isinstance(value, ast.Call):
        if not (isinstance(value.func, ast.Name) and value.func.id == "Same"):
            return False
        given = [*value.args, *(word.value for word in value.keywords)]
        return all(isinstance(one, ast.Constant) for one in given)
    ast.literal_eval(value)
    return True
