"""Two runs at once: one has the folder, the other is told who; what a killed run left is cleared."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest
from rosters import written

from workbench.errors import RepairError
from workbench.output.files.paths import LOCK, clear_leftovers, held
from workbench.output.roster.whole_class import make_class

HOLDS = """
import sys, time
from pathlib import Path
from workbench.output.files.paths import held
with held(Path(sys.argv[1])):
    print("held", flush=True)
    time.sleep(1000)
"""

WRITES = """
import os, sys, time
from pathlib import Path
from workbench.output.files.export import _claimed
with _claimed(Path(sys.argv[1])) as (number, place):
    (place / "half").write_text("x")
    print(number, flush=True)
    time.sleep(1000)
"""


def other(code: str, folder: Path) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", code, str(folder)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    with process.stdout as told:
        assert told.readline()
    return process


def test_a_second_class_in_a_folder_is_told_who_has_it_and_since_when(tmp_path) -> None:
    table = written(tmp_path, "box,Mia,15,6")
    first = other(HOLDS, tmp_path / "class")
    try:
        with pytest.raises(RepairError) as told:
            make_class(table, tmp_path / "class", workers=1)
        assert "in use" in str(told.value) and f"process {first.pid}" in str(told.value)
        assert " since " in str(told.value) and "--folder" in str(told.value)
        assert [path.name for path in (tmp_path / "class").iterdir()] == [LOCK]
    finally:
        first.kill()
        first.wait()
    with held(tmp_path / "class"):
        pass
    assert list((tmp_path / "class").iterdir()) == []


def test_what_a_killed_export_left_is_cleared_at_the_next_start(tmp_path) -> None:
    from workbench.output.files.export import _claimed

    tmp_path.joinpath("revision-1").mkdir()
    one = other(WRITES, tmp_path)
    with _claimed(tmp_path) as (number, _place):  # the other is at work: its number is taken
        assert number == 3
    assert (tmp_path / ".revision-2.part" / "half").exists()
    os.kill(one.pid, signal.SIGKILL)
    one.wait()
    with _claimed(tmp_path) as (number, _place):
        assert not (tmp_path / ".revision-2.part").exists()
        assert number == 4
    assert {path.name for path in tmp_path.iterdir()} == {f"revision-{n}" for n in (1, 3, 4)}


def test_sixty_kills_while_writing_leave_nothing_and_make_no_number_jump(tmp_path) -> None:
    for number in range(60):
        place = tmp_path / f".revision-{number + 1}.part"
        place.mkdir()
        (place / "half").write_bytes(b"x" * 1000)
    clear_leftovers(tmp_path, ".revision-*")
    assert list(tmp_path.iterdir()) == []


def test_a_folder_that_is_about_to_be_locked_is_let_alone_for_a_minute(tmp_path) -> None:
    place = tmp_path / ".revision-x.new"
    place.mkdir()
    clear_leftovers(tmp_path, ".revision-*")
    assert place.exists()
    os.utime(place, (time.time() - 100, time.time() - 100))
    clear_leftovers(tmp_path, ".revision-*")
    assert not place.exists()


def test_a_lock_that_is_a_link_or_a_pipe_is_refused_and_what_it_leads_to_is_left(tmp_path) -> None:
    (tmp_path / "diary").write_text("mine")
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / LOCK).symlink_to(tmp_path / "diary")
    (tmp_path / "b").mkdir()
    os.mkfifo(tmp_path / "b" / LOCK)
    for folder in ("a", "b"):
        with pytest.raises(RepairError, match="cannot be written"), held(tmp_path / folder):
            pass
    assert (tmp_path / "diary").read_text() == "mine"
