"""Parts of a class on as few beds as they need: one 3MF file for each bed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

import workbench
from workbench import data, gate
from workbench.checks.orientation.bed_fit import ROOM, turn_to_fit
from workbench.errors import RepairError
from workbench.output.drawing.picture import picture
from workbench.output.files.packing import Rectangle, Spot, pack
from workbench.output.files.paths import slug
from workbench.output.files.threemf import Body, read_threemf, threemf
from workbench.words import _

#: Between two parts and their brims, in mm. Common practice, no source.
SPACING = 4.0

_THUMBNAIL = (256, 256)


@dataclass(frozen=True)
class Piece:
    """A part that waits for its place on a bed.

    name : its own, which the printer's program shows
    size : width and depth as it lies, in mm
    brim : round it, in mm
    file : a 3MF file with the part alone, as it lies, centred about x = y = 0
    """

    name: str
    material: str
    printer: str
    size: tuple[float, float]
    brim: float
    file: Path

    @property
    def rectangle(self) -> Rectangle:
        """The room that it takes, brim and spacing included."""
        width, depth = (side + 2 * self.brim + SPACING for side in self.size)
        return Rectangle(self.name, width, depth)


@dataclass(frozen=True)
class Place:
    """Where a piece lies: its middle in mm from the bed's front left corner, turned by degrees."""

    piece: Piece
    x: float
    y: float
    turn: float


@dataclass(frozen=True)
class Bed:
    """A bed with its pieces, and the name of its file."""

    file: str
    printer: str
    material: str
    places: tuple[Place, ...]


def beds(pieces: Iterable[Piece]) -> Iterator[Bed]:
    """Pack pieces, each kind of printer and material by itself; their order does not matter.

    Raises RepairError when a printer is not known.
    """
    kinds: dict[tuple[str, str], list[Piece]] = {}
    for piece in pieces:
        kinds.setdefault((piece.printer, piece.material), []).append(piece)
    for (printer, material), listed in sorted(kinds.items()):
        named = slug(f"{printer} {material}")
        packed = _packed(listed, data.printer(printer).bed)
        for index, places in enumerate(packed, 1):
            yield Bed(f"{named}-{index}.3mf", printer, material, places)


def bed_file(bed: Bed, title: str) -> bytes:
    """The 3MF file of a bed.

    Raises RepairError when a piece's own file is damaged.
    """
    bodies = [_body(place) for place in bed.places]
    metadata = {
        "Title": f"{title}: {bed.file.removesuffix('.3mf')}",
        "Description": _("{material} on {printer}").format(
            material=bed.material, printer=bed.printer
        ),
        "Application": f"workbench {workbench.__version__}",
        "Material": bed.material,
        "Printer": bed.printer,
    }
    return threemf(bodies, metadata, picture(_together(bodies), _THUMBNAIL))


def _packed(pieces: Sequence[Piece], bed: Sequence[float]) -> list[tuple[Place, ...]]:
    # Spacing is needed between parts only, so half of it may lie over the room at the rim.
    width, depth = (side - 2 * ROOM + SPACING for side in bed[:2])
    known = {piece.name: piece for piece in pieces}
    fitting = [r for r in (piece.rectangle for piece in pieces) if _goes(r, width, depth)]
    alone = set(known) - {rectangle.name for rectangle in fitting}
    start = ROOM - SPACING / 2
    packed = [
        tuple(_place(known[spot.rectangle.name], spot, start) for spot in sorted_spots(layout))
        for layout in pack(fitting, width, depth)
    ]
    return [*packed, *((_askew(known[name], bed),) for name in sorted(alone))]


def sorted_spots(layout: Iterable[Spot]) -> list[Spot]:
    """Spots by name, so that a bed's file lists its parts in an order that can be read."""
    return sorted(layout, key=lambda spot: spot.rectangle.name)


def _goes(rectangle: Rectangle, width: float, depth: float) -> bool:
    small, large = sorted((rectangle.width, rectangle.depth))
    return small <= min(width, depth) and large <= max(width, depth)


def _place(piece: Piece, spot: Spot, start: float) -> Place:
    return Place(
        piece,
        start + spot.x + spot.width / 2,
        start + spot.y + spot.depth / 2,
        90.0 if spot.turned else 0.0,
    )


def _askew(piece: Piece, bed: Sequence[float]) -> Place:
    """A part that fits its bed only askew, or only just, has it to itself."""
    vertices = _mesh(piece).vertices
    turn = turn_to_fit(vertices, bed)
    if turn is None:
        raise RepairError(
            _("{name} does not fit the bed of {printer}; choose a larger printer").format(
                name=piece.name, printer=piece.printer
            )
        )
    moved = Body(piece.name, vertices, np.empty((0, 3)), turn=turn).placed
    low, high = moved[:, :2].min(axis=0), moved[:, :2].max(axis=0)
    x, y = np.array(bed[:2]) / 2 - (low + high) / 2
    return Place(piece, float(x), float(y), turn)


def _mesh(piece: Piece) -> Body:
    try:
        (body,), _metadata = read_threemf(gate.content(piece.file, gate.PICTURE))
    except (OSError, ValueError) as error:
        raise RepairError(
            _("{path} is missing or damaged ({reason}); delete its folder and run again").format(
                path=piece.file, reason=error
            )
        ) from None
    return body


def _body(place: Place) -> Body:
    found = _mesh(place.piece)
    return Body(place.piece.name, found.vertices, found.faces, (place.x, place.y, 0.0), place.turn)


def _together(bodies: Sequence[Body]) -> tuple[np.ndarray, np.ndarray]:
    starts = np.cumsum([0, *(len(body.vertices) for body in bodies)])
    vertices = np.concatenate([body.placed for body in bodies])
    faces = np.concatenate(
        [body.faces + start for body, start in zip(bodies, starts, strict=False)]
    )
    return vertices, faces
