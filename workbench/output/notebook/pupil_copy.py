"""A pupil's copy of a notebook: without the teacher's cells, and without what others' runs left."""

from __future__ import annotations

import json
from typing import Any

#: Tag of a cell that only the teacher is to have.
TEACHER = "teacher"


def for_pupils(content: bytes) -> bytes | None:
    """A notebook's file without its teacher's cells and without outputs; None where nothing is left.

    >>> page = {"cells": [{"metadata": {"tags": ["teacher"]}, "source": "the answer"}]}
    >>> for_pupils(json.dumps(page).encode()) is None
    True
    """
    try:
        row = json.loads(content)
        kept = [
            _not_run(cell)
            for cell in row["cells"]
            if TEACHER not in cell["metadata"].get("tags", [])
        ]
    except (ValueError, KeyError, TypeError, AttributeError):
        return content
    if kept == row["cells"]:
        return content
    row["cells"] = kept
    return (json.dumps(row, indent=1, ensure_ascii=False) + "\n").encode() if kept else None


def _not_run(cell: dict[str, Any]) -> dict[str, Any]:
    if cell.get("cell_type") != "code":
        return cell
    return {**cell, "outputs": [], "execution_count": None}
