"""Where the lessons and the templates that come with the tool are."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from workbench.errors import RepairError
from workbench.words import _

#: The two folders of a class or a checkout.
NOTEBOOKS, TEMPLATES = "notebooks", "templates"


@dataclass(frozen=True)
class Folders:
    """Where the notebooks and the templates are."""

    notebooks: Path
    templates: Path


def folders() -> Folders:
    """The shipped notebooks and templates, in an installed package or in a checkout.

    Raises RepairError when they are in neither place.
    """
    package = Path(__file__).resolve().parent.parent.parent
    for place in (package / "shipped", package.parent):
        found = Folders(place / NOTEBOOKS, place / TEMPLATES)
        if found.notebooks.is_dir() and found.templates.is_dir():
            return found
    raise RepairError(
        _("the shipped notebooks are not in {place}; install workbench again").format(place=package)
    )


def is_shipped(path: Path) -> bool:
    """Whether a template is one that came with the tool, not somebody's own or a copy."""
    return path.resolve().parent == folders().templates.resolve()


def is_checkout(folder: Path) -> bool:
    """Whether a folder is the tool's own source, whose notebooks are kept by its developers."""
    return (folder / "pyproject.toml").is_file() and (folder / "workbench" / "cli.py").is_file()


def in_checkout(folder: Path) -> bool:
    """Whether a folder is the tool's own source, or somewhere in it."""
    whole = folder.resolve()
    return any(map(is_checkout, (whole, *whole.parents)))
