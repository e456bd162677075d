"""A copy of this process that does one thing, can be ended meanwhile, and costs a few milliseconds.

For what the geometry kernel may never be done with while a person waits, and for whole commands.
"""

from __future__ import annotations

import gc
import os
import select
import signal
import sys
import threading
import time
import warnings
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from typing import NoReturn

from workbench.overtaken import asked, leave_if_overtaken
from workbench.process import (
    COMMAND,
    HELD,
    SHAPE,
    Limits,
    Stopped,
    Watch,
    answer_of,
    done,
    hold_memory,
    hold_time,
    receive,
    send,
)
from workbench.words import _

#: Seconds within which a copy is ended whose work is overtaken.
SOON = 0.02

#: The copies that work now, by process number, with the time at which they began.
_copies: dict[int, float] = {}

#: Those that somebody stopped.
_stopped: set[int] = set()


def copies() -> dict[int, float]:
    """The copies of this process that work now, and since when on the monotonic clock."""
    return dict(_copies)


def stop_copies() -> None:
    """End every copy of this process that works now."""
    for number in copies():
        _stopped.add(number)
        with suppress(OSError):
            os.kill(number, signal.SIGKILL)


@cache
def compute_alone() -> None:
    """Let linear algebra compute in the thread that asks for it, from now on.

    Its library ends its own threads whenever a process is copied; what they were computing for
    another thread of that process is then never done.
    """
    from threadpoolctl import threadpool_limits

    os.environ["OPENBLAS_NUM_THREADS"] = "1"  # of what is loaded later
    threadpool_limits(1, user_api="blas")  # of what is loaded by now


def in_copy(make: Callable[[], bytes], limits: Limits = SHAPE) -> bytes:
    """What ``make`` returns, made in a copy of this process, which is ended at its limits.

    Other threads go on meanwhile, Ctrl-C stops it, :func:`stop_copies` from another thread, and
    something newer where this thread's work may be overtaken.
    Where the system copies no processes, or this one is limited already, it is made here.

    Raises what ``make`` raised; TooLong or Ended where it gave no answer.
    """
    if HELD.is_set() or not hasattr(os, "fork"):
        return make()
    compute_alone()
    source, target = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of other threads, none of which goes on in the copy
        number = os.fork()
    if number == 0:
        _make_in_copy(make, target, limits)
    os.close(target)
    copy = _Copy(number)
    _copies[number] = time.monotonic()
    watch = Watch(copy, limits)
    try:
        with os.fdopen(source, "rb") as pipe:
            while asked() and not select.select([pipe], [], [], SOON)[0]:
                leave_if_overtaken()
            message = receive(pipe)
    except (OSError, EOFError):
        message = None
    finally:
        watch.over()
        copy.kill()
        copy.wait()
        del _copies[number]
    if number in _stopped:
        _stopped.discard(number)
        raise Stopped(_("it was stopped; change the rounding or a size, or undo the last edit"))
    if message is None:
        raise watch.reason(copy)
    return bytes(answer_of(message))


def _make_in_copy(make: Callable[[], bytes], target: int, limits: Limits) -> NoReturn:
    HELD.set()
    try:
        gc.disable()  # what this process has open is not ours to close
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        hold_memory(limits.memory)
        hold_time(limits.seconds)
        with os.fdopen(target, "wb") as pipe:
            send(pipe, done(make, ()))
    finally:
        os._exit(0)


class _Copy:
    """A forked process, with the few verbs of a Popen that are needed."""

    def __init__(self, number: int) -> None:
        self.pid = number
        self.returncode: int | None = None

    def kill(self) -> None:
        with suppress(OSError):
            os.kill(self.pid, signal.SIGKILL)

    def wait(self) -> None:
        with suppress(OSError):
            self.returncode = os.waitstatus_to_exitcode(os.waitpid(self.pid, 0)[1])


class _Interrupt:
    """Ctrl-C, kept back from now on, whichever thread of this process is told of it."""

    def __init__(self) -> None:
        self._came = False
        self._own = threading.current_thread() is threading.main_thread()  # as handlers must be
        if self._own:
            self._before = signal.signal(signal.SIGINT, self._keep)

    def _keep(self, *_told: object) -> None:
        self._came = True

    def give(self) -> None:
        """Hand on what came meanwhile, and whatever comes from now on."""
        if self._own:
            signal.signal(signal.SIGINT, self._before)
        if self._came:
            signal.raise_signal(signal.SIGINT)


def command(work: Callable[[], int], stopped: Callable[[str], None]) -> int:
    """The exit code of a command that is done in a copy of this process, 2 where it is ended.

    stopped : told why, in a sentence, where the command itself could not say so
    """
    if not hasattr(os, "fork") or os.environ.get("WORKBENCH_DEBUG"):
        return work()
    sys.stdout.flush()
    source, target = os.pipe()
    interrupt = _Interrupt()  # kept till there is who ends the copy for it
    number = os.fork()
    if number == 0:
        os.close(source)
        _command_in_copy(work, target, interrupt)
    os.close(target)  # the copy holds the other end for as long as it lives
    copy = _Copy(number)
    watch = Watch(copy, COMMAND)
    ended = b""
    try:
        interrupt.give()
        while not select.select([source], [], [], SOON)[0]:
            pass  # where another thread was told of the interrupt, this one hears of it here
        ended = os.read(source, 1)
        copy.wait()
    except KeyboardInterrupt:  # which the copy got as well, and may tell of by itself
        watch.over()
        if select.select([source], [], [], _GRACE)[0]:
            ended = os.read(source, 1)
        else:
            copy.kill()
        copy.wait()
    finally:
        watch.over()
        os.close(source)
    if ended and copy.returncode is not None and copy.returncode >= 0:
        return copy.returncode
    interrupted = copy.returncode == -signal.SIGKILL and watch.why is None
    stopped(_("stopped; what was written so far stays") if interrupted else str(watch.reason(copy)))
    return 2


#: Seconds that an interrupted command has to tidy up.
_GRACE = 1.5


def _command_in_copy(work: Callable[[], int], target: int, interrupt: _Interrupt) -> NoReturn:
    HELD.set()
    code: int | None = None
    try:
        interrupt.give()
        hold_memory(COMMAND.memory)
        hold_time(COMMAND.seconds)
        code = work()
        sys.stdout.flush()
        sys.stderr.flush()
    except SystemExit as error:
        code = error.code if isinstance(error.code, int) else 2
        sys.stdout.flush()
    except BrokenPipeError:
        code = 0
    finally:
        if code is not None:  # the command itself came to an end, and not a program that it ran
            os.write(target, b".")
        os._exit(2 if code is None else code)
