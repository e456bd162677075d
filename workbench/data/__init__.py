"""Materials and printers as data: every figure with its source.

The shipped tables are ``materials.toml`` and ``printers.toml`` beside this file. Files of the
same names in the user's data folder add to them or correct them; see :func:`folder`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, dataclass, field, fields
from functools import lru_cache
from pathlib import Path
from typing import Any

from workbench.data.tables import Column, Figure, Table, merged
from workbench.errors import RepairError
from workbench.folders import folder as folder
from workbench.folders import folders as folders
from workbench.words import _, nearest, number

HERE = Path(__file__).parent

MATERIALS, PRINTERS = "materials.toml", "printers.toml"

#: A user's file, what tells whether it changed, and whether it is shared.
Stamp = tuple[str, int, int, bool]


def _number(
    unit: str, low: float, high: float, default: Any = MISSING, kind: str = "number"
) -> Any:
    """A field of the tables below with its unit and sensible limits."""
    column = Column(kind, unit, low, high, needed=default is MISSING)
    return field(default=default, metadata={"column": column})


def _text() -> Any:
    return field(default="", metadata={"column": Column("text", needed=False)})


def label(key: str) -> str:
    """What a figure is called: ``glass_transition`` reads ``glass transition``."""
    special = {
        "across": _("strength across layers over along them"),
        "strain_once": _("strain allowed once"),
        "strain_often": _("strain allowed repeatedly"),
        "softens": _("deflection temperature at 0.45 MPa"),
    }
    return special.get(key) or _(key.replace("_", " "))


@dataclass(frozen=True)
class _Row:
    """What materials and printers share: a name, figures, and where they come from."""

    name: str
    figures: Mapping[str, Figure] = field(
        default_factory=dict, compare=False, repr=False, kw_only=True
    )

    def source(self, key: str) -> str:
        """Where the figure under ``key`` comes from."""
        return _(self.figures[key].source) if key in self.figures else _("our default, no source")

    def span(self, key: str) -> tuple[float, float]:
        """The range that the figure under ``key`` was found in; its value twice if none is known."""
        found = self.figures.get(key)
        value = float(getattr(self, key))
        if found is None:
            return value, value
        low = value if found.low is None else found.low
        high = value if found.high is None else found.high
        return float(low), float(high)

    def cite(self, key: str) -> str:
        """The figure in words with its source, for a finding.

        >>> print(material("PLA").cite("glass_transition"))
        PLA glass transition 60 °C: data sheets in general (copy)
        """
        found = self.figures.get(key)
        given = getattr(self, key)
        value = " x ".join(
            number(part) for part in (given if isinstance(given, tuple) else [given])
        )
        if found and found.unit:
            value += f" {found.unit}"
        return _("{name} {figure} {value}: {source}").format(
            name=self.name, figure=label(key), value=value, source=self.source(key)
        )


@dataclass(frozen=True)
class Material(_Row):
    """A filament: adjustable defaults, each with its source (:meth:`source`).

    density in g/cm³; modulus and strength in MPa, along the layers; ``across``: strength across
    layers as a part of that along them; strain_once and strain_often: greatest stretch in percent,
    once and many times; friction against itself; glass_transition, softens (deflection
    temperature at 0.45 MPa) and printing temperatures in °C; price per kg in your own money.
    """

    density: float = _number("g/cm³", 0.3, 12)
    modulus: float = _number("MPa", 1, 100_000)
    strength: float = _number("MPa", 0.5, 2_000)
    glass_transition: float = _number("°C", -150, 400)
    across: float = _number("", 0.05, 1, 0.48)
    strain_once: float = _number("%", 0.05, 300, 1.0)
    strain_often: float = _number("%", 0.05, 300, 0.6)
    friction: float = _number("", 0.01, 2, 0.4)
    softens: float | None = _number("°C", 20, 400, None)
    nozzle_temperature: float = _number("°C", 100, 500, 210.0)
    bed_temperature: float = _number("°C", 0, 200, 60.0)
    price: float = _number("per kg", 0, 10_000, 25.0)
    outdoors: bool = _number("", 0, 1, False, kind="flag")
    summary: str = _text()
    gluing: str = _text()
    finishing: str = _text()
    drying: str = _text()
    fumes: str = _text()
    light: str = _text()

    @property
    def holds_shape_to(self) -> float:
        """Temperature up to which a part keeps its shape, in °C.

        The lower of glass transition and deflection temperature. A filament whose glass
        transition lies below room temperature, or that is partly crystalline, holds beyond it:
        there the deflection temperature counts.
        """
        if self.softens is None:
            return self.glass_transition
        amorphous = self.glass_transition >= self.softens - 20
        return min(self.softens, self.glass_transition) if amorphous else self.softens


@dataclass(frozen=True)
class Printer(_Row):
    """A printer with one nozzle fitted; lengths in mm, speeds in mm/s, acceleration in mm/s².

    layer_change, and least_layer_time that a small layer is given to cool, in s; start_up (heating
    and levelling) in min; power in W while printing.
    """

    bed: tuple[float, float, float] = _number("mm", 10, 5_000, kind="numbers")
    nozzle: float = _number("mm", 0.1, 3, 0.4)
    line_width: float = _number("mm", 0.1, 5, 0.45)
    layer: float = _number("mm", 0.02, 3, 0.2)
    filament: float = _number("mm", 1, 6, 1.75)
    wall_speed: float = _number("mm/s", 1, 2_000, 45.0)
    infill_speed: float = _number("mm/s", 1, 2_000, 70.0)
    first_layer_speed: float = _number("mm/s", 1, 2_000, 20.0)
    travel_speed: float = _number("mm/s", 1, 2_000, 130.0)
    acceleration: float = _number("mm/s²", 10, 100_000, 1000.0)
    layer_change: float = _number("s", 0, 120, 1.5)
    least_layer_time: float = _number("s", 0, 120, 5.0)
    start_up: float = _number("min", 0, 120, 4.0)
    power: float = _number("W", 1, 5_000, 120.0)
    summary: str = _text()


def materials() -> dict[str, Material]:
    """Every known material by name; RepairError where the user's own file has a mistake."""
    return dict(_known(Material, MATERIALS, _stamp(MATERIALS))[0])


def printers() -> dict[str, Printer]:
    """Every known printer by name; RepairError where the user's own file has a mistake."""
    return dict(_known(Printer, PRINTERS, _stamp(PRINTERS))[0])


def material(name: str) -> Material:
    """The material called ``name``, or RepairError listing those there are."""
    return _look_up(Material, MATERIALS, name, _("material"))


def printer(name: str) -> Printer:
    """The printer called ``name``, or RepairError listing those there are."""
    return _look_up(Printer, PRINTERS, name, _("printer"))


def faults() -> tuple[str, ...]:
    """Why shared figures are left out, a sentence for each reason.

    Those who use a shared folder cannot put it right, so that its mistakes stop nobody.
    """
    missing = [
        _("the shared folder {folder} is not there; tell whoever looks after it").format(
            folder=place
        )
        for place in folders()[1:]
        if _is_missing(place)
    ]
    tables = ((Material, MATERIALS), (Printer, PRINTERS))
    return (
        *missing,
        *(text for kind, file in tables for text in _known(kind, file, _stamp(file))[1]),
    )


def _look_up(kind: type, file: str, name: str, what: str) -> Any:
    known, left_out = _known(kind, file, _stamp(file))
    if name not in known:
        if near := nearest(name, known):
            text = _("{what} {name!r} is not known; did you mean {near}?")
            raise RepairError("; ".join((text.format(what=what, name=name, near=near), *left_out)))
        unknown = _("{what} {name!r} is not known; use one of {known}, or add it to {file}").format(
            what=what, name=name, known=", ".join(known), file=folder() / file
        )
        raise RepairError("; ".join((unknown, *left_out)))
    return known[name]


def _is_missing(place: Path) -> bool:
    try:
        return not place.is_dir()
    except OSError:  # one that may not be looked into is told with its tables
        return False


def _stamp(file: str) -> tuple[Stamp, ...]:
    """The user's files of this name, shared ones first."""
    found = []
    own = folder()
    for place in reversed(folders()):
        path, is_shared = place / file, place != own
        try:
            state = path.stat()
        except (FileNotFoundError, NotADirectoryError):
            continue
        except OSError:
            if is_shared:
                found.append((str(path), 0, 0, True))
            continue
        found.append((str(path), state.st_mtime_ns, state.st_size, is_shared))
    return tuple(found)


@lru_cache(maxsize=8)
def _known(
    kind: type, file: str, stamp: tuple[Stamp, ...]
) -> tuple[Mapping[str, Any], tuple[str, ...]]:
    """The rows of all files of this name, and why shared ones are left out."""
    columns = {f.name: f.metadata["column"] for f in fields(kind) if "column" in f.metadata}
    tables, left_out = [Table(HERE / file)], []
    for path, _time, _size, is_shared in stamp:
        try:
            table = Table(Path(path))
            merged([*tables, table], columns)
        except RepairError as error:
            if not is_shared:
                raise
            left_out.append(
                _("shared figures are left out: {reason}, or tell whoever looks after them").format(
                    reason=error
                )
            )
        else:
            tables.append(table)
    rows = {
        name: kind(
            name=name, figures=figures, **{key: figure.value for key, figure in figures.items()}
        )
        for name, (_table, figures) in merged(tables, columns).items()
    }
    return rows, tuple(left_out)
