"""The notebook that a repair lives in: what its cells are to say when the bench has changed it.

A notebook's content is the plain data of its file, whether it comes from there or from the
browser. The cells that the tool wrote are written anew; what a hand changed in them stays.
"""

from __future__ import annotations

import ast
import io
import tokenize
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from workbench import units
from workbench.errors import RepairError
from workbench.output.notebook import cells
from workbench.output.notebook.repair_sizes import Place, named_sizes, size
from workbench.output.notebook.template_notebook import (
    KEY,
    Saved,
    held_in,
    laid_over,
    metadata_for,
    source_of,
    tags_of,
)
from workbench.solids.changes import Row, same
from workbench.solids.merge import row_of
from workbench.solids.repair import Repair
from workbench.words import _

#: Where papermill puts sizes, after the cell with those of the notebook.
INJECTED = "injected-parameters"


@dataclass(frozen=True)
class Writing:
    """What is to be set in a notebook.

    sources : by a cell's id, what it is to say; cells that already do are left out
    metadata : what stands in the notebook's metadata under ``workbench``
    sizes : by the names of the parameters cell, as a cell that has run would have set them
    """

    sources: dict[str, str]
    metadata: Row
    sizes: dict[str, Any] = field(default_factory=dict)


class EditedByHand(RepairError):
    """The cells were changed by hand, and what they say now is not on the bench yet."""


def is_document(content: Row) -> bool:
    """Whether a notebook has the tool's own cells for one repair."""
    tags = {tag for cell in _cells(content) for tag in tags_of(cell)}
    return KEY in (content.get("metadata") or {}) and {cells.PARAMETERS, cells.BUILD} <= tags


def written(
    content: Row, repair: Repair, ran: Row | None = None, path: Path = Path("notebook.ipynb")
) -> Writing:
    """What a notebook's cells are to say for a repair.

    Parameters
    ----------
    ran : the repair as the cells last built it; a change by hand that it has is on the bench
    path : what the notebook is called in errors

    Raises
    ------
    EditedByHand
        When the parameters cell was changed and has not run since.
    RepairError
        When a cell cannot be read or was rewritten by hand; the sentence names it.
    """
    saved = held_in(content, path)
    told = row_of(laid_over(saved))
    if not same(told, row_of(saved.repair)) and (ran is None or not same(told, ran)):
        raise EditedByHand(
            _("The cells were changed by hand; run all cells to lay that and the bench together.")
        )
    names = named_sizes(repair, saved.names)
    with units.using(units.MM):
        found = {
            str(cell.get("id")): source
            for cell in _cells(content)
            if (source := _anew(cell, saved, repair, names)) not in (None, source_of(cell))
        }
        build = cells.build(repair, names)
    return Writing(
        {name: source for name, source in found.items() if source is not None},
        metadata_for(repair, names, saved.title, saved.note, build),
        {name: size(repair, place) for name, place in names.items()},
    )


def _anew(
    cell: Mapping[str, Any], saved: Saved, repair: Repair, names: Mapping[str, Place]
) -> str | None:
    """The source that a cell is to have, or None where it is not the tool's."""
    tags, source = tags_of(cell), source_of(cell)
    values = {name: size(repair, place) for name, place in names.items()}
    if cells.BUILD in tags:
        build = cells.build(repair, names)
        return source if cells.fingerprint(build) == cells.fingerprint(source) else build
    if cells.PARAMETERS in tags:
        if source == cells.parameters(saved.repair, saved.names):
            return cells.parameters(repair, names)
        lines = cells.parameters(repair, names)
        return relined(source, values, set(saved.names), _by_name(lines))
    if INJECTED in tags:
        return relined(source, values, set(saved.names))
    as_it_was = cells.heading(saved.repair, saved.names, saved.title, saved.note)
    if cell.get("cell_type") == "markdown" and source == as_it_was:
        return cells.heading(repair, names, saved.title, saved.note)
    return None


def relined(
    source: str,
    values: Mapping[str, Any],
    known: set[str],
    more: Mapping[str, str] | None = None,
) -> str:
    """A cell of sizes with other values, and everything else that was written in it.

    Parameters
    ----------
    values : by name; a line whose value is the same stays as it is
    known : names of sizes; the line of one that is not among the values goes
    more : for names that have no line yet the line to put at the end

    >>> print(relined("# mine\\nfoot_width = 30  # measured\\n", {"foot_width": 31.5}, set()))
    # mine
    foot_width = 31.5  # measured
    """
    lines = source.splitlines(keepends=True)
    there = set()
    for statement in reversed(ast.parse(source).body):
        name = _target(statement)
        value = getattr(statement, "value", None)
        if name is None or value is None:
            continue
        there.add(name)
        first, last = statement.lineno - 1, statement.end_lineno or statement.lineno
        if name not in values:
            if name in known:
                del lines[first:last]
        elif not same(ast.literal_eval(value), values[name]):
            start = len(lines[value.lineno - 1].encode()[: value.col_offset].decode())
            rest = lines[value.end_lineno - 1].encode()[value.end_col_offset :].decode()
            head = lines[value.lineno - 1][:start]
            lines[value.lineno - 1 : value.end_lineno] = [
                head + cells.size_literal(values[name]) + rest
            ]
    added = [line for name, line in (more or {}).items() if name not in there]
    text = "".join(lines).rstrip("\n")
    return "\n".join([text, *(["", *added] if added else [])])


def _by_name(source: str) -> dict[str, str]:
    """The lines of a cell of sizes by the names that they set."""
    return {
        token.string: token.line.rstrip("\n")
        for token in tokenize.generate_tokens(io.StringIO(source).readline)
        if token.type == tokenize.NAME and token.start[1] == 0
    }


def _target(statement: ast.stmt) -> str | None:
    if isinstance(statement, ast.Assign) and len(statement.targets) == 1:
        target: ast.expr = statement.targets[0]
    elif isinstance(statement, ast.AnnAssign):
        target = statement.target
    else:
        return None
    return target.id if isinstance(target, ast.Name) else None


def set_in(content: Row, writing: Writing) -> Row:
    """The notebook's content with what is to be set in it; the given one stays as it is."""
    listed = [
        {**cell, "source": writing.sources[cell["id"]].splitlines(keepends=True)}
        if cell.get("id") in writing.sources
        else cell
        for cell in _cells(content)
    ]
    metadata = {**content.get("metadata", {}), KEY: writing.metadata}
    return {**content, "cells": listed, "metadata": metadata}


def bench_cell(content: Row, name: str) -> str:
    """The id of the cell that a bench's work is kept with: its own, or the one tagged bench."""
    found = [str(cell.get("id")) for cell in _cells(content) if cells.BENCH in tags_of(cell)]
    there = [str(cell.get("id")) for cell in _cells(content)]
    return name if name in there else next(iter(found), name)


def _cells(content: Row) -> list[Mapping[str, Any]]:
    listed = content.get("cells")
    return [c for c in listed if isinstance(c, Mapping)] if isinstance(listed, list) else []
