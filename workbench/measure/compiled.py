"""Compiled parts of libraries without the packages about them, which take longer to load than numpy.

They are found beside their package; where a release keeps them elsewhere, all of it loads.
"""

from __future__ import annotations

import sys
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from pathlib import Path
from types import ModuleType


def alone(package: str, name: str) -> ModuleType | None:
    """The part of a package, such as "scipy.special"; None where it is not there."""
    whole = f"{package}.{name}"
    part = sys.modules.get(whole)
    if part is None:
        spec = PathFinder.find_spec(whole, [str(folder_of(package))])
        if spec is None or spec.loader is None:
            return None
        part = module_from_spec(spec)
        spec.loader.exec_module(part)
        sys.modules.setdefault(whole, part)
    return part


def folder_of(package: str) -> Path:
    """Where a package is, which is not loaded for that."""
    library, _dot, room = package.partition(".")
    spec = PathFinder.find_spec(library, None)
    found = (spec and spec.submodule_search_locations) or [""]
    return Path(found[0], *room.split("."))
