"""What people call a part at home, in every language, so that a search finds it."""

from __future__ import annotations

import tomllib
from functools import lru_cache

from workbench import data


def household_words(name: str) -> tuple[str, ...]:
    """Other words for a template on the shelf, or a plain shape, by its name.

    >>> "washer" in household_words("spacer-ring")
    True
    """
    return _table().get(name, ())


@lru_cache(maxsize=1)
def _table() -> dict[str, tuple[str, ...]]:
    rows = tomllib.loads((data.HERE / "household.toml").read_text(encoding="utf-8"))
    return {
        name: tuple(word for words in row.values() for word in words) for name, row in rows.items()
    }
