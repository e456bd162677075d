"""A part laid over what it replaces: where the two outlines differ, and by how much at most."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely

from workbench import gate
from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline
from workbench.measure.photos.trace_result import Traced
from workbench.words import _, number, sizes

#: Turns that are tried to lay one outline over the other, before the best is refined.
_TURNS = 24


@dataclass(frozen=True, eq=False)
class Difference:
    """What differs between an outline and what was.

    laid : what was, as a polygon in mm, laid over the outline
    missing, extra : areas in mm² that only what was has, and that only the outline has
    gap : largest distance in mm from the border of one to that of the other
    where : (2,) place on the outline's border, or on that of what was, where that is
    turn, shift : by which what was had to be moved: degrees, and (2,) in mm
    """

    laid: shapely.Polygon
    missing: float
    extra: float
    gap: float
    where: np.ndarray
    turn: float
    shift: np.ndarray

    def __str__(self) -> str:
        return _(
            "{missing} mm² is missing and {extra} mm² is too much; at most {gap} mm apart, around ({place}) mm"
        ).format(
            missing=number(self.missing, 1),
            extra=number(self.extra, 1),
            gap=number(self.gap),
            place=sizes(self.where, 1),
        )


@gate.asked
def compare(outline: Outline, was: Outline | Traced, lay: bool = True) -> Difference:
    """Lay what was over an outline, and tell where they differ.

    outline : as it is to be made
    was : another outline, or what a scan or a photo of the broken part was traced to
    lay : whether what was may be shifted and turned until it covers most; as it is otherwise

    Raises RepairError when one of them is no outline.
    """
    other = was.outline if isinstance(was, Traced) else was
    for given in (outline, other):
        if not isinstance(given, Outline):
            raise RepairError(
                _("compare takes outlines or a trace, not {given!r}; give one of them").format(
                    given=given
                )
            )
    gate.needed(lay, bool, "lay", "True")
    mine, theirs = outline.polygon, other.polygon
    turn, x, y = _laid(mine, theirs) if lay else (0.0, 0.0, 0.0)
    laid = _moved(theirs, turn, x, y)
    gap, where = max((_furthest(mine, laid), _furthest(laid, mine)), key=lambda found: found[0])
    return Difference(
        laid,
        float(laid.difference(mine).area),
        float(mine.difference(laid).area),
        gap,
        where,
        (math.degrees(turn) + 180) % 360 - 180,
        np.array([x, y]),
    )


def _laid(mine: shapely.Polygon, theirs: shapely.Polygon) -> tuple[float, float, float]:
    """The turn in radians and the shift in mm that leave least area uncovered."""
    from scipy.optimize import minimize

    goal, own = np.array(mine.centroid.coords[0]), np.array(theirs.centroid.coords[0])

    def off(move: np.ndarray) -> float:
        return float(_moved(theirs, *move).symmetric_difference(mine).area)

    starts = []
    for k in range(_TURNS):
        turn = math.tau * k / _TURNS
        c, s = math.cos(turn), math.sin(turn)
        shift = goal - np.array([c * own[0] - s * own[1], s * own[0] + c * own[1]])
        starts.append(np.array([turn, *shift]))
    starts.sort(key=off)
    reach = math.sqrt(mine.area)
    found = []
    for start in starts[:3]:
        simplex = start + np.vstack([np.zeros(3), np.diag([0.1, 0.05 * reach, 0.05 * reach])])
        options = {"initial_simplex": simplex, "xatol": 1e-6, "fatol": 1e-7, "maxiter": 600}
        found.append(minimize(off, start, method="Nelder-Mead", options=options))
    best = min(found, key=lambda one: one.fun).x
    return float(best[0]), float(best[1]), float(best[2])


def _moved(polygon: shapely.Polygon, turn: float, x: float, y: float) -> shapely.Polygon:
    c, s = math.cos(turn), math.sin(turn)
    move = np.array([[c, s], [-s, c]])
    return shapely.transform(polygon, lambda points: points @ move + (x, y))


def _furthest(one: shapely.Polygon, other: shapely.Polygon) -> tuple[float, np.ndarray]:
    """The point on one border that is furthest from the other border, and how far."""
    dense = shapely.segmentize(one.exterior, max(0.1, one.length / 2000))
    points = shapely.get_coordinates(dense)
    apart = shapely.distance(shapely.points(points), other.exterior)
    worst = int(apart.argmax())
    return float(apart[worst]), points[worst]
