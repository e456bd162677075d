"""A whole class from its roster: every part built, checked and exported, and packed on beds."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

from workbench import gate
from workbench.errors import RepairError
from workbench.output.drawing.paper import sheet_size, written
from workbench.output.files.bed_file import Bed, Piece, bed_file, beds
from workbench.output.files.paths import held, numbered, slug, unwritable, write_new
from workbench.output.roster.class_summary import Line, as_csv, summary_pages
from workbench.output.roster.cluster import cluster, job_in_helper
from workbench.output.roster.job_pool import Lost, Workers, local, outcomes
from workbench.output.roster.part_job import RESULT, Made, load, made, warm_up
from workbench.output.roster.roster import (
    MATERIAL,
    PRINTER,
    PUPIL,
    TEMPLATE,
    Roster,
    Row,
    open_roster,
)
from workbench.output.roster.roster_row import LATER, READY, Job, Refused, Rows
from workbench.solids.recipe.revision import changed_files, checksum
from workbench.words import _, sentence

#: Called with how many rows are done, how many there are, and the line of the one just done.
Progress = Callable[[int, int, Line], None]

PARTS, SUMMARY = "parts", "summary"


@dataclass(frozen=True)
class Session:
    """What came of a roster: a line for each row, and the files of beds and summary."""

    lines: tuple[Line, ...]
    paths: tuple[Path, ...]

    @property
    def ok(self) -> bool:
        """Whether every row is ready to print."""
        return all(line.state == READY for line in self.lines)


def make_class(
    roster: str | Path,
    folder: str | Path,
    workers: int | None = None,
    scheduler: str | None = None,
    labels: bool = False,
    paper: str = "A4",
    more: Sequence[Path] = (),
    progress: Progress = lambda done, total, line: None,
) -> Session:
    """Make every part of a roster, and pack those that are ready on beds.

    Each part is written whole as soon as it is made, into ``folder/parts/``; what is there
    already is not made again, so that a run that was stopped goes on where it was. Beds and
    summary are written, once all is done, into ``folder/revision-N/``.

    roster : the CSV file; see :mod:`workbench.output.roster.roster`
    folder : where everything goes
    workers : local processes; one for each processor unless given
    scheduler : address of a Dask scheduler to use instead
    labels : whether the pupil's label is raised on each part, or its initials or the row's
        number where there is no more room
    paper : "A4" or "Letter"
    more : folders of templates of the user's own
    progress : told of each row as it is done

    Raises RepairError when the roster or the scheduler cannot be used at all, or beds and summary
    cannot be written. What a single row lacks is told in its line.
    """
    sheet_size(paper)
    table = open_roster(roster)
    total = sum(1 for _row in table.rows())  # which also finds what cannot be read, before all
    if not total:
        raise RepairError(
            _("{file} has no rows under its headings; add one for each part").format(
                file=table.path.name
            )
        )
    place = Path(folder)
    crew: AbstractContextManager[Workers] = (
        cluster(scheduler, load) if scheduler else local(workers, warm_up)
    )
    with crew as found, held(place):
        for leftover in (*place.glob(".*.part"), *(place / PARTS).glob(".*.part")):
            shutil.rmtree(leftover, ignore_errors=True)
        work = partial(job_in_helper, made, load) if scheduler else made
        run = _Run(place, Rows(more, labels, paper), total, progress)
        run.all(table, found, work)
        lines = [run.lines[number] for number in sorted(run.lines)]
        packed = list(beds(run.pieces))
        on = {at.piece.name: bed.file for bed in packed for at in bed.places}
        lines = [replace(line, bed=on.get(run.names.get(line.row, ""), "")) for line in lines]
        title = gate.fitted(table.path.stem)
        return Session(tuple(lines), tuple(_write(place, title, lines, packed, paper)))


class _Run:
    """One run through a roster: what is done so far."""

    def __init__(self, folder: Path, rows: Rows, total: int, progress: Progress) -> None:
        self.lines: dict[int, Line] = {}
        self.names: dict[int, str] = {}
        self.pieces: list[Piece] = []
        self._folder, self._rows, self._total, self._progress = folder, rows, total, progress
        self._at: dict[int, tuple[Row, Path]] = {}
        self._taken: set[Path] = set()
        self._full = ""

    def all(self, table: Roster, workers: Workers, work: Callable[[Job], Made | Lost]) -> None:
        """Go through all rows."""
        for job, result in outcomes(work, self._jobs(table.rows()), workers):
            row, target = self._at.pop(job.row)
            if isinstance(result, Lost):
                self._done(row, LATER, (result.why,))
                continue
            if result.state == LATER:
                self._done(row, LATER, result.why)
                continue
            try:
                _keep(target, job, result)
            except RepairError as error:
                self._full = str(error)
                self._done(row, LATER, (str(error),))
            else:
                self._made(row, job, target, json.loads(result.result(job)))

    def _jobs(self, rows: Iterable[Row]) -> Iterator[Job]:
        """What is still to be made; what needs no worker is dealt with on the way."""
        for row in rows:
            job = self._rows.job(row)
            if isinstance(job, Refused):
                self._done(row, job.state, (job.why,))
                continue
            target, result = self._target(job)
            if result is not None:
                self._made(row, job, target, result)
            elif self._full:
                self._done(row, LATER, (self._full,))
            else:
                self._at[row.number] = row, target
                yield job

    def _target(self, job: Job) -> tuple[Path, dict[str, Any] | None]:
        """The folder for a job, and what it came to where that is there already."""
        for path in numbered(self._folder / PARTS / slug(job.name)):
            if path in self._taken:
                continue
            if not path.exists():
                self._taken.add(path)
                return path, None
            result = _kept(path, job.key)
            if result is not None:
                self._taken.add(path)
                return path, result
        raise AssertionError("numbers do not end")

    def _made(self, row: Row, job: Job, target: Path, result: dict[str, Any]) -> None:
        if result["state"] == READY:
            self.names[row.number] = job.name
            width, depth, _height = result["size"]
            self.pieces.append(
                Piece(
                    job.name,
                    result["material"],
                    result["printer"],
                    (width, depth),
                    result["brim"],
                    target / result["mesh"],
                )
            )
        within = target.relative_to(self._folder).as_posix() if "mesh" in result else ""
        self._done(
            row, result["state"], tuple(result["why"]), within, result.get("raised", ""), result
        )

    def _done(
        self,
        row: Row,
        state: str,
        why: tuple[str, ...],
        folder: str = "",
        raised: str = "",
        facts: dict[str, Any] | None = None,
    ) -> None:
        found = facts or {}
        line = Line(
            row.number,
            row.get(PUPIL),
            row.get(TEMPLATE),
            found.get(MATERIAL) or row.get(MATERIAL),
            found.get(PRINTER) or row.get(PRINTER),
            state,
            tuple(sentence(reason) for reason in why),
            folder,
            "",
            raised,
        )
        self.lines[row.number] = line
        self._progress(len(self.lines), self._total, line)


def _kept(folder: Path, key: str) -> dict[str, Any] | None:
    """What a finished part came to, if it is the one asked for and all of it is still there."""
    try:
        result = gate.json_file(folder / RESULT)
        if result.get("key") != key or not {"state", "why"} <= result.keys():
            return None
        whole = not any(changed_files(path) for path in folder.glob("revision-*"))
        if "mesh" in result:
            mesh = gate.content(gate.inside(folder, result["mesh"]), gate.PICTURE)
            whole = whole and checksum(mesh) == result["mesh_sha256"]
        return result if whole else None
    except (OSError, ValueError, AttributeError, KeyError, TypeError):
        return None


def _keep(folder: Path, job: Job, result: Made) -> None:
    """Write a part's folder whole: under another name, which is then changed."""
    files = {**result.files, RESULT: result.result(job)}
    _write_folder(folder, files.items())


def _write_folder(folder: Path, files: Iterable[tuple[str, bytes]]) -> None:
    part = folder.with_name(f".{folder.name}.part")
    shutil.rmtree(part, ignore_errors=True)  # left by a run that was stopped
    try:
        for name, content in files:
            write_new(part / name, content)
        part.rename(folder)
    except OSError as error:
        shutil.rmtree(part, ignore_errors=True)
        raise unwritable(folder, error) from None
    except BaseException:
        shutil.rmtree(part, ignore_errors=True)
        raise


def _write(
    folder: Path, title: str, lines: Sequence[Line], packed: Sequence[Bed], paper: str
) -> list[Path]:
    """Beds and summary as a new revision; the last one where nothing has changed since."""
    names = [*(bed.file for bed in packed), f"{SUMMARY}.csv", f"{SUMMARY}.pdf"]

    def files() -> Iterator[tuple[str, bytes]]:
        for bed in packed:
            yield bed.file, bed_file(bed, title)
        yield f"{SUMMARY}.csv", as_csv(lines)
        pages = summary_pages(title, lines, paper)
        yield f"{SUMMARY}.pdf", written(pages, "pdf", _("{title}, summary").format(title=title))

    numbers = [
        int(path.name.removeprefix("revision-"))
        for path in folder.glob("revision-*")
        if path.name[9:].isdigit()
    ]
    last = max(numbers, default=0)
    target = folder / f"revision-{last + 1}"
    _write_folder(target, files())
    earlier = folder / f"revision-{last}"
    if last and _same(earlier, target):
        shutil.rmtree(target)
        target = earlier
    return [target / name for name in names]


def _same(one: Path, other: Path) -> bool:
    """Whether two folders hold the same files."""
    first, second = ({path.name: path for path in folder.iterdir()} for folder in (one, other))
    return first.keys() == second.keys() and all(
        path.read_bytes() == second[name].read_bytes() for name, path in first.items()
    )
