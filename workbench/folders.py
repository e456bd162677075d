"""Where the user's own data is kept."""

from __future__ import annotations

import os
from pathlib import Path

#: Names the user's data folder, or several, the first of which is written to.
FOLDER_VARIABLE = "WORKBENCH_DATA"


def folders() -> tuple[Path, ...]:
    """The user's data folders; the first is written to, the others are shared and only read.

    ``WORKBENCH_DATA`` names them, separated as in ``PATH``; without it there is one, where the
    operating system keeps a program's data.
    """
    named = [part for part in os.environ.get(FOLDER_VARIABLE, "").split(os.pathsep) if part]
    if named:
        return tuple(Path(part).expanduser() for part in named)
    from platformdirs import user_data_path

    return (user_data_path("workbench", appauthor=False),)


def folder() -> Path:
    """The user's own data folder; it need not exist yet."""
    return folders()[0]
