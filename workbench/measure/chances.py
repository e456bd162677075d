"""scipy's functions of chance, without the rest of ``scipy.special``: that takes longer to load than numpy.

They are compiled, and found beside it; where a release of scipy keeps them elsewhere, all of it loads.
"""

from __future__ import annotations

import sys
from importlib import import_module
from importlib.machinery import PathFinder
from importlib.util import module_from_spec
from types import ModuleType

import scipy

#: Modules of scipy.special, each of which asks for those before it only.
_PARTS = ("_special_ufuncs", "_gufuncs", "_ufuncs_cxx", "_ellip_harm_2", "_ufuncs")


def _compiled() -> ModuleType:
    """The last of the parts, or the whole of scipy.special."""
    part: ModuleType | None = None
    for name in (f"scipy.special.{part}" for part in _PARTS):
        part = sys.modules.get(name)
        if part is None:
            spec = PathFinder.find_spec(name, [f"{scipy.__path__[0]}/special"])
            if spec is None or spec.loader is None:
                break
            part = module_from_spec(spec)
            spec.loader.exec_module(part)
            sys.modules.setdefault(name, part)
    return part if part and hasattr(part, "chdtri") else import_module("scipy.special")


_functions = _compiled()
ndtr, ndtri = _functions.ndtr, _functions.ndtri
chdtrc, chdtri = _functions.chdtrc, _functions.chdtri
