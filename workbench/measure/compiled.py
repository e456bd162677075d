"""Compiled parts of scipy without the packages about them, which take longer to load than numpy.

They are found beside their package; where a release of scipy keeps them elsewhere, all of it loads.
"""

from __future__ import annotations

import sys
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from types import ModuleType

import scipy


def alone(package: str, name: str) -> ModuleType | None:
    """The part of one of scipy's packages, such as "special"; None where it is not there."""
    whole = f"scipy.{package}.{name}"
    part = sys.modules.get(whole)
    if part is None:
        spec = PathFinder.find_spec(whole, [f"{scipy.__path__[0]}/{package}"])
        if spec is None or spec.loader is None:
            return None
        part = module_from_spec(spec)
        spec.loader.exec_module(part)
        sys.modules.setdefault(whole, part)
    return part
