"""Work in a process of its own, which can be ended: the geometry kernel cannot be interrupted.

A call of the kernel may take for ever, more memory than there is, or the whole process with it.
Here it is held to seconds of computing and to memory, whatever it does; what it came to comes back,
or the reason in a sentence. The process sees nothing of the folder that it was started from.
"""

from __future__ import annotations

import os
import pickle
import signal
import struct
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import IO, Any, Protocol, TypeVar

from workbench.errors import RepairError
from workbench.gate import plain_plots
from workbench.words import _

R = TypeVar("R")

HOUSE = Path(__file__).resolve().parent

#: Names of the environment that a process of ours has no use for: they change what it imports.
_NOT_HANDED_ON = ("PYTHONPATH", "PYTHONSTARTUP", "PYTHONHOME", "PYTHONINSPECT", "PYTHONWARNINGS")

#: How often to look at a process that works, in seconds.
LOOK = 1.0

#: Set where this process is held to limits already by whoever started it.
HELD = threading.Event()


@dataclass(frozen=True)
class Limits:
    """How much one piece of work may take.

    seconds : of computing; on a clock it may take five times as long on a busy machine
    memory : bytes of data, where the system can limit it
    still : seconds without any computing after which it counts as frozen
    """

    seconds: float = 60.0
    memory: int = 6_000_000_000
    still: float = 30.0


def _given(name: str, usual: float) -> float:
    try:
        return max(1.0, float(os.environ.get(name, "")))
    except ValueError:
        return usual


#: For building, checking and exporting one part: a large one takes ten seconds.
PART = Limits(_given("WORKBENCH_SECONDS", 60.0))

#: For a whole command.
COMMAND = Limits(3 * PART.seconds)

#: For one shape that may never be done, such as a rounding, while a person waits.
SHAPE = Limits(PART.seconds / 2)


class Ending(Protocol):
    """A process that can be ended, as a Popen is."""

    pid: int
    returncode: int | None

    def kill(self) -> None:
        """End it at once."""


class TooLong(RepairError):
    """Work that took more computing than its limit."""


class Ended(RepairError):
    """A process that ended or stood still without an answer; another may do better."""


class Broke(Ended):
    """A process that the geometry kernel took down with it."""


def kernel_failed() -> str:
    """What is told where the geometry kernel finds no shape, or took its process down."""
    return _("the geometry kernel failed on it; change a size or the rounding by 0.1 mm")


class Stopped(Ended):
    """A process that a person stopped."""


class Helper:
    """One process that does one piece of work after the other.

    It is started when it is first needed, and again after it had to be ended.

    warm_up : done once in each process, before its first work
    limits : of each piece of work
    """

    def __init__(
        self, warm_up: Callable[[], Any] | None = None, limits: Limits | None = None
    ) -> None:
        self._warm_up, self.limits = warm_up, limits or PART
        self._process: subprocess.Popen[bytes] | None = None
        self._turn = threading.Lock()

    def do(self, work: Callable[..., R], *given: Any) -> R:
        """What ``work`` returns; it, its arguments and its result must be picklable.

        Raises what the work raised; TooLong where it was over its limit; Ended where
        the process ended without an answer.
        """
        with self._turn:
            process = self._started()
            return answer_of(self._ask(process, (work, given)))

    def end(self) -> None:
        """End the process at once, whatever it does."""
        process, self._process = self._process, None
        if process is not None:
            _killed(process)

    def _started(self) -> subprocess.Popen[bytes]:
        if self._process is None or self._process.poll() is not None:
            self.end()
            self._process = _process(self.limits)
            if self._warm_up is not None:
                answer_of(self._ask(self._process, (self._warm_up, ())))
        return self._process

    def _ask(self, process: subprocess.Popen[bytes], message: Any) -> Any:
        """Send a message and wait for its answer, with somebody who looks at the clock."""
        watch = Watch(process, self.limits)
        answer: Any = None
        try:
            assert process.stdin is not None and process.stdout is not None
            send(process.stdin, message)
            answer = receive(process.stdout)
        except (OSError, EOFError, pickle.UnpicklingError):
            pass
        except BaseException:
            self.end()
            raise
        finally:
            watch.over()
        if answer is None:
            self.end()
            raise watch.reason(process)
        return answer


class Watch:
    """Looks at a process while it works, and ends it when it is over its limits."""

    def __init__(self, process: Ending, limits: Limits) -> None:
        self._process, self._limits = process, limits
        self._done = threading.Event()
        self.why: RepairError | None = None
        threading.Thread(target=self._look, daemon=True).start()

    def over(self) -> None:
        self._done.set()

    def reason(self, process: Ending) -> RepairError:
        if self.why is not None:
            return self.why
        if process.returncode == -getattr(signal, "SIGXCPU", 0):
            return _too_long(self._limits.seconds)
        if process.returncode in _BROKE:
            return Broke(kernel_failed())
        return Ended(_("its process ended before it was done; there may be too little memory"))

    def _look(self) -> None:
        limits, began = self._limits, time.monotonic()
        first = last = _computed(self._process.pid)
        moved = began
        while not self._done.wait(LOOK):
            now, used = time.monotonic(), _computed(self._process.pid)
            if used is None or used != last:
                last, moved = used, now
            over = used is not None and first is not None and used - first > limits.seconds
            if over:
                self.why = _too_long(limits.seconds)
            elif now - began > 5 * limits.seconds:
                self.why = _too_busy(now - began)
            elif now - moved > limits.still:
                self.why = Ended(_("its process hung and was stopped; try it again"))
            if self.why is not None:
                _killed(self._process)
                return


#: How a process ends whose own code went wrong.
_BROKE = {-signal.SIGSEGV, -signal.SIGABRT, -signal.SIGFPE, -signal.SIGILL}


def _too_long(seconds: float) -> TooLong:
    return TooLong(
        _(
            "it was not done after {seconds} s of computing and was stopped; change a size or "
            "the rounding by 0.1 mm, or allow more time with WORKBENCH_SECONDS"
        ).format(seconds=round(seconds))
    )


def _too_busy(seconds: float) -> TooLong:
    return TooLong(
        _(
            "it was not done after {seconds} s on a busy computer and was stopped; try it when "
            "less is running, or allow more time with WORKBENCH_SECONDS"
        ).format(seconds=round(seconds))
    )


def _process(limits: Limits) -> subprocess.Popen[bytes]:
    here = str(Path.cwd())
    seen = [place for place in sys.path if place not in ("", ".", here)]
    paths = [*seen, *([str(HOUSE.parent)] if str(HOUSE.parent) not in seen else [])]
    code = f"import sys; sys.path[:] = {paths!r}; from workbench.process import serve; serve()"
    kept = {name: value for name, value in os.environ.items() if name not in _NOT_HANDED_ON}
    # Settings that name folders do so from where we are.
    return subprocess.Popen(
        # -P: a file beside the roster must not stand in for a library's module.
        [sys.executable, "-P", "-c", code],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=None if os.environ.get("WORKBENCH_DEBUG") else subprocess.DEVNULL,
        cwd=here,
        env={**kept, "PYTHONSAFEPATH": "1", _MEMORY: str(limits.memory), _SECONDS: _whole(limits)},
        start_new_session=True,  # Ctrl-C reaches us only, and we end it
    )


_MEMORY, _SECONDS = "WORKBENCH_PROCESS_MEMORY", "WORKBENCH_PROCESS_SECONDS"


def _whole(limits: Limits) -> str:
    return str(max(1, round(limits.seconds)))


def _killed(process: Ending) -> None:
    with suppress(OSError):
        process.kill()
    if not isinstance(process, subprocess.Popen):  # who started it waits for it
        return
    process.wait()
    for pipe in (process.stdin, process.stdout):
        with suppress(OSError):
            if pipe is not None:
                pipe.close()


def _computed(pid: int) -> float | None:
    """Seconds that a process has computed, or None where the system does not tell."""
    try:
        fields = Path(f"/proc/{pid}/stat").read_bytes().rpartition(b")")[2].split()
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")
    except (OSError, ValueError, IndexError, AttributeError):
        return None


def send(pipe: IO[bytes], message: Any) -> None:
    body = pickle.dumps(message)
    pipe.write(struct.pack("<Q", len(body)) + body)
    pipe.flush()


def receive(pipe: IO[bytes]) -> Any:
    head = pipe.read(8)
    if len(head) < 8:
        raise EOFError
    (length,) = struct.unpack("<Q", head)
    body = pipe.read(length)
    if len(body) < length:
        raise EOFError
    return pickle.loads(body)


def answer_of(message: Any) -> Any:
    kind, value = message
    if kind == "done":
        return value
    if kind == "refused":
        raise RepairError(value)
    raise RuntimeError(value)


# -- in the process itself -----------------------------------------------------------------------


def serve() -> None:
    """Do what comes in, one piece after the other, until nobody is there to ask."""
    HELD.set()
    source = os.fdopen(os.dup(0), "rb")
    target = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what libraries print does not belong between the answers
    plain_plots()
    seconds = float(os.environ.pop(_SECONDS))
    hold_memory(int(os.environ.pop(_MEMORY)))
    with suppress(EOFError, OSError):
        while True:
            work, given = receive(source)
            hold_time(seconds)
            send(target, done(work, given))


def done(work: Callable[..., Any], given: Sequence[Any]) -> tuple[str, Any]:
    try:
        return "done", work(*given)
    except RepairError as error:
        return "refused", str(error)
    except MemoryError:
        return "refused", _("it needs more memory than there is; make it with fewer steps")
    except BaseException as error:
        return "failed", f"{type(error).__name__}: {str(error)[:500]}"


def hold_memory(most: int) -> None:
    with suppress(ImportError, OSError, ValueError):
        import resource

        resource.setrlimit(resource.RLIMIT_DATA, (most, most))


def hold_time(seconds: float) -> None:
    """Let the system end us, should whoever started us be gone by then."""
    with suppress(ImportError, OSError, ValueError):
        import resource

        used = resource.getrusage(resource.RUSAGE_SELF)
        soft = int(used.ru_utime + used.ru_stime + seconds) + 2
        resource.setrlimit(resource.RLIMIT_CPU, (soft, resource.RLIM_INFINITY))
