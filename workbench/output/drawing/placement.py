"""The line work of dimensions: sizes of arrows and gaps, and what is on the paper already."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely

from workbench.output.drawing.paper import ACCENT, INK, Fill, Mark, Stroke, Words
from workbench.overtaken import leave_if_overtaken

#: Type on a dimension, in points.
SIZE = 8.5

#: Distances on paper, in mm.
GAP, BEYOND = 1.0, 1.5  # of an extension line: clear of the outline, and past the arrow
ARROW, SLIM = 2.4, 0.35  # length and half width of an arrow
TAIL = 4.0  # of line outside an arrow that points in from outside
ABOVE = 0.8  # of a number over its line
CLEAR = 1.2  # between one number and the next

#: What it costs to run over a number, over the outline, and over another line.
OVER_WORDS, OVER_OUTLINE, OVER_LINE = 1000.0, 200.0, 0.3

#: What it costs for each millimetre that a thin line runs across the part itself.
ACROSS = 0.06

Box = tuple[float, float, float, float]


class Taken:
    """What is on the paper already, as boxes, by kind: "words", "line" or "outline".

    outlines : polylines (n, 2) of the part itself, in mm
    """

    def __init__(self, outlines: Sequence[np.ndarray] = ()) -> None:
        self._outlines = outlines
        self._boxes: dict[str, list[Box]] = {"words": [], "line": [], "outline": []}
        self._arrays: dict[str, np.ndarray] = {}
        for line in outlines:
            self.add_line("outline", line)

    @cached_property
    def _part(self) -> Any:
        """The region that the part covers, as a prepared shapely geometry."""
        lines = shapely.union_all(
            [shapely.LineString(line) for line in self._outlines], grid_size=1e-4
        )
        covered = shapely.union_all(shapely.get_parts(shapely.polygonize([lines])))
        shapely.prepare(covered)
        return covered

    def across(self, line: np.ndarray) -> float:
        """How far a line (n, 2) runs across the part, in mm."""
        if not self._outlines:
            return 0.0
        return float(shapely.length(shapely.intersection(shapely.LineString(line), self._part)))

    def on_outline(self, point: np.ndarray) -> bool:
        """Whether there is an outline at a point (2,)."""
        x, y = point.tolist()
        return not self._outlines or self.hits("outline", (x, y, x, y), 0.4) > 0

    def add(self, kind: str, box: Box) -> None:
        """Take the place of a box."""
        self._boxes[kind].append(box)
        self._arrays.pop(kind, None)

    def add_line(self, kind: str, points: np.ndarray) -> None:
        """Take the place of a line along points (n, 2)."""
        self._boxes[kind] += pieces(points)
        self._arrays.pop(kind, None)

    def hits(self, kind: str, box: Box, clear: float = 0.0) -> int:
        """How many boxes of a kind lie within ``clear`` mm of a box."""
        if not self._boxes[kind]:
            return 0
        if kind not in self._arrays:
            self._arrays[kind] = np.array(self._boxes[kind])
        left, bottom, right, top = self._arrays[kind].T
        over = (left < box[2] + clear) & (right > box[0] - clear)
        over &= (bottom < box[3] + clear) & (top > box[1] - clear)
        return int(np.count_nonzero(over))


@dataclass(frozen=True)
class Placed:
    """A dimension in one of the places where it could go.

    lines : polylines (n, 2) in mm
    arrows : each a tip (2,), the direction (2,) from the tip along its body, and a share of the
        usual size
    base : what the place costs by itself, besides what it runs over
    tip : (2,) a point that has to lie on an outline, if any
    """

    words: Words
    lines: tuple[np.ndarray, ...]
    arrows: tuple[tuple[np.ndarray, np.ndarray, float], ...]
    base: float
    tip: np.ndarray | None = None

    def cost(self, taken: Taken, most: float = math.inf) -> float:
        """What the place costs, all told; reckoned no further where that comes to ``most``."""
        box = self.words.box
        cost = self.base + OVER_OUTLINE * taken.hits("outline", box, 0.3)
        cost += OVER_WORDS * (taken.hits("words", box, CLEAR) + taken.hits("line", box, 0.3))
        if self.tip is not None and not taken.on_outline(self.tip):
            cost += OVER_OUTLINE
        for line in self.lines:
            if cost >= most:
                return cost
            cost += ACROSS * taken.across(line)
            for piece in pieces(line):
                cost += OVER_WORDS * taken.hits("words", piece, 0.25)
                cost += OVER_LINE * (taken.hits("line", piece) + taken.hits("outline", piece))
        return cost

    def marks(self, about: str, highlight: str) -> list[Mark]:
        """Lines, arrows and number as marks."""
        colour = ACCENT if highlight and about == highlight else INK
        words = self.words
        drawn: list[Mark] = [Stroke(line, "thin", colour, about) for line in self.lines]
        drawn += [Fill(arrow(*head), colour, about) for head in self.arrows]
        drawn.append(
            Words(
                words.text, words.x, words.y, words.size, words.hold, words.turn,
                colour=colour, about=about,
            )
        )  # fmt: skip
        return drawn


def settle(places: Iterable[Placed], taken: Taken) -> Placed | None:
    """The place that costs least, now taken; None where every place runs over a number.

    Those that cannot win are not looked at.
    """
    best: tuple[float, Placed] | None = None
    for placed in sorted(places, key=lambda placed: placed.base):
        if best is not None and placed.base >= best[0]:
            break
        leave_if_overtaken()
        cost = placed.cost(taken, math.inf if best is None else best[0])
        if best is None or cost < best[0]:
            best = cost, placed
    if best is None or best[0] >= OVER_WORDS:
        return None
    taken.add("words", best[1].words.box)
    for line in best[1].lines:
        taken.add_line("line", line)
    return best[1]


def pieces(points: np.ndarray) -> Iterator[Box]:
    """A line along points (n, 2) as boxes: one for a level or upright stretch, else small ones."""
    for (x, y), (to_x, to_y) in itertools.pairwise(points.tolist()):
        along = max(abs(to_x - x), abs(to_y - y))
        level = min(abs(to_x - x), abs(to_y - y)) < 1e-6
        count = 1 if level else max(1, math.ceil(along / 1.5))
        for i in range(count):
            a, b = i / count, (i + 1) / count
            ax, bx = x + a * (to_x - x), x + b * (to_x - x)
            ay, by = y + a * (to_y - y), y + b * (to_y - y)
            yield min(ax, bx), min(ay, by), max(ax, bx), max(ay, by)


def overlap(one: Box, other: Box, clear: float = 0.0) -> bool:
    """Whether two boxes come within ``clear`` mm of one another."""
    return (
        one[0] < other[2] + clear
        and one[2] > other[0] - clear
        and one[1] < other[3] + clear
        and one[3] > other[1] - clear
    )


def arrow(tip: np.ndarray, way: np.ndarray, size: float = 1.0) -> np.ndarray:
    """An arrow head (3, 2) with its point at ``tip``, its body lying along ``way`` from there."""
    across = np.array([-way[1], way[0]]) * SLIM * size
    back = tip + way * ARROW * size
    return np.array([tip, back + across, back - across])
