"""What the bench has and the notebook does not yet: kept in a hidden file beside it.

Each kernel that works on a notebook has a file of its own, written whole each time. It is removed
when the notebook holds it all; one that cannot be used is set aside, never deleted.
"""

from __future__ import annotations

import hashlib
import json
import os
import socket
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import asdict, dataclass, field
from functools import lru_cache
from itertools import count
from pathlib import Path

from workbench import __version__, folders, gate
from workbench.errors import RepairError
from workbench.output.files.paths import numbered, slug, write_over
from workbench.solids.recipe.changes import Row, differences, same
from workbench.solids.recipe.merge import Merged, merged, row_of
from workbench.solids.recipe.repair import Repair
from workbench.words import _

#: Version of the file's form; a newer one is set aside.
FORMAT = 1

_ENDING = ".workbench"

#: Larger than any file of this kind, in bytes.
LARGEST = 20_000_000


@dataclass(frozen=True)
class Kept:
    """One bench's work.

    repair : as the bench has it
    cells : as the cells built it when they last ran, or were last written
    saved : as the notebook's file had it then, or None
    history : its edits, for undo
    """

    repair: Row
    cells: Row
    saved: Row | None = None
    history: Row = field(default_factory=dict)

    def laid_over(self, cells: Repair | Row, loaded: bool = True) -> Merged:
        """This work and what the cells build now, together.

        loaded : the notebook may have been loaded anew, without what was not saved; else a cell
            that says what was saved was set to that by a hand

        Raises RepairError when it is not what a bench keeps.
        """
        now = row_of(cells)
        known = [row for row in (self.saved if loaded else None, self.cells) if row is not None]
        try:
            base = min(known, key=lambda row: len(differences(row, now)))
            return merged(base, now, self.repair)
        except RepairError:
            raise
        except _DAMAGED as error:
            raise _damaged(error) from None


@dataclass(frozen=True)
class Owner:
    """The process that writes a recovery file."""

    host: str
    process: int
    started: float

    @classmethod
    @lru_cache(maxsize=1)
    def me(cls) -> Owner:
        """This process."""
        return cls(socket.gethostname(), os.getpid(), _started(os.getpid()) or 0.0)

    @property
    def is_at_work(self) -> bool:
        """Whether it is still there; of another machine's that cannot be known, and is assumed."""
        if self.host != socket.gethostname():
            return True
        started = _started(self.process)
        return started is not None and abs(started - self.started) < 2.0


@dataclass(frozen=True)
class Recovery:
    """A recovery file as it was read: its benches by the ids of their cells, and whose it is."""

    path: Path
    benches: dict[str, Kept]
    owner: Owner
    at: str


def _started(process: int) -> float | None:
    """When a process began, in s; None where there is none."""
    import psutil

    try:
        return float(psutil.Process(process).create_time())
    except (psutil.Error, ValueError, OverflowError):
        return None


def place_for(notebook: Path) -> Path:
    """Where this process keeps its work on a notebook: beside it, or in the user's data folder."""
    folder = notebook.parent if os.access(notebook.parent, os.W_OK | os.X_OK) else _elsewhere()
    first = folder / _name(notebook, folder)
    for n in count(1):
        path = first if n == 1 else first.with_name(f"{first.name}-{n}")
        owner = _glance(path)
        if owner == Owner.me() or not path.exists():
            return path
    raise AssertionError("numbers do not end")


def is_elsewhere(path: Path) -> bool:
    """Whether a recovery file is in the user's data folder, not beside the notebook."""
    return path.parent == _elsewhere()


def write(path: Path, notebook: Path, benches: Mapping[str, Kept], at: str) -> None:
    """Write the file whole; RepairError where that fails, and then the former one stays."""
    body = {
        "format": FORMAT,
        "version": __version__,
        "notebook": notebook.name,
        "at": at,
        "owner": asdict(Owner.me()),
        "benches": {name: asdict(kept) for name, kept in benches.items()},
    }
    write_over(path, (json.dumps({**body, "sum": _sum(body)}) + "\n").encode())


def remove(path: Path) -> None:
    """Take this process's own file away."""
    if _glance(path) == Owner.me():
        path.unlink(missing_ok=True)


def found(notebook: Path) -> tuple[list[Recovery], list[str]]:
    """The recovery files of a notebook that can be used, the newest last, and what to say.

    One of a kernel that is still at work is left to it. One that is damaged, newer than this
    tool, or of another notebook is set aside.
    """
    usable, told = [], []
    for path in _candidates(notebook):
        try:
            one = read(path, notebook)
        except RepairError as error:
            told.append(
                _("{reason} It is set aside as {file}.").format(
                    reason=error, file=_set_aside(path).name
                )
            )
            continue
        if one.owner == Owner.me():
            continue
        if one.owner.is_at_work:
            told.append(
                _(
                    "Another kernel has been working on {notebook} since {time}; its work is not "
                    "taken over here. Close one of the two."
                ).format(notebook=notebook.name, time=one.at)
            )
        else:
            usable.append(one)
    return sorted(usable, key=lambda one: one.at), told


def read(path: Path, notebook: Path) -> Recovery:
    """Read a recovery file; RepairError says what is wrong with it."""
    try:
        row = gate.json_file(path, LARGEST)
        body = {key: value for key, value in row.items() if key != "sum"}
        if int(row["format"]) > FORMAT:
            raise RepairError(
                _(
                    "The work that the bench kept is from a newer workbench ({version}); update workbench."
                ).format(version=row.get("version", "?"))
            )
        if row["sum"] != _sum(body):
            raise ValueError(_("it was cut short or changed"))
        if row["notebook"] != notebook.name and not _is_work_on(notebook, row["benches"]):
            raise RepairError(
                _(
                    "The work that the bench kept belongs to another notebook, {name}; open that one."
                ).format(name=row["notebook"])
            )
        benches = {str(name): Kept(**kept) for name, kept in row["benches"].items()}
        return Recovery(path, benches, _whose(row["owner"]), str(row["at"]))
    except RepairError:
        raise
    except _DAMAGED as error:
        raise _damaged(error) from None


#: What comes of taking apart what is not as a bench writes it.
_DAMAGED = (OSError, ValueError, LookupError, TypeError, AttributeError, RecursionError)


def _damaged(error: Exception) -> RepairError:
    told = isinstance(error, (OSError, ValueError))  # the others say what Python missed
    reason = str(error) if told else _("it was cut short or changed")
    return RepairError(
        _(
            "The work that the bench kept is damaged ({reason}); go on with the notebook as it is."
        ).format(reason=gate.short(reason))
    )


def _whose(row: Row) -> Owner:
    return Owner(str(row["host"]), int(row["process"]), float(row["started"]))


def newest(notebook: Path, cells: Repair) -> tuple[Repair, list[str]]:
    """A notebook's repair with what its bench has kept since, and what to say of that.

    What a kernel that is still at work has kept counts too: it is what its bench shows.
    """
    told: list[str] = []
    repair = cells
    for path in _candidates(notebook):
        try:
            one = read(path, notebook)
            works = [
                kept.laid_over(repair)
                for kept in one.benches.values()
                if isinstance(kept.cells, dict) and kept.cells.get("name") == cells.name
            ]
        except RepairError as error:
            told.append(str(error))
            continue
        for both in works:
            if both.repair != repair:
                told.append(
                    _(
                        "{notebook}: with what the bench has kept since it was saved ({time})"
                    ).format(notebook=notebook.name, time=one.at)
                )
                told += both.lines
                repair = both.repair
    return repair, told


def _candidates(notebook: Path) -> Iterator[Path]:
    yield from _of_renamed(notebook)
    for folder in (notebook.parent, _elsewhere()):
        name = _name(notebook, folder)
        with suppress(OSError):
            for path in sorted(folder.iterdir()):
                rest = path.name.removeprefix(name)
                if path.name == name or (
                    rest != path.name and rest[0] == "-" and rest[1:].isdigit()
                ):
                    yield path


def _of_renamed(notebook: Path) -> Iterator[Path]:
    """What was kept of this notebook under a name that no notebook has any more."""
    with suppress(OSError):
        for path in sorted(notebook.parent.glob(f".*{_ENDING}*")):
            stem, _ending, number = path.name[1:].rpartition(_ENDING)
            here = stem == notebook.stem or path.with_name(f"{stem}.ipynb").exists()
            if here or not (number == "" or (number[0] == "-" and number[1:].isdigit())):
                continue
            with suppress(OSError, ValueError, KeyError, TypeError, AttributeError):
                if _is_work_on(notebook, gate.json_file(path, LARGEST)["benches"]):
                    yield path


def _is_work_on(notebook: Path, benches: Mapping[str, Row]) -> bool:
    """Whether benches began with what this notebook has saved, or are of cells of its own."""
    try:
        content = gate.notebook(notebook)
    except (OSError, ValueError):
        return False
    about = content.get("metadata", {}).get("workbench")
    saved = about.get("repair") if isinstance(about, dict) else None
    cells = {str(cell.get("id")) for cell in content.get("cells", ()) if isinstance(cell, dict)}
    return any(
        key in cells if saved is None else bool(saved) and same(kept.get("saved"), saved)
        for key, kept in benches.items()
    )


def _name(notebook: Path, folder: Path) -> str:
    """The hidden file's name; in the data folder the notebook's own folder is part of it."""
    if folder == notebook.parent:
        return f".{notebook.stem}{_ENDING}"
    where = hashlib.sha256(str(notebook.resolve()).encode()).hexdigest()[:12]
    return f"{slug(notebook.stem)}-{where}{_ENDING}"


def _elsewhere() -> Path:
    return folders.folder() / "recovery"


def _glance(path: Path) -> Owner | None:
    """Whose a file is; None where it is not there or cannot be told."""
    try:
        return _whose(gate.json_file(path, LARGEST)["owner"])
    except (OSError, ValueError, KeyError, TypeError):
        return None


def _set_aside(path: Path) -> Path:
    notebook, _ending, _n = path.name.lstrip(".").partition(_ENDING)
    free = numbered(path.with_name(f"{notebook}-set-aside{_ENDING}"))
    other = next(other for other in free if not other.exists())
    with suppress(OSError):
        return path.rename(other)
    return path


def _sum(body: Row) -> str:
    return hashlib.sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()
