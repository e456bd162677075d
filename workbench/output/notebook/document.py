"""The notebook that a repair lives in: what its cells are to say when the bench has changed it.

A notebook's content is the plain data of its file, whether it comes from there or from the
browser. The cells that the tool wrote are written anew; what a hand changed in them stays.
"""

from __future__ import annotations

import ast
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from workbench import gate, units
from workbench.errors import RepairError
from workbench.output.notebook import cells
from workbench.output.notebook.repair_sizes import Place, follows, named_sizes, size
from workbench.output.notebook.template_notebook import (
    KEY,
    Saved,
    held_in,
    laid_over,
    metadata_for,
    refuse_changed,
    source_of,
    tags_of,
    value_of,
)
from workbench.solids.recipe.changes import Row, same
from workbench.solids.recipe.merge import row_of
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same
from workbench.solids.recipe.stored import FORMAT
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


def was_built_by(content: Row, code: str) -> bool:
    """Whether this code is the build cell of a notebook whose repair has the old form.

    There each cut took from all that adds, wherever it stood; run as it is, the code means less.
    """
    about = (content.get("metadata") or {}).get(KEY)
    if not isinstance(about, dict) or not isinstance(about.get("repair"), dict):
        return False
    old = about["repair"].get("format", FORMAT) < FORMAT
    return bool(old and about.get("code") == cells.fingerprint(code))


def written(
    content: Row, repair: Repair, ran: Row | None = None, path: Path = Path("notebook.ipynb")
) -> Writing:
    """What a notebook's cells are to say for a repair.

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
    refuse_changed(saved)
    told = laid_over(saved)
    changed = not same(row_of(told), row_of(saved.repair))
    if changed and (ran is None or not same(_in_numbers(row_of(told)), _in_numbers(ran))):
        raise EditedByHand(
            _("The cells were changed by hand; run all cells to bring them and the bench together.")
        )
    names = named_sizes(repair, saved.names)
    with units.using(units.MM):
        by_name = {name: size(told, place) for name, place in saved.names.items()}
        found = {
            str(cell.get("id")): source
            for cell in _cells(content)
            if (source := _anew(cell, saved, repair, names, by_name)) not in (None, source_of(cell))
        }
        build = cells.build(repair, names)
    return Writing(
        {name: source for name, source in found.items() if source is not None},
        metadata_for(repair, names, saved.title, saved.note, build),
        {name: size(repair, place) for name, place in names.items()},
    )


def _in_numbers(row: Row) -> Row:
    """The repair without what its sizes follow: a formula in a cell runs to a number."""
    steps = [{k: v for k, v in step.items() if k != "follows"} for step in row["steps"]]
    return {**row, "steps": steps}


def _anew(
    cell: Mapping[str, Any],
    saved: Saved,
    repair: Repair,
    names: Mapping[str, Place],
    told: Mapping[str, Any],
) -> str | None:
    """The source that a cell is to have, or None where it is not the tool's."""
    tags, source = tags_of(cell), source_of(cell)
    values = {name: follows(repair, at) or size(repair, at) for name, at in names.items()}
    if cells.BUILD in tags:
        build = cells.build(repair, names)
        return source if cells.fingerprint(build) == cells.fingerprint(source) else build
    if cells.PARAMETERS in tags:
        if source == cells.parameters(saved.repair, saved.names):
            return cells.parameters(repair, names)
        lines = cells.parameters(repair, names)
        return _importing(relined(source, values, saved.names, told, _by_name(lines)), lines)
    if INJECTED in tags:
        return relined(source, values, saved.names, told)
    as_it_was = cells.heading(saved.repair, saved.names, saved.title, saved.note)
    if cell.get("cell_type") == "markdown" and source == as_it_was:
        return cells.heading(repair, names, saved.title, saved.note)
    return None


def relined(
    source: str,
    values: Mapping[str, Any],
    known: Mapping[str, Place],
    told: Mapping[str, Any],
    more: Mapping[str, str] | None = None,
) -> str:
    """A cell of sizes with other values, and everything else that was written in it.

    values : by name; a line that says the same stays as it is
    known : names of sizes; the line of one that is not among the values goes
    told : by name what the cell's lines come to now, formulas too
    more : for names that have no line yet the line to put at the end

    >>> print(relined("# mine\\nfoot_width = 30  # measured", {"foot_width": 31.5}, {}, {}))
    # mine
    foot_width = 31.5  # measured
    """
    lines = source.splitlines(keepends=True)
    there = set()
    for statement in reversed(gate.statements(source)):
        name = _target(statement)
        value = getattr(statement, "value", None)
        if name is None or value is None:
            continue
        there.add(name)
        if name not in values:
            if name in known:
                del lines[statement.lineno - 1 : statement.end_lineno]
        elif not _says(value, values[name], known, told.get(name)):
            first, last = value.lineno - 1, value.end_lineno
            head = lines[first].encode()[: value.col_offset].decode()
            rest = lines[last - 1].encode()[value.end_col_offset :].decode()
            lines[first:last] = [head + cells.size_literal(values[name]) + rest]
    added = [line for name, line in (more or {}).items() if name not in there]
    text = "".join(lines).rstrip("\n")
    return "\n".join([text, *(["", *added] if added else [])])


def _says(value: ast.expr, wanted: Any, known: Mapping[str, Place], told: Any) -> bool:
    """Whether a line says a value already, be it by a formula that comes to it."""
    now = value_of(value, known)
    return same(now, wanted) or (isinstance(now, Same) and same(told, wanted))


def _importing(source: str, written: str) -> str:
    """The cell with the line that brings in what its sizes follow others with, where it needs it."""
    needed = written.split("\n", 1)[0]
    if not needed.startswith("from ") or needed in source:
        return source
    return f"{needed}\n\n{source}"


def _by_name(source: str) -> dict[str, str]:
    """The lines of a cell of sizes by the names that they set."""
    lines = source.split("\n")
    named = ((_target(statement), statement.lineno) for statement in gate.statements(source))
    return {name: lines[number - 1] for name, number in named if name is not None}


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


def is_bench_of(content: Row, name: str) -> bool:
    """Whether the cell with this id has the bench of the notebook's one repair.

    An id that no cell has stands for it too: not every client tells which cell runs.
    """
    if not is_document(content):
        return False
    tagged = {str(cell.get("id")) for cell in _cells(content) if cells.BENCH in tags_of(cell)}
    return name in tagged or all(cell.get("id") != name for cell in _cells(content))


def _cells(content: Row) -> list[Mapping[str, Any]]:
    listed = content.get("cells")
    return [c for c in listed if isinstance(c, Mapping)] if isinstance(listed, list) else []
