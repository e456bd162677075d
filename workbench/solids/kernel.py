"""The geometry kernel, in the few verbs that a repair needs.

Everything here takes and gives build123d solids. Hold :data:`LOCK` around a whole build or
mesh: shapes share faces, and a mesh is kept on them.
"""

from __future__ import annotations

import threading
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from build123d import Shape, Solid
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopoDS import TopoDS_Shape

LOCK = threading.RLock()

#: Faces found valid, so that a change checks only what it made. The shapes are held on to, as
#: the kernel may give a freed face's identity to a new one.
_VALID: OrderedDict[int, TopoDS_Shape] = OrderedDict()
_MOST_VALID = 20_000


def union(shapes: Sequence[Shape]) -> list[Solid]:
    """The solids that all shapes together make, with faces in one plane made one."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Fuse

    first, *rest = shapes
    return _boolean(BRepAlgoAPI_Fuse(), [first], rest) if rest else list(solids_of(first))


def difference(shapes: Sequence[Shape], tools: Sequence[Shape]) -> list[Solid]:
    """The solids that are left of the shapes where the tools are taken away."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut

    return _boolean(BRepAlgoAPI_Cut(), shapes, tools)


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


def extent(shapes: Sequence[TopoDS_Shape]) -> tuple[np.ndarray, np.ndarray]:
    """Lowest and highest corner of the box round kernel shapes, in mm."""
    from OCP.Bnd import Bnd_Box
    from OCP.BRepBndLib import BRepBndLib

    box = Bnd_Box()
    for shape in shapes:
        BRepBndLib.AddOptimal_s(shape, box, False, False)
    return np.array(box.CornerMin().Coord()), np.array(box.CornerMax().Coord())


def sound(solid: Solid) -> bool:
    """Whether every face is valid and every edge lies between exactly two of them."""
    return _edges_paired(solid.wrapped) and _faces_valid(solid.wrapped)


def _boolean(operation: Any, shapes: Sequence[Shape], tools: Sequence[Shape]) -> list[Solid]:
    from build123d import Compound
    from OCP.ShapeUpgrade import ShapeUpgrade_UnifySameDomain

    operation.SetArguments(_listed(shapes))
    operation.SetTools(_listed(tools))
    operation.SetRunParallel(True)
    operation.SetToFillHistory(False)
    operation.SetCheckInverted(False)
    operation.Build()
    if not operation.IsDone():
        raise ArithmeticError("the kernel found no result")
    unify = ShapeUpgrade_UnifySameDomain(operation.Shape(), True, True, True)
    unify.AllowInternalEdges(False)
    unify.Build()
    return list(solids_of(Compound(unify.Shape())))


def _listed(shapes: Sequence[Shape]) -> Any:
    from OCP.collections import List_TopoDS_Shape

    listed = List_TopoDS_Shape()
    for shape in shapes:
        listed.Append(shape.wrapped)
    return listed


def _edges_paired(shape: TopoDS_Shape) -> bool:
    from OCP.BRep import BRep_Tool
    from OCP.collections import (
        IndexedDataMap_TopoDS_Shape_List_TopoDS_Shape_TopTools_ShapeMapHasher as FacesByEdge,
    )
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp
    from OCP.TopoDS import TopoDS

    by_edge = FacesByEdge()
    TopExp.MapShapesAndAncestors_s(
        shape, TopAbs_ShapeEnum.TopAbs_EDGE, TopAbs_ShapeEnum.TopAbs_FACE, by_edge
    )
    return all(
        by_edge.FindFromIndex(i).Size() == 2
        or BRep_Tool.Degenerated_s(TopoDS.Edge(by_edge.FindKey(i)))
        for i in range(1, by_edge.Extent() + 1)
    )


def _faces_valid(shape: TopoDS_Shape) -> bool:
    from OCP.BRepCheck import BRepCheck_Analyzer
    from OCP.TopAbs import TopAbs_ShapeEnum

    for face in parts_of(shape, TopAbs_ShapeEnum.TopAbs_FACE):
        known = _VALID.get(hash(face))
        if known is not None and known.IsSame(face):
            continue
        if not BRepCheck_Analyzer(face).IsValid():
            return False
        _VALID[hash(face)] = face
    while len(_VALID) > _MOST_VALID:
        _VALID.popitem(last=False)
    return True
