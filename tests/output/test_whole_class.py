"""A class from its roster: what is made, told, kept and packed."""

from __future__ import annotations

import csv
import errno
import os
import random
import subprocess
from collections import Counter
from contextlib import suppress
from pathlib import Path

import pypdf
import pytest
from rosters import inline, written

from workbench.cli import main
from workbench.errors import RepairError
from workbench.output.files.threemf import read_threemf
from workbench.output.roster import whole_class
from workbench.output.roster.part_job import Made, made
from workbench.output.roster.roster_row import AGAIN, LATER, READY, ROW, STOPPED
from workbench.output.roster.whole_class import make_class

WIDE = "template,pupil,width,height,diameter"


#: Parts made by earlier tests, by their key: making one takes a second.
_MADE: dict[str, Made] = {}


@pytest.fixture(autouse=True)
def at_once(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Parts are made in this process; the list tells which."""
    names: list[str] = []

    def noted(job):
        names.append(job.name)
        if job.key not in _MADE:
            _MADE[job.key] = made(job)
        return _MADE[job.key]

    monkeypatch.setattr(whole_class, "local", inline)
    monkeypatch.setattr(whole_class, "made", noted)
    return names


def roster(folder: Path, *rows: str) -> Path:
    return written(folder, *rows, head=WIDE)


GOOD = ("cylinder,Mia,,8,12", "wedge,Jonas,20,10,", "box,Kim,15,6,")
BAD = (
    "gone,Ola,,,",
    "box,=1+1,,,",
    "box,Lu,9999,,",
    "box,Zoe,15 19,6,",
    "box,Kim,15,6,",
    "sphere,Ann,,,5,6,7",
)


def test_bad_rows_never_stop_the_rest_and_each_is_told(tmp_path, at_once) -> None:
    rows = [row for pair in zip(GOOD, BAD[:3], strict=True) for row in pair] + list(BAD[3:])
    told: list[tuple[int, int]] = []
    session = make_class(
        roster(tmp_path, *rows), tmp_path, progress=lambda n, of, line: told.append((n, of))
    )
    assert told == [(n, 9) for n in range(1, 10)]
    states = {line.row: line.state for line in session.lines}
    assert states == {
        2: READY, 3: ROW, 4: READY, 5: ROW, 6: READY, 7: AGAIN, 8: AGAIN, 9: ROW, 10: ROW,
    }  # fmt: skip
    assert not session.ok and all(line.why for line in session.lines if line.state != READY)
    assert at_once == ["Mia · cylinder", "Jonas · wedge", "Kim · box", "Zoe · box"]
    bed, table, page = session.paths
    bodies, metadata = read_threemf(bed.read_bytes())
    assert [body.name for body in bodies] == ["Jonas · wedge", "Kim · box", "Mia · cylinder"]
    assert metadata["Printer"] == "generic 220"
    listed = list(csv.DictReader(table.read_text("utf-8").splitlines()))
    assert [row["state"] for row in listed] == [states[n] for n in range(2, 11)]
    assert listed[3]["pupil"] == "'=1+1"
    text = "".join(sheet.extract_text() for sheet in pypdf.PdfReader(page).pages)
    assert "measure again" in text and "Zoe" in text and "Mia" in text


def test_a_name_that_no_file_can_carry_and_a_number_without_end_cost_at_most_their_row(tmp_path):
    rows = [
        '"box","Mia\t\n;=cmd|x","15","6",""',
        f"box,Jo,1/{'9' * 5000},6,",
        f"box,Al,{'9' * 100_000}x,6,",
        f"box,Bo,{'9' * 999}/{'9' * 999},6,",
    ]
    session = make_class(roster(tmp_path, *rows), tmp_path)
    assert [line.state for line in session.lines] == [READY, ROW, ROW, ROW]
    assert all(len(line.why) < 300 for line in session.lines)
    bed, table, _page = session.paths
    bodies, _metadata = read_threemf(bed.read_bytes())
    assert [body.name for body in bodies] == ["Mia ;=cmd|x · box"]
    apart = [cell for line in table.read_text("utf-8").splitlines() for cell in line.split(";")]
    assert not any(cell.startswith(("=", "+", "-", "@")) for cell in apart)


def test_a_run_that_was_stopped_goes_on_where_it_was(tmp_path, at_once) -> None:
    table = roster(tmp_path, *GOOD)

    def stop(done: int, _total: int, _line) -> None:
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        make_class(table, tmp_path / "stopped", progress=stop)
    before = list(at_once)
    assert len(before) >= 2
    session = make_class(table, tmp_path / "stopped")
    assert session.ok and Counter(at_once) <= Counter(
        {name: 1 if name in before[:2] else 2 for name in before} | {"Kim · box": 2}
    )
    whole = make_class(table, tmp_path / "whole")
    assert session.paths[0].read_bytes() == whole.paths[0].read_bytes()


def test_done_again_nothing_is_made_and_nothing_is_written(tmp_path, at_once) -> None:
    table = roster(tmp_path, GOOD[0])
    first = make_class(table, tmp_path)
    assert make_class(table, tmp_path) == first
    assert len(at_once) == 1
    assert [path.name for path in tmp_path.glob("revision-*")] == ["revision-1"]


def test_other_readings_make_another_part_beside_the_first(tmp_path, at_once) -> None:
    make_class(roster(tmp_path, GOOD[0]), tmp_path)
    session = make_class(roster(tmp_path, "cylinder,Mia,,8,13"), tmp_path)
    assert len(at_once) == 2
    assert session.lines[0].folder == "parts/mia-cylinder-2"
    assert session.paths[0].parent.name == "revision-2"
    assert {path.name for path in (tmp_path / "parts").iterdir()} == {
        "mia-cylinder", "mia-cylinder-2",
    }  # fmt: skip


def test_a_damaged_part_is_made_again(tmp_path, at_once) -> None:
    table = roster(tmp_path, GOOD[0])
    make_class(table, tmp_path)
    (stl,) = (tmp_path / "parts").rglob("*.stl")
    stl.write_bytes(b"")
    assert make_class(table, tmp_path).ok and len(at_once) == 2


def test_the_order_of_the_rows_does_not_matter(tmp_path) -> None:
    mixed = random.Random(3).sample(GOOD, len(GOOD))
    assert mixed != list(GOOD)
    one = make_class(roster(tmp_path, *GOOD), tmp_path / "one")
    other = make_class(roster(tmp_path, *mixed), tmp_path / "other")
    assert one.paths[0].read_bytes() == other.paths[0].read_bytes()


def test_a_full_disk_is_told_and_what_is_written_stays(tmp_path, monkeypatch, at_once) -> None:
    table = roster(tmp_path, *GOOD)
    sync, room = os.fsync, [True]

    def fsync(file: int) -> None:
        if not room[0]:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        sync(file)

    monkeypatch.setattr(os, "fsync", fsync)
    states = []

    def progress(_done: int, _total: int, line) -> None:
        states.append((line.pupil, line.state))
        room[0] = False

    with pytest.raises(ValueError, match="No space left"):
        make_class(table, tmp_path, progress=progress)
    assert states == [("Mia", READY), ("Jonas", LATER), ("Kim", LATER)]
    kept = [path.name for path in (tmp_path / "parts").iterdir()]
    assert kept == ["mia-cylinder"] and not list(tmp_path.glob("revision-*"))
    room[0] = True
    assert make_class(table, tmp_path).ok and at_once.count("Mia · cylinder") == 1


def test_on_a_disk_that_is_really_full_what_has_room_is_kept(tmp_path, at_once) -> None:
    disk = tmp_path / "disk"
    disk.mkdir()
    mounted = ["mount", "-t", "tmpfs", "-o", "size=600k", "tmpfs", str(disk)]
    try:
        subprocess.run(mounted, check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        pytest.skip("only an administrator of Linux can mount a small disk")
    try:
        rows = [f"box,Pupil {i},{15 + i},6," for i in range(2)]
        table = roster(tmp_path, *GOOD, *rows)
        states: list[str] = []

        def progress(_done: int, _total: int, line) -> None:
            states.append(line.state)
            if line.state == LATER:
                assert "No space left" in " ".join(line.why)

        with suppress(RepairError):  # there may be room for bed and summary, or none
            make_class(table, disk / "class", progress=progress)
        assert len(states) == 5 and states[0] == READY and states[-1] == LATER
        kept = sorted(path.name for path in (disk / "class" / "parts").iterdir())
        assert len(kept) == states.count(READY)
        made_so_far = len(at_once)
        subprocess.run(["mount", "-o", "remount,size=32m", str(disk)], check=True)
        assert make_class(table, disk / "class").ok
        assert len(at_once) - made_so_far == 5 - len(kept)
    finally:
        subprocess.run(["umount", str(disk)], check=True)


def test_a_part_with_a_stop_is_left_off_the_bed(tmp_path) -> None:
    table = written(tmp_path, "box,Mia,,300", "box,Kim,,6", head="template,pupil,printer,width")
    session = make_class(table, tmp_path)
    assert [line.state for line in session.lines] == [STOPPED, READY]
    bodies, _metadata = read_threemf(session.paths[0].read_bytes())
    assert [body.name for body in bodies] == ["Kim · box"]


def test_what_is_raised_is_listed(tmp_path) -> None:
    rows = ("box,Kim,40,6,", "cylinder,Eva,,3,1.5", "box,Kim Lee 2,7,6,")
    session = make_class(roster(tmp_path, *rows), tmp_path, labels=True)
    assert [line.raised for line in session.lines] == ["KIM", "", "4"]
    assert "No flat face" in " ".join(session.lines[1].why)


def test_ten_thousand_rows_are_told_row_by_row(tmp_path) -> None:
    rows = (f"{'gone' if i % 2 else 'box'},Pupil {i},9999,," for i in range(10_000))
    session = make_class(roster(tmp_path, *rows), tmp_path)
    assert Counter(line.state for line in session.lines) == {ROW: 5_000, AGAIN: 5_000}
    table, page = session.paths
    assert len(table.read_text("utf-8").splitlines()) == 10_001
    assert len(pypdf.PdfReader(page).pages) <= 20


def test_a_roster_without_rows_is_told(tmp_path, refused) -> None:
    with refused("no rows"):
        make_class(roster(tmp_path), tmp_path)


def test_the_command_tells_and_returns_what_happened(tmp_path, monkeypatch, capsys) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["class", str(roster(tmp_path, GOOD[2]))]) == 0
    said = capsys.readouterr()
    assert "classes/mend-it/revision-1" in said.out and "1  ready" in said.out
    assert main(["class", str(roster(tmp_path, GOOD[2], BAD[0]))]) == 1
    said = capsys.readouterr()
    assert "row 3, Ola: put the row right" in said.err
    assert main(["class", "gone.csv"]) == 2
    assert main(["class", "mend-it.csv", "--workers", "two"]) == 2
