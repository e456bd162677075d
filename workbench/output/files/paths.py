"""File names from a repair's name, and files that are written whole or not at all."""

from __future__ import annotations

import os
import re
import tempfile
import unicodedata
from collections.abc import Iterator
from itertools import count
from pathlib import Path

from workbench.errors import RepairError
from workbench.words import _


def slug(name: str) -> str:
    """A file name from a repair's name: plain letters, digits and hyphens.

    >>> slug("Tray divider, left"), slug("Türfuß 2"), slug("***")
    ('tray-divider-left', 'turfuss-2', 'repair')
    """
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:80].strip("-") or "repair"


def numbered(path: Path) -> Iterator[Path]:
    """``path`` and then the same with a number: divider.ipynb, divider-2.ipynb, ..."""
    yield path
    for n in count(2):
        yield path.with_name(f"{path.stem}-{n}{path.suffix}")


def folder_for(path: Path) -> Path:
    """Make the folder ``path`` if it is not there, or RepairError saying why it cannot be."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise unwritable(path, error) from None
    return path


def write_new(path: Path, content: bytes) -> bool:
    """Write a new file whole; False, with nothing touched, where there is already one.

    Raises
    ------
    RepairError
        When the folder cannot be written to or the disk is full; no part of a file is left.
    """
    if path.exists():
        return False
    temporary = _write_beside(path, content)
    try:
        os.link(temporary, path)  # fails where a file has come in between, unlike a rename
    except FileExistsError:
        return False
    except OSError:  # a file system without hard links
        temporary.rename(path)
    finally:
        temporary.unlink(missing_ok=True)
    return True


def write_over(path: Path, content: bytes) -> None:
    """Replace a file in one step; on an error, raised as RepairError, the old one stays."""
    temporary = _write_beside(path, content)
    try:
        temporary.replace(path)
    except OSError as error:
        temporary.unlink(missing_ok=True)
        raise unwritable(path, error) from None


def unwritable(path: Path, error: OSError) -> RepairError:
    """The sentence for a file or folder that cannot be written."""
    return RepairError(
        _("{path} cannot be written: {reason}; choose another folder or make room").format(
            path=path, reason=_(error.strerror or str(error))
        )
    )


def _write_beside(path: Path, content: bytes) -> Path:
    folder_for(path.parent)
    temporary: Path | None = None
    try:
        with tempfile.NamedTemporaryFile(
            dir=path.parent, prefix=f".{path.name}.", delete=False
        ) as file:
            temporary = Path(file.name)
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        temporary.chmod(0o666 & ~_umask())
    except OSError as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise unwritable(path, error) from None
    return temporary


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
