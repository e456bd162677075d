"""Where a part sits: the named faces of a shape, and the move that lays one on another.

Moves and faces are (4, 4) matrices. A move takes points of the part to where it stands. A face
has its level direction, its upward direction, its outward direction and its middle as columns.
"""

from __future__ import annotations

import math
from collections import defaultdict
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.geometry.kernel import extent, faces_in, moved
from workbench.solids.recipe.seat import At, Seat

if TYPE_CHECKING:
    from build123d import Shape
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

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

#: Turns a part's own face over, about its level direction, so that it looks into the seat.
_OVER = np.diag([1.0, -1.0, -1.0, 1.0])


def freely(place: At) -> np.ndarray:
    """The move of a part that stands by itself: leant, tilted, turned, then shifted."""
    return _turned(place.turn, place.x, place.y, place.z) @ _leant(place.tilt, place.lean)


def seated(place: Seat, seat: np.ndarray, own: np.ndarray) -> np.ndarray:
    """The move that lays a part's own face on a seat.

    seat : the face sat on, as :func:`face_frame` gives it
    own : the part's face that is laid on it, before the move
    """
    inward = own @ _OVER
    back = np.eye(4)
    back[:3, :3] = inward[:3, :3].T
    back[:3, 3] = -inward[:3, :3].T @ inward[:3, 3]
    move = _turned(place.turn, place.along, place.across, -place.sink)
    return seat @ move @ _leant(place.tilt, place.lean) @ back


def shifted(x: float, y: float, z: float = 0.0) -> np.ndarray:
    """A shift in mm."""
    return _turned(0.0, x, y, z)


def _leant(tilt: float, lean: float) -> np.ndarray:
    """A turn about x, from y towards z, then one about y, from x towards z; in degrees."""
    sine, cosine = math.sin(math.radians(tilt)), math.cos(math.radians(tilt))
    tilted = np.array([[cosine, 0, -sine, 0], [0, 1, 0, 0], [sine, 0, cosine, 0], [0, 0, 0, 1]])
    if not lean:
        return tilted
    sine, cosine = math.sin(math.radians(lean)), math.cos(math.radians(lean))
    return tilted @ np.array(
        [[1, 0, 0, 0], [0, cosine, -sine, 0], [0, sine, cosine, 0], [0, 0, 0, 1]]
    )


def _turned(turn: float, x: float, y: float, z: float) -> np.ndarray:
    """A turn about z in degrees, then a shift in mm."""
    sine, cosine = math.sin(math.radians(turn)), math.cos(math.radians(turn))
    return np.array([[cosine, -sine, 0, x], [sine, cosine, 0, y], [0, 0, 1, z], [0, 0, 0, 1]])


def face_frame(shape: Shape, side: str) -> np.ndarray:
    """The named side of a shape.

    The side is the outermost plane face that looks nearly straight that way, else the one that
    looks most that way, together with all others in its plane. Where no face does, as on a
    ball, it is the side of the bounding box.
    """
    out = DIRECTIONS[side]
    best = _outermost(shape, out)
    if best is None:
        low, high = extent([shape.wrapped])
        return _frame(side, out, (low + high) / 2 + (high - low) / 2 * out)
    normal, faces = best
    frame = _frame(side, normal, np.zeros(3))
    # Extents in the face's own directions, so that holes and rounds do not move the middle.
    low, high = extent([moved(face, frame.T) for face in faces])
    return _frame(side, normal, frame[:3, :3] @ ((low + high) / 2))


def direction_frame(side: str) -> np.ndarray:
    """A named side of a box about the origin: a face that looks straight that way."""
    return _frame(side, DIRECTIONS[side], np.zeros(3))


def side_faces(shape: Shape, side: str) -> list[TopoDS_Face]:
    """The plane faces that make a named side of a shape; none where it is round there."""
    best = _outermost(shape, DIRECTIONS[side])
    return best[1] if best is not None else []


def _frame(side: str, normal: np.ndarray, middle: np.ndarray) -> np.ndarray:
    along = _along(side, normal)
    frame = np.eye(4)
    frame[:3] = np.column_stack([along, cross(normal, along), normal, middle])
    return frame


def _outermost(shape: Shape, out: np.ndarray) -> tuple[np.ndarray, list[TopoDS_Face]] | None:
    """Normal and faces of the plane that makes a side, or None."""
    planes: dict[tuple[float, ...], list] = defaultdict(list)
    for normal, point, face in plane_faces(shape.wrapped):
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

    several = len(planes) > 1  # else nothing is to be compared
    members = planes[max(planes.items(), key=rank if several else len)[0]]
    return members[0][0], [face for _normal, face in members]


def plane_faces(shape: TopoDS_Shape) -> list[tuple[np.ndarray, np.ndarray, TopoDS_Face]]:
    """Outward normal, a point, and the face, for each plane face."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    found = []
    for face in faces_in(shape):
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
        level = np.array([1.0, 0.0, 0.0]) - normal * normal[0]
    else:
        level = np.array([-normal[1], normal[0], 0.0])
    return level / math.sqrt(level @ level)


def cross(a: np.ndarray, b: np.ndarray) -> np.ndarray:
    """The cross product of two (3,) vectors; numpy's own takes ten times as long for one."""
    (ax, ay, az), (bx, by, bz) = a, b
    return np.array([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx])
