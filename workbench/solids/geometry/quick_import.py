"""build123d is imported without the libraries that it asks for and workbench does not use.

They would take twice as long to load as the kernel itself. While build123d is imported, stand-ins
answer for them; they are gone from ``sys.modules`` when it is there. What build123d took from a
stand-in loads the real library when it is first used, and is then replaced by the real thing
wherever build123d keeps it. Nor does Python meanwhile look for garbage among the kernel's two hundred
thousand objects, or ever again until it ends: they stay.
"""

from __future__ import annotations

import atexit
import gc
import sys
from collections.abc import Iterable
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder
from types import ModuleType
from typing import Any

#: What build123d imports for clusters, files and searches: packages, or parts of one.
UNUSED = (
    *("sklearn", "ezdxf", "fontTools", "svgpathtools", "lib3mf", "requests", "threejs_materials"),
    *("IPython", "bd_materials", "ocpsvg", "ocp_gordon", "scipy.optimize", "scipy.spatial"),
)


def install() -> None:
    """See to it that the first import of build123d is a quick one."""
    if "build123d" not in sys.modules and not any(isinstance(f, _Quick) for f in sys.meta_path):
        sys.meta_path.insert(0, _Quick())


class _Quick(MetaPathFinder):
    """Finds build123d, once, and loads it with stand-ins."""

    def find_spec(self, name: str, path: Any, target: Any = None) -> ModuleSpec | None:
        if name != "build123d":
            return None
        sys.meta_path.remove(self)
        spec = PathFinder.find_spec(name, path)
        if spec is not None and spec.loader is not None:
            spec.loader = _WithStandIns(spec.loader)
        return spec


class _WithStandIns(Loader):
    """A module's own loader, with stand-ins while it works."""

    def __init__(self, own: Loader) -> None:
        self._own = own

    def __getattr__(self, name: str) -> Any:
        return getattr(self._own, name)

    def create_module(self, spec: ModuleSpec) -> ModuleType | None:
        return self._own.create_module(spec)

    def exec_module(self, module: ModuleType) -> None:
        stand_ins = StandIns(name for name in UNUSED if name not in sys.modules)
        sys.meta_path.insert(0, stand_ins)
        collects = gc.isenabled()
        gc.disable()
        try:
            self._own.exec_module(module)
        finally:
            stand_ins.leave()
            gc.freeze()
            atexit.register(gc.unfreeze)  # else the kernels' bindings tell of leaks as Python ends
            if collects:
                gc.enable()


class StandIns(MetaPathFinder, Loader):
    """Finds and makes stand-ins for packages and all that is in them, until it leaves."""

    def __init__(self, names: Iterable[str]) -> None:
        self.names = set(names)

    def find_spec(self, name: str, path: Any, target: Any = None) -> ModuleSpec | None:
        stands_in = any(f"{name}.".startswith(f"{known}.") for known in self.names)
        return ModuleSpec(name, self, is_package=True) if stands_in else None

    def create_module(self, spec: ModuleSpec) -> ModuleType:
        return _StandIn(spec.name)

    def exec_module(self, module: ModuleType) -> None:
        module.__dict__["_stand_ins"] = self

    def leave(self, package: str = "") -> None:
        """Give way to the real packages, or to one of them."""
        for name, module in list(sys.modules.items()):
            if isinstance(module, _StandIn) and f"{name}.".startswith(package):
                del sys.modules[name]
                parent, _dot, own = name.rpartition(".")
                if vars(sys.modules.get(parent, module)).get(own) is module:
                    delattr(sys.modules[parent], own)
        self.names -= {name for name in self.names if f"{name}.".startswith(package)}
        if not self.names and self in sys.meta_path:
            sys.meta_path.remove(self)


class _StandIn(ModuleType):
    """A module whose contents are looked up when they are used."""

    def __getattr__(self, name: str) -> Any:
        if name.startswith("__"):
            raise AttributeError(name)
        later = _Later(self, (name,))
        return later if self._stand_ins.names else later.used


class _Later:
    """Something out of a module that stands in: the real thing as soon as it is used."""

    def __init__(self, module: _StandIn, names: tuple[str, ...]) -> None:
        self._module, self._names = module, names

    @property
    def real(self) -> Any:
        package = self._module.__name__.partition(".")[0]
        self._module._stand_ins.leave(f"{package}.")
        found = import_module(self._module.__name__)
        for name in self._names:
            if not hasattr(found, name):  # a part of a package that nobody has asked for yet
                import_module(f"{found.__name__}.{name}")
            found = getattr(found, name)
        return found

    @property
    def used(self) -> Any:
        """The real thing, from now on wherever build123d keeps something of its package."""
        _put_right(self._module.__name__.partition(".")[0])
        return self.real

    def __getattr__(self, name: str) -> Any:
        if not self._module._stand_ins.names:
            return getattr(self.used, name)
        if name.startswith("__"):
            raise AttributeError(name)
        return _Later(self._module, (*self._names, name))

    def __call__(self, *plain: Any, **named: Any) -> Any:
        return self.used(*plain, **named)

    def __or__(self, _other: Any) -> Any:
        return Any

    __ror__ = __or__

    def __mro_entries__(self, _bases: Any) -> tuple[Any, ...]:
        return (self.real,)

    def __instancecheck__(self, instance: Any) -> bool:
        return isinstance(instance, self.used)


def _put_right(package: str) -> None:
    """Replace all that build123d took from a package's stand-in."""

    def real(kept: Any) -> Any:
        if type(kept) is _Later and f"{kept._module.__name__}.".startswith(f"{package}."):
            return kept.real
        if type(kept) is dict and any(type(x) is _Later for row in kept.items() for x in row):
            return {real(key): real(value) for key, value in kept.items()}
        return kept

    modules = [m for name, m in list(sys.modules.items()) if name.partition(".")[0] == "build123d"]
    kinds = [kind for m in modules for kind in vars(m).values() if isinstance(kind, type)]
    for holder in (*modules, *kinds):
        for name, kept in list(vars(holder).items()):
            if real(kept) is not kept:
                setattr(holder, name, real(kept))
