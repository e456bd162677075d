"""Views of a solid as a drawing shows them: its edges seen along one direction, visible and hidden."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from workbench.overtaken import leave_if_overtaken
from workbench.solids.geometry import bounded

if TYPE_CHECKING:
    from build123d import Shape

#: Lines nearer than this fall on one another, in mm.
_TOGETHER = 1e-3

#: Ends of pieces of one line agree to so many digits of a millimetre.
_DIGITS = 6

#: Points along a whole turn of a curve, at least, and how far a chord may be from it, in mm.
_PER_TURN, _CHORD = 72, 0.02


@dataclass(frozen=True)
class Direction:
    """Where a view is seen from.

    out : unit vector from the part to the eye
    right, up : unit vectors (3,) that run right and up on the paper
    """

    name: str
    out: tuple[float, float, float]
    right: tuple[float, float, float]

    @cached_property
    def up(self) -> np.ndarray:
        """Unit vector (3,) that runs up on the paper."""
        return np.cross(self.out, self.right)

    @cached_property
    def axes(self) -> np.ndarray:
        """(3, 2): multiply points (n, 3) by it to get paper coordinates (n, 2), in mm."""
        return np.column_stack([self.right, self.up])


FRONT = Direction("front", (0, -1, 0), (1, 0, 0))
TOP = Direction("top", (0, 0, 1), (1, 0, 0))
LEFT = Direction("left", (-1, 0, 0), (0, -1, 0))
RIGHT = Direction("right", (1, 0, 0), (0, 1, 0))

_THIRD, _HALF, _SIXTH = 3**-0.5, 2**-0.5, 6**-0.5
#: Equal foreshortening of all three axes, seen from the front, right and above.
ISOMETRIC = Direction("isometric", (_THIRD, -_THIRD, _THIRD), (_HALF, _HALF, 0))


@dataclass(frozen=True)
class View:
    """A solid seen along a direction.

    visible, hidden : polylines (n, 2) on the paper, in mm at full size
    """

    direction: Direction
    visible: tuple[np.ndarray, ...]
    hidden: tuple[np.ndarray, ...] = ()

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right and top, in mm at full size."""
        points = np.concatenate(self.visible)
        (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
        return float(left), float(bottom), float(right), float(top)


def view(solid: Shape, direction: Direction, hidden: bool = True) -> View:
    """The edges and contours of a solid seen along a direction.

    Edges where surfaces run smoothly into one another are left out. Hidden lines that fall on
    visible ones, or on each other, are shown once.
    """
    leave_if_overtaken()
    return bounded.aside(
        lambda: ("view", direction, hidden, bounded.about(len(solid.faces()))),
        lambda: _view(solid, direction, hidden),
    )


def _view(solid: Shape, direction: Direction, hidden: bool) -> View:
    in_pieces = _mostly_free_form(solid)
    found = (_seen_from_mesh if in_pieces else _seen_exactly)(solid, direction)
    whole = _strung if in_pieces else list
    seen = whole(_polylines(found.VCompound()) + _polylines(found.OutLineVCompound()))
    if not hidden:
        return View(direction, tuple(seen))
    behind = whole(_polylines(found.HCompound()) + _polylines(found.OutLineHCompound()))
    return View(direction, tuple(seen), tuple(_uncovered(behind, seen)))


def _seen_exactly(solid: Shape, direction: Direction) -> Any:
    from OCP.HLRBRep import HLRBRep_Algo, HLRBRep_HLRToShape

    lines = HLRBRep_Algo()
    lines.Add(solid.wrapped)
    lines.Projector(_projector(direction))
    lines.Update()
    lines.Hide()
    return HLRBRep_HLRToShape(lines)


def _seen_from_mesh(solid: Shape, direction: Direction) -> Any:
    """As exactly as a chord: along the axis of a thread, all its helices cover one another, and
    hiding them exactly takes the kernel forty times as long."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_Copy
    from OCP.BRepMesh import BRepMesh_IncrementalMesh
    from OCP.HLRBRep import HLRBRep_PolyAlgo, HLRBRep_PolyHLRToShape

    # A copy, so that the solid keeps the mesh it may have, and gets none as coarse as this.
    copied = BRepBuilderAPI_Copy(solid.wrapped, False, False).Shape()
    BRepMesh_IncrementalMesh(copied, _CHORD, False, 2 * np.pi / _PER_TURN, False)
    lines = HLRBRep_PolyAlgo()
    lines.Load(copied)
    lines.Projector(_projector(direction))
    lines.Update()
    found = HLRBRep_PolyHLRToShape()
    found.Update(lines)
    return found


def _projector(direction: Direction) -> Any:
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt
    from OCP.HLRAlgo import HLRAlgo_Projector

    axes = gp_Ax2(gp_Pnt(0, 0, 0), gp_Dir(*direction.out), gp_Dir(*direction.right))
    return HLRAlgo_Projector(axes)


def _mostly_free_form(solid: Shape) -> bool:
    """Whether most faces are neither flat nor round, as those of a thread."""
    from OCP.BRepAdaptor import BRepAdaptor_Surface
    from OCP.GeomAbs import GeomAbs_SurfaceType

    free = GeomAbs_SurfaceType.GeomAbs_BSplineSurface, GeomAbs_SurfaceType.GeomAbs_BezierSurface
    kinds = [BRepAdaptor_Surface(face.wrapped).GetType() for face in solid.faces()]
    return 2 * sum(kind in free for kind in kinds) > len(kinds)


def _polylines(compound: Any) -> list[np.ndarray]:
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepLib import BRepLib
    from OCP.GeomAbs import GeomAbs_CurveType
    from OCP.TopAbs import TopAbs_ShapeEnum
    from OCP.TopExp import TopExp_Explorer
    from OCP.TopoDS import TopoDS

    if compound is None or compound.IsNull():
        return []
    BRepLib.BuildCurves3d_s(compound)
    lines = []
    edges = TopExp_Explorer(compound, TopAbs_ShapeEnum.TopAbs_EDGE)
    while edges.More():
        curve = BRepAdaptor_Curve(TopoDS.Edge(edges.Current()))
        straight = curve.GetType() == GeomAbs_CurveType.GeomAbs_Line
        first, last = curve.FirstParameter(), curve.LastParameter()
        turn = min(1.0, (last - first) / 6.2832)
        count = 2 if straight else max(8, round(_PER_TURN * turn))
        if curve.GetType() == GeomAbs_CurveType.GeomAbs_Circle:
            flat = 2 * np.arccos(max(0.5, 1 - _CHORD / curve.Circle().Radius()))
            count = max(count, 1 + int(np.ceil((last - first) / flat)))
        places = (first, last) if straight else np.linspace(first, last, count).tolist()
        points = [curve.Value(at) for at in places]
        line = np.array([(p.X(), p.Y()) for p in points])
        if (line.max(axis=0) - line.min(axis=0)).max() > _TOGETHER:
            lines.append(line)
        edges.Next()
    return lines


def _strung(pieces: list[np.ndarray]) -> list[np.ndarray]:
    """Pieces of lines that go on from one to the next as whole lines: a mesh gives an edge in
    hundreds, and every later step counts lines."""
    if not pieces:
        return []
    owner = np.repeat(np.arange(len(pieces)), [len(piece) for piece in pieces])
    points = np.round(np.concatenate(pieces), _DIGITS)
    lines = shapely.multilinestrings(shapely.linestrings(points, indices=owner))
    return [shapely.get_coordinates(line) for line in shapely.get_parts(shapely.line_merge(lines))]


def _uncovered(behind: list[np.ndarray], seen: list[np.ndarray]) -> list[np.ndarray]:
    """Hidden lines less what the visible ones cover, each stretch once."""
    if not behind:
        return []
    visible = shapely.union_all([shapely.LineString(line) for line in seen])
    # Far quicker than stretch by stretch; a coarse round is round enough.
    cover = shapely.line_merge(visible).buffer(_TOGETHER, quad_segs=2)
    once = shapely.union_all(
        [shapely.LineString(line) for line in behind], grid_size=_TOGETHER / 10
    )
    rest = shapely.line_merge(once.difference(cover))
    return [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(rest)
        if part.length > 5 * _TOGETHER
    ]
