"""Materials and printers as data: every figure with its source.

The shipped tables are ``materials.toml`` and ``printers.toml`` beside this file.
"""

from __future__ import annotations

import os
import tomllib
from dataclasses import dataclass, fields
from functools import lru_cache
from pathlib import Path
from typing import Any

from platformdirs import user_data_dir

from workbench.errors import RepairError
from workbench.words import _

HERE = Path(__file__).parent


@dataclass(frozen=True)
class Material:
    """A filament. Density in g/cm³, moduli and strengths in MPa, temperatures in °C."""

    name: str
    density: float
    modulus: float
    strength: float
    glass_transition: float


@dataclass(frozen=True)
class Printer:
    """A printer with one nozzle fitted; every length in mm."""

    name: str
    bed: tuple[float, float, float]
    nozzle: float = 0.4
    line_width: float = 0.45
    layer: float = 0.2
    filament: float = 1.75


def user_folder() -> Path:
    """Where the user's own data is kept: ``WORKBENCH_DATA`` if set, else the system's place."""
    chosen = os.environ.get("WORKBENCH_DATA")
    return (
        Path(chosen).expanduser() if chosen else Path(user_data_dir("workbench", appauthor=False))
    )


@lru_cache(maxsize=1)
def materials() -> dict[str, Material]:
    """Every known material by name."""
    return {name: _make(Material, name, row) for name, row in _table("materials.toml").items()}


@lru_cache(maxsize=1)
def printers() -> dict[str, Printer]:
    """Every known printer by name."""
    return {name: _make(Printer, name, row) for name, row in _table("printers.toml").items()}


def material(name: str) -> Material:
    """The material called ``name``, or RepairError listing those there are."""
    return _look_up(materials(), name, _("material"))


def printer(name: str) -> Printer:
    """The printer called ``name``, or RepairError listing those there are."""
    return _look_up(printers(), name, _("printer"))


def _look_up(known: dict[str, Any], name: str, what: str) -> Any:
    if name not in known:
        raise RepairError(
            _("{what} {name!r} is not known; use one of {known}").format(
                what=what, name=name, known=", ".join(known)
            )
        )
    return known[name]


def _table(file: str) -> dict[str, dict[str, Any]]:
    return tomllib.loads((HERE / file).read_text(encoding="utf-8"))


def _make(kind: type, name: str, row: dict[str, Any]) -> Any:
    wanted = {f.name for f in fields(kind)}
    values = {k: tuple(v) if isinstance(v, list) else v for k, v in row.items() if k in wanted}
    return kind(name=name, **values)
