"""What never ends is ended, what takes too much is told, and nobody waits for either."""

from __future__ import annotations

import faulthandler
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from workbench import fork, process
from workbench.errors import RepairError
from workbench.fork import copies, in_copy, stop_copies
from workbench.process import Broke, Ended, Helper, Limits, TooLong

SHORT = Limits(seconds=1, still=2)


@pytest.fixture
def helper():
    one = Helper(limits=SHORT)
    yield one
    one.end()


def number() -> int:
    """Of the process that works."""
    return os.getpid()


def refuse() -> None:
    raise RepairError("width is 3 mm; give 4 mm")


def where_from(name: str) -> str:
    return str(__import__(name).__file__)


def test_a_process_does_one_piece_of_work_after_the_other(helper) -> None:
    first = helper.do(os.getpid)
    assert first == helper.do(os.getpid) != os.getpid()
    assert helper.do(divmod, 7, 2) == (3, 1)


@pytest.mark.parametrize(
    "work, given, kind",
    [
        (pow, (7**90_000, 7**90_000), TooLong),
        (time.sleep, (1000,), Ended),
        (os._exit, (3,), Ended),
        (bytearray, (10**12,), RepairError),
        (int, ("x",), RuntimeError),
    ],
    ids=["computes for ever", "stands still", "ends", "too much memory", "fails"],
)
def test_work_that_goes_wrong_is_told_and_the_next_is_done(helper, work, given, kind) -> None:
    with pytest.raises(kind):
        helper.do(work, *given)
    assert helper.do(divmod, 7, 2) == (3, 1)


def test_a_sentence_comes_back_as_it_was(helper) -> None:
    with pytest.raises(RepairError, match="give 4 mm"):
        helper.do(refuse)


def test_a_frozen_process_is_ended_and_another_goes_on(helper) -> None:
    os.kill(helper.do(os.getpid), signal.SIGSTOP)
    with pytest.raises(Ended, match="hung"):
        helper.do(divmod, 7, 2)
    assert helper.do(divmod, 7, 2) == (3, 1)


def test_a_file_in_the_current_folder_stands_in_for_no_module(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    for name in ("pickle", "colorsys", "numpy"):
        Path(f"{name}.py").write_text("open('owned', 'w')")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    monkeypatch.syspath_prepend("")
    one = Helper(limits=Limits(seconds=20))
    try:
        assert str(tmp_path) not in one.do(where_from, "colorsys")
    finally:
        one.end()
    assert not Path("owned").exists()


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no pipes in folders")
def test_settings_for_plots_in_the_current_folder_are_not_read(tmp_path, monkeypatch) -> None:
    monkeypatch.chdir(tmp_path)
    os.mkfifo("matplotlibrc")  # whoever opens it waits for ever
    one = Helper(limits=Limits(seconds=60, still=20))
    try:
        assert one.do(where_from, "matplotlib")
    finally:
        one.end()
    code = (
        "import sys; from workbench.cli import main; sys.exit(main(['sheet', '--kind', 'photo']))"
    )
    done = subprocess.run(
        [sys.executable, "-P", "-c", code], check=False, timeout=100, capture_output=True
    )
    assert (done.returncode, done.stderr) == (0, b"") and Path("photo-sheet.pdf").is_file()


# -- copies ----------------------------------------------------------------------------------------


def test_a_copy_brings_bytes_or_the_sentence() -> None:
    assert in_copy(lambda: b"shape") == b"shape"
    with pytest.raises(RepairError, match="give 4 mm"):
        in_copy(refuse)  # type: ignore[arg-type]
    assert copies() == {}


def test_a_copy_that_breaks_down_is_told_of_as_such() -> None:
    def broken() -> bytes:
        faulthandler.disable()
        os.kill(os.getpid(), signal.SIGABRT)
        return b""

    with pytest.raises(Broke, match="failed on it"):
        in_copy(broken)


def test_a_copy_that_never_ends_is_ended_and_other_threads_go_on_meanwhile() -> None:
    seen: list[int] = []
    ticking = threading.Event()

    def tick() -> None:
        while not ticking.wait(0.05):
            seen.append(len(copies()))

    thread = threading.Thread(target=tick)
    thread.start()
    try:
        with pytest.raises(TooLong, match="and was stopped"):
            in_copy(lambda: bytes(pow(7**90_000, 7**90_000)), SHORT)
    finally:
        ticking.set()
        thread.join()
    assert 1 in seen and copies() == {}


def test_a_copy_that_a_busy_computer_lets_not_compute_is_told_of_as_such(monkeypatch) -> None:
    monkeypatch.setattr(process, "LOOK", 0.05)
    with pytest.raises(TooLong, match="on a busy computer"):
        fork.in_copy(lambda: time.sleep(60) or b"", Limits(seconds=0.2))  # type: ignore[func-returns-value]


#: A thread multiplies all the time, which was never done once the process had been copied.
MULTIPLIED = """
import os, threading, time
import numpy as np
from workbench import fork
fork.compute_alone()
done, over = [0], threading.Event()
many, few = np.ones((1_000_000, 3), "f4"), np.ones(3, "f4")
def multiply():
    while not over.is_set():
        many @ few
        done[0] += 1
thread = threading.Thread(target=multiply, daemon=True)
thread.start()
for _copy in range(20):
    fork.in_copy(lambda: b"")
before = done[0]
for _wait in range(200):
    time.sleep(0.05)
    if done[0] > before + 1:
        break
over.set()
print("goes on" if done[0] > before + 1 else "hangs", flush=True)
os._exit(0)
"""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="copies the process by fork")
def test_what_another_thread_computes_goes_on_after_a_copy() -> None:
    words = [sys.executable, "-c", MULTIPLIED]
    said = subprocess.run(words, capture_output=True, text=True, timeout=120, check=True)
    assert said.stdout.strip() == "goes on"


def test_a_copy_is_stopped_by_another_thread() -> None:
    def stop() -> None:
        while not copies():
            time.sleep(0.01)
        stop_copies()

    thread = threading.Thread(target=stop)
    thread.start()
    with pytest.raises(Ended):
        in_copy(lambda: bytes(pow(7**90_000, 7**90_000)))
    thread.join()


def test_a_process_that_is_limited_already_makes_no_copy(monkeypatch) -> None:
    process.HELD.set()
    try:
        monkeypatch.setattr(os, "fork", lambda: pytest.fail("a copy was made"))
        assert in_copy(lambda: str(number()).encode()) == str(os.getpid()).encode()
    finally:
        process.HELD.clear()


HANGS = """
import sys
from workbench import cli, fork, process
process_seconds = float(sys.argv[1])
fork.COMMAND = process.Limits(process_seconds, still=60)
from workbench.output.notebook import shelf
shelf.repair_at = lambda *given: (print("begun", flush=True), pow(7**90_000, 7**90_000))
sys.argv = ["workbench", "check", "anything"]
sys.exit(cli.main())
"""


@pytest.fixture
def hears_ctrl_c() -> Iterator[None]:
    """Ctrl-C as in a terminal: what a script begins in the background is told to ignore it."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


def started(seconds: float) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", HANGS, str(seconds)],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


def test_a_command_that_never_ends_is_ended_with_a_sentence() -> None:
    _out, told = started(2).communicate(timeout=120)
    assert "and was stopped" in told and told.startswith("workbench: ") and told.count("\n") == 1


@pytest.mark.usefixtures("hears_ctrl_c")
def test_ctrl_c_ends_a_command_that_hears_nothing() -> None:
    command = started(500)
    assert command.stdout is not None and command.stdout.readline() == "begun\n"
    os.killpg(command.pid, signal.SIGINT)
    _out, told = command.communicate(timeout=60)
    assert command.returncode == 2
    assert told == "workbench: stopped; what was written so far stays\n"


@pytest.fixture
def other_thread() -> Iterator[int]:
    """The number of a thread that waits, as those do that a notebook's server or a test run has."""
    over = threading.Event()
    thread = threading.Thread(target=over.wait)
    thread.start()
    assert thread.ident is not None
    yield thread.ident
    over.set()
    thread.join()


@pytest.mark.usefixtures("hears_ctrl_c")
def test_ctrl_c_while_a_command_begins_ends_it_too(monkeypatch, other_thread: int) -> None:
    forked, own = os.fork, os.getpid()

    def pressed() -> int:
        made = forked()
        if os.getpid() == own:
            signal.pthread_kill(other_thread, signal.SIGINT)
            time.sleep(0.05)  # an interrupt that is not kept back is raised in here
        return made

    monkeypatch.setattr(os, "fork", pressed)
    told: list[str] = []
    handler = signal.getsignal(signal.SIGINT)
    assert fork.command(lambda: int(bool(time.sleep(600))), told.append) == 2
    assert told == ["stopped; what was written so far stays"]
    assert signal.getsignal(signal.SIGINT) is handler


def test_a_command_s_exit_code_is_its_own() -> None:
    for code in (0, 1, 2):
        assert fork.command(lambda code=code: code, pytest.fail) == code
    told: list[str] = []
    assert fork.command(lambda: os._exit(0), told.append) == 2  # as a file of parts may
    assert told == ["its process ended before it was done; there may be too little memory"]
