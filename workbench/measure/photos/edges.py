"""A traced border becomes straight edges and arcs, with how far each can be trusted."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
import shapely

from workbench.errors import RepairError
from workbench.words import _

#: A border further than this from a straight line or an arc, in mm, turns there.
TURN = 0.22

#: Shortest edge that is taken for one, in mm; a shorter one is a rounded or broken corner.
SHORTEST = 1.5


@dataclass(frozen=True)
class Grain:
    """How fine a border is.

    shift : standard uncertainty of the border as a whole across itself, in mm
    along : distance along the border over which its noise hangs together, in mm
    spread : standard deviation of the edge's blur, in mm
    """

    shift: float
    along: float
    spread: float

    @property
    def turn(self) -> float:
        """Distance from a line, in mm, at which the border turns."""
        return max(TURN, 0.8 * self.spread)

    @property
    def roundness(self) -> float:
        """How far a true arc's border strays from a circle, root mean square, in mm."""
        return max(0.03, 0.1 * self.spread)

    @property
    def shortest(self) -> float:
        """Shortest edge, in mm."""
        return max(SHORTEST, 6 * self.spread)


@dataclass(frozen=True, eq=False)
class Line:
    """A straight edge: a point (2,) on it, its angle in radians, and their covariance.

    ``covariance`` is (2, 2) for the shift across the line, in mm, and the angle, in radians.
    ``top`` is how much of what was seen is the limit of the part's top, and not its silhouette.
    """

    middle: np.ndarray
    angle: float
    covariance: np.ndarray
    rms: float
    top: float = 0.0

    @property
    def along(self) -> np.ndarray:
        """(2,) unit vector along the edge."""
        return np.array([math.cos(self.angle), math.sin(self.angle)])


@dataclass(frozen=True, eq=False)
class Arc:
    """A round edge: centre (2,) and radius in mm, the two ends of the border it was fitted to.

    ``covariance`` is (3, 3) for centre x, centre y and radius, in mm.
    """

    centre: np.ndarray
    radius: float
    start: np.ndarray
    end: np.ndarray
    sweep: float
    covariance: np.ndarray
    rms: float


Edge = Line | Arc


def edges_of(points: np.ndarray, grain: Grain) -> list[Edge]:
    """Straight edges and arcs of a closed border, in order, counter-clockwise.

    Parameters
    ----------
    points : (n, 2) border in mm, in order
    grain : how fine it is
    """
    ring = _started_at_a_corner(points)
    whole = _fit_arc(ring, grain, closed=True)
    if whole.rms < 0.5 * grain.turn and whole.radius > 0.5:
        return [whole]
    turns = _turning_points(ring, grain.turn)
    runs = [(a, b) for a, b in zip(turns, [*turns[1:], len(ring)], strict=True)]
    found: list[Edge] = []
    i = 0
    runs = _rotated_off_arcs(ring, runs)
    while i < len(runs):
        stop = _arc_stop(ring, runs, i, grain)
        if stop > i + 2:
            found.append(_fit_arc(_between(ring, runs[i][0], runs[stop - 1][1]), grain))
            i = stop
            continue
        piece = _between(ring, *runs[i])
        if np.hypot(*(piece[-1] - piece[0])) >= grain.shortest:
            found.append(_fit_line(piece, grain))
        i += 1
    return _merged(found, grain)


def corners_of(edges: list[Edge]) -> np.ndarray:
    """(n, 2) where each edge meets the next, in mm; edge k runs from corner k-1 to corner k."""
    return np.array([_joint(a, b) for a, b in zip(edges, [*edges[1:], edges[0]], strict=True)])


def lengths_with_uncertainty(edges: list[Edge]) -> tuple[np.ndarray, np.ndarray]:
    """(n,) length of each edge between its corners and (n,) its standard uncertainty, in mm."""
    base = lengths_of(edges)
    variance = np.zeros(len(edges))
    for k, edge in enumerate(edges):
        roots = np.linalg.cholesky(edge.covariance + 1e-18 * np.eye(len(edge.covariance)))
        for column in roots.T:
            moved = list(edges)
            moved[k] = _nudged(edge, column)
            variance += (lengths_of(moved) - base) ** 2
    return base, np.sqrt(variance)


def _started_at_a_corner(points: np.ndarray) -> np.ndarray:
    x, y = (points - points[0]).T
    if (x * np.roll(y, -1) - y * np.roll(x, -1)).sum() < 0:
        points = points[::-1]
    far = int(np.hypot(*(points - points.mean(axis=0)).T).argmax())
    return np.roll(points, -far, axis=0)


def _turning_points(ring: np.ndarray, turn: float) -> list[int]:
    """Indices into the ring at which a polygon within ``turn`` mm of it has its corners."""
    line = shapely.LineString(np.vstack([ring, ring[:1]]))
    kept = np.asarray(line.simplify(turn, preserve_topology=False).coords)[:-1]
    index = {tuple(p): i for i, p in reversed(list(enumerate(ring)))}
    return sorted(index[tuple(p)] for p in kept)


def _rotated_off_arcs(ring: np.ndarray, runs: list[tuple[int, int]]) -> list[tuple[int, int]]:
    """The runs, begun after the longest straight one, so that no arc is cut by the start."""
    lengths = [np.hypot(*(_at(ring, b) - _at(ring, a))) for a, b in runs]
    longest = int(np.argmax(lengths))
    return runs[longest:] + runs[:longest]


def _at(ring: np.ndarray, i: int) -> np.ndarray:
    return ring[i % len(ring)]


def _between(ring: np.ndarray, a: int, b: int) -> np.ndarray:
    if b <= a:
        b += len(ring)
    return ring[np.arange(a, b + 1) % len(ring)]


def _arc_stop(ring: np.ndarray, runs: list[tuple[int, int]], i: int, grain: Grain) -> int:
    """How far an arc that starts with run i goes on, as the index after its last run."""
    best = i + 1
    for stop in range(i + 3, len(runs) + 1):
        piece = _between(ring, runs[i][0], runs[stop - 1][1])
        chords = [np.hypot(*(_at(ring, b) - _at(ring, a))) for a, b in runs[i:stop]]
        arc = _fit_arc(_trimmed(piece, 2.5 * grain.spread), grain)
        if arc.rms > grain.roundness or arc.radius < 0.8:
            break
        if max(chords) > 3.2 * math.sqrt(2 * grain.turn * arc.radius):
            break
        # Of a large arc, the first few runs turn through little: it may go on.
        if abs(arc.sweep) >= math.radians(30):
            best = stop
    return best


def _trimmed(piece: np.ndarray, skip: float) -> np.ndarray:
    """The border without ``skip`` mm at each end, where the blur rounds the corners."""
    steps = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(piece, axis=0).T))])
    inner = piece[(steps > skip) & (steps < steps[-1] - skip)]
    return inner if len(inner) >= 8 else piece


def _fit_line(piece: np.ndarray, grain: Grain) -> Line:
    length = float(np.hypot(*(piece[-1] - piece[0])))
    skip = min(max(0.9, 2.5 * grain.spread), 0.22 * length)
    direction = (piece[-1] - piece[0]) / length
    along = (piece - piece[0]) @ direction
    keep = piece[(along > skip) & (along < length - skip)]
    keep = keep if len(keep) >= 4 else piece
    used = keep
    for _round in range(4):
        middle = used.mean(axis=0)
        direction = np.linalg.svd(used - middle, full_matrices=False)[2][0]
        off = (keep - middle) @ np.array([-direction[1], direction[0]])
        limit = max(0.02, 3 * 1.4826 * float(np.median(np.abs(off))))
        used = keep[np.abs(off) <= limit]
    if direction @ (piece[-1] - piece[0]) < 0:
        direction = -direction
    off = (used - middle) @ np.array([-direction[1], direction[0]])
    rms = float(np.sqrt((off**2).mean()))
    reach = (used - middle) @ direction
    free = max(2.0, np.ptp(reach) / grain.along)
    angle_var = rms**2 / free / max(float((reach**2).mean()), 1e-9)
    covariance = np.diag([rms**2 / free + grain.shift**2, angle_var])
    return Line(middle, math.atan2(direction[1], direction[0]), covariance, rms)


def _fit_arc(piece: np.ndarray, grain: Grain, closed: bool = False) -> Arc:
    middle = piece.mean(axis=0)
    x, y = (piece - middle).T
    system = np.column_stack([x, y, np.ones(len(x))])
    solved, *_rest = np.linalg.lstsq(system, x**2 + y**2, rcond=None)
    centre = solved[:2] / 2
    radius = math.sqrt(max(solved[2] + centre @ centre, 1e-12))
    for _round in range(8):  # geometric distances, Gauss-Newton
        gap = np.column_stack([x, y]) - centre
        reach = np.maximum(np.hypot(*gap.T), 1e-9)
        slope = np.column_stack([-gap / reach[:, None], -np.ones(len(x))])
        step, *_rest = np.linalg.lstsq(slope, -(reach - radius), rcond=None)
        centre, radius = centre + step[:2], radius + step[2]
        if not np.isfinite(radius) or radius <= 0 or radius > 1e5:
            break
    gap = np.column_stack([x, y]) - centre
    off = np.hypot(*gap.T) - radius
    rms = float(np.sqrt((off**2).mean())) if math.isfinite(radius) and radius > 0 else math.inf
    turn = np.unwrap(np.arctan2(gap[:, 1], gap[:, 0]))
    sweep = 2 * math.pi if closed else float(turn[-1] - turn[0])
    length = abs(sweep) * abs(radius)
    free = max(3.0, length / grain.along) / len(x)
    covariance = np.linalg.pinv(slope.T @ slope) * rms**2 / free if rms < math.inf else np.eye(3)
    covariance = covariance + np.diag([0.0, 0.0, grain.shift**2])
    return Arc(centre + middle, float(radius), piece[0], piece[-1], sweep, covariance, rms)


def _merged(edges: list[Edge], grain: Grain) -> list[Edge]:
    """Neighbouring lines that are one line become one."""
    kept: list[Edge] = []
    for edge in edges:
        before = kept[-1] if kept else None
        if isinstance(edge, Line) and isinstance(before, Line) and _same(before, edge, grain.turn):
            kept[-1] = before if before.covariance[1, 1] < edge.covariance[1, 1] else edge
        else:
            kept.append(edge)
    first, last = kept[0], kept[-1]
    if (
        len(kept) > 3
        and isinstance(first, Line)
        and isinstance(last, Line)
        and _same(last, first, grain.turn)
    ):
        kept.pop(0 if first.covariance[1, 1] > last.covariance[1, 1] else -1)
    kept = _without_stubs(kept, grain)
    if len(kept) < 2:
        raise RepairError(_("the traced border has no clear shape; take the photo again, in focus"))
    return kept


def _without_stubs(edges: list[Edge], grain: Grain) -> list[Edge]:
    """The edges without those that are too short once their neighbours are drawn through."""
    while len(edges) > 3:
        lengths = lengths_of(edges)
        stubs = [
            k for k, e in enumerate(edges) if isinstance(e, Line) and lengths[k] < grain.shortest
        ]
        if not stubs:
            break
        edges = [e for k, e in enumerate(edges) if k != min(stubs, key=lambda k: lengths[k])]
    return edges


def _same(a: Line, b: Line, turn_at: float) -> bool:
    """Whether two lines are one: the shorter lies on the longer, give or take ``turn_at``."""
    turn = (b.angle - a.angle + math.pi) % (2 * math.pi) - math.pi
    long, short = (a, b) if a.covariance[1, 1] < b.covariance[1, 1] else (b, a)
    normal = np.array([-long.along[1], long.along[0]])
    return abs(turn) < math.radians(12) and abs((short.middle - long.middle) @ normal) < turn_at


def _joint(a: Edge, b: Edge) -> np.ndarray:
    if isinstance(a, Line) and isinstance(b, Line):
        system = np.column_stack([a.along, -b.along])
        if abs(np.linalg.det(system)) < 0.02:
            return (a.middle + b.middle) / 2
        distance = np.linalg.solve(system, b.middle - a.middle)
        return a.middle + distance[0] * a.along
    if isinstance(a, Line) and isinstance(b, Arc):
        return _line_meets_arc(a, b, b.start)
    if isinstance(a, Arc) and isinstance(b, Line):
        return _line_meets_arc(b, a, a.end)
    assert isinstance(a, Arc) and isinstance(b, Arc)
    return (a.end + b.start) / 2


def _line_meets_arc(line: Line, arc: Arc, near: np.ndarray) -> np.ndarray:
    foot = line.middle + ((arc.centre - line.middle) @ line.along) * line.along
    gap = arc.radius**2 - float(((arc.centre - foot) ** 2).sum())
    if gap <= 0:
        return foot
    options = [foot + s * math.sqrt(gap) * line.along for s in (-1, 1)]
    best = min(options, key=lambda p: float(np.hypot(*(p - near))))
    # Nearly tangent, the crossing wanders; the foot of the perpendicular does not.
    return foot if math.sqrt(gap) < 0.15 * arc.radius else best


def lengths_of(edges: list[Edge]) -> np.ndarray:
    if len(edges) == 1:
        assert isinstance(edges[0], Arc)
        return np.array([2 * math.pi * edges[0].radius])
    corners = corners_of(edges)
    starts = np.roll(corners, 1, axis=0)
    return np.array(
        [
            float(np.hypot(*(b - a))) if isinstance(edge, Line) else arc_length(edge, a, b)
            for edge, a, b in zip(edges, starts, corners, strict=True)
        ]
    )


def arc_length(arc: Arc, a: np.ndarray, b: np.ndarray) -> float:
    """Length of an arc from a to b (2,), the way round that it was traced, in mm."""
    return abs(arc_sweep(arc, a, b)) * arc.radius


def arc_sweep(arc: Arc, a: np.ndarray, b: np.ndarray) -> float:
    """Angle in radians from a to b about the arc's centre, the way round that it was traced."""
    turn = math.atan2(*(b - arc.centre)[::-1]) - math.atan2(*(a - arc.centre)[::-1])
    around = 2 * math.pi
    return turn % around if arc.sweep > 0 else turn % around - around


def further_out(edge: Edge, by: float) -> Edge:
    """An edge of an outline that runs counter-clockwise, moved out of it by so many mm."""
    if isinstance(edge, Line):
        return replace(edge, middle=edge.middle + by * np.array([edge.along[1], -edge.along[0]]))
    return replace(edge, radius=max(edge.radius + math.copysign(by, edge.sweep), 0.1))


def _nudged(edge: Edge, step: np.ndarray) -> Edge:
    if isinstance(edge, Line):
        normal = np.array([-edge.along[1], edge.along[0]])
        return replace(edge, middle=edge.middle + step[0] * normal, angle=edge.angle + step[1])
    return Arc(
        edge.centre + step[:2],
        edge.radius + step[2],
        edge.start,
        edge.end,
        edge.sweep,
        edge.covariance,
        edge.rms,
    )
