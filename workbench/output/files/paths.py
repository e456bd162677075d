"""File names from a repair's name, and files that are written whole or not at all."""

from __future__ import annotations

import getpass
import json
import os
import re
import shutil
import socket
import tempfile
import time
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import datetime
from itertools import count
from pathlib import Path
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.words import _

#: Seconds in which a new hidden folder is locked by who made it.
_NEW = 60.0

#: In a folder that is written to: who does so.
LOCK = ".workbench-lock"


def slug(name: str) -> str:
    """A file name from a repair's name: plain letters, digits and hyphens, and none that Windows
    keeps for a device, whatever follows its point.

    >>> slug("Tray divider, left"), slug("Türfuß 2"), slug("***"), slug("Aux")
    ('tray-divider-left', 'turfuss-2', 'repair', 'repair-aux')
    """
    plain = unicodedata.normalize("NFKD", name.casefold()).encode("ascii", "ignore").decode()
    found = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:80].strip("-")
    if not found or re.fullmatch("con|prn|aux|nul|(com|lpt)[0-9]", found):
        return f"repair-{found}".strip("-")
    return found


def json_bytes(content: Any, sort_keys: bool = False) -> bytes:
    """A JSON file as Jupyter lays one out: indented by one, signs as they are, a line's end last."""
    laid_out = json.dumps(content, indent=1, ensure_ascii=False, sort_keys=sort_keys)
    return f"{laid_out}\n".encode()


def numbered(path: Path) -> Iterator[Path]:
    """``path`` and then the same with a number: divider.ipynb, divider-2.ipynb, ..."""
    yield path
    for n in count(2):
        yield path.with_name(f"{path.stem}-{n}{path.suffix}")


def folder_for(path: Path) -> Path:
    """Make the folder ``path`` if it is not there, or RepairError saying why it cannot be."""
    try:
        path.mkdir(parents=True, exist_ok=True)
    except (FileExistsError, NotADirectoryError):
        is_file = next(one for one in (path, *path.parents) if one.exists())
        raise RepairError(
            _("{path} is a file, not a folder; give a folder").format(path=is_file)
        ) from None
    except OSError as error:
        raise unwritable(path, error) from None
    return path


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold a folder for this run; RepairError says who else has it, and since when.

    The system lets go of it when this process ends, however that comes about.
    """
    path = folder_for(folder) / LOCK
    try:
        with open(path, "a+", encoding="utf-8", opener=_itself) as file:
            if not lock(file.fileno()):
                file.seek(0)
                raise RepairError(
                    _(
                        "{folder} is in use: {who}; wait until that is done, or choose another "
                        "folder with --folder"
                    ).format(folder=folder, who=gate.short(gate.fitted(file.read(200)), 100))
                )
            file.truncate(0)
            now = datetime.now().strftime("%H:%M")
            file.write(
                _("{user} on {machine} since {time}, process {number}").format(
                    user=_user(), machine=socket.gethostname(), time=now, number=os.getpid()
                )
            )
            file.flush()
            yield
            with suppress(PermissionError):  # Windows keeps what is open
                path.unlink(missing_ok=True)
    except OSError as error:
        raise unwritable(path, error) from None


def _itself(path: str, flags: int) -> int:
    """A file that is no link, so that no other is emptied for it, and no pipe that waits."""
    kept = getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
    return os.open(path, flags | kept, 0o666)


def lock(handle: int) -> bool:
    """Take an open file or folder for this process alone; False where another one has it.

    A system without such locks says yes.
    """
    try:
        import fcntl
    except ImportError:
        return True
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    except OSError:  # a file system without locks
        return True
    return True


def clear_leftovers(folder: Path, pattern: str) -> None:
    """Remove the hidden folders that a killed run left; one that is still written to stays."""
    if os.name != "posix":  # where none can tell that from the other
        return
    for path in folder.glob(pattern):
        with suppress(OSError), opened_folder(path) as handle:
            # One without a number is about to be locked.
            is_new = path.suffix == ".new" and time.time() - path.stat().st_mtime < _NEW
            if not is_new and lock(handle):
                shutil.rmtree(path, ignore_errors=True)


@contextmanager
def opened_folder(path: Path) -> Iterator[int]:
    """A folder's handle, for its lock; -1 on a system that opens no folders."""
    if os.name != "posix":
        yield -1
        return
    handle = os.open(path, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        yield handle
    finally:
        os.close(handle)


def _user() -> str:
    try:
        return getpass.getuser()
    except (OSError, KeyError, ImportError):
        return "?"


def write_new(path: Path, content: bytes) -> bool:
    """Write a new file whole; False, with nothing touched, where there is already one.

    Raises RepairError when the folder cannot be written to or the disk is full; no part of a file
    is left.
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
        temporary.chmod(0o666 & ~umask())
    except OSError as error:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise unwritable(path, error) from None
    return temporary


def umask() -> int:
    """The permissions that new files of this process are not to have."""
    mask = os.umask(0)
    os.umask(mask)
    return mask
