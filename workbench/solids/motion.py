"""How a part is put in: slid or turned to its place, and the room that it sweeps on the way."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from workbench import gate
from workbench.errors import RepairError
from workbench.solids.meshes.mesh import Mesh
from workbench.solids.parameters import Size
from workbench.words import _, quantity, sized, with_unit

#: Where a slide goes.
WAYS = {
    "right": (1.0, 0.0, 0.0),
    "left": (-1.0, 0.0, 0.0),
    "back": (0.0, 1.0, 0.0),
    "front": (0.0, -1.0, 0.0),
    "up": (0.0, 0.0, 1.0),
    "down": (0.0, 0.0, -1.0),
}

#: What a turn goes about: a line along x (to the right), y (to the back) or z (up).
AXES = {"x": (1.0, 0.0, 0.0), "y": (0.0, 1.0, 0.0), "z": (0.0, 0.0, 1.0)}

#: A turn is swept in straight stretches of at most this many degrees, in at most so many. At
#: 20 mm from the axis a stretch of 10 degrees falls 0.08 mm short of the arc, one of 15 0.17 mm.
_STRETCH, _STRETCHES = 10.0, 12

#: A slide is swept in so many: what catches early is found before most is looked at.
_PARTS = 8

#: Longest slide, in mm.
FARTHEST = 1000.0


@gate.asked
@dataclass(frozen=True)
class Slide:
    """The part slides to its place: ``way`` it goes, and ``by`` how far, in mm."""

    way: str
    by: float

    def __post_init__(self) -> None:
        gate.choice("way", self.way, WAYS)
        object.__setattr__(self, "by", _some("by", self.by, FARTHEST, "mm"))

    def before(self, vertices: np.ndarray, share: float) -> np.ndarray:
        """(n, 3) vertices where they are when this share of the way is still to go."""
        return vertices - share * self.by * np.array(WAYS[self.way])

    def stretches(self) -> int:
        """In how many stretches it is swept."""
        return _PARTS

    def told(self, share: float) -> str:
        """How far it has come when this share of the way is still to go."""
        far = abs(self.by)
        return _("after {done} of {whole}").format(
            done=sized((1 - share) * far, 1), whole=with_unit(far, 1)
        )


@gate.asked
@dataclass(frozen=True)
class Turn:
    """The part turns to its place: about a line along x, y or z, by degrees, through a point.

    by : in degrees, counter-clockwise as seen from the end that the axis points to
    x, y, z : a point of the axis, in mm
    """

    about: str
    by: float
    x: float = 0.0
    y: float = 0.0
    z: float = 0.0

    def __post_init__(self) -> None:
        gate.choice("about", self.about, AXES)
        object.__setattr__(self, "by", _some("by", self.by, 360.0, "°"))
        for name in ("x", "y", "z"):
            object.__setattr__(
                self, name, Size(-FARTHEST, FARTHEST).check(name, getattr(self, name))
            )

    def before(self, vertices: np.ndarray, share: float) -> np.ndarray:
        """(n, 3) vertices where they are when this share of the way is still to go."""
        angle = -math.radians(share * self.by)
        axis, through = np.array(AXES[self.about]), np.array([self.x, self.y, self.z])
        arm = vertices - through
        along = np.outer(arm @ axis, axis)
        across = np.cross(axis, arm)
        return through + along + (arm - along) * math.cos(angle) + across * math.sin(angle)

    def stretches(self) -> int:
        """In how many stretches it is swept."""
        return min(_STRETCHES, max(1, math.ceil(abs(self.by) / _STRETCH)))

    def told(self, share: float) -> str:
        """How far it has come when this share of the way is still to go."""
        from workbench.words import number

        far = abs(self.by)
        return _("after {done}° of {whole}°").format(
            done=number((1 - share) * far, 0), whole=number(far, 0)
        )


Motion = Slide | Turn


def motion_from(row: Mapping[str, Any] | None) -> Motion | None:
    """Read back what :func:`motion_to` wrote."""
    if row is None:
        return None
    return Slide(**row) if "way" in row else Turn(**row)


def motion_to(motion: Motion | None) -> dict[str, Any] | None:
    """A motion as plain data."""
    return None if motion is None else asdict(motion)


def swept(body: Mesh, start: np.ndarray, end: np.ndarray) -> Iterator[Mesh]:
    """Closed meshes of what a body passes through in a straight stretch, without the body itself.

    Every triangle that looks ahead pushes a prism in front of it; neighbours share their walls.

    body : vertices and faces; only the faces are used
    start, end : (n, 3) where its vertices are before and after the stretch
    """
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    faces = body[1]
    a, b, c = (start[faces[:, k]] for k in range(3))
    normals = np.cross(b - a, c - a)
    way = (end - start)[faces].mean(axis=1)
    ahead = faces[np.einsum("ij,ij->i", normals, way) > 1e-9]
    if not len(ahead):
        return
    sides = np.concatenate([ahead[:, [0, 1]], ahead[:, [1, 2]], ahead[:, [2, 0]]])
    owner = np.tile(np.arange(len(ahead)), 3)
    base = int(faces.max()) + 1
    keys = sides.min(axis=1).astype(np.int64) * base + sides.max(axis=1)
    order = np.argsort(keys, kind="stable")
    same = keys[order][1:] == keys[order][:-1]
    one, other = owner[order][:-1][same], owner[order][1:][same]
    links = coo_matrix((np.ones(len(one)), (one, other)), shape=(len(ahead), len(ahead)))
    count, patch = connected_components(links, directed=False)
    _key, inverse, times = np.unique(keys, return_inverse=True, return_counts=True)
    rim = times[inverse] == 1
    for index in range(count):
        yield _prism(ahead[patch == index], sides[rim & (patch[owner] == index)], start, end)


def _prism(cap: np.ndarray, rim: np.ndarray, start: np.ndarray, end: np.ndarray) -> Mesh:
    """A patch of faces at its start and at its end, with walls along its rim (k, 2)."""
    used, compact = np.unique(cap, return_inverse=True)
    cap = compact.reshape(-1, 3)
    rim = np.searchsorted(used, rim)
    high = len(used)
    i, j = rim[:, 0], rim[:, 1]
    walls = np.concatenate(
        [np.column_stack([i, j, j + high]), np.column_stack([i, j + high, i + high])]
    )
    vertices = np.concatenate([start[used], end[used]])
    return vertices, np.concatenate([cap[:, ::-1], cap + high, walls])


def motion_of(given: Any) -> Motion | None:
    """The motion itself, or RepairError where it is none."""
    if given is None or isinstance(given, Motion):
        return given
    raise RepairError(
        _('motion is {given!r}; give Slide("down", 20) in mm, or Turn("z", 90) in degrees').format(
            given=given
        )
    )


def _some(field: str, value: Any, most: float, unit: str) -> float:
    """A way that goes somewhere: the number, not 0."""
    amount = Size(-most, most, unit=unit).check(field, value)
    if amount:
        return amount
    raise RepairError(
        _("{field} is 0; give a number up to {most}").format(field=field, most=quantity(most, unit))
    )
