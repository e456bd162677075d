"""The geometry kernel, in the few verbs that a repair needs.

Everything here takes and gives build123d solids. Hold :data:`LOCK` around a whole build or
mesh: shapes share faces, and a mesh is kept on them.
"""

from __future__ import annotations

import os
import sys
import threading
from collections import Counter
from collections.abc import Callable, Hashable, Iterator, Sequence
from functools import partial
from typing import TYPE_CHECKING, Any

import numpy as np

from workbench.errors import RepairError
from workbench.process import kernel_failed
from workbench.solids.geometry import faces
from workbench.solids.geometry.bounded import about, limited
from workbench.solids.geometry.cache import Kept

if TYPE_CHECKING:
    from build123d import Edge, Face, Shape, Solid, Vector
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS_Face, TopoDS_Shape

LOCK = threading.RLock()

#: The reflection that makes the other hand of a shape: left is right.
OTHER_HAND = np.diag([-1.0, 1.0, 1.0, 1.0])

#: Faces and solids looked at before, so that a change checks only what it made. The shapes are
#: held on to, as the kernel may give a freed one's identity to a new one.
_FACES, _SOLIDS, _BOXES = Kept(20_000), Kept(200), Kept(20)
_VOLUMES, _UNIFIED = Kept(1000), Kept(400)

#: A volume counts as another's from this part of it on, and an outside as lost from so many mm on.
#: Our choice: where the kernel loses a shape, it is all of one.
_UNSURE, _LOST = 0.005, 0.05

#: Set in a copy of the process: the kernel's own threads are gone there, and would be waited for.
ALONE = threading.Event()


def _without_threads() -> None:
    """Let no operation of the kernel run on threads in a copy of the process, whoever calls it."""
    ALONE.set()
    for module, names in _PARALLEL.items():
        for name in names:
            if module in sys.modules:  # else it has no threads yet
                getattr(sys.modules[module], name).SetRunParallel = _stays_alone


_PARALLEL = {"OCP.BRepAlgoAPI": ("BRepAlgoAPI_Algo",), "OCP.BOPAlgo": ("BOPAlgo_Options",)}


def _stays_alone(_operation: Any, _parallel: bool) -> None:
    """In place of the kernel's own way of choosing threads; it has none unless asked."""


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_without_threads)


def union(shapes: Sequence[Shape]) -> list[Solid]:
    """The solids that all shapes together make, with faces in one plane made one.

    Raises RepairError where the kernel finds none that has room for each of the shapes.
    """
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    first, *rest = shapes
    if not rest:
        return list(solids_of(first))
    found = _boolean(BRepAlgoAPI_Fuse(), [first], rest)
    if _has_room(found, shapes):
        return found
    # What is lost where all are joined at once is often kept where they are joined one by one.
    largest, *others = sorted(_each(shapes), key=volume, reverse=True)
    found = [largest]
    for other in others:
        found = _boolean(BRepAlgoAPI_Fuse(), found, [other])
    if _has_room(found, shapes):
        return found
    raise RepairError(kernel_failed())


def difference(shapes: Sequence[Shape], tools: Sequence[Shape]) -> list[Solid]:
    """The solids that are left of the shapes where the tools are taken away.

    Raises RepairError where the kernel leaves more than there was, or takes more away than the
    tools hold.
    """
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    found = _boolean(BRepAlgoAPI_Cut(), shapes, tools)
    left, before = sum(map(volume, found)), sum(map(volume, _each(shapes)))
    taken = sum(map(volume, _each(tools)))
    if not before * (1 - _UNSURE) - taken * (1 + _UNSURE) <= left <= before * (1 + _UNSURE):
        raise RepairError(kernel_failed())
    return found


def volume(shape: Shape) -> float:
    """The volume of a shape in mm³, worked out once, wherever it stands."""
    from OCP.BRepGProp import BRepGProp
    from OCP.GProp import GProp_GProps
    from OCP.TopLoc import TopLoc_Location

    unmoved = shape.wrapped.Located(TopLoc_Location())

    def found() -> tuple[TopoDS_Shape, float]:
        holds = GProp_GProps()
        BRepGProp.VolumeProperties_s(unmoved, holds)
        return unmoved, float(holds.Mass())

    return float(_VOLUMES.get(hash(unmoved), found)[1])


def _each(shapes: Sequence[Shape]) -> list[Solid]:
    return [solid for shape in shapes for solid in solids_of(shape)]


def _has_room(made: Sequence[Solid], shapes: Sequence[Shape]) -> bool:
    """Whether no shape is missing in a union: neither its volume nor where it reaches furthest."""
    volumes = [volume(solid) for solid in _each(shapes)]
    total = sum(map(volume, made))
    if not max(volumes) * (1 - _UNSURE) <= total <= sum(volumes) * (1 + _UNSURE):
        return False

    def lost(box: Callable[[list[TopoDS_Shape]], np.ndarray]) -> bool:
        (low, high), (least, most) = (box([one.wrapped for one in of]) for of in (shapes, made))
        return bool(max((least - low).max(), (high - most).max()) > _LOST)

    # Boxes that may be too wide are soon known; where they differ, the true ones tell.
    return not lost(_wide) or not lost(lambda shapes: np.array(extent(shapes)))


def _wide(shapes: list[TopoDS_Shape]) -> np.ndarray:
    boxes = np.array([faces.box_round(shape) for shape in shapes])
    return np.array([boxes[:, 0].min(axis=0), boxes[:, 1].max(axis=0)])


def common(first: Shape, second: Shape) -> Solid:
    """The one solid that two shapes share."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

    (shared,) = _boolean(BRepAlgoAPI_Common(), [first], [second])
    return shared


def solids_of(shape: Shape) -> Iterator[Solid]:
    """Every solid in a shape."""
    from build123d import Solid
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopoDS import TopoDS

    for part in parts_of(shape.wrapped, TopAbs_ShapeEnum.TopAbs_SOLID):
        yield Solid(TopoDS.Solid(part))


def parts_of(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> Iterator[TopoDS_Shape]:
    """Every part of a kernel shape that is of one kind, such as its faces."""
    from OCP.TopExp import TopExp_Explorer

    explorer = TopExp_Explorer(shape, kind)
    while explorer.More():
        yield explorer.Current()
        explorer.Next()


def faces_in(shape: TopoDS_Shape) -> Iterator[TopoDS_Face]:
    """Every face in a kernel shape."""
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopoDS import TopoDS

    for part in parts_of(shape, TopAbs_ShapeEnum.TopAbs_FACE):
        yield TopoDS.Face(part)


def insides(solid: Solid) -> Callable[[Vector], bool]:
    """Whether a point is in a solid or on its surface, for many points of one solid.

    build123d's own ``is_inside`` prepares the solid anew for each point, which takes ten times as long.
    """
    from OCP.BRepClass3d import BRepClass3d_SolidClassifier
    from OCP.TopAbs import TopAbs_State

    judge = BRepClass3d_SolidClassifier(solid.wrapped)

    def inside(point: Vector) -> bool:
        judge.Perform(point.to_pnt(), 1e-6)
        return judge.State() == TopAbs_State.TopAbs_IN or judge.IsOnAFace()

    return inside


def extent(shapes: Sequence[TopoDS_Shape]) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest corner of the box round kernel shapes, in mm."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    for shape in shapes:
        BRepBndLib.AddOptimal_s(shape, box, False, False)
    return np.array(box.CornerMin().Coord()), np.array(box.CornerMax().Coord())


#: What a surface and its box may differ by, in mm. Our choice.
_OUT = 0.01


def reaches_out(made: TopoDS_Shape, before: TopoDS_Shape) -> bool:
    """Whether a shape reaches further than the one it was made of, by more than 0.01 mm."""
    least, most = _BOXES.get(hash(before), lambda: (before, extent([before])))[1]

    def out(low: np.ndarray, high: np.ndarray) -> bool:
        return bool(max((least - low).max(), (high - most).max()) > _OUT)

    # A box round its control points is soon known, and the surface lies within them.
    return out(*faces.box_of(made)) and out(*extent([made]))


def copied(solid: Solid, edges: Sequence[Edge]) -> tuple[Solid, list[Edge]]:
    """A solid and some of its edges again, which share nothing with it.

    A round or a chamfer that does not go can spoil the faces that it was tried on.
    """
    from build123d import Edge, Solid
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
    from OCP.TopoDS import TopoDS

    copy = BRepBuilderAPI_Copy(solid.wrapped, True, False)
    again = [Edge(TopoDS.Edge(copy.ModifiedShape(edge.wrapped))) for edge in edges]
    return Solid(TopoDS.Solid(copy.Shape())), again


def eased(solids: Sequence[Solid], before: Solid) -> Solid | None:
    """The one sound solid that rounds or chamfers came to, or None where they did not go.

    None of them reaches out of what it was made of; where the kernel's does, it is not what was
    asked for.
    """
    if len(solids) != 1 or not sound(solids[0]):
        return None
    return None if reaches_out(solids[0].wrapped, before.wrapped) else solids[0]


def moved(shape: TopoDS_Shape, move: np.ndarray) -> TopoDS_Shape:
    """A kernel shape after a move, given as a (4, 4) matrix without scale."""
    from OCP.gp import gp_Trsf
    from OCP.TopLoc import TopLoc_Location

    trsf = gp_Trsf()
    trsf.SetValues(*move[:3].ravel().tolist())
    return shape.Moved(TopLoc_Location(trsf))


def solid_moved(solid: Solid, move: np.ndarray) -> Solid:
    """A solid after a move; its faces stay shared with the one before."""
    from build123d import Solid
    from OCP.TopoDS import TopoDS

    return Solid(TopoDS.Solid(moved(solid.wrapped, move)))


def unmoved(solid: Solid) -> tuple[Solid, np.ndarray | None]:
    """A solid as it was made, and the (3, 4) move from there to where it stands; None for none."""
    from build123d import Solid
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    move = move_of(solid.wrapped.Location())
    if move is None:
        return solid, None
    return Solid(TopoDS.Solid(solid.wrapped.Located(TopLoc_Location()))), move


def move_of(place: TopLoc_Location) -> np.ndarray | None:
    """The (3, 4) move to a place of the kernel's; None where it moves nothing."""
    if place.IsIdentity():
        return None
    trsf = place.Transformation()
    return np.array([[trsf.Value(i, j) for j in (1, 2, 3, 4)] for i in (1, 2, 3)])


def points_moved(points: np.ndarray, move: np.ndarray | None) -> np.ndarray:
    """Points (n, 3) after a (3, 4) move; None moves nothing."""
    return points if move is None else points @ move[:, :3].T + move[:, 3]


def reflected(solid: Solid, move: np.ndarray) -> Solid:
    """A solid after a (4, 4) move that holds a reflection, whose faces look outwards again."""
    from build123d import Solid
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Transform
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt, gp_Trsf
    from OCP.TopoDS import TopoDS

    mirror = gp_Trsf()
    mirror.SetMirror(gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(1, 0, 0)))
    other = BRepBuilderAPI_Transform(solid.wrapped, mirror, True).Shape()
    return Solid(TopoDS.Solid(moved(other, move @ OTHER_HAND)))


def sound(solid: Solid) -> bool:
    """Whether every face is valid and they close, each edge lying between exactly two."""

    def look() -> tuple[TopoDS_Shape, bool]:
        shape = solid.wrapped
        return shape, shells_close(shape) and not pinches(solid) and _faces_valid(shape)

    return _SOLIDS.get(hash(solid.wrapped), look)[1]


def found_sound(solid: Solid) -> Solid:
    """The solid itself, whose faces are known to be valid and to close, so that nobody looks again."""
    _SOLIDS.get(hash(solid.wrapped), lambda: (solid.wrapped, True))
    return solid


def found_valid(face: TopoDS_Face) -> TopoDS_Face:
    """The face itself, which is known to be valid, so that nobody looks again."""
    from OCP.TopLoc import TopLoc_Location

    unmoved = face.Located(TopLoc_Location())
    _FACES.get(hash(unmoved), lambda: (unmoved, True))
    return face


def faces_by_edge(solid: Solid) -> Any:
    """The kernel's own map from each edge of a solid to the faces that meet there."""
    from OCP.collections import (
        IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher as FacesByEdge,
    )
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp

    by_edge = FacesByEdge()
    TopExp.MapShapesAndAncestors_s(
        solid.wrapped, TopAbs_ShapeEnum.TopAbs_EDGE, TopAbs_ShapeEnum.TopAbs_FACE, by_edge
    )
    return by_edge


def sides_of_edges(solid: Solid) -> Callable[[Edge], list[Face]]:
    """The two faces that meet at an edge, for many edges of one solid; none where not two do."""
    from build123d import Face
    from OCP.TopoDS import TopoDS

    by_edge = faces_by_edge(solid)

    def sides(edge: Edge) -> list[Face]:
        met = [Face(TopoDS.Face(face)) for face in by_edge.FindFromKey(edge.wrapped)]
        return met if len(met) == 2 and not met[0].is_same(met[1]) else []

    return sides


def pinches(solid: Solid) -> list[tuple[float, float, float]]:
    """Middles of the edges at which a solid touches itself or is open, in mm."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.TopAbs import TopAbs_Orientation
    from OCP.TopoDS import TopoDS

    by_edge = faces_by_edge(solid)
    odd = (i for i in range(1, by_edge.Extent() + 1) if by_edge.FindFromIndex(i).Size() != 2)
    found = []
    for edge in (TopoDS.Edge(by_edge.FindKey(i)) for i in odd):
        # The point of a cone is an edge without length, and a cut that only grazes a face
        # leaves a line within it: neither parts anything.
        within = edge.Orientation() == TopAbs_Orientation.TopAbs_INTERNAL
        if not within and not BRep_Tool.Degenerated_s(edge):
            curve = BRepAdaptor_Curve(edge)
            middle = curve.Value((curve.FirstParameter() + curve.LastParameter()) / 2)
            found.append(middle.Coord())
    return found


def _boolean(operation: Any, shapes: Sequence[Shape], tools: Sequence[Shape]) -> list[Solid]:
    def kind() -> Hashable:
        return type(operation).__name__, kinds(shapes), kinds(tools)

    return list(limited(kind, lambda: _carried_out(operation, shapes, tools)))


def kinds(shapes: Sequence[Shape]) -> Hashable:
    """How many faces of each kind each shape has, and about how large it is."""
    return tuple(map(_kind, shapes))


def _kind(shape: Shape) -> Hashable:
    surfaces = [faces.surface_of(face) for face in faces_in(shape.wrapped)]
    size = np.ptp(faces.box_of(shape.wrapped), axis=0)
    return tuple(sorted(Counter(surfaces).items())), about(size.tolist())


def _carried_out(operation: Any, shapes: Sequence[Shape], tools: Sequence[Shape]) -> list[Solid]:
    from build123d import Compound

    operation.SetArguments(_listed(shapes))
    operation.SetTools(_listed(tools))
    operation.SetRunParallel(True)
    operation.SetToFillHistory(False)
    operation.SetCheckInverted(False)
    operation.Build()
    if not operation.IsDone():
        raise RepairError(kernel_failed())
    unified = list(solids_of(Compound(_unified(operation.Shape()))))
    if all(map(sound, unified)):
        return unified
    # Making faces one can go wrong where round faces meet: keep them apart then.
    return list(solids_of(Compound(operation.Shape())))


def _unified(shape: TopoDS_Shape) -> TopoDS_Shape:
    """A kernel shape with faces on one surface made one."""
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    unify = ShapeUpgrade_UnifySameDomain(shape, True, True, True)
    unify.AllowInternalEdges(False)
    unify.Build()
    return unify.Shape()


def unified(solid: Solid) -> Solid:
    """A solid with faces in one plane made one, found once wherever it stands; itself where none are."""
    from build123d import Solid
    from OCP.TopLoc import TopLoc_Location
    from OCP.TopoDS import TopoDS

    place = solid.wrapped.Location()
    unmoved = solid.wrapped.Located(TopLoc_Location())
    made = _UNIFIED.get(hash(unmoved), lambda: (unmoved, _unified(unmoved)))[1]
    return solid if made.IsSame(unmoved) else Solid(TopoDS.Solid(made.Moved(place)))


def parted(parts: Sequence[TopoDS_Shape]) -> list[TopoDS_Shape]:
    """Compounds of faces, each face of one parted where it meets one of another, in their order."""
    from OCP.BOPAlgo import BOPAlgo_Builder
    from OCP.TopoDS import TopoDS_Iterator

    operation = BOPAlgo_Builder()
    for part in parts:
        operation.AddArgument(part)
    operation.SetRunParallel(False)
    operation.SetToFillHistory(False)
    operation.Perform()
    if operation.HasErrors():
        return []
    found, iterator = [], TopoDS_Iterator(operation.Shape())
    while iterator.More():
        found.append(iterator.Value())
        iterator.Next()
    return found


def _listed(shapes: Sequence[Shape]) -> Any:
    from OCP.collections import List_TopoDS_Shape

    listed = List_TopoDS_Shape()
    for shape in shapes:
        listed.Append(shape.wrapped)
    return listed


def shells_close(shape: TopoDS_Shape) -> bool:
    """Whether every shell of a kernel shape is closed, its faces agreeing which side is out."""
    from OCP.BRepCheck import BRepCheck_Shell, BRepCheck_Status
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopoDS import TopoDS

    checks = (
        BRepCheck_Shell(TopoDS.Shell(shell))
        for shell in parts_of(shape, TopAbs_ShapeEnum.TopAbs_SHELL)
    )
    fine = BRepCheck_Status.BRepCheck_NoError
    return all(check.Closed() == fine and check.Orientation() == fine for check in checks)


def _faces_valid(shape: TopoDS_Shape) -> bool:
    return all(map(face_valid, faces_in(shape)))


def face_valid(face: TopoDS_Shape) -> bool:
    """Whether a face is valid by itself, wherever it stands."""
    from OCP.TopLoc import TopLoc_Location

    unmoved = face.Located(TopLoc_Location())
    return bool(_FACES.get(hash(unmoved), partial(_with_verdict, unmoved))[1])


def _with_verdict(face: TopoDS_Shape) -> tuple[TopoDS_Shape, bool]:
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.TopoDS import TopoDS

    holed = TopoDS.Face(face)
    wires = faces.wires_of(holed) if faces.holed(holed) else []
    outer = _outer(wires) if len(wires) > faces.HOLES else None
    if outer is not None:
        # Wires that are apart are each looked at alone, a hole as the piece that fits it: the time
        # for all at once grows with the square of their number.
        alone = (wire if wire is outer else wire.reversed() for wire in wires)
        if all(BRepCheck_Analyzer(faces.within(holed, [wire])).IsValid() for wire in alone):
            return face, True
    return face, BRepCheck_Analyzer(face).IsValid()


def _outer(wires: Sequence[faces.Wire]) -> faces.Wire | None:
    """The longest of the wires; None where boxes round the others meet one another or its edges."""
    if any(not len(wire.spans) for wire in wires):  # of no edge: for the kernel to judge
        return None
    boxes = np.array([wire.box for wire in wires]) + np.array([[-1e-4], [1e-4]])
    longest = int(np.ptp(boxes, axis=1).sum(axis=1).argmax())
    holes, outer = np.delete(boxes, longest, axis=0), wires[longest]
    if not outer.straight.all() or faces.lead_through(outer.spans, holes).any():
        return None
    return outer if all(faces.meet(box, holes).sum() == 1 for box in holes) else None
