"""A changed repair put back into its notebook, beside whatever else its owner wrote there."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from workbench.errors import RepairError
from workbench.output.files.paths import write_over
from workbench.output.notebook import template_notebook
from workbench.output.notebook.bundled import is_shipped
from workbench.solids.repair import Repair
from workbench.words import _


def rewrite(where: str | Path, repair: Repair) -> Path:
    """Write a repair over the one in a notebook; cells of its owner's own stay where they are.

    Raises
    ------
    RepairError
        When the file is no notebook of a repair, is the tool's own, or cannot be written to.
    """
    path = Path(where)
    if path.suffix != ".ipynb" or is_shipped(path):
        raise RepairError(
            _(
                "{path} is no notebook of your own; begin one with workbench new, and give its file"
            ).format(path=path)
        )
    saved = template_notebook.open_template(path)
    old = template_notebook.read_json(path)
    new = json.loads(template_notebook.as_notebook(repair, saved.title, saved.note, saved.names))
    fresh = {_name(cell): cell for cell in new["cells"]}
    kept = [
        fresh.pop(_name(cell), cell)
        for cell in old["cells"]
        if "injected-parameters" not in _tags(cell)
    ]
    content = {**old, "cells": [*kept, *fresh.values()]}
    content["metadata"] = {
        **old["metadata"],
        template_notebook.KEY: new["metadata"][template_notebook.KEY],
    }
    write_over(path, (json.dumps(content, indent=1, ensure_ascii=False) + "\n").encode())
    return path


def _name(cell: dict[str, Any]) -> str:
    """What a cell of the tool's is known by: its tag, or its own id."""
    return next(iter(_tags(cell)), str(cell.get("id", "")))


def _tags(cell: dict[str, Any]) -> list[str]:
    return list((cell.get("metadata") or {}).get("tags") or ())
