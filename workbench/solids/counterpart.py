"""What a part works with: another repair, or a part from a file, beside it on the bench."""

from __future__ import annotations

import json
from collections.abc import Mapping
from contextlib import suppress
from contextvars import ContextVar
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.reading import parse_length
from workbench.solids.building import seating
from workbench.solids.geometry.cache import Cache, Kept
from workbench.solids.meshes import foreign_mesh
from workbench.solids.meshes.mesh import Mesh
from workbench.solids.motion import Motion, motion_from, motion_of, motion_to
from workbench.solids.parameters import Size
from workbench.solids.recipe.seat import At, Place, Seat
from workbench.words import _

#: Parts that were built or read last: each change of the repair asks for them again.
_KEPT = Kept(8)

#: Where a counterpart's file lies, or below it, while a notebook is read without being run: the
#: notebook's folder. None where code names the file, which may lie anywhere.
FOLDER: ContextVar[Path | None] = ContextVar("FOLDER", default=None)

if TYPE_CHECKING:
    from workbench.solids.building.build import Assembly
    from workbench.solids.recipe.repair import Repair


@gate.asked
@dataclass(frozen=True)
class Loose:
    """A body of the repair that stands loose on purpose, such as a lid or a hinge's leaf.

    step : one that the body is made of
    motion : how it comes to its place beside the rest, or None
    gap : least room in mm that is asked between it and the rest, or None for a clearance fit's
    """

    step: str
    motion: Motion | None = None
    gap: float | None = None

    def __post_init__(self) -> None:
        gate.name("step", self.step)
        motion_of(self.motion)
        object.__setattr__(self, "gap", room(self.gap))

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        return {"step": self.step, "motion": motion_to(self.motion), "gap": self.gap}

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Loose:
        """Read back what :meth:`to_dict` wrote."""
        return cls(row["step"], motion_from(row.get("motion")), row.get("gap"))


@gate.asked
@dataclass(frozen=True)
class Counterpart:
    """A part beside the repair's own.

    name : what it is called
    record : the other repair as JSON text; empty where it comes from a file
    file : path of an STL, 3MF or STEP file, from :data:`FOLDER`; empty where it is a repair
    unit : of an STL file
    place : where it stands, by the repair's own axes, or seated on a step
    motion : how the repair's own part comes to its place, or None
    gap : least room in mm that is asked between the two, or None for a clearance fit's
    """

    name: str
    record: str = ""
    file: str = ""
    unit: str | None = None
    place: Place = field(default_factory=At)
    motion: Motion | None = None
    gap: float | None = None

    def __post_init__(self) -> None:
        gate.name(_("name"), self.name)
        gate.needed(self.record, str, "record", "repair.to_json()")
        gate.needed(self.file, str, "file", "tray.stl")
        if bool(self.record) == bool(self.file):
            raise RepairError(
                _("{name} is a repair or a file; give one of record and file").format(
                    name=self.name
                )
            )
        parse_length(0, "mm" if self.unit is None else self.unit)
        gate.needed(self.place, (Seat, At), "place", "At(0, 0, 20)")
        for number, value in self.place.numbers().items():  # it follows no size
            self.place.parameter(number).kind.check(number, value)
        motion_of(self.motion)
        object.__setattr__(self, "gap", room(self.gap))

    def repair(self) -> Repair:
        """The other repair, for a counterpart that is one."""
        from workbench.solids.recipe.repair import Repair

        if not self.record:
            raise RepairError(
                _("{name} is a file, not a repair; ask for its mesh").format(name=self.name)
            )
        return Repair.from_json(self.record)

    def mesh(self, assembly: Assembly) -> Mesh:
        """Vertices (n, 3) in mm and faces (m, 3), where it stands beside a built repair."""
        solid, (vertices, faces) = _KEPT.get(self._source(), self._read)
        move = self._move(assembly, solid, vertices)
        return vertices @ move[:3, :3].T + move[:3, 3], faces

    @property
    def _path(self) -> Path:
        folder = FOLDER.get()
        if folder is None:
            return Path(self.file)
        return gate.inside(folder, self.file, _("put a copy of the file into that folder"))

    def _source(self) -> tuple[Any, ...]:
        """What its shape comes from: the same again where that has not changed."""
        if self.record:
            return (self.record,)
        try:
            seen = self._path.stat()
        except (OSError, ValueError):  # told when it is read
            return self._path, self.unit
        return self._path, self.unit, seen.st_mtime_ns, seen.st_size

    def _read(self) -> tuple[Any, Mesh]:
        """Its solid, None for a file, and its mesh, where it came from."""
        if not self.record:
            return None, foreign_mesh.read(self._path, self.unit)
        from workbench.solids.building.build import build
        from workbench.solids.meshes.mesh import mesh

        solid = build(self.repair(), Cache())
        return solid, mesh(solid)

    def _move(self, assembly: Assembly, solid: Any, vertices: np.ndarray) -> np.ndarray:
        if not isinstance(self.place, Seat):
            return seating.freely(self.place)
        seat = seating.face_frame(assembly.parts[self.place.step], self.place.face)
        own = (
            _box_face(vertices, self.place.by)
            if solid is None
            else seating.face_frame(solid, self.place.by)
        )
        return seating.seated(self.place, seat, own)

    def to_dict(self) -> dict[str, Any]:
        """Plain data for the record."""
        kind = "seat" if isinstance(self.place, Seat) else "at"
        return {
            "name": self.name,
            **({"repair": json.loads(self.record)} if self.record else {}),
            **({"file": self.file, "unit": self.unit} if self.file else {}),
            kind: self.place.to_dict(),
            "motion": motion_to(self.motion),
            "gap": self.gap,
        }

    @classmethod
    def from_dict(cls, row: Mapping[str, Any]) -> Counterpart:
        """Read back what :meth:`to_dict` wrote."""
        record = json.dumps(row["repair"], ensure_ascii=False) if row.get("repair") else ""
        place = Seat(**row["seat"]) if "seat" in row else At(**row.get("at", {}))
        return cls(
            row["name"],
            record,
            row.get("file", ""),
            row.get("unit"),
            place,
            motion_from(row.get("motion")),
            row.get("gap"),
        )


def room(gap: Any) -> float | None:
    """A gap in mm that is asked for, or RepairError where it is no length."""
    return None if gap is None else Size(0, 50).check("gap", gap)


def counterpart_of(
    other: Any,
    place: Place,
    motion: Motion | None,
    name: str | None,
    unit: str | None,
    gap: float | None,
) -> Counterpart:
    """A counterpart from a repair, one that was exported, or a file, read once to see that it is one.

    Raises RepairError when it is neither, the file cannot be read, or the gap is no length.
    """
    if isinstance(other, (str, Path)) and _holds_a_record(other):
        from workbench.solids.recipe.revision import read_record

        other = read_record(other)
        other.counterparts = ()  # what that one works with is not asked here
    if isinstance(other, (str, Path)):
        foreign_mesh.read(other, unit)
        called = name or Path(other).stem
        return Counterpart(called, "", str(other), unit, place, motion, gap)
    if not hasattr(other, "to_json"):
        raise RepairError(
            _(
                "against takes a repair, a revision's folder, or the path of an STL, 3MF or STEP file, not {given!r}; give one"
            ).format(given=gate.short(other))
        )
    return Counterpart(
        name or other.name,
        json.dumps(json.loads(other.to_json()), ensure_ascii=False),
        "",
        unit,
        place,
        motion,
        gap,
    )


def _holds_a_record(path: str | Path) -> bool:
    """Whether a path leads to a revision that was exported: its folder or its record."""
    with suppress(OSError, ValueError):  # told when it is read
        return Path(path).suffix.lower() == ".json" or Path(path).is_dir()
    return False


def _box_face(vertices: np.ndarray, side: str) -> np.ndarray:
    """A side of the box round a mesh, as a face to lay on a seat."""
    from build123d import Location, Solid

    low, size = vertices.min(axis=0), np.ptp(vertices, axis=0)
    return seating.face_frame(Solid.make_box(*size).moved(Location(tuple(low))), side)
