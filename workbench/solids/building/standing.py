"""Shapes that stand alone on a plane are joined to it by the line along which they pass through it.

Near such a shape the other solid is all that lies below one plane. Only the faces that pass through
are parted, by a patch of the plane; what is above stays, and the plane gets the line as a hole::

         +-+                     +-+
         | |                     | |
    - - -|-|- - -    =>    ------+ +------
         +-+
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.building.local_edit import MARGIN, closed, index_of
from workbench.solids.geometry import kernel
from workbench.solids.geometry.bounded import limited
from workbench.solids.geometry.faces import (
    Faces,
    Wire,
    box_of,
    box_round,
    edges_of,
    known_box,
    lead_through,
    meet,
    plane_of,
    together,
    wires_of,
    within,
)

if TYPE_CHECKING:
    from build123d import Solid
    from OCP.IntTools import IntTools_Context
    from OCP.TopoDS import TopoDS_Face

Solids = Sequence["Solid"]

#: A face nearer to the plane than this, in mm, may touch it: it is parted if it leads on from there,
#: and else left to the kernel.
_TOUCH = 1e-3

#: A plane is square to an axis where its normal is out of that by less than this.
_SQUARE = 1e-12

#: A patch reaches so far beyond its shape, in mm: patches stay apart where shapes do.
_SPARE = MARGIN / 4


def union(solids: Solids) -> Solids:
    """As :func:`kernel.union`."""
    return list(limited(lambda: ("standing", kernel.kinds(solids)), lambda: _joined(solids)))


def _joined(solids: Solids) -> Solids:
    boxes = np.array([box_round(solid.wrapped) for solid in solids])
    alone = _alone(boxes)
    if len(solids) - len(alone) > 1:  # these are joined first, which is to be worth it
        hosts = {other: Host(kernel.unified(solids[other])) for other in set(alone.values())}
        alone = {
            number: other
            for number, other in alone.items()
            if _Rooted.of(hosts[other], solids[number], boxes[number])
        }
    others = [solid for number, solid in enumerate(solids) if number not in alone]
    bases = kernel.union(others) if alone and len(others) > 1 else others
    if not alone or len(bases) != 1:
        return kernel.union(solids)
    base = kernel.unified(bases[0]) if len(others) == 1 else bases[0]
    host, rooted, left = Host(base), list[_Rooted](), list["Solid"]()
    for number in alone:
        found = _Rooted.of(host, solids[number], boxes[number])
        if found is None:
            left.append(solids[number])
        else:
            rooted.append(found)
    made = _put_on(base, rooted) if rooted else None
    if made is None:
        return kernel.union(solids)
    return kernel.union([made, *left]) if left else [made]


def _alone(boxes: np.ndarray) -> dict[int, int]:
    """The numbers of boxes that meet one other only, and that other, which is not one of these."""
    alone: dict[int, int] = {}
    for number in np.argsort(np.ptp(boxes, axis=1).prod(axis=1), kind="stable").tolist():
        met = np.flatnonzero(meet(_wider(boxes[number]), boxes)).tolist()
        if len(met) == 2 and not any(other in alone for other in met):
            alone[number] = sum(met) - number
    return dict(sorted(alone.items()))


def _wider(box: np.ndarray) -> np.ndarray:
    return box + np.array([[-MARGIN], [MARGIN]])


class Host:
    """A solid that others may stand on."""

    def __init__(self, solid: Solid) -> None:
        self.faces = index_of(solid)
        self._known: dict[int, _Plane | None] = {}

    def planes_round(self, box: np.ndarray) -> dict[int, np.ndarray] | None:
        """The planes (4,) of its faces that lead through a box, by number; None where anything else is in there."""
        found = {}
        for number in np.flatnonzero(meet(box, self.faces.boxes)).tolist():
            if number not in self._known:
                self._known[number] = _Plane.of(self.faces, number)
            plane = self._known[number]
            if plane is None or not plane.leads_through(box):
                return None
            found[number] = plane.plane
        return found


@dataclass
class _Plane:
    """A plane face: its plane (4,), and its edges as a wire tells them."""

    plane: np.ndarray
    spans: np.ndarray
    straight: np.ndarray
    face: TopoDS_Face
    inside: IntTools_Context

    @classmethod
    def of(cls, faces: Faces, number: int) -> _Plane | None:
        """The face of that number, or None where it is not plane."""
        from OCP.IntTools import IntTools_Context

        face = faces.shapes[number]
        plane, wires = plane_of(face), wires_of(face)
        if plane is None:
            return None
        return cls(
            plane,
            np.concatenate([wire.spans for wire in wires]),
            np.concatenate([wire.straight for wire in wires]),
            face,
            IntTools_Context(),
        )

    def leads_through(self, box: np.ndarray) -> bool:
        """Whether it parts a box in two: no edge of it is in there, and a point of it is."""
        from OCP.gp import gp_Pnt

        if meet(box, np.sort(self.spans[~self.straight], axis=1)).any():
            return False
        if lead_through(self.spans[self.straight], box[None]).any():
            return False
        middle = box.mean(axis=0)
        foot = middle - (middle @ self.plane[:3] - self.plane[3]) * self.plane[:3]
        if np.any((foot < box[0]) | (foot > box[1])):
            return False
        return bool(self.inside.IsPointInFace(gp_Pnt(*foot.tolist()), self.face, MARGIN / 2))


@dataclass
class _Rooted:
    """A shape that passes through one plane square to an axis, by its faces.

    carrier : number of the face that it stands on
    above : its faces that are clear of the plane
    through : those that are parted
    patch : of the plane, round it
    """

    carrier: int
    normal: np.ndarray
    level: float
    above: list[TopoDS_Face]
    through: list[TopoDS_Face]
    patch: TopoDS_Face

    @classmethod
    def of(cls, host: Host, solid: Solid, box: np.ndarray) -> _Rooted | None:
        """What is known of a solid, or None where it does not stand so."""
        planes = host.planes_round(_wider(box))
        if planes is None or len(planes) != 1:
            return None
        ((carrier, plane),) = planes.items()
        normal, level = np.round(plane[:3]), float(plane[3])
        if np.abs(plane[:3] - normal).max() > _SQUARE:
            return None
        above, through = list["TopoDS_Face"](), list["TopoDS_Face"]()
        for face in kernel.faces_in(kernel.unified(solid).wrapped):
            round_it = box_of(face)
            low, high = sorted((round_it @ normal - level).tolist())
            if low >= _TOUCH:
                above.append(known_box(face, round_it))
            elif high > -_TOUCH:
                if low > -_TOUCH and high < _TOUCH:
                    return None
                through.append(face)
        if not through:
            return None
        patch = _patch(normal, level, box + np.array([[-_SPARE], [_SPARE]]))
        return cls(carrier, normal, level, above, through, patch)

    def joined(
        self, own: Sequence[TopoDS_Face], pieces: Sequence[TopoDS_Face]
    ) -> tuple[list[TopoDS_Face], list[Wire]] | None:
        """What it comes to where its faces and the patch are parted: faces, and wires in the plane.

        None where something of that is not as it is to be.
        """
        made = []
        for face in own:
            round_it = box_of(face)
            if (round_it @ self.normal - self.level).sum() > 0:
                made.append(known_box(face, round_it))
        border = set(map(hash, edges_of(self.patch)))
        edges = [{e for wire in wires_of(p) for e in wire.edges.tolist()} for p in pieces]
        outer = [number for number, found in enumerate(edges) if found & border]
        if len(outer) != 1:
            return None
        holes = [w for w in wires_of(pieces[outer[0]]) if border.isdisjoint(w.edges.tolist())]
        # From outside in, what is within the shape and what is not take turns.
        left, met, within_it = set(range(len(pieces))) - set(outer), edges[outer[0]], True
        while left:
            here = {number for number in left if edges[number] & met}
            if not here:
                return None
            made += [] if within_it else [pieces[number] for number in here]
            left, met = left - here, set().union(*(edges[number] for number in here))
            within_it = not within_it
        rest = (piece for number, piece in enumerate(pieces) if number != outer[0])
        if not all(map(kernel.face_valid, [*made, *rest])):
            return None
        return [*self.above, *made], holes


def _patch(normal: np.ndarray, level: float, box: np.ndarray) -> TopoDS_Face:
    """What of a plane square to an axis lies in a box, seen from where its normal points."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace
    from OCP.gp import gp_Ax3, gp_Dir, gp_Pln, gp_Pnt

    axis = int(np.abs(normal).argmax())
    along, other = (axis + 1) % 3, (axis + 2) % 3
    middle, across = box.mean(axis=0).tolist(), [0.0, 0.0, 0.0]
    middle[axis], across[along] = level * float(normal[axis]), 1.0
    a, b = (float(np.ptp(box[:, i])) / 2 for i in (along, other))
    place = gp_Ax3(gp_Pnt(*middle), gp_Dir(*normal.tolist()), gp_Dir(*across))
    return BRepBuilderAPI_MakeFace(gp_Pln(place), -a, a, -b, b).Face()


def _put_on(base: Solid, rooted: Sequence[_Rooted]) -> Solid | None:
    """A solid with shapes that stand on it; None where that does not go."""
    old = index_of(base)
    parts = [together(faces) for one in rooted for faces in (one.through, [one.patch])]
    parted = [list(kernel.faces_in(part)) for part in kernel.parted(parts)]
    if len(parted) != len(parts):
        return None
    into: dict[int, list[Wire]] = defaultdict(list)
    made: list[TopoDS_Face] = []
    for one, own, pieces in zip(rooted, parted[::2], parted[1::2], strict=True):
        found = one.joined(own, pieces)
        if found is None:
            return None
        made += found[0]
        into[one.carrier] += found[1]
    gone = np.zeros(len(old.ids), dtype=bool)
    for number, wires in into.items():
        gone[number] = True
        # The pieces that fit the holes are valid, and they are apart from each other and all else.
        face = within(old.shapes[number], [*wires_of(old.shapes[number]), *wires])
        made.append(kernel.found_valid(known_box(face, old.boxes[number])))
    solid = closed(old.but(gone, Faces.listed(made)))
    return solid if solid is not None and kernel.shells_close(solid.wrapped) else None
