"""A pupil's copy of a lesson: without the cells that are for the teacher."""

from __future__ import annotations

import json

#: Tag of a cell that only the teacher is to have.
TEACHER = "teacher"


def for_pupils(content: bytes) -> bytes | None:
    """A notebook's file without its teacher's cells; None where nothing else is in it.

    >>> page = {"cells": [{"metadata": {"tags": ["teacher"]}, "source": "the answer"}]}
    >>> for_pupils(json.dumps(page).encode()) is None
    True
    """
    try:
        row = json.loads(content)
        kept = [cell for cell in row["cells"] if TEACHER not in cell["metadata"].get("tags", [])]
    except (ValueError, KeyError, TypeError, AttributeError):
        return content
    if len(kept) == len(row["cells"]):
        return content
    row["cells"] = kept
    return (json.dumps(row, indent=1, ensure_ascii=False) + "\n").encode() if kept else None
