"""Flat parts of one thickness are joined on paper first: their outlines make one outline.

Pieces of a sketch lie side by side in one sheet. Joining their outlines takes a fraction of the
time of joining solids, and leaves the kernel one solid to join to the rest.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import shapely

from workbench.solids.building.seating import cross
from workbench.solids.geometry import kernel
from workbench.solids.geometry.kernel import faces_in
from workbench.solids.shapes.profile import Profile, prism

if TYPE_CHECKING:
    from build123d import Shape, Solid
    from OCP.TopoDS import TopoDS_Face

#: Corners are brought to this grid, in mm, where outlines meet: far below what the kernel
#: takes for one point, and far above what a turn of a part adds.
GRID = 1e-9

#: Gaps narrower than twice this, in mm, are rounding.
CRACK = 5 * GRID

#: Outlines that hang together by less than this, in mm, touch: the kernel judges what they make.
TOUCH = 1e-3

#: A corner nearer than this to the line between its neighbours, in mm, is no corner.
STRAIGHT = 1e-7


@dataclass(frozen=True, eq=False)
class Sheet:
    """A flat part with straight sides, in place.

    corners : (n, 3) of one of its two flat sides, in order, in mm
    through : (3,) from that side to the other, in mm
    """

    corners: np.ndarray
    through: np.ndarray

    @classmethod
    def of(cls, shape: Shape) -> Sheet | None:
        """The shape as a sheet whose thickness runs along y, z or x; None if it is no sheet."""
        return _read(shape)

    def moved(self, matrix: np.ndarray) -> Sheet:
        """The sheet after a move, given as a (4, 4) matrix."""
        turn, shift = matrix[:3, :3], matrix[:3, 3]
        return Sheet(self.corners @ turn.T + shift, self.through @ turn.T)

    @cached_property
    def axes(self) -> np.ndarray:
        """(3, 3) rows: two directions in the sheet, then the one through it."""
        out = self.through / math.sqrt(self.through @ self.through)
        # The same way round for sheets that face opposite ways.
        out = out * np.sign(out[np.abs(out).argmax()])
        level = cross(out, np.eye(3)[np.abs(out).argmin()])
        level /= math.sqrt(level @ level)
        return np.array([level, cross(out, level), out])

    @cached_property
    def levels(self) -> tuple[float, float]:
        """Where its two flat sides lie along the direction through it, in mm."""
        near = float(self.corners[0] @ self.axes[2])
        far = near + float(self.through @ self.axes[2])
        return min(near, far), max(near, far)

    @cached_property
    def layer(self) -> Hashable:
        """Sheets of one layer lie between the same two planes."""
        low, high = self.levels
        return (*(np.round(self.axes[2], 9) + 0.0).tolist(), round(low, 7), round(high, 7))


def joined(sheets: Sequence[Sheet]) -> list[Solid] | None:
    """The solids that sheets of one layer make.

    None where there is nothing to gain, as no two meet, or the kernel must judge, as their
    outlines close a ring at a point only.
    """
    axes, (low, high) = sheets[0].axes, sheets[0].levels
    outlines = [shapely.Polygon(sheet.corners @ axes[:2].T) for sheet in sheets]
    region = united(outlines)
    patches = shapely.get_parts(region)
    if len(patches) == len(sheets) or _pinched(region):
        return None
    place = np.eye(4)
    place[:3] = np.column_stack([*axes, axes[2] * low])
    return [
        kernel.solid_moved(
            prism(
                _profile(patch.exterior),
                high - low,
                "z",
                [_profile(hole) for hole in patch.interiors],
            ),
            place,
        )
        for patch in patches
    ]


def united(outlines: Sequence[shapely.Polygon]) -> shapely.Geometry:
    """The union of outlines in one plane, cracks of rounding closed.

    Where a corner lies on a neighbour's side, both are brought to the grid apart, and a crack
    a fraction of the grid wide may stay between them.
    """
    region = shapely.union_all(outlines, grid_size=GRID)
    wider = region.buffer(CRACK, join_style="mitre", mitre_limit=50)
    return wider.buffer(-CRACK, join_style="mitre", mitre_limit=50)


def _pinched(region: shapely.Geometry) -> bool:
    """Whether some of it hangs together by a touch, or a hole is that near to the border."""
    narrower = region.buffer(-TOUCH / 2, join_style="mitre")
    return _pieces_and_holes(narrower) != _pieces_and_holes(region)


def _pieces_and_holes(region: shapely.Geometry) -> tuple[int, int]:
    patches = shapely.get_parts(region)
    return len(patches), int(shapely.get_num_interior_rings(patches).sum())


def _profile(ring: shapely.LinearRing) -> Profile:
    """The ring's corners, without those on a straight line."""
    points = np.asarray(ring.simplify(STRAIGHT).coords)[:-1]
    while True:
        before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
        chord = after - before
        gap = np.abs(chord[:, 0] * (points - before)[:, 1] - chord[:, 1] * (points - before)[:, 0])
        straight = gap <= STRAIGHT * np.maximum(np.hypot(*chord.T), STRAIGHT)
        if not straight.any():
            return [(float(x), float(y)) for x, y in points]
        # One at a time: dropping a corner moves the chord of the next.
        points = np.delete(points, int(straight.argmax()), axis=0)


def _read(shape: Shape) -> Sheet | None:
    sides = []
    for face in faces_in(shape.wrapped):
        side = _side(face)
        if side is None:
            return None
        sides.append(side)
    normals = np.array([normal for normal, _corners in sides])
    for axis in (1, 2, 0):
        along = np.abs(normals[:, axis])
        caps = np.flatnonzero(along > 1 - 1e-12)
        if len(caps) != 2 or (np.delete(along, caps) > 1e-12).any():
            continue
        near, far = (sides[cap][1] for cap in caps)
        if len(near) == len(far) == len(sides) - 2:
            through = np.zeros(3)
            through[axis] = far[0, axis] - near[0, axis]
            return Sheet(near, through)
    return None


def _side(face: TopoDS_Face) -> tuple[np.ndarray, np.ndarray] | None:
    """Normal and corners of a plane face without holes and with straight sides; else None."""
    from OCP.BRep import BRep_Tool
    from OCP.BRepAdaptor import BRepAdaptor_Curve, BRepAdaptor_Surface
    from OCP.BRepTools import BRepTools, BRepTools_WireExplorer
    from OCP.GeomAbs import GeomAbs_CurveType, GeomAbs_SurfaceType

    surface = BRepAdaptor_Surface(face, False)
    if surface.GetType() != GeomAbs_SurfaceType.GeomAbs_Plane or face.NbChildren() != 1:
        return None
    corners = []
    explorer = BRepTools_WireExplorer(BRepTools.OuterWire_s(face))
    while explorer.More():
        if BRepAdaptor_Curve(explorer.Current()).GetType() != GeomAbs_CurveType.GeomAbs_Line:
            return None
        corners.append(BRep_Tool.Pnt_s(explorer.CurrentVertex()).Coord())
        explorer.Next()
    return np.array(surface.Plane().Axis().Direction().Coord()), np.array(corners)
