"""Does a part fit wholly into the small-parts cylinder of 16 CFR 1501.4, in any orientation?

The cylinder is 1.25 in across and stands upright, open at the top. Its floor slants from 1.00 in
to 2.25 in deep, which is 45 degrees. A part for children under three must not fit into it wholly,
uncompressed::

          |<- 1.25 in ->|
          |             |  --------
          |             |   1.00 in
          | .           |  --
          |   ' .       |   |
          |       ' .   |   2.25 in
          |___________' |  --

The inside is convex, so a part fits if its convex hull does. For one orientation the best place
is found exactly: the part hangs level with the rim, and its outline seen from above has to lie in
the circle, as far to the deep side as the floor asks. Over orientations the search starts from
an even spread, betters the best by nudges and descends from the best of those. Like any search it
could miss a fit; random bodies cut to touch the inside all round are found every time
(tests/outside/test_small_parts.py). A part that sticks out by no more than :data:`DOUBT` is said
to fit, so that rounding falls on the careful side.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from workbench.checks.orientation.candidates import hull
from workbench.measure.reading import MM_PER_INCH
from workbench.overtaken import leave_if_overtaken

#: Inches govern.
DIAMETER = 1.25 * MM_PER_INCH
SHALLOW = 1.00 * MM_PER_INCH
DEEP = 2.25 * MM_PER_INCH
RADIUS = DIAMETER / 2
CHORD = float(np.hypot(DIAMETER, DEEP))

SOURCE = (
    "16 CFR 1501.4: cylinder 1.25 in across, 1.00 to 2.25 in deep (rule seen, sizes from a copy)"
)

#: A part that sticks out by no more than this, in mm, counts as fitting. Our choice.
DOUBT = 0.02

#: Orientations that the search looks at first, and corners of the part that they are tried with.
#: Our choice.
_SPREAD, _CORNERS = 2000, 40

#: How many of the best are bettered, and how far they are apart at least, in degrees. Our choice.
_BETTERED, _APART = 16, 25.0

#: Each is nudged so many times by up to so many radians, round after round. Our choice.
_NUDGES, _ROUNDS = 24, (0.2, 0.1, 0.05, 0.025)

#: How many are then followed down, how far they are apart, and down to what step in radians:
#: roughly for all, finely for the best. Our choice.
_FOLLOWED, _FAR_APART, _ROUGH, _FINE = 3, 15.0, 0.03, 1e-3

#: Most limits in one linear programme, and smallest gain in mm that is worth another one.
#: Our choice.
_ROWS, _GAIN = 120, 1e-4


@dataclass(frozen=True)
class Fitting:
    """How a part goes into the cylinder in the best orientation found.

    protrusion : how far it sticks out of the cylinder at least, in mm, measured square to the
        wall, floor or rim; below 0 it is how much room is left
    turn : (3, 3) rotation that was found; shift : (3,) then added, in mm, with the rim at z = 0,
        the axis at x = y = 0 and the deep side at +x
    """

    protrusion: float
    turn: np.ndarray
    shift: np.ndarray

    @property
    def fits(self) -> bool:
        """Whether the part counts as a small part."""
        return self.protrusion <= DOUBT


def small_parts(vertices: np.ndarray) -> Fitting:
    """Try a part in the small-parts cylinder.

    vertices : (n, 3) of the part's surface, in mm
    """
    return _searched(hull(vertices)[0].tobytes())


def too_long(vertices: np.ndarray) -> bool:
    """Whether two of the points (n, 3) are farther apart than any that the cylinder holds."""
    far = vertices[0]
    for _sweep in range(3):
        distance = np.linalg.norm(vertices - far, axis=1)
        far = vertices[distance.argmax()]
    return bool(distance.max() > CHORD + 2 * DOUBT)


@lru_cache(maxsize=32)
def _searched(packed: bytes) -> Fitting:
    """The search, kept by the corners of the hull: check, export and sheet ask it in turn."""
    outside = np.frombuffer(packed).reshape(-1, 3)
    middle = (outside.min(axis=0) + outside.max(axis=0)) / 2
    points = outside - middle
    corners = points[_outermost(points, _CORNERS)]
    turns, excess, shifts = _bettered(corners)
    best = excess.argmin()
    if (loose := _lowered(points, turns[best], shifts[best])).protrusion < 0:
        return Fitting(loose.protrusion, loose.turn, loose.shift - loose.turn @ middle)
    # A part that is too long cannot fit: one descent shows by how much.
    followed = 1 if too_long(points) else _FOLLOWED
    found: Fitting | None = None
    for start in _best_apart(turns, excess, followed, _FAR_APART):
        tried = _descend(points, turns[start], shifts[start], _ROUGH)
        if found is None or tried.protrusion < found.protrusion:
            found = tried
        if found.protrusion < 0:
            break
    assert found is not None
    found = _descend(points, found.turn, found.shift, _FINE)
    return Fitting(found.protrusion, found.turn, found.shift - found.turn @ middle)


def _lowered(points: np.ndarray, turn: np.ndarray, shift: np.ndarray) -> Fitting:
    """A part that hangs level with the rim, let down by half the room that it has."""
    room = -float(_outside(points @ turn.T + shift)[:2].max())
    lower = shift - [0.0, 0.0, max(room, 0.0) / 2]
    return Fitting(protrusion(points @ turn.T + lower), turn, lower)


def protrusion(points: np.ndarray) -> float:
    """How far points (n, 3), placed in the cylinder's own axes, stick out of it, in mm."""
    return float(_outside(points).max())


def spread(count: int) -> np.ndarray:
    """(count, 3, 3) rotations spread evenly, the same ones each time.

    Super-Fibonacci spirals after Alexa, 2022 (from memory).
    """
    phi, psi = np.sqrt(2.0), 1.533751168755204288118041
    s = np.arange(count) + 0.5
    r, big = np.sqrt(s / count), np.sqrt(1 - s / count)
    a, b = 2 * np.pi * s / phi, 2 * np.pi * s / psi
    return _matrices(np.stack([r * np.sin(a), r * np.cos(a), big * np.sin(b), big * np.cos(b)], 1))


def _matrices(quaternions: np.ndarray) -> np.ndarray:
    x, y, z, w = quaternions.T
    rows = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ]
    return np.moveaxis(np.array(rows), 2, 0)


def _turned(by: np.ndarray) -> np.ndarray:
    """(n, 3, 3) rotations by vectors (n, 3) along their axes, as long as their angles in radians."""
    angles = np.linalg.norm(by, axis=1, keepdims=True)
    # sin(a/2)/a, which is sinc(a/2π)/2 and has no gap at 0
    return _matrices(np.hstack([by * np.sinc(angles / (2 * np.pi)) / 2, np.cos(angles / 2)]))


def _outermost(points: np.ndarray, count: int) -> np.ndarray:
    """Indices of the points that lie outermost in ``count`` even directions."""
    directions = spread(count)[:, :, 2]
    return np.flatnonzero(np.bincount(np.argmax(directions @ points.T, axis=1)))


def _bettered(corners: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Good orientations, how far the part is outside in each, and its shifts.

    The best of an even spread, well apart, each bettered by small nudges.
    """
    turns = spread(_SPREAD)
    excess, shifts = _drop_in(turns, corners)
    turns = turns[_best_apart(turns, excess, _BETTERED, _APART)]
    axes = spread(_NUDGES)[:, :, 2] * np.linspace(0.3, 1, _NUDGES)[:, None]
    for size in _ROUNDS:
        nudges = np.concatenate([np.eye(3)[None], _turned(axes * size)])
        tried = np.einsum("kij,njl->nkil", nudges, turns)
        excess, shifts = _drop_in(tried.reshape(-1, 3, 3), corners)
        excess = excess.reshape(len(turns), -1)
        row, best = np.arange(len(turns)), excess.argmin(axis=1)
        turns, excess = tried[row, best], excess[row, best]
        shifts = shifts.reshape(len(turns), -1, 3)[row, best]
    return turns, excess, shifts


def _best_apart(turns: np.ndarray, excess: np.ndarray, count: int, apart: float) -> list[int]:
    """Indices of the orientations with least excess that are so many degrees apart."""
    left = np.argsort(excess)
    chosen: list[int] = []
    while len(left) and len(chosen) < count:
        chosen.append(int(left[0]))
        trace = np.einsum("nij,ij->n", turns[left], turns[left[0]])
        left = left[trace < 1 + 2 * np.cos(np.radians(apart))]
    return chosen


def _drop_in(turns: np.ndarray, points: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """For each orientation, hang the part level with the rim and centre it as well as it goes.

    Returns how far its outline is outside the circle (n,), and the shifts (n, 3).
    """
    turned = np.einsum("nij,pj->npi", turns, points)
    x, y, z = np.moveaxis(turned, 2, 0)
    top = z.max(axis=1)
    # The floor asks for x + z >= -(SHALLOW + RADIUS): the least shift towards the deep side.
    least = top - SHALLOW - RADIUS - (x + z).min(axis=1)
    shift_x = np.maximum(-(x.min(axis=1) + x.max(axis=1)) / 2, least)
    shift_y = -(y.min(axis=1) + y.max(axis=1)) / 2
    best = np.full(len(turns), np.inf)
    chosen = np.zeros((len(turns), 2))
    rows = np.arange(len(turns))
    for _step in range(12):  # towards the farthest point by what is too far: a subgradient step
        px, py = x + shift_x[:, None], y + shift_y[:, None]
        square = px**2 + py**2
        far = square.argmax(axis=1)
        distance = np.sqrt(square[rows, far])
        better = distance - RADIUS < best
        best[better] = distance[better] - RADIUS
        chosen[better] = np.stack([shift_x, shift_y], axis=1)[better]
        pull = np.clip(distance - RADIUS, 0, None) / 2 / np.where(distance > 0, distance, 1)
        shift_x = np.maximum(shift_x - pull * px[rows, far], least)
        shift_y = shift_y - pull * py[rows, far]
    return best, np.column_stack([chosen, -top])


def _outside(points: np.ndarray) -> np.ndarray:
    """(3, n) how far each point is beyond the wall, the floor and the rim, in mm."""
    x, y, z = points.T
    return np.array([np.hypot(x, y) - RADIUS, (-(x + z) - SHALLOW - RADIUS) / np.sqrt(2), z])


def _descend(points: np.ndarray, turn: np.ndarray, shift: np.ndarray, until: float) -> Fitting:
    """Turn and shift by small linear programmes until the protrusion falls no further."""
    reach = float(np.linalg.norm(points, axis=1).max())
    placed = points @ turn.T + shift
    now = protrusion(placed)
    trust = 0.3
    while trust > until:
        step = _best_step(placed, shift, trust, reach)
        if step is None:
            break
        tried_turn = _turned(step[None, :3])[0] @ turn
        tried_shift = shift + step[3:6]
        tried = points @ tried_turn.T + tried_shift
        then = protrusion(tried)
        gain = now - then
        if gain > 0:
            turn, shift, placed, now = tried_turn, tried_shift, tried, then
        trust = min(0.5, trust * 1.5) if gain > _GAIN else trust / 4
        if now < 0:
            break
    return Fitting(now, turn, shift)


def _best_step(
    placed: np.ndarray, shift: np.ndarray, trust: float, reach: float
) -> np.ndarray | None:
    """The small turn and shift after which the greatest protrusion is least, to first order."""
    from scipy.optimize import linprog

    leave_if_overtaken()
    out = _outside(placed)
    near = out >= max(out.max() - 4 * trust * reach, np.sort(out, axis=None)[-_ROWS:][0])
    arm = placed - shift
    x, y = placed[:, 0], placed[:, 1]
    away = np.where(np.hypot(x, y) > 0, np.hypot(x, y), 1)
    zero = np.zeros(len(placed))
    normals = np.stack(
        [
            np.stack([x / away, y / away, zero], axis=1),
            np.tile(np.array([-1, 0, -1]) / np.sqrt(2), (len(placed), 1)),
            np.tile([0.0, 0.0, 1.0], (len(placed), 1)),
        ]
    )
    # A turn by w moves a point by w x arm, so along a normal n by (arm x n) . w.
    gradient = np.concatenate([np.cross(arm[None], normals), normals], axis=2)[near]
    limits = np.column_stack([gradient, -np.ones(len(gradient))])
    bounds = [(-trust, trust)] * 3 + [(-trust * reach, trust * reach)] * 3 + [(None, None)]
    found = linprog([0] * 6 + [1], A_ub=limits, b_ub=-out[near], bounds=bounds, method="highs")
    return found.x if found.status == 0 else None
