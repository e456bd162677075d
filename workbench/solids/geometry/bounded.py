"""Shapes of the kernel that may never be done, made where they can be ended.

The kernel cannot be interrupted, and nothing else of this process goes on while it works. So what
may hang is made in a copy of the process. A copy costs some milliseconds, which a slider has not:
where a person waits, what is like something that was quick before is made here.
"""

from __future__ import annotations

import os
import pickle
import struct
import sys
import threading
import time
from collections.abc import Callable, Hashable, Sequence, Set
from contextlib import suppress
from io import BytesIO
from math import frexp
from typing import TYPE_CHECKING, Any, TypeVar, cast

from workbench import fork
from workbench.process import HELD, Ended, Limits, Stopped, TooLong

if TYPE_CHECKING:
    from build123d import Shape, Solid

R = TypeVar("R")

#: Seconds of computing up to which something counts as quick.
QUICK = 0.5

#: Seconds of computing that a moving picture has room for.
FRAME = 0.03

#: What is tried first, as a whole, may take so long.
TRY = Limits(seconds=2.0)

#: What was quick, what was not and what takes no longer than a frame, by its kind; and whether this thread is within what was.
_quick: set[Hashable] = set()
_slow: set[Hashable] = set()
_at_once: set[Hashable] = set()


class Within(threading.local):
    """Whether this thread is within a ``with`` of it."""

    now = False

    def __enter__(self) -> None:
        self.now = True

    def __exit__(self, *_raised: object) -> None:
        self.now = False


_trusted = Within()

#: Whether this is a copy that rehearses, and how many seconds of computing each kind took it at most.
_rehearsing = Within()
_took: dict[Hashable, float] = {}


def waits() -> bool:
    """Whether a person waits who could not stop the kernel: in a notebook's process."""
    return "ipykernel.kernelapp" in sys.modules and not HELD.is_set() and not _rehearsing.now


def rehearse(
    whole: Callable[[], Hashable],
    make: Callable[[], object],
    known: Callable[[], bool] = lambda: False,
) -> None:
    """Where a person waits, find out in one copy what of all that ``make`` does is quick.

    It is then done here; else each kind of it costs a copy of its own. It ends with what is not quick.

    whole : kind of what is tried as a whole, which is not tried again where nothing came of it
    known : whether all of it was quick elsewhere, so that it is done here, which costs no copy
    """
    if not (waits() and hasattr(os, "fork")) or (which := whole()) in _quick | _slow:
        return
    import build123d  # noqa: F401  # a copy would load it for itself, and count that as computing

    try:
        found = pickle.loads(_noted(make) if known() else fork.in_copy(lambda: _noted(make), TRY))
    except Stopped:
        raise
    except (TooLong, Ended):
        found = {which: TRY.seconds}
    except Exception:  # such as a template without a name, whose kind cannot be told
        return
    for kind, took in found.items():
        (_quick if took <= QUICK else _slow).add(kind)
        if took <= FRAME:
            _at_once.add(kind)


def _noted(make: Callable[[], object]) -> bytes:
    with suppress(Exception), _rehearsing:  # why it fails is told where it is done
        make()
    return pickle.dumps(_took)


def _here(kinds: Callable[[], Set[Hashable]], make: Callable[[], R]) -> R:
    """What ``make`` gives, made in this process, which takes note of it where it rehearses."""
    if not _rehearsing.now:
        return make()
    began = time.process_time()
    try:
        made = make()
    finally:
        took = time.process_time() - began
        for kind in kinds():
            _took[kind] = max(took, _took.get(kind, 0.0))
    if took > QUICK:
        raise TooLong
    return made


def bounded(kind: Callable[[], Hashable], make: Callable[[], Solid], start: Solid) -> Solid:
    """What ``make`` makes of a solid, within the limits of :data:`workbench.process.SHAPE`.

    kind : of what is made; where a person waits, it is made here if that was quick before
    make : gives ``start`` itself where there is nothing to do

    Raises what ``make`` raises, or RepairError that it took too long.
    """
    if _rehearsing.now:
        return _here(lambda: {kind()}, make)
    which = kind() if waits() else None
    if which in _quick:
        return make()
    made: list[Solid] = []

    def as_bytes() -> bytes:
        made.append(make())
        return b"" if made[0] is start else _written(made)

    found = fork.in_copy(lambda: _timed(as_bytes))
    if which is not None and _seconds(found) <= QUICK:
        _quick.add(which)
    if made:  # it was made here
        return made[0]
    return _read(found[8:])[0] if found[8:] else start


def tried(kind: Callable[[], Hashable], make: Callable[[], R]) -> R:
    """What ``make`` gives, made here; where its kind was not quick before, tried in a copy first.

    Where that takes long, what it is made of is limited one by one, by :func:`limited`.
    """
    if not waits() or _trusted.now or (which := kind()) in _slow:
        return _here(lambda: {kind()}, make)
    if which not in _quick:
        import build123d  # noqa: F401  # a copy would load it for itself, and count that as computing

        try:
            took = _seconds(fork.in_copy(lambda: _timed(make), TRY))
        except Stopped:
            raise
        except (TooLong, Ended):
            took = TRY.seconds
        except (ValueError, RuntimeError):  # it is refused soon, and here in its own words
            took = 0.0
        (_quick if took <= QUICK else _slow).add(which)
        if took > QUICK:
            return make()
    with _trusted:
        return make()


def limited(kind: Callable[[], Hashable], make: Callable[[], Sequence[Solid]]) -> Sequence[Solid]:
    """The solids that ``make`` gives, within the limits of :data:`workbench.process.SHAPE`.

    kind : of what is made, which is made here where that was quick before

    Raises RepairError where it took too long, or what ``make`` raises.
    """
    return _limited(lambda: {kind()}, make, _written, _read)


def limited_arrays(kinds: Callable[[], Set[Hashable]], make: Callable[[], R]) -> R:
    """Arrays that ``make`` gives, as for :func:`limited`, of things each of a kind."""
    return _limited(kinds, make, pickle.dumps, pickle.loads)


def _limited(
    kinds: Callable[[], Set[Hashable]],
    make: Callable[[], R],
    write: Callable[[R], bytes],
    read: Callable[[bytes], R],
) -> R:
    if not waits() or _trusted.now or (which := kinds()) <= _quick:
        return _here(kinds, make)
    found = _made_in_copy(make, write)
    if found is None:
        return make()  # here in its own words
    if _seconds(found) > QUICK:
        return read(found[8:])
    _quick.update(which)
    return make()  # whose faces are still those of what it is made of


def aside(kind: Callable[[], Hashable], make: Callable[[], R]) -> R:
    """What ``make`` gives, to be pickled: where a person waits, made in a copy of this process
    unless what was like it took no longer than a frame, so that a hand is never held up.

    Raises RepairError where it took too long, or what ``make`` raises.
    """
    if not waits() or (which := kind()) in _at_once:
        return _here(lambda: {kind()}, make)
    found = _made_in_copy(make, pickle.dumps)
    if found is None:
        return make()  # here in its own words
    if _seconds(found) <= FRAME:
        _at_once.add(which)
    return cast(R, pickle.loads(found[8:]))


def _made_in_copy(make: Callable[[], R], write: Callable[[R], bytes]) -> bytes | None:
    """How long a copy took and what it made, as :func:`_timed` tells it; None where it refused."""
    try:
        return fork.in_copy(lambda: _timed(lambda: write(make())))
    except (TooLong, Ended):
        raise
    except (ValueError, RuntimeError):
        return None


def about(value: Any) -> Hashable:
    """A value to a factor of two, or that it is 0: what was quick with one is taken to be with the other."""
    if isinstance(value, (tuple, list)):
        return tuple(map(about, value))
    plain = isinstance(value, bool) or not isinstance(value, (int, float))
    return value if plain else frexp(value)[1] if value else None


def _timed(make: Callable[[], Any]) -> bytes:
    """How many seconds it computed, and what it made where that is bytes."""
    began = time.process_time()
    made = make()
    took = struct.pack("<d", time.process_time() - began)
    return took + made if isinstance(made, bytes) else took


def _seconds(found: bytes) -> float:
    return float(struct.unpack("<d", found[:8])[0])


def _written(solids: Sequence[Shape]) -> bytes:
    from build123d import Compound
    from OCP.BinTools import BinTools

    into = BytesIO()
    BinTools.Write_s(Compound(list(solids)).wrapped, into)
    return into.getvalue()


def _read(content: bytes) -> list[Solid]:
    from build123d import Compound
    from OCP.BinTools import BinTools
    from OCP.TopoDS import TopoDS_Shape

    from workbench.solids.geometry.kernel import solids_of

    shape = TopoDS_Shape()
    BinTools.Read_s(shape, BytesIO(content))
    return list(solids_of(Compound(shape)))
