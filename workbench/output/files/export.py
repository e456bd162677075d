"""Everything that leaves the tool for one repair: a numbered revision, written whole or not at all."""

from __future__ import annotations

import errno
import os
import re
import shutil
import tempfile
from collections.abc import Iterator, Mapping
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import workbench
from workbench import gate
from workbench.checks.check import judge
from workbench.checks.report import Report
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.output.drawing.drawing import draw
from workbench.output.drawing.paper import sheet_size, written
from workbench.output.drawing.picture import picture
from workbench.output.files import record, stl_step
from workbench.output.files.laid_part import Bed, on_the_bed
from workbench.output.files.paths import (
    clear_leftovers,
    folder_for,
    lock,
    opened_folder,
    slug,
    umask,
    unwritable,
    write_new,
)
from workbench.output.files.threemf import Body, read_threemf, threemf
from workbench.output.sheets.print_sheet import print_sheet
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.revision import NAME, load
from workbench.words import _

#: In a folder that is written to, until it is whole.
_CLAIM = ".claim"

_REVISION = re.compile(r"\.?revision-(\d+)(?:\.part)?")

#: The volume read back from a STEP file may differ by this share.
_SAME_VOLUME = 1e-6


@dataclass(frozen=True)
class Revision:
    """One numbered export of a repair: its folder, its date, and what is wrong with it, if so."""

    number: int
    path: Path
    date: str
    damage: str = ""


@gate.asked
def export(
    repair: Repair | Subject, folder: str | Path, report: Report | None = None, paper: str = "A4"
) -> list[Path]:
    """Write ``folder/revision-N/`` with every file of the repair, N one higher than before.

    All files are written under another name, read back, and only then shown: an export that
    fails leaves nothing behind and never touches an earlier revision.

    repair : what to export; one that is built already need not be built again
    folder : made where it is not there
    report : what the checks found, where it is known already; one of another repair, or of
        this one before a change, is not taken: it is judged anew
    paper : "A4" or "Letter"

    Returns the files: mesh (.stl, .3mf), solid (.step), drawing (.pdf, .svg, .png), print sheet
    (.pdf) and record.json.

    Raises RepairError when the repair cannot be built, something found stops the print and no
    statement says why it does not apply, the paper is not known, or the folder cannot be written
    to.
    """
    sheet_size(paper)
    gate.needed(folder, (str, Path), _("folder"), "repairs/divider")
    gate.name(_("folder"), str(folder), gate.PATH)
    if report is not None:
        gate.needed(report, Report, "report", "check(repair)")
    part = _Part.of(repair, report, paper)
    gate.name(_("name of the part"), part.subject.repair.name)
    _refuse_stopped(part.subject.repair.name, part.report)
    with _claimed(folder_for(Path(folder))) as (number, place):
        contents = _contents(part, number)
        for name, content in contents.items():
            write_new(place / name, content)
        _verify(place, contents, part)
    final = place.parent / f"revision-{number}"
    return [final / name for name in contents]


def _refuse_stopped(name: str, report: Report) -> None:
    stops = [finding for finding in report.findings if finding.severity == "stop"]
    if stops:
        first = stops[0]
        raise RepairError(
            _(
                "do not print {name} yet: {text} {remedy} Or state why that does not apply, in "
                "three words or more, under {rule!r}; stops in all: {count}"
            ).format(
                name=name,
                text=first.text,
                remedy=first.remedy,
                rule=_(first.rule, "rule"),
                count=len(stops),
            )
        )


def revisions(folder: str | Path) -> list[Revision]:
    """The revisions in a folder, oldest first; damaged ones say what is wrong with them."""
    listed = []
    for path in _revision_folders(Path(folder)):
        number = int(path.name.removeprefix("revision-"))
        try:
            row = load(path)
        except RepairError as error:
            listed.append(Revision(number, path, "", str(error)))
        else:
            listed.append(Revision(number, path, str(row.get("date", ""))))
    return sorted(listed, key=lambda revision: revision.number)


@dataclass(frozen=True, eq=False)
class _Part:
    """Everything that the files are made from, but for the number of the revision."""

    subject: Subject
    report: Report
    bed: Bed
    date: datetime
    paper: str

    @classmethod
    def of(cls, what: Repair | Subject, report: Report | None, paper: str) -> _Part:
        subject = what if isinstance(what, Subject) else Subject.of(what)
        if report is None or report.judged not in ("", subject.repair.to_json()):
            report = judge(subject)
        return cls(subject, report, on_the_bed(subject), datetime.now().astimezone(), paper)

    @property
    def name(self) -> str:
        return slug(self.subject.repair.name)


def _contents(part: _Part, number: int) -> dict[str, bytes]:
    """Every file of a revision by its name."""
    repair, bed, name = part.subject.repair, part.bed, part.name
    solid = part.subject.assembly.solid
    title = _("{name}, revision {number}").format(name=repair.name, number=number)
    drawing = draw(repair, part.subject.assembly, number, part.date, part.paper)
    sheet = print_sheet(part.subject, part.report, bed, number, part.date, part.paper)
    contents = {
        f"{name}.stl": stl_step.stl(bed.vertices, bed.faces, f"{name}, revision {number}"),
        f"{name}.3mf": _threemf(part, number),
        f"{name}.step": stl_step.step(solid, name, part.date),
        f"{name}-drawing.pdf": written(drawing, "pdf", title),
        f"{name}-drawing.svg": written(drawing, "svg", title),
        f"{name}-drawing.png": written(drawing, "png", title),
        f"{name}-print-sheet.pdf": written(sheet, "pdf", title),
    }
    contents[NAME] = record.record(
        repair,
        number,
        contents,
        part.report.findings,
        part.date,
        volume_mm3=solid.volume,
        triangles=len(bed.faces),
        down=list(bed.down),
    ).encode()
    return contents


def _threemf(part: _Part, number: int) -> bytes:
    repair, bed = part.subject.repair, part.bed
    width, depth, _height = part.subject.printer.bed
    body = Body(repair.name, bed.vertices, bed.faces, (width / 2, depth / 2, 0.0))
    metadata = {
        "Title": repair.name,
        "Description": _("{material} on {printer}").format(
            material=repair.material, printer=repair.printer
        ),
        "CreationDate": part.date.isoformat(timespec="seconds"),
        "Application": f"workbench {workbench.__version__}",
        "Revision": number,
        "Material": repair.material,
        "Printer": repair.printer,
    }
    small = picture((bed.vertices.astype(float), bed.faces), (256, 256))
    return threemf([body], metadata, small)


def _verify(place: Path, contents: Mapping[str, bytes], part: _Part) -> None:
    """Read every file back, and refuse the revision where one does not hold what it should."""
    for name, content in contents.items():
        try:
            found = (place / name).read_bytes()
        except OSError as error:
            raise unwritable(place / name, error) from None
        if found != content or not _holds(Path(name).suffix, found, part):
            raise RepairError(
                _(
                    "{name} does not hold what was written to it; check the disk and export again"
                ).format(name=name)
            )


def _holds(suffix: str, content: bytes, part: _Part) -> bool:
    """Whether a file, read on its own, holds the part."""
    if suffix == ".stl":
        return len(stl_step.read_stl(content)) == len(part.bed.faces)
    if suffix == ".3mf":
        bodies, _metadata = read_threemf(content)
        return [len(body.faces) for body in bodies] == [len(part.bed.faces)]
    if suffix == ".step":
        wanted = part.subject.assembly.solid.volume
        return abs(stl_step.read_step(content).volume - wanted) <= _SAME_VOLUME * wanted
    return bool(content)


@contextmanager
def _claimed(folder: Path) -> Iterator[tuple[int, Path]]:
    """A number that no other export has, and a hidden folder that becomes the revision.

    The hidden folder is the claim: making it fails where another export made it first.
    """
    clear_leftovers(folder, ".revision-*")
    try:
        with _claim(folder) as (number, place):
            yield number, place
            (place / _CLAIM).unlink()
            place.rename(folder / f"revision-{number}")
    except OSError as error:
        raise unwritable(folder, error) from None


@contextmanager
def _claim(folder: Path) -> Iterator[tuple[int, Path]]:
    """A new hidden folder, locked before it bears its number, so that nobody clears it away."""
    place = Path(tempfile.mkdtemp(prefix=".revision-", suffix=".new", dir=folder))
    with opened_folder(place) as handle:
        if not lock(handle):
            raise BlockingIOError(errno.EAGAIN, os.strerror(errno.EAGAIN), str(folder))
        try:
            (place / _CLAIM).touch()  # a folder takes the place of an empty one without a word
            place.chmod(0o777 & ~umask())
            while True:
                number = 1 + max(_numbers(folder), default=0)
                claimed = folder / f".revision-{number}.part"
                with suppress(FileExistsError):
                    if not claimed.exists():
                        place = _renamed(place, claimed)
                if place == claimed and not (folder / f"revision-{number}").exists():
                    break
            yield number, place
        except BaseException:
            shutil.rmtree(place, ignore_errors=True)
            raise


def _renamed(place: Path, claimed: Path) -> Path:
    """The folder under its new name, or as it is where another export has that name."""
    try:
        return place.rename(claimed)
    except OSError as error:
        if error.errno in (errno.ENOTEMPTY, errno.EEXIST):
            return place
        raise


def _numbers(folder: Path) -> Iterator[int]:
    for path in folder.iterdir():
        found = _REVISION.fullmatch(path.name)
        if found:
            yield int(found[1])


def _revision_folders(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return [p for p in folder.iterdir() if re.fullmatch(r"revision-\d+", p.name) and p.is_dir()]
