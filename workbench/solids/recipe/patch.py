"""The difference of two pieces of plain data, small to keep and good in both directions."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

#: One change: where it is, and what stands there before and after: [] for nothing, or [value]; in a
#: list the slices that begin there.
Change = list[Any]


def patch(before: Any, after: Any) -> list[Change]:
    """What leads from one to the other, and back.

    >>> patch({"a": 1, "b": [1, 2, 3]}, {"a": 1, "b": [1, 3]})
    [[['b', 1], [2], []]]
    """
    return _changes([], before, after)


def _changes(at: list[Any], a: Any, b: Any) -> list[Change]:
    if isinstance(a, dict) and isinstance(b, dict):
        found = []
        for key in dict.fromkeys((*a, *b)):
            if key in a and key in b:
                found += _changes([*at, key], a[key], b[key])
            else:
                found.append(
                    [[*at, key], [a[key]] if key in a else [], [b[key]] if key in b else []]
                )
        return found
    if isinstance(a, list) and isinstance(b, list):
        if len(a) == len(b):
            return [c for i in range(len(a)) for c in _changes([*at, i], a[i], b[i])]
        start, most = 0, min(len(a), len(b))
        while start < most and _equal(a[start], b[start]):
            start += 1
        end = 0
        while end < most - start and _equal(a[-1 - end], b[-1 - end]):
            end += 1
        return [[[*at, start], a[start : len(a) - end], b[start : len(b) - end]]]
    return [] if _equal(a, b) else [[at, [a], [b]]]


def _equal(a: Any, b: Any) -> bool:
    return type(a) is type(b) and bool(a == b)


def patched(row: Any, changes: list[Change], back: bool = False) -> Any:
    """The other piece of data; ``back`` leads from the later to the earlier.

    Raises
    ------
    KeyError, IndexError, TypeError, ValueError
        When the changes are not of this data.
    """
    holder = [deepcopy(row)]
    for at, old, new in reversed(changes) if back else changes:
        gone, come = (new, old) if back else (old, new)
        where: Any = holder
        path = [0, *at]
        for key in path[:-1]:
            where = where[key]
        key = path[-1]
        if isinstance(where, list):
            if where[key : key + len(gone)] != gone:
                raise ValueError(at)
            where[key : key + len(gone)] = deepcopy(come)
        elif come:
            where[key] = deepcopy(come[0])
        else:
            del where[key]
    return holder[0]
