"""A change of a solid redone only where it reaches.

The region is some boxes round what changed. Faces outside stay as they are. Faces inside give way
to those of a small solid, built of the few steps that reach in there. A plane face that crosses the
region keeps its wires outside and takes those inside from the small solid::

    +-----------------------+      The face that a peg stands on crosses the region; the foot
    |   o    o   +- - -+    |      of the peg is a wire inside, and everything of the peg is
    |            |  O  |    |      a face inside. Nothing else of the part is looked at.
    |   o    o   +- - -+    |
    +-----------------------+

Where a wire crosses, the region grows; where it grows too large, or faces other than planes
would have to be joined, there is no local edit and the whole is built.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.geometry import kernel
from workbench.solids.geometry.cache import Kept
from workbench.solids.geometry.faces import (
    Faces,
    Wire,
    known_box,
    lead_through,
    meet,
    plane_of,
    wires_of,
    within,
)

if TYPE_CHECKING:
    from build123d import Shape, Solid
    from OCP.TopoDS import TopoDS_Face

#: The region reaches this far beyond what changed, in mm.
MARGIN = 0.02

#: How often the region may grow, and the largest share of the part's box that it may become.
GROWTHS, LARGEST = 6, 0.3

#: Planes whose normals and places differ by less than this, in mm per mm and in mm, are one.
SAME = 1e-7

#: The faces of solids looked at before, and of which solid each is an edit.
_INDEXES, _BEFORE = Kept(64), Kept(64)

#: How many edits back a mesh is looked for that can be kept.
_BACK = 8


class TooFar(Exception):
    """The change reaches too far for a local edit."""


class Region:
    """Boxes (n, 2, 3), in mm; those that meet have become one."""

    def __init__(self, boxes: np.ndarray) -> None:
        merged: list[np.ndarray] = []
        for found in boxes:
            box = found
            while True:
                met = [i for i, other in enumerate(merged) if meet(box, other[None])[0]]
                if not met:
                    break
                box = _around([box, *(merged.pop(i) for i in reversed(met))])
            merged.append(box)
        self.boxes = np.array(merged)

    def grown(self, boxes: Sequence[np.ndarray]) -> Region:
        """The region with more boxes."""
        wider = np.array(boxes) + np.array([[-MARGIN], [MARGIN]])
        return Region(np.concatenate([self.boxes, wider]))

    def reaches(self, boxes: np.ndarray) -> np.ndarray:
        """(n,) whether boxes (n, 2, 3) have a point in the region."""
        return np.any([meet(box, boxes) for box in self.boxes], axis=0)

    def holds(self, boxes: np.ndarray) -> np.ndarray:
        """(n,) whether boxes (n, 2, 3) lie in one of the region's."""
        return np.any(
            [
                np.all((boxes[:, 0] > low) & (boxes[:, 1] < high), axis=1)
                for low, high in self.boxes
            ],
            axis=0,
        )

    def crossed(self, ways: np.ndarray) -> np.ndarray:
        """(n,) whether straight ways (n, 2, 3) from one point to another lead through the region."""
        return lead_through(ways, self.boxes)


def index_of(solid: Shape) -> Faces:
    """The faces of a solid."""
    return _INDEXES.get(hash(solid.wrapped), lambda: (solid, Faces.of(solid.wrapped)))[1]


def came_from(solid: Shape) -> Iterator[int]:
    """Identities of the solids of which this one is an edit, the last one first."""
    known = hash(solid.wrapped)
    for _edit in range(_BACK):
        if known not in _BEFORE:
            return
        _kept, known = _BEFORE.get(known, tuple)
        yield known


def edited(
    before: Solid, changed: np.ndarray, small: Callable[[Region], Sequence[Solid]]
) -> Solid | None:
    """A solid after a change of what stands in some boxes, or None where that reaches too far.

    Parameters
    ----------
    before : one sound solid without hollows
    changed : (n, 2, 3) boxes round what is there no more and what is there now, in mm
    small : gives solids that look as the changed one is to look, as far as a region reaches
    """
    try:
        after = _edited(before, Region(changed + np.array([[-MARGIN], [MARGIN]])), small)
    except TooFar:
        return None
    if after is not None:
        _BEFORE.get(hash(after.wrapped), lambda: (before, hash(before.wrapped)))
    return after


def _edited(
    before: Solid, region: Region, small: Callable[[Region], Sequence[Solid]]
) -> Solid | None:
    old = index_of(before)
    whole = np.ptp(_around(old.boxes), axis=0).prod()
    for _growth in range(GROWTHS):
        if np.ptp(region.boxes, axis=1).prod(axis=1).sum() > LARGEST * whole:
            raise TooFar
        near = np.flatnonzero(region.reaches(old.boxes))
        here, more = parted(old, near, region)
        if not more:
            new = Faces.listed([f for solid in small(region) for f in index_of(solid).shapes])
            there, more = parted(new, np.flatnonzero(region.reaches(new.boxes)), region)
            if not more:
                return _put_together(old, here, new, there)
        region = region.grown(more)
    raise TooFar


class Near:
    """Faces near a region: which lie inside, and of those that cross it the wires in and out."""

    def __init__(self) -> None:
        self.inside: list[int] = []
        self.crossing: dict[int, tuple[list[Wire], list[Wire]]] = {}


def parted(faces: Faces, near: np.ndarray, region: Region) -> tuple[Near, list[np.ndarray]]:
    """Faces near a region, parted; and boxes by which it must grow first."""
    found, more = Near(), list[np.ndarray]()
    inside = region.holds(faces.boxes[near])
    for number, held in zip(near.tolist(), inside.tolist(), strict=True):
        if held:
            found.inside.append(number)
            continue
        wires: tuple[list[Wire], list[Wire]] = ([], [])
        for wire, crossed in _crossed(faces.shapes[number], region):
            if crossed.any():
                boxes = np.sort(wire.spans, axis=1)
                more += [] if region.holds(boxes).all() else list(boxes[crossed])
            wires[int(not crossed.any())].append(wire)
        if not wires[1] and not more:
            more.append(faces.boxes[number])
        found.crossing[number] = wires
    return found, more


def _crossed(face: TopoDS_Face, region: Region) -> Iterator[tuple[Wire, np.ndarray]]:
    """The wires of a face, and which edges of each reach into the region."""
    wires = wires_of(face)
    ways = np.concatenate([wire.spans for wire in wires])
    straight = np.concatenate([wire.straight for wire in wires])
    crossed = np.where(straight, region.crossed(ways), region.reaches(ways))
    ends = np.cumsum([len(wire.spans) for wire in wires])[:-1]
    return zip(wires, np.split(crossed, ends), strict=True)


def _put_together(old: Faces, here: Near, new: Faces, there: Near) -> Solid | None:
    """The faces outside, those inside, and those that cross with their wires exchanged."""
    gone = np.zeros(len(old.ids), dtype=bool)
    gone[here.inside] = True
    added: dict[int, list[Wire]] = {number: [] for number in here.crossing}
    for number, (inside, _outside) in there.crossing.items():
        for wire in inside:
            added[_carrier(old, here, new.shapes[number], wire)].append(wire)
    # Where the faces of the small solid are valid, so are those that its wires are put into: there
    # is no other wire in the region.
    looked_at = (*there.inside, *(n for n, wires in there.crossing.items() if wires[0]))
    if not all(kernel.face_valid(new.shapes[number]) for number in looked_at):
        return None
    made = [new.shapes[number] for number in there.inside]
    for number, (inside, outside) in here.crossing.items():
        if inside or added[number]:
            gone[number] = True
            face = within(old.shapes[number], [*outside, *added[number]])
            made.append(kernel.found_valid(known_box(face, old.boxes[number])))
    return closed(old.but(gone, Faces.listed(made)))


def closed(faces: Faces) -> Solid | None:
    """The solid of valid faces, or None where they do not close."""
    if not faces.close():
        return None
    solid = kernel.found_sound(_solid(faces))
    _INDEXES.get(hash(solid.wrapped), lambda: (solid, faces))
    return solid


def _carrier(old: Faces, here: Near, face: TopoDS_Face, wire: Wire) -> int:
    """The crossing face of the old solid in which a wire of the new one's is to lie."""
    plane = plane_of(face)
    if plane is None:
        raise TooFar
    found = [
        number
        for number in here.crossing
        if (other := plane_of(old.shapes[number])) is not None and same_plane(plane, other)
    ]
    if len(found) > 1:
        point = wire.spans[0, 0]
        found = [n for n in found if _lies_in(point, within(old.shapes[n], here.crossing[n][1]))]
    if len(found) != 1:
        raise TooFar
    return found[0]


def same_plane(one: np.ndarray, other: np.ndarray) -> bool:
    """Whether two planes (4,) face the same way in the same place."""
    return bool(np.abs(one - other).max() < SAME * max(1.0, abs(one[3])))


def _lies_in(point: np.ndarray, face: TopoDS_Face) -> bool:
    from OCP.BRepClass import BRepClass_FaceClassifier
    from OCP.gp import gp_Pnt
    from OCP.TopAbs import TopAbs_State

    state = BRepClass_FaceClassifier(face, gp_Pnt(*point.tolist()), SAME).State()
    return bool(state == TopAbs_State.TopAbs_IN)


def _solid(faces: Faces) -> Solid:
    from build123d import Solid
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Shell, TopoDS_Solid

    builder, shell, solid = BRep_Builder(), TopoDS_Shell(), TopoDS_Solid()
    builder.MakeShell(shell)
    for face in faces.shapes:
        builder.Add(shell, face)
    shell.Closed(True)
    builder.MakeSolid(solid)
    builder.Add(solid, shell)
    return Solid(solid)


def _around(boxes: Sequence[np.ndarray] | np.ndarray) -> np.ndarray:
    found = np.asarray(boxes)
    return np.array([found[:, 0].min(axis=0), found[:, 1].max(axis=0)])
