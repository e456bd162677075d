"""The folders of templates that a class shares: only read, and a fault in one stops nobody."""

from __future__ import annotations

import os
from pathlib import Path

from workbench import gate
from workbench.errors import RepairError
from workbench.words import _

#: Names the folders of templates that a class shares, separated as in ``PATH``.
FOLDER_VARIABLE = "WORKBENCH_SHELF"


def shared() -> tuple[Path, ...]:
    """The folders of templates that a class shares, as ``WORKBENCH_SHELF`` names them."""
    named = os.environ.get(FOLDER_VARIABLE, "").split(os.pathsep)
    return tuple(Path(part).expanduser() for part in named if part)


def notebooks() -> dict[Path, list[Path]]:
    """By shared folder the notebooks in it that can be read, by name."""
    return {place: _sorted(place)[0] for place in shared()}


def faults() -> tuple[str, ...]:
    """Why shared templates are left out, a sentence for each folder or file."""
    return tuple(text for place in shared() for text in _sorted(place)[1])


def _sorted(place: Path) -> tuple[list[Path], list[str]]:
    """Notebooks in a folder that can be read, and what to tell of the others."""
    try:
        paths = sorted(path for path in place.iterdir() if path.suffix == ".ipynb")
    except OSError as error:
        return [], [
            _(
                "the shared shelf {folder} cannot be read: {reason}; "
                "tell whoever looks after it, the other templates are here"
            ).format(folder=place, reason=error.strerror or error)
        ]
    fine, told = [], []
    for path in paths:
        reason = _unreadable(path)
        if not reason:
            fine.append(path)
        else:
            told.append(
                _(
                    "the shared template {path} is left out: {reason}; tell whoever looks after it"
                ).format(path=path, reason=reason)
            )
    return fine, told


def _unreadable(path: Path) -> str:
    try:
        gate.notebook(path)
    except OSError as error:
        return error.strerror or str(error)
    except RepairError as error:
        return str(error)
    except ValueError:
        return _("it is not a notebook, or only part of one")
    return ""
