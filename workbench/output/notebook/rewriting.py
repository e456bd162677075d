"""A changed repair put back into its notebook, beside whatever else its owner wrote there."""

from __future__ import annotations

from pathlib import Path

from workbench.errors import RepairError
from workbench.output.files.paths import json_bytes, write_over
from workbench.output.notebook import document
from workbench.output.notebook.bundled import is_shipped
from workbench.output.notebook.template_notebook import read_json, read_template
from workbench.solids.recipe.merge import row_of
from workbench.solids.recipe.repair import Repair
from workbench.words import _


def rewrite(where: str | Path, repair: Repair) -> Path:
    """Write a repair over the one in a notebook; what its owner wrote in its cells stays.

    Raises RepairError when the file is no notebook of a repair, is the tool's own, or cannot be
    written to.
    """
    path = Path(where)
    if path.suffix != ".ipynb" or is_shipped(path):
        raise RepairError(
            _(
                "{path} is not a notebook of your own; begin one with workbench new, and give its file"
            ).format(path=path)
        )
    content = read_json(path)
    writing = document.written(content, repair, row_of(read_template(path)), path)
    content = document.set_in(content, writing)
    write_over(path, json_bytes(content))
    return path
