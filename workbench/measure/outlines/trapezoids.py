"""An outline cut level into trapezoids, and each trapezoid into a box and right triangles."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from workbench.measure.outlines.piece import Figures, difference, difference_words
from workbench.words import _, measured, shown

#: Parts of the outline's size below which two levels are one.
_LEVEL = 1e-9

#: How many of the longest sides are tried as the direction of the boxes.
_TRIED = 8


@dataclass(frozen=True, eq=False)
class Cut:
    """(4, 2) corners of a box or (3, 2) of a right triangle, with the sentences behind it.

    figures : base and height, or the two legs either way round, in mm as the sentences have them
    """

    corners: np.ndarray
    steps: tuple[str, ...]
    figures: Figures


@dataclass(frozen=True)
class _Trapezoid:
    """Level at y0 and y1; left runs from xl0 to xl1, right from xr0 to xr1."""

    y0: float
    y1: float
    xl0: float
    xl1: float
    xr0: float
    xr1: float

    @property
    def corners(self) -> np.ndarray:
        return np.array(
            [(self.xl0, self.y0), (self.xr0, self.y0), (self.xr1, self.y1), (self.xl1, self.y1)]
        )


def boxes_and_right_triangles(points: np.ndarray) -> list[Cut]:
    """Cut a simple polygon into few boxes and right triangles.

    The boxes lie along x if that does as well as any; else along the side that asks for the
    fewest pieces, so that a part drawn askew still gives its plain boxes.

    points : (n, 2) corners in mm, counter-clockwise
    """
    best: list[Cut] = []
    for turn, along in enumerate(_directions(points)):
        frame = np.array([along, (-along[1], along[0])])
        seen = points @ frame.T
        # Sizes are told from the sketch's own origin, or from the lower left of a turned one.
        origin = seen.min(axis=0) if turn else np.zeros(2)
        cuts = _in_frame(seen - origin)
        if not best or len(cuts) < len(best):
            best = [replace(cut, corners=(cut.corners + origin) @ frame) for cut in cuts]
    return best


def split_at_height(corners: np.ndarray) -> list[Cut]:
    """Cut a triangle of (3, 2) corners at the foot of its height on its longest side."""
    sides = np.hypot(*(np.roll(corners, -1, axis=0) - corners).T)
    a, b, c = np.roll(corners, -int(sides.argmax()), axis=0)
    long = b - a
    length = math.hypot(*long)
    foot_at = float((c - a) @ long) / length
    foot = a + long * (foot_at / length)
    height, near, whole = shown(math.dist(c, foot)), shown(foot_at), shown(length)
    rest = shown(whole - near)
    one = _("the height of {height} meets the longest side {foot} from one end").format(
        height=measured(height), foot=measured(near)
    )
    other = _("the height is {height} again; {length} minus {foot} leaves {rest}").format(
        height=measured(height), length=measured(whole), foot=measured(near), rest=measured(rest)
    )
    return [
        Cut(np.array([a, foot, c]), (one,), (near, height)),
        Cut(np.array([foot, b, c]), (other,), (rest, height)),
    ]


def _directions(points: np.ndarray) -> Iterator[np.ndarray]:
    """Unit vectors along which boxes may lie: x and y first, then along the longest sides."""
    edges = np.roll(points, -1, axis=0) - points
    sides = np.hypot(*edges.T)
    seen: list[np.ndarray] = []
    longest = [edges[i] / sides[i] for i in np.argsort(-sides, kind="stable")[:_TRIED]]
    for along in (np.array([1.0, 0.0]), *longest):
        for unit in (along, np.array([-along[1], along[0]])):
            turned = -unit if unit[0] < -1e-9 or (abs(unit[0]) <= 1e-9 and unit[1] < 0) else unit
            if all(abs(turned[0] * s[1] - turned[1] * s[0]) > 1e-9 for s in seen):
                seen.append(turned)
                yield turned


def _in_frame(points: np.ndarray) -> list[Cut]:
    near = _LEVEL * float(np.ptp(points, axis=0).max())
    cuts: list[Cut] = []
    for slab in _trapezoids(_without_flat(_levelled(points, near), near)):
        cuts.extend(_cut(slab, near))
    return _stacked(cuts, near)


def _levelled(points: np.ndarray, near: float) -> np.ndarray:
    """Heights that differ by rounding alone made equal."""
    heights = points[:, 1]
    order = np.argsort(heights, kind="stable")
    steps = np.concatenate([[True], np.diff(heights[order]) > near])
    first = heights[order][steps]
    levelled = points.copy()
    levelled[order, 1] = first[np.cumsum(steps) - 1]
    return levelled


def _without_flat(points: np.ndarray, near: float) -> np.ndarray:
    """Corners at which the outline goes straight on left out."""
    before, after = np.roll(points, 1, axis=0), np.roll(points, -1, axis=0)
    chord = after - before
    length = np.hypot(*chord.T)
    rise = np.abs(
        chord[:, 0] * (points - before)[:, 1] - chord[:, 1] * (points - before)[:, 0]
    ) / np.where(length > 0, length, 1)
    onward = ((points - before) * (after - points)).sum(axis=1) > 0
    return points[~((rise <= near) & onward & (length > near))]


def _trapezoids(points: np.ndarray) -> list[_Trapezoid]:
    """The polygon cut level at every corner, as far as the inside reaches from that corner."""
    after = np.roll(points, -1, axis=0)
    upright = [int(i) for i in np.flatnonzero(points[:, 1] != after[:, 1])]
    low = np.minimum(points[:, 1], after[:, 1])
    high = np.maximum(points[:, 1], after[:, 1])

    def x_at(edge: int, y: float) -> float:
        (xa, ya), (xb, yb) = points[edge], after[edge]
        if y in (ya, yb):
            return float(xa if y == ya else xb)
        return float(xa + (xb - xa) * (y - ya) / (yb - ya))

    levels = np.unique(points[:, 1])
    spans: dict[tuple[int, int], list[float]] = {}
    for y0, y1 in pairwise(levels):
        middle = (y0 + y1) / 2
        crossing = [i for i in upright if low[i] <= y0 and high[i] >= y1]
        crossing.sort(key=lambda i: x_at(i, middle))
        for pair in zip(crossing[::2], crossing[1::2], strict=True):
            spans.setdefault(pair, [float(y0), float(y1)])[1] = float(y1)
    return [
        _Trapezoid(y0, y1, x_at(a, y0), x_at(a, y1), x_at(b, y0), x_at(b, y1))
        for (a, b), (y0, y1) in spans.items()
    ]


def _cut(t: _Trapezoid, near: float) -> list[Cut]:
    """A trapezoid as left triangle, box and right triangle; or, far leaning, four triangles."""
    left, right = max(t.xl0, t.xl1), min(t.xr0, t.xr1)
    if right - left < -near:
        return [cut for corners in _halves(t, near) for cut in split_at_height(corners)]
    cuts = []
    up = difference(t.y0, t.y1)
    if abs(t.xl1 - t.xl0) > near:
        lean = difference(t.xl0, t.xl1)
        cuts.append(Cut(_left_triangle(t), (_lean_words(t.xl0, t.xl1, up),), (lean, up)))
    if right - left > near:
        corners = np.array([(left, t.y0), (right, t.y0), (right, t.y1), (left, t.y1)])
        words, width = _box_words(t)
        cuts.append(Cut(corners, (words,), (width, up)))
    if abs(t.xr1 - t.xr0) > near:
        lean = difference(t.xr0, t.xr1)
        cuts.append(Cut(_right_triangle(t), (_lean_words(t.xr0, t.xr1, up),), (lean, up)))
    return cuts


def _halves(t: _Trapezoid, near: float) -> list[np.ndarray]:
    """The trapezoid cut along its shorter diagonal, or whole where it is a triangle."""
    a, b, c, d = t.corners
    if t.xr0 - t.xl0 <= near:
        return [np.array([a, c, d])]
    if t.xr1 - t.xl1 <= near:
        return [np.array([a, b, c])]
    if math.dist(a, c) <= math.dist(b, d):
        return [np.array([a, b, c]), np.array([a, c, d])]
    return [np.array([a, b, d]), np.array([b, c, d])]


def _left_triangle(t: _Trapezoid) -> np.ndarray:
    if t.xl1 > t.xl0:
        return np.array([(t.xl0, t.y0), (t.xl1, t.y0), (t.xl1, t.y1)])
    return np.array([(t.xl0, t.y0), (t.xl0, t.y1), (t.xl1, t.y1)])


def _right_triangle(t: _Trapezoid) -> np.ndarray:
    if t.xr1 < t.xr0:
        return np.array([(t.xr1, t.y0), (t.xr0, t.y0), (t.xr1, t.y1)])
    return np.array([(t.xr0, t.y0), (t.xr1, t.y1), (t.xr0, t.y1)])


def _lean_words(low: float, high: float, up: float) -> str:
    return _("{sum} of lean, over {up} up").format(sum=difference_words(low, high), up=measured(up))


def _box_words(t: _Trapezoid) -> tuple[str, float]:
    """How wide the box between the leans is and how that comes about; its width as shown."""
    ends = ((t.xl0, t.xl1), (t.xr1, t.xr0))
    inward = [difference(*pair) for pair in ends if pair[1] > pair[0]]
    inward = [lean for lean in inward if lean]
    across = difference(t.xl0, t.xr0)
    leaves = shown(across - sum(inward))
    template = {
        2: _("{across} across minus {a} lean minus {b} lean leaves {leaves}"),
        1: _("{across} across minus {a} lean leaves {leaves}"),
        0: _("{across} across, with no lean inward, stays {leaves}"),
    }[len(inward)]
    a, b = (*inward, 0.0, 0.0)[:2]
    words = template.format(
        across=measured(across), a=measured(a), b=measured(b), leaves=measured(leaves)
    )
    return words, leaves


def _stacked(cuts: list[Cut], near: float) -> list[Cut]:
    """Boxes of one width that stand on each other made one."""
    joined: list[Cut] = []
    for cut in cuts:
        under = next((i for i, other in enumerate(joined) if _stands_on(cut, other, near)), None)
        if under is None:
            joined.append(cut)
            continue
        low = joined[under]
        corners = np.concatenate([low.corners[:2], cut.corners[2:]])
        (width, below), (_width, above) = low.figures, cut.figures
        words = _("{low} up plus {high} up makes {sum} up").format(
            low=measured(below), high=measured(above), sum=measured(shown(below + above))
        )
        joined[under] = Cut(corners, (*low.steps, words), (width, shown(below + above)))
    return joined


def _stands_on(upper: Cut, lower: Cut, near: float) -> bool:
    if len(upper.corners) != 4 or len(lower.corners) != 4:
        return False
    return bool(np.abs(upper.corners[:2] - lower.corners[[3, 2]]).max() <= near)
