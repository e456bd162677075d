"""What was built before is kept, so that a change builds only what it changes."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

import numpy as np


class Key:
    """A key of several parts, hashed once: a step's key holds that of the step that it sits on.

    >>> Key(1, Key(2)) == Key(1, Key(2)), Key(1, Key(2)) == Key(1, Key(3))
    (True, False)
    """

    __slots__ = ("_hash", "parts")

    def __init__(self, *parts: Hashable) -> None:
        self.parts: tuple[Any, ...] = parts
        self._hash = hash(parts)

    def __hash__(self) -> int:
        return self._hash

    def __reduce__(self) -> tuple[Any, ...]:
        # Another process hashes anew.
        return Key, self.parts

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Key):
            return NotImplemented
        return self is other or (self._hash == other._hash and self.parts == other.parts)


class Kept:
    """The last few results, by key; the one not asked for longest goes first.

    Several threads may ask at once: what another one has just dropped is made again.
    """

    def __init__(self, most: int) -> None:
        self._results: OrderedDict[Hashable, Any] = OrderedDict()
        self._most = most

    def __contains__(self, key: Hashable) -> bool:
        return key in self._results

    def __iter__(self):
        return iter(self._results)

    def get(self, key: Hashable, make: Callable[[], Any]) -> Any:
        """The result for ``key``, made now if it is not kept."""
        try:
            self._results.move_to_end(key)
            return self._results[key]
        except KeyError:
            pass
        result = self._results[key] = make()
        with suppress(KeyError):
            while len(self._results) > self._most:
                self._results.popitem(last=False)
        return result

    def put(self, key: Hashable, result: Any) -> None:
        """Keep a result in the place of any that is kept for ``key``."""
        self._results.pop(key, None)
        self.get(key, lambda: result)

    def clear(self) -> None:
        """Forget everything."""
        self._results.clear()


_KEYS = Kept(4000)


def key_of(*parts: Hashable) -> Key:
    """The key of some parts, the same object as before where they are the same."""
    key = Key(*parts)
    return _KEYS.get(key, lambda: key)


@dataclass(frozen=True)
class Whole:
    """What steps came to: the boxes round each, in the order of the list, and the solid."""

    boxes: Mapping[Hashable, np.ndarray]
    solid: Any


class Cache:
    """Results kept between builds: of templates, of seats, of unions and of cuts.

    Builds share one unless they are given their own, which then starts empty.
    """

    def __init__(self) -> None:
        self.built = Kept(400)
        #: Which of these were found to be sound.
        self.sound = Kept(400)
        self.placed = Kept(400)
        self.faces = Kept(800)
        self.joined = Kept(200)
        self.unions = Kept(40)
        #: What stands after each run; and the one sound solid that whole lists of steps came to.
        self.solids, self.wholes = Kept(400), Kept(40)
        #: What the last union of each run was made of, by the run's number.
        self.last: dict[int, frozenset[Hashable]] = {}
        #: What was built last.
        self.whole: Whole | None = None

    def clear(self) -> None:
        """Forget everything."""
        for kept in (
            self.built,
            self.sound,
            self.placed,
            self.faces,
            self.joined,
            self.unions,
            self.solids,
            self.wholes,
        ):
            kept.clear()
        self.last.clear()
        self.whole = None


#: What builds use unless they are given a cache of their own.
SHARED = Cache()
