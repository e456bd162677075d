"""Everything that leaves the tool for one repair: a numbered revision, written whole or not at all."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import numpy as np

import workbench
from workbench.checks.check import judge
from workbench.checks.report import Report, Subject
from workbench.errors import RepairError
from workbench.output import files, record
from workbench.output.paths import folder_for, slug, unwritable, write_new
from workbench.output.threemf import Body, read_threemf, threemf
from workbench.solids.lay import laid
from workbench.solids.repair import Repair
from workbench.words import _

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


def export(
    repair: Repair, folder: str | Path, report: Report | None = None, paper: str = "A4"
) -> list[Path]:
    """Write ``folder/revision-N/`` with every file of the repair, N one higher than before.

    All files are written under another name, read back, and only then shown: an export that
    fails leaves nothing behind and never touches an earlier revision.

    Parameters
    ----------
    repair : what to export
    folder : made where it is not there
    report : what the checks found, where it is known already
    paper : "A4" or "Letter"

    Returns
    -------
    list of Path
        The files: mesh (.stl, .3mf), solid (.step), drawing (.pdf, .svg, .png), print sheet
        (.pdf) and record.json.

    Raises
    ------
    RepairError
        When the repair cannot be built, or the folder cannot be written to.
    """
    subject = Subject.of(repair)
    findings = report if report is not None else judge(subject)
    date = datetime.now().astimezone()
    with _claimed(folder_for(Path(folder))) as (number, place):
        contents = _contents(subject, findings, number, date, paper)
        for name, content in contents.items():
            write_new(place / name, content)
        _verify(place, contents, subject)
    final = place.parent / f"revision-{number}"
    return [final / name for name in contents]


def revisions(folder: str | Path) -> list[Revision]:
    """The revisions in a folder, oldest first; damaged ones say what is wrong with them."""
    listed = []
    for path in _revision_folders(Path(folder)):
        number = int(path.name.removeprefix("revision-"))
        try:
            row = record.load(path)
        except RepairError as error:
            listed.append(Revision(number, path, "", str(error)))
        else:
            listed.append(Revision(number, path, str(row.get("date", ""))))
    return sorted(listed, key=lambda revision: revision.number)


def down(subject: Subject) -> tuple[float, float, float]:
    """The direction, as the repair stands, that points down on the print bed."""
    return subject.repair.down or (0.0, 0.0, -1.0)


def on_the_bed(subject: Subject) -> tuple[np.ndarray, np.ndarray]:
    """Vertices (n, 3) float32 and faces (m, 3) of the part as it is printed.

    Its lowest point is at z = 0, and it is centred about x = y = 0.
    """
    vertices, faces = subject.mesh
    return files.rounded(laid(vertices, down(subject)), faces)


def _contents(
    subject: Subject, report: Report, number: int, date: datetime, paper: str
) -> dict[str, bytes]:
    repair = subject.repair
    name = slug(repair.name)
    vertices, faces = on_the_bed(subject)
    solid = subject.assembly.solid
    width, depth, _height = subject.printer.bed
    body = Body(repair.name, vertices, faces, (width / 2, depth / 2, 0.0))
    metadata = {
        "Title": repair.name,
        "Description": _("{material} on {printer}").format(
            material=repair.material, printer=repair.printer
        ),
        "CreationDate": date.isoformat(timespec="seconds"),
        "Application": f"workbench {workbench.__version__}",
        "Revision": number,
        "Material": repair.material,
        "Printer": repair.printer,
    }
    contents = {
        f"{name}.stl": files.stl(vertices, faces, f"{name}, revision {number}"),
        f"{name}.3mf": threemf([body], metadata),
        f"{name}.step": files.step(solid, name, date),
    }
    contents[record.NAME] = record.record(
        repair,
        number,
        contents,
        report.findings,
        date,
        volume_mm3=solid.volume,
        triangles=len(faces),
        down=list(down(subject)),
    ).encode()
    return contents


def _verify(place: Path, contents: Mapping[str, bytes], subject: Subject) -> None:
    """Read every file back, and refuse the revision where one does not hold what it should."""
    volume = subject.assembly.solid.volume
    _vertices, faces = on_the_bed(subject)
    for name, content in contents.items():
        found = (place / name).read_bytes()
        fine = found == content and {
            ".stl": lambda data: len(files.read_stl(data)) == len(faces),
            ".3mf": lambda data: len(read_threemf(data)[0]) == 1,
            ".step": lambda data: _close(files.read_step(data).volume, volume),
        }.get(Path(name).suffix, bool)(found)
        if not fine:
            raise RepairError(
                _(
                    "{name} does not hold what was written to it; check the disk and export again"
                ).format(name=name)
            )


def _close(found: float, wanted: float) -> bool:
    return abs(found - wanted) <= _SAME_VOLUME * wanted


@contextmanager
def _claimed(folder: Path) -> Iterator[tuple[int, Path]]:
    """A number that no other export has, and a hidden folder that becomes the revision.

    The hidden folder is the claim: making it fails where another export made it first.
    """
    number, place = _claim(folder)
    try:
        yield number, place
        place.rename(folder / f"revision-{number}")
    except OSError as error:
        shutil.rmtree(place, ignore_errors=True)
        raise unwritable(place, error) from None
    except BaseException:
        shutil.rmtree(place, ignore_errors=True)
        raise


def _claim(folder: Path) -> tuple[int, Path]:
    while True:
        number = 1 + max(_numbers(folder), default=0)
        place = folder / f".revision-{number}.part"
        try:
            place.mkdir()
        except FileExistsError:
            continue
        except OSError as error:
            raise unwritable(folder, error) from None
        if not (folder / f"revision-{number}").exists():
            return number, place
        place.rmdir()  # another export finished with this number in between


def _numbers(folder: Path) -> Iterator[int]:
    for path in folder.iterdir():
        found = _REVISION.fullmatch(path.name)
        if found:
            yield int(found[1])


def _revision_folders(folder: Path) -> list[Path]:
    if not folder.is_dir():
        return []
    return [p for p in folder.iterdir() if re.fullmatch(r"revision-\d+", p.name) and p.is_dir()]
