"""The faces of a solid in arrays: which they are, the boxes round them, the edges they end in.

What is known of a face is kept by its identity, as a change leaves most faces of a solid alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, partial
from itertools import compress
from types import SimpleNamespace
from typing import TYPE_CHECKING

import numpy as np

from workbench.solids.geometry.cache import Kept
from workbench.solids.geometry.connected_components import linked

if TYPE_CHECKING:
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS_Compound, TopoDS_Edge, TopoDS_Face, TopoDS_Shape, TopoDS_Wire

#: What is known of faces and of wires. The shapes are held on to, as the kernel may give a freed
#: one's identity to a new one.
_LOOKED_AT, _WIRES = Kept(20_000), Kept(40_000)

#: Boxes round solids.
_ROUND = Kept(2000)

#: Faces with many wires, and these.
_HOLED = Kept(60)

#: A face with more wires than this is treated apart: the kernel's time for it grows with the
#: square of their number.
HOLES = 6


@cache
def _ocp() -> SimpleNamespace:
    """What of the kernel is asked for again and again: importing it each time takes as long as the answer."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRep import BRep_Tool
    from OCP.BRepBndLib import BRepBndLib
    from OCP.TopAbs import TopAbs_Orientation, TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS, TopoDS_Iterator

    classes = (Bnd_Box, BRep_Tool, BRepBndLib, TopExp_Explorer, TopoDS_Iterator)
    return SimpleNamespace(
        **{each.__name__: each for each in classes},
        TopoDS=TopoDS,
        INTERNAL=TopAbs_Orientation.TopAbs_INTERNAL.value,
        WIRE=TopAbs_ShapeEnum.TopAbs_WIRE,
        EDGE=TopAbs_ShapeEnum.TopAbs_EDGE,
    )


@dataclass(frozen=True)
class Wire:
    """A wire of a face, in place.

    shape : the way round that it runs in its face
    edges : (n,) identities of the edges
    """

    shape: TopoDS_Wire
    edges: np.ndarray

    def reversed(self) -> Wire:
        """The same the other way round."""
        from OCP.TopoDS import TopoDS

        return Wire(TopoDS.Wire(self.shape.Reversed()), self.edges)

    @cached_property
    def _found(self) -> list[tuple[np.ndarray, bool]]:
        return [_span(edge) for edge in edges_of(self.shape)]

    @cached_property
    def spans(self) -> np.ndarray:
        """(n, 2, 3) the two ends of each straight edge, and the box round each other one, in mm."""
        return np.array([span for span, _straight in self._found]).reshape(-1, 2, 3)

    @cached_property
    def straight(self) -> np.ndarray:
        """(n,) which edges are straight."""
        return np.array([straight for _span, straight in self._found], dtype=bool)

    @cached_property
    def box(self) -> np.ndarray:
        """(2, 3) lowest and highest corner of a box round it, in mm."""
        return np.array([self.spans.min(axis=(0, 1)), self.spans.max(axis=(0, 1))])


@dataclass(frozen=True)
class Faces:
    """Faces, in the order of the solid.

    shapes : n faces, each with its orientation in the solid
    ids : (n,) what tells a face from others, the orientation included
    """

    shapes: Sequence[TopoDS_Face]
    ids: np.ndarray

    @classmethod
    def of(cls, solid: TopoDS_Shape) -> Faces:
        """All faces of a shape."""
        from OCP.TopAbs import TopAbs_ShapeEnum
        from OCP.TopExp import TopExp_Explorer
        from OCP.TopoDS import TopoDS

        found = []
        explorer = TopExp_Explorer(solid, TopAbs_ShapeEnum.TopAbs_FACE)
        while explorer.More():
            found.append(TopoDS.Face(explorer.Current()))
            explorer.Next()
        return cls.listed(found)

    @classmethod
    def listed(cls, shapes: Sequence[TopoDS_Face]) -> Faces:
        """Faces that are not, or not yet, in one solid."""
        return cls(shapes, np.array([_identity(face) for face in shapes], dtype=np.int64))

    def but(self, gone: np.ndarray, more: Faces) -> Faces:
        """These without some, given as a (n,) mask, and with others after them."""
        stay = (~gone).tolist()
        ids = np.concatenate([self.ids[~gone], more.ids])
        found = Faces([*compress(self.shapes, stay), *more.shapes], ids)
        # What is known of them is not looked up again.
        found.__dict__["_seen"] = [*compress(self._seen, stay), *more._seen]
        return found

    @cached_property
    def _seen(self) -> list[tuple[TopoDS_Face, np.ndarray, np.ndarray]]:
        pairs = zip(self.ids.tolist(), self.shapes, strict=True)
        return [_LOOKED_AT.get(known, partial(_look_at, face)) for known, face in pairs]

    def look(self) -> None:
        """Find out what is asked of every face, and of those with many holes, when one changes."""
        _ = self._seen
        for face in self.shapes:
            if holed(face):
                for wire in wires_of(face):
                    _ = wire.spans

    @cached_property
    def boxes(self) -> np.ndarray:
        """(n, 2, 3) lowest and highest corner of a box round each, in mm; it may be a little wide."""
        return np.array([seen[1] for seen in self._seen]).reshape(-1, 2, 3)

    @cached_property
    def edges(self) -> tuple[np.ndarray, np.ndarray]:
        """(m,) identities of the edges along which faces end, and (m,) the face of each."""
        listed = [seen[2] for seen in self._seen]
        owner = np.repeat(np.arange(len(listed)), [len(found) for found in listed])
        return np.concatenate(listed), owner

    def close(self) -> bool:
        """Whether they are one closed surface: each edge between two, all of them linked."""
        edges, owner = self.edges
        order = np.argsort(edges, kind="stable")
        edges, owner = edges[order], owner[order]
        if (
            len(edges) % 2
            or np.any(edges[::2] != edges[1::2])
            or np.any(edges[1:-1:2] == edges[2::2])
        ):
            return False
        one, other = owner[::2], owner[1::2]
        return not linked(len(self.shapes), one, other).any()


class Stamp:
    """Faces and wires of one solid, which are put in other places.

    Each time they are new ones on the same surfaces: what the kernel notes on the edges of one, such
    as its triangles, would spoil those of the others.
    """

    def __init__(self, old: Faces, numbers: Sequence[int], wires: Sequence[Wire]) -> None:
        faces = [old.shapes[number] for number in numbers]
        self._count, self._boxes, self._wires = len(faces), old.boxes[list(numbers)], wires
        self._whole = together([*faces, *(wire.shape for wire in wires)])
        at = {edge: number for number, edge in enumerate(_edges_within(self._whole))}
        ends = [*(_edge_ids(face) for face in faces), *(wire.edges for wire in wires)]
        self._ends = [[at[edge] for edge in found.tolist()] for found in ends]

    def at(self, place: TopLoc_Location, move: np.ndarray) -> tuple[list[TopoDS_Face], list[Wire]]:
        """The faces and the wires after a move, given as the kernel has it and as a (3, 4) matrix."""
        from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy

        ocp = _ocp()
        whole = BRepBuilderAPI_Copy(self._whole, False, False).Shape().Moved(place)
        level = np.allclose(move[:, :3], np.eye(3), rtol=0, atol=1e-12)
        ids, parts = np.array(_edges_within(whole), dtype=np.int64), ocp.TopoDS_Iterator(whole)
        faces, wires = [], []
        for number, ends in enumerate(self._ends):
            if number < self._count:
                face = ocp.TopoDS.Face(parts.Value())
                faces.append(face)
                box = self._boxes[number] + move[:, 3] if level else box_of(face)
                _known(face, box, ids[ends])
            else:
                wire = Wire(ocp.TopoDS.Wire(parts.Value()), ids[ends])
                wires.append(wire)
                before = self._wires[number - self._count]
                if level:
                    spans = before.spans + move[:, 3]
                    wire.__dict__.update(spans=spans, straight=before.straight)
                _WIRES.put((hash(wire.shape), _way(wire.shape)), wire)
            parts.Next()
        return faces, wires


def _edges_within(shape: TopoDS_Shape) -> list[int]:
    """Identities of the edges of a shape, each once, in an order that a copy of it has as well."""
    from OCP.collections import IndexedMap_TopoDS_Shape_TopTools_ShapeMapHasher as Edges
    from OCP.TopExp import TopExp

    edges = Edges()
    TopExp.MapShapes_s(shape, _ocp().EDGE, edges)
    return [hash(edges.FindKey(number)) for number in range(1, edges.Extent() + 1)]


def holed(face: TopoDS_Face) -> bool:
    """Whether a face has so many wires that it is treated apart."""
    return face.NbChildren() > HOLES


def wires_of(face: TopoDS_Face) -> list[Wire]:
    """The wires of a face."""
    if not holed(face):
        return _wires_of(face)
    known = _identity(face)
    if known in _HOLED:
        return _HOLED.get(known, tuple)[1]
    found = _wires_of(face)
    return _HOLED.get(known, lambda: (face, found))[1] if len(found) > HOLES else found


def _wires_of(face: TopoDS_Face) -> list[Wire]:
    ocp = _ocp()
    found, iterator = [], ocp.TopoDS_Iterator(face)
    while iterator.More():
        part = iterator.Value()
        # A point at which something touches the face is in it as well.
        if part.ShapeType() == ocp.WIRE:
            wire = ocp.TopoDS.Wire(part)
            found.append(_WIRES.get((hash(wire), _way(wire)), partial(_look_along, wire)))
        iterator.Next()
    return found


def _way(wire: TopoDS_Wire) -> int:
    return int(wire.Orientation().value)


def together(faces: Iterable[TopoDS_Shape]) -> TopoDS_Compound:
    """One shape of several faces, or of other shapes."""
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Compound

    builder, whole = BRep_Builder(), TopoDS_Compound()
    builder.MakeCompound(whole)
    for face in faces:
        builder.Add(whole, face)
    return whole


def plane_of(face: TopoDS_Face) -> np.ndarray | None:
    """(4,) outward normal of a plane face and how far out it is along that, or None."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType
    from OCP.TopAbs import TopAbs_Orientation

    surface = BRepAdaptor_Surface(face, False)
    if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane:
        return None
    plane = surface.Plane()
    way = 1.0 if plane.Direct() else -1.0
    if face.Orientation() == TopAbs_Orientation.TopAbs_REVERSED:
        way = -way
    normal = way * np.array(plane.Axis().Direction().Coord())
    return np.array([*normal, normal @ plane.Location().Coord()])


def surface_of(face: TopoDS_Face) -> str:
    """The kernel's name of the kind of surface that a face lies on."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface

    return str(BRepAdaptor_Surface(face, False).GetType())


def known_box(face: TopoDS_Face, box: np.ndarray) -> TopoDS_Face:
    """The face itself, whose box is known, so that nobody looks for it."""
    _LOOKED_AT.get(_identity(face), lambda: (face, box, _edge_ids(face)))
    return face


def _known(face: TopoDS_Face, box: np.ndarray, edges: np.ndarray) -> None:
    _LOOKED_AT.get(_identity(face), lambda: (face, box, edges))


def edges_of(shape: TopoDS_Shape) -> list[TopoDS_Edge]:
    """The edges of a wire or a face that have a length and part something, in order."""
    ocp = _ocp()
    found, explorer = [], ocp.TopExp_Explorer(shape, ocp.EDGE)
    while explorer.More():
        edge = ocp.TopoDS.Edge(explorer.Current())
        # Compared as numbers: the kernel's own comparison takes as long as all the rest.
        if edge.Orientation().value != ocp.INTERNAL and not ocp.BRep_Tool.Degenerated_s(edge):
            found.append(edge)
        explorer.Next()
    return found


def box_of(shape: TopoDS_Shape) -> np.ndarray:
    """(2, 3) lowest and highest corner of a box round a kernel shape, in mm; it may be too wide."""
    ocp = _ocp()
    box = ocp.Bnd_Box()
    ocp.BRepBndLib.Add_s(shape, box, False)
    return np.array([box.CornerMin().Coord(), box.CornerMax().Coord()])


def box_round(solid: TopoDS_Shape) -> np.ndarray:
    """The same of a solid that is asked for again."""
    found: np.ndarray = _ROUND.get(hash(solid), lambda: (solid, box_of(solid)))[1]
    return found


def within(like: TopoDS_Face, wires: Iterable[Wire]) -> TopoDS_Face:
    """A face on the surface of another, within wires that run as they do seen from outside."""
    from OCP.BRep import BRep_Builder
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopoDS import TopoDS

    turned = like.Orientation() == TopAbs_Orientation.TopAbs_REVERSED
    face, builder = TopoDS.Face(like.EmptyCopied()), BRep_Builder()
    face.Orientation(TopAbs_Orientation.TopAbs_FORWARD)
    for wire in wires:
        builder.Add(face, wire.shape.Reversed() if turned else wire.shape)
    face.Orientation(like.Orientation())
    return face


def lead_through(ways: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """(n,) whether straight ways (n, 2, 3) from one point to another lead through any of the boxes."""
    start, along = ways[:, 0], ways[:, 1] - ways[:, 0]
    found = np.zeros(len(ways), dtype=bool)
    with np.errstate(divide="ignore", invalid="ignore"):
        for low, high in boxes:
            first, last = (low - start) / along, (high - start) / along
            level = along == 0
            within = (start >= low) & (start <= high)
            enter = np.where(level, np.where(within, 0.0, 2.0), np.minimum(first, last))
            leave = np.where(level, np.where(within, 1.0, -1.0), np.maximum(first, last))
            found |= enter.max(axis=1).clip(0) <= leave.min(axis=1).clip(max=1)
    return found


def meet(box: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """(n,) whether a box (2, 3) has a point in common with boxes (n, 2, 3)."""
    return np.all((boxes[:, 0] <= box[1]) & (boxes[:, 1] >= box[0]), axis=1)


def _identity(face: TopoDS_Face) -> int:
    return (hash(face) << 2 | int(face.Orientation().value)) & (1 << 63) - 1


def _look_at(face: TopoDS_Face) -> tuple[TopoDS_Face, np.ndarray, np.ndarray]:
    return face, box_of(face), _edge_ids(face)


def _edge_ids(face: TopoDS_Face) -> np.ndarray:
    listed = [wire.edges for wire in wires_of(face)]
    return np.concatenate(listed) if listed else np.empty(0, dtype=np.int64)


def _look_along(wire: TopoDS_Wire) -> Wire:
    return Wire(wire, np.array([hash(edge) for edge in edges_of(wire)], dtype=np.int64))


def _span(edge: TopoDS_Edge) -> tuple[np.ndarray, bool]:
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.GeomAbs import GeomAbs_CurveType

    curve = BRepAdaptor_Curve(edge)
    if curve.GetType() != GeomAbs_CurveType.GeomAbs_Line:
        return box_of(edge), False
    ends = (curve.Value(at).Coord() for at in (curve.FirstParameter(), curve.LastParameter()))
    return np.array(list(ends)), True
