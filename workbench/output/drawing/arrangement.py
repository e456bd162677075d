"""Views on a sheet: front, side and top in line with one another, and a small picture beside them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from workbench.output.drawing import dimension_layout
from workbench.output.drawing.dimension_kinds import named
from workbench.output.drawing.dimensions import Dimensions
from workbench.output.drawing.paper import Mark, Stroke, extent, shifted
from workbench.output.drawing.view_allocation import shared_out
from workbench.output.drawing.views import FRONT, ISOMETRIC, LEFT, RIGHT, TOP, View, view
from workbench.solids.building.build import Assembly

#: Scales to choose from, as mm on paper for each mm of the part: ISO 5455.
SCALES = (50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)

#: A drawing is not enlarged further than this, unless it stays smaller than a thumb nail.
LARGEST, NAIL = 10.0, 15.0

#: Gap between views, in mm.
GUTTER = 8.0


@dataclass(frozen=True)
class Arrangement:
    """Views in a room, from its lower left corner.

    marks : in mm
    scale : mm on paper for each mm of the part
    left_over : what the dimensions say that no view could show
    """

    marks: list[Mark]
    scale: float
    left_over: tuple[str, ...]


def arranged(
    assembly: Assembly,
    sizes: Dimensions,
    room: tuple[float, float],
    first: bool = True,
    every: bool | None = True,
) -> Arrangement:
    """The views at the largest scale at which they fit.

    room : width and height on paper, in mm
    first : first-angle projection, else third-angle: ISO 5456-2
    every : whether views without any size are drawn, too; None where they give way if the others
        come out larger for it
    """
    beside = LEFT if first else RIGHT
    directions = (FRONT, beside, TOP)
    shares, left = shared_out(sizes.drawn, directions)
    views = [view(assembly.solid, direction) for direction in directions]
    isometric = view(assembly.solid, ISOMETRIC, hidden=False)
    sides = np.array([seen.bounds for seen in views])
    largest = float((sides[:, 2:] - sides[:, :2]).max())
    found: Arrangement | None = None
    front, _side, top = sides[:, 2:] - sides[:, :2]
    scales = scales_within(np.array([front[0], front[1] + top[1] * bool(shares[2])]), room)
    ways = (True, False) if every is None else (every,)
    for scale in scales:
        if scale > LARGEST and largest * scale > NAIL:
            continue
        laid = [
            dimension_layout.around(seen, share, scale, others=centre_lines(seen, sizes, scale))
            for seen, share in zip(views, shares, strict=True)
        ]
        crowded = [dimension for _marks, more in laid for dimension in more]
        left_over = tuple(named(d) for d in (*left, *crowded))
        # At the smallest scale nothing comes out larger.
        for way in ways if scale != scales[-1] else ways[:1]:
            sheets = [
                marks if way or share or not i else []
                for i, ((marks, _crowded), share) in enumerate(zip(laid, shares, strict=True))
            ]
            placed, size = _side_by_side(sheets, isometric, scale, first, way, room)
            if found is None or found.scale != scale:
                found = Arrangement(placed, scale, left_over)
            if size[0] <= room[0] and size[1] <= room[1]:
                return Arrangement(placed, scale, left_over)
    assert found is not None
    return found


def scales_within(size: np.ndarray, room: tuple[float, float]) -> Sequence[float]:
    """The scales at which a size (2,) in mm alone fits the room; the smallest in any case.

    >>> scales_within(np.array([60.0, 20.0]), (130.0, 90.0))[:2]
    (2.0, 1.0)
    """
    fitting = tuple(scale for scale in SCALES if (size * scale <= np.array(room)).all())
    return fitting or SCALES[-1:]


def _side_by_side(
    sheets: Sequence[list[Mark]],
    isometric: View,
    scale: float,
    first: bool,
    every: bool,
    room: tuple[float, float],
) -> tuple[list[Mark], tuple[float, float]]:
    """Front with the side view beside it and the top view below (first angle) or above it.

    All three keep a common origin, so that points stay level with one another.
    """
    front, side, top = (extent(marks or sheets[0]) for marks in sheets)
    right_of = max(front[2], top[2]) + GUTTER - side[0]
    row = min(front[1], side[1]), max(front[3], side[3])
    shift = row[0] - GUTTER - top[3] if first else row[1] + GUTTER - top[1]
    placed = [*sheets[0], *shifted(sheets[1], right_of, 0), *shifted(sheets[2], 0, shift)]
    bottom, right = extent(placed)[1:3]
    # What stays free: beside the top view, and beside everything.
    past = max(top[2], front[2]) + GUTTER
    low, high = (bottom, row[0] - GUTTER) if first else (row[1] + GUTTER, extent(placed)[3])
    corner = (past, low, right - past, high - low)
    spare = room[0] - (right - extent(placed)[0]) - GUTTER
    # Where what follows moves up below the views, the picture is no higher than they are.
    tall = room[1] if every else extent(placed)[3] - bottom
    placed += _small(isometric, scale, (corner, (right + GUTTER, bottom, spare, tall)))
    left, bottom, right, high = extent(placed)
    middle = (room[0] - left - right) / 2, (room[1] - bottom - high) / 2
    return shifted(placed, *middle), (right - left, high - bottom)


def _small(
    isometric: View, scale: float, boxes: Sequence[tuple[float, float, float, float]]
) -> list[Mark]:
    """The isometric picture in the middle of the box (left, bottom, width, height) that suits it."""
    left, bottom, right, top = isometric.bounds

    def fitting(box: tuple[float, float, float, float]) -> float:
        wide, high = max(box[2], 0.0) / (right - left), max(box[3], 0.0) / (top - bottom)
        return min(scale, wide, high)

    box = max(boxes, key=fitting)
    factor = fitting(box)
    if factor < 0.2 * scale:
        return []
    lines = [Stroke(line * factor, "rule") for line in isometric.visible]
    high = min(box[3], max(1.6 * factor * (top - bottom), 50.0))
    return shifted(
        lines,
        box[0] + box[2] / 2 - factor * (left + right) / 2,
        box[1] + high / 2 - factor * (bottom + top) / 2,
    )


def centre_lines(seen: View, sizes: Dimensions, scale: float) -> list[Stroke]:
    """A cross on every circle seen from its end, a chain line along every one seen from its side."""
    axes, out = seen.direction.axes, np.array(seen.direction.out)
    lines: list[np.ndarray] = []
    low_edge = np.array(seen.bounds[:2]) * scale - 2.5
    high_edge = np.array(seen.bounds[2:]) * scale + 2.5
    for low, high, radius in sizes.round_axes:
        way = high - low
        length = float(np.linalg.norm(way))
        a, b = low @ axes * scale, high @ axes * scale
        if length > 1e-6 and abs(abs(way @ out) - length) > 1e-6 * length:
            on_paper = (b - a) / max(float(np.hypot(*(b - a))), 1e-9)
            lines.append(np.array([a - 2.5 * on_paper, b + 2.5 * on_paper]))
        elif length > 1e-6:
            arms = np.eye(2) * (radius * scale + 1.5)
            # Where only a part of the circle is left, the cross ends soon after it.
            lines += [np.clip([a - arm, a + arm], low_edge, high_edge) for arm in arms]
    distinct = {tuple(np.round(line, 3).ravel() + 0.0): line for line in lines}
    return [Stroke(line, "centre") for line in distinct.values()]
