"""scipy's functions of chance, without the rest of ``scipy.special``."""

from __future__ import annotations

from importlib import import_module
from types import ModuleType

from workbench.measure.compiled import alone

#: Modules of scipy.special, each of which asks for those before it only.
_PARTS = ("_special_ufuncs", "_gufuncs", "_ufuncs_cxx", "_ellip_harm_2", "_ufuncs")


def _compiled() -> ModuleType:
    """The last of the parts, or the whole of scipy.special."""
    part: ModuleType | None = None
    for name in _PARTS:
        part = alone("scipy.special", name)
        if part is None:
            break
    return part if part and hasattr(part, "chdtri") else import_module("scipy.special")


_functions = _compiled()
ndtr, ndtri = _functions.ndtr, _functions.ndtri
chdtrc, chdtri = _functions.chdtrc, _functions.chdtri
