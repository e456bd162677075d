"""Where a part sits: the named faces of a shape, and the move that lays one on another."""

from __future__ import annotations

from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.kernel import extent, parts_of
from workbench.solids.repair import At, Seat

if TYPE_CHECKING:
    from build123d import Location, Plane, Shape
    from OCP.TopoDS import TopoDS_Face

DIRECTIONS = {
    "top": np.array([0.0, 0.0, 1.0]),
    "bottom": np.array([0.0, 0.0, -1.0]),
    "left": np.array([-1.0, 0.0, 0.0]),
    "right": np.array([1.0, 0.0, 0.0]),
    "front": np.array([0.0, -1.0, 0.0]),
    "back": np.array([0.0, 1.0, 0.0]),
}

#: A face belongs to a side if it looks within 60 degrees of it, and is preferred if it looks
#: nearly straight that way, within 25 degrees.
_FACING, _STRAIGHT = 0.5, 0.9


def freely(place: At) -> Location:
    """The move of a part that stands by itself: tilted, then turned, then shifted."""
    from build123d import Location

    return (
        Location((place.x, place.y, place.z))
        * Location((0, 0, 0), (0, 0, place.turn))
        * Location((0, 0, 0), (0, -place.tilt, 0))
    )


def seated(place: Seat, seat: Plane, own: Plane) -> Location:
    """The move that lays a part's own face on a seat.

    seat : the face sat on, as :func:`face_plane` gives it
    own : the part's face that is laid on it, before the move
    """
    from build123d import Location, Plane

    # The part's own face looks the other way: turn it over about the along axis.
    inward = Plane(own.origin, own.x_dir, -own.z_dir)
    shift = Location((place.along, place.across, -place.sink), (0, 0, place.turn))
    return seat.location * shift * inward.location.inverse()


def matrix(move: Location) -> np.ndarray:
    """A move as a (4, 4) matrix that takes points of the part to where it stands."""
    kernel_move = move.wrapped.Transformation()
    rows = np.eye(4)
    rows[:3] = [[kernel_move.Value(i, j) for j in range(1, 5)] for i in range(1, 4)]
    return rows


def face_plane(shape: Shape, side: str) -> Plane:
    """The plane of a named side: origin at its middle, z out of it, x along it.

    The side is the outermost plane face that looks nearly straight that way, else the one that
    looks most that way, together with all others in its plane. Where no face does, as on a
    ball, it is the side of the bounding box.
    """
    from build123d import Plane

    out = DIRECTIONS[side]
    best = _outermost(shape, out)
    if best is None:
        low, high = extent([shape.wrapped])
        return Plane(
            tuple((low + high) / 2 + (high - low) / 2 * out), tuple(_along(side, out)), tuple(out)
        )
    normal, faces = best
    along = _along(side, normal)
    # Extents in the face's own directions, so that holes and rounds do not move the middle.
    frame = Plane((0, 0, 0), tuple(along), tuple(normal))
    low, high = extent([face.Moved(frame.location.inverse().wrapped) for face in faces])
    middle = frame.from_local_coords(tuple((low + high) / 2))
    return Plane(middle, tuple(along), tuple(normal))


def _outermost(shape: Shape, out: np.ndarray) -> tuple[np.ndarray, list[TopoDS_Face]] | None:
    """Normal and faces of the plane that makes a side, or None."""
    planes: dict[tuple[float, ...], list] = defaultdict(list)
    for normal, point, face in _plane_faces(shape):
        if normal @ out > _FACING:
            key = (*np.round(normal, 6).tolist(), round(float(normal @ point), 6))
            planes[key].append((normal, face))
    if not planes:
        return None

    def rank(item: tuple[tuple[float, ...], list]) -> tuple:
        key, members = item
        low, high = extent([face for _normal, face in members])
        facing = float(members[0][0] @ out)
        middle = float((low + high) / 2 @ out)
        straight = facing > _STRAIGHT
        facing, middle = round(facing, 6), round(middle, 6)
        return straight, *((middle, facing) if straight else (facing, middle)), key

    members = planes[max(planes.items(), key=rank)[0]]
    return members[0][0], [face for _normal, face in members]


def _plane_faces(shape: Shape) -> list[tuple[np.ndarray, np.ndarray, TopoDS_Face]]:
    """Outward normal, a point, and the face, for each plane face."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
    from OCP.TopoDS import TopoDS

    found = []
    for part in parts_of(shape.wrapped, TopAbs_ShapeEnum.TopAbs_FACE):
        face = TopoDS.Face(part)
        surface = BRepAdaptor_Surface(face, False)
        if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane:
            continue
        plane = surface.Plane()
        # The kernel's plane may be left-handed: its axis then points the other way.
        way = 1.0 if plane.Direct() else -1.0
        if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
            way = -way
        normal = way * np.array(plane.Axis().Direction().Coord())
        found.append((normal, np.array(plane.Location().Coord()), face))
    return found


def _along(side: str, normal: np.ndarray) -> np.ndarray:
    """The direction in a face that runs level: to the right on top and bottom."""
    if side in ("top", "bottom"):
        level = np.array([1.0, 0.0, 0.0])
        level = level - normal * (level @ normal)
    else:
        level = np.cross([0.0, 0.0, 1.0], normal)
    return level / np.linalg.norm(level)
