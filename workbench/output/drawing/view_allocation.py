"""Which view of a drawing shows which size: each where it looks best, and each once."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from dataclasses import replace

import numpy as np

from workbench.output.drawing.dimension_kinds import (
    PARALLEL,
    SAME,
    Circle,
    Corner,
    Dimension,
    Length,
)
from workbench.output.drawing.views import Direction

#: From so many steps on, their equal sizes are given once.
_MANY = 3


def in_view(dimension: Dimension, direction: Direction) -> bool:
    """Whether a dimension shows its true size in a view."""
    out = np.array(direction.out)
    if isinstance(dimension, Length):
        return bool(abs(dimension.axis @ out) < PARALLEL)
    if isinstance(dimension, (Circle, Corner)):
        return bool(abs(abs(dimension.axis @ out) - 1) < PARALLEL)
    along = dimension.edge[1] - dimension.edge[0]
    return bool(
        abs(along @ out) < PARALLEL * np.linalg.norm(along) and abs(dimension.axis @ out) < PARALLEL
    )


def shared_out(
    drawn: Sequence[Dimension], directions: Sequence[Direction]
) -> tuple[list[list[Dimension]], list[Dimension]]:
    """Each dimension to the one view that shows it best, each size once; and those left over."""
    shares: list[list[Dimension]] = [[] for _direction in directions]
    left: list[Dimension] = []
    for dimension in drawn:
        fitting = [i for i, d in enumerate(directions) if in_view(dimension, d)]
        if not fitting:
            left.append(dimension)
            continue
        profile = getattr(dimension, "profile", None)
        best = next(
            (i for i in fitting if profile is not None and _sees(directions[i], profile)),
            fitting[0],
        )
        twin = next(
            (k for k, other in enumerate(shares[best]) if same_length(dimension, other)), None
        )
        if twin is None:
            shares[best].append(dimension)
        elif "±" in dimension.text and "±" not in shares[best][twin].text:
            shares[best][twin] = dimension
    return [_grouped(share) for share in shares], left


def _grouped(share: Sequence[Dimension]) -> list[Dimension]:
    """The same with equal sizes of many steps given once, as "5 × 6"."""
    groups: dict[Hashable, list[Dimension]] = {}
    for index, dimension in enumerate(share):
        alike: Hashable = index
        if dimension.about[1] or isinstance(dimension, Circle):
            axis = tuple(np.abs(np.round(dimension.axis, 6)) + 0.0)
            alike = (type(dimension), dimension.text, dimension.about[1], axis)
        groups.setdefault(alike, []).append(dimension)
    return [one for group in groups.values() for one in _once(group)]


def _once(group: list[Dimension]) -> list[Dimension]:
    first = group[0]
    if isinstance(first, Circle) and len(group) > 1 and "×" not in first.text:
        circles = [one for one in group if isinstance(one, Circle)]
        return [
            replace(
                first,
                text=f"{len(group)} × {first.text}",
                centres=np.concatenate([one.centres for one in circles]),
                middles=np.concatenate([one.middles for one in circles]),
            )
        ]
    if isinstance(first, Length) and len(group) >= _MANY:
        return [replace(first, text=f"{len(group)} × {first.text}")]
    return group


def _sees(direction: Direction, profile: tuple[float, float, float]) -> bool:
    return bool(abs(np.dot(direction.out, profile)) > 1 - PARALLEL)


def same_length(one: Dimension, other: Dimension) -> bool:
    """Whether two lengths run between the same ends along the same axis."""
    if not (isinstance(one, Length) and isinstance(other, Length)):
        return False
    if abs(abs(one.axis @ other.axis) - 1) > PARALLEL:
        return False
    ends = sorted([float(one.start[0] @ one.axis), float(one.end[0] @ one.axis)])
    others = sorted([float(other.start[0] @ one.axis), float(other.end[0] @ one.axis)])
    return bool(np.allclose(ends, others, rtol=0, atol=SAME))
