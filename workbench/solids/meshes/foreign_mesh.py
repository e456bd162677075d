"""A part from somebody's STL, 3MF or STEP file, as a closed mesh in mm, or refused in words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from io import BytesIO
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING, TypeVar
from xml.etree import ElementTree

import numpy as np

from workbench import fork, gate
from workbench.errors import RepairError
from workbench.measure.reading import UNITS
from workbench.solids.meshes import mesh as meshes
from workbench.solids.meshes.mesh import Mesh
from workbench.words import _, sizes, with_unit

if TYPE_CHECKING:
    from build123d import Shape

R = TypeVar("R")

#: Most triangles of a file.
MOST = 2_000_000

#: Most objects of a 3MF file, each time that one is placed.
OBJECTS = 2000

#: A part outside of these, in mm across, was drawn in another unit.
SMALLEST, LARGEST = 3.0, 2500.0

#: Points nearer than this share of the part's size are one.
_WELD = 1e-6

#: Units that a 3MF file may name, in mm (3MF Core Specification, model element).
_UNITS_OF_3MF = {
    "micron": 0.001,
    "millimeter": 1.0,
    "centimeter": 10.0,
    "inch": 25.4,
    "foot": 304.8,
    "meter": 1000.0,
}

KINDS = (".stl", ".3mf", ".step", ".stp")


def read(path: str | Path, unit: str | None = None) -> Mesh:
    """Vertices (n, 3) in mm and faces (m, 3) of the part in a file.

    Points that meet are welded, slivers taken out and a surface turned inside out is turned back.

    path : of an STL, 3MF or STEP file
    unit : of an STL file, which does not name one: "mm", "cm", "in" ...

    Raises RepairError when the file cannot be read, an STL file's unit is not given, or its surface
    is open.
    """
    name, kind = gate.shown(Path(path).name or str(path)), Path(path).suffix.lower()
    if kind not in KINDS:
        raise RepairError(
            _("{name} cannot be read as a part; give an STL, 3MF or STEP file").format(name=name)
        )
    if unit is not None:
        gate.choice("unit", unit, UNITS)
    if kind == ".stl" and unit is None:
        raise RepairError(
            _("{name}: an STL file does not say its unit; give unit, one of {known}").format(
                name=name, known=", ".join(UNITS)
            )
        )
    try:
        content = gate.content(path, gate.PICTURE)
    except OSError as error:
        raise gate.unreadable(name, error) from None
    if kind == ".stl":
        found = _stl(content, name)
        made = closed(found[0] * UNITS[str(unit)], found[1], name)
        across = float(np.ptp(made[0], axis=0).max())
        if not SMALLEST <= across <= LARGEST:
            raise RepairError(
                _("{name} is {across} across in {unit}; give its true unit, one of {known}").format(
                    name=name, across=with_unit(across), unit=unit, known=", ".join(UNITS)
                )
            )
        return made
    if kind == ".3mf":
        return closed(*_threemf(content, name), name)
    return _step(content, name)


def closed(vertices: np.ndarray, faces: np.ndarray, name: str) -> Mesh:
    """A mesh healed as far as that changes no shape, or RepairError where it stays open."""
    whole = len(faces) and faces.min() >= 0 and faces.max() < len(vertices)
    if not whole or not np.isfinite(vertices).all():
        raise RepairError(_("{name} holds no surface; export it again").format(name=name))
    if len(faces) > MOST:
        raise RepairError(
            _("{name} has {count} triangles; give at most {most}").format(
                name=name, count=len(faces), most=MOST
            )
        )
    reach = float(np.ptp(vertices, axis=0).max())
    grid = np.round(vertices / max(reach * _WELD, 1e-9)).astype(np.int64)
    _cell, first, index = np.unique(grid, axis=0, return_index=True, return_inverse=True)
    welded = index.reshape(-1)[faces]
    a, b, c = welded.T
    kept, corners = welded[(a != b) & (b != c) & (c != a)], vertices[first]
    if not len(kept):
        raise RepairError(_("{name} holds no surface; export it again").format(name=name))
    if not meshes.closes(kept):
        edges = np.sort(np.concatenate([kept[:, [0, 1]], kept[:, [1, 2]], kept[:, [2, 0]]]), axis=1)
        unique, times = np.unique(edges, axis=0, return_counts=True)
        odd = unique[times % 2 == 1]
        where = corners[odd[0]].mean(axis=0) if len(odd) else corners[kept[0]].mean(axis=0)
        raise RepairError(
            _(
                "{name}: the surface has a gap near ({place}) mm, {count} edges in all, so its inside cannot be told from its outside; close it and export it again"
            ).format(name=name, place=sizes(where, 1), count=len(odd))
        )
    volume = meshes.volume(corners, kept)
    if abs(volume) <= _WELD * reach**3:
        raise RepairError(_("{name} holds no solid; export it again").format(name=name))
    return corners, kept if volume > 0 else kept[:, ::-1]


def _stl(content: bytes, name: str) -> Mesh:
    import trimesh

    try:
        made = trimesh.load_mesh(BytesIO(content), file_type="stl", process=False)
        return np.asarray(made.vertices, dtype=float), np.asarray(made.faces, dtype=np.int64)
    except Exception:  # the reader raises types of its own
        raise RepairError(_("{name} is no STL file; export it again").format(name=name)) from None


def _threemf(content: bytes, name: str) -> Mesh:
    try:
        with gate.zipped(content) as package:
            inside = [part for part in package.namelist() if part.lower().endswith(".model")]
            model = gate.xml(package.read(inside[0]))
        scale = _UNITS_OF_3MF[model.attrib.get("unit", "millimeter")]
        every = {row.attrib["id"]: row for row in model.iter() if row.tag.endswith("}object")}
        points, faces, count = [], [], 0
        left, room = iter(range(OBJECTS)), iter(range(gate.ROWS))
        for item in model.iter():
            if not item.tag.endswith("}item"):
                continue
            for vertices, triangles in _objects(
                every, item.attrib["objectid"], _move(item), left, room
            ):
                points.append(vertices * scale)
                faces.append(triangles + count)
                count += len(vertices)
        return np.concatenate(points), np.concatenate(faces)
    except RepairError:
        raise
    except Exception:  # zip, XML and numbers, each with errors of its own
        raise RepairError(_("{name} is no 3MF file; export it again").format(name=name)) from None


def _objects(
    every: dict[str, ElementTree.Element],
    number: str,
    move: np.ndarray,
    left: Iterator[int],
    room: Iterator[int],
) -> list[Mesh]:
    """The meshes of an object and of the components it is made of, in place.

    left : one for each object that may still come; a short file may name a million of millions
    room : one for each of their elements that may still come
    """
    if next(left, None) is None:
        raise ValueError("too many components")
    rows, found = list(every[number].iter()), []
    if sum(1 for _row in islice(room, len(rows))) < len(rows):
        raise ValueError("too many elements")
    for part in rows:
        if part.tag.endswith("}component"):
            found += _objects(every, part.attrib["objectid"], _move(part) @ move, left, room)
    vertices = [
        [float(v.attrib[axis]) for axis in "xyz"] for v in rows if v.tag.endswith("}vertex")
    ]
    faces = [
        [int(t.attrib[corner]) for corner in ("v1", "v2", "v3")]
        for t in rows
        if t.tag.endswith("}triangle")
    ]
    if faces:
        flat = np.column_stack([np.array(vertices), np.ones(len(vertices))])
        found.append(((flat @ move)[:, :3], np.array(faces, dtype=np.int64)))
    return found


def _move(row: ElementTree.Element) -> np.ndarray:
    """The (4, 4) matrix of a transform, for rows of points, as 3MF writes it."""
    move = np.eye(4)
    if row.attrib.get("transform"):
        move[:, :3] = np.array([float(v) for v in row.attrib["transform"].split()]).reshape(4, 3)
    return move


def _step(content: bytes, name: str) -> Mesh:
    """The mesh of a STEP file, whose reader may never be done with what a stranger wrote."""
    made: list[Mesh] = []

    def as_bytes() -> bytes:
        made.append(of_step(content, name, meshes.mesh))
        into = BytesIO()
        np.savez(into, *made[0])
        return into.getvalue()

    found = fork.in_copy(as_bytes)
    if made:  # it was read here
        return made[0]
    with np.load(BytesIO(found)) as arrays:
        return arrays["arr_0"], arrays["arr_1"]


def of_step(content: bytes, name: str, make: Callable[[Shape], R]) -> R:
    """What is made of the shape in a STEP file, or RepairError where it holds none."""
    from build123d import import_step
    from OCP.Message import Message, Message_PrinterOStream

    # What its reader prints quotes the file, in signs that colour a terminal.
    Message.DefaultMessenger_s().RemovePrinters(Message_PrinterOStream.get_type_descriptor_s())
    with TemporaryDirectory() as folder:
        path = Path(folder) / "part.step"
        path.write_bytes(content)
        try:
            shape = import_step(path)
            if shape.volume > 0:
                return make(shape)
        except RepairError:
            raise
        except Exception:  # the reader raises types of its own
            pass
    raise RepairError(_("{name} holds no solid; export it again").format(name=name))
