"""A view with its dimensions round it, set so that nothing runs over anything.

Places are on paper, in mm, measured from where the repair's origin falls. Lines, arrows and
numbers follow ISO 129-1.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from workbench.output.drawing.dimension_kinds import Angle, Circle, Corner, Dimension, Length
from workbench.output.drawing.paper import Mark, Stroke
from workbench.output.drawing.placement import Box, Placed, Taken, settle
from workbench.output.drawing.slanted_dimensions import angles, circles, corners, slants
from workbench.output.drawing.stacked_dimensions import Level, places
from workbench.output.drawing.views import View


def around(
    view: View,
    dimensions: Sequence[Dimension],
    scale: float,
    highlight: str = "",
    others: Sequence[Stroke] = (),
) -> tuple[list[Mark], list[Dimension]]:
    """The view with its dimensions as marks in mm on paper, and those that found no room.

    view : what is drawn
    dimensions : those that this view shows in true size
    scale : mm on paper for each mm of the part
    highlight : a "step.field" whose dimension is drawn in the accent colour
    others : further lines on paper, such as centre lines, which numbers keep clear of
    """
    marks: list[Mark] = [*others, *(Stroke(line * scale, "hidden") for line in view.hidden)]
    marks += [Stroke(line * scale, "outline") for line in view.visible]
    taken = Taken([line * scale for line in view.visible])
    for other in others:
        taken.add_line("line", other.points)
    left, bottom, right, top = view.bounds
    frame = (left * scale, bottom * scale, right * scale, top * scale)
    waiting = [(d, _on_paper(d, view, scale, frame)) for d in dimensions]
    crowded = []
    for dimension, one in sorted(waiting, key=lambda pair: pair[1].order):
        placed = settle(one.places, taken)
        if placed is None:
            crowded.append(dimension)
        else:
            marks += placed.marks(one.about, highlight)
    return marks, crowded


@dataclass(frozen=True)
class _Waiting:
    """A dimension that is still to find its place; low ``order`` goes first."""

    about: str
    order: tuple[int, float]
    places: Iterable[Placed]


def _on_paper(dimension: Dimension, view: View, scale: float, frame: Box) -> _Waiting:
    axes = view.direction.axes * scale
    about = ".".join(dimension.about).strip(".")
    if isinstance(dimension, Angle):
        ways = dimension.axis @ view.direction.axes
        return _Waiting(about, (2, 0.0), angles(dimension.text, dimension.edge @ axes, ways))
    if isinstance(dimension, Corner):
        named = corners(dimension.text, dimension.at @ axes, dimension.away @ view.direction.axes)
        return _Waiting(about, (-1, 0.0), named)
    if isinstance(dimension, Circle):
        ring = circles(
            dimension.text,
            dimension.centres @ axes,
            dimension.middles @ axes,
            dimension.radius * scale,
            dimension.full,
            frame,
        )
        return _Waiting(about, (3, 0.0), ring)
    start, end = dimension.start @ axes, dimension.end @ axes
    way = dimension.axis @ view.direction.axes
    if np.abs(way).min() > 1e-6:
        return _Waiting(about, (1, 0.0), slants(dimension.text, *_nearest(start, end, way)))
    level = _level(dimension, start, end, int(np.abs(way).argmax()), about)
    return _Waiting(about, (0, level.length), places(level, frame))


def _level(length: Length, start: np.ndarray, end: np.ndarray, along: int, about: str) -> Level:
    if start[0, along] > end[0, along]:
        start, end = end, start
    return Level(
        length.text,
        along == 1,
        float(start[0, along]),
        float(end[0, along]),
        tuple(start[:, 1 - along].tolist()),
        tuple(end[:, 1 - along].tolist()),
        about,
    )


def _nearest(start: np.ndarray, end: np.ndarray, way: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """The two points, one of each group, that face one another best across a slant."""
    apart = np.linalg.norm(start[:, None] - end, axis=2)
    i, j = np.unravel_index(apart.argmin(), apart.shape)
    # The second is taken level with the first.
    return start[i], start[i] + way * float((end[j] - start[i]) @ way)
