"""Why parts do not make one solid: which ones are apart, and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.errors import RepairError
from workbench.solids.geometry import kernel
from workbench.words import _, sizes, with_unit

if TYPE_CHECKING:
    from build123d import Shape, Solid

#: Parts closer than this, in mm, touch.
TOUCHING = 1e-3

Named = tuple[str, "Shape"]


def refusal(parts: Sequence[Named], solids: Sequence[Solid]) -> RepairError:
    """The error that says which parts are not joined, and by how much they miss.

    parts : names and shapes, in the order of the steps
    solids : what their union came to
    """
    main, *others = _groups(parts)
    if others:
        return RepairError("; ".join(_miss(group, main, others) for group in others))
    points = [point for solid in solids for point in kernel.pinches(solid)]
    if not points:
        return RepairError(_("the parts do not make one solid; sink one a little into another"))
    names = [name for name, shape in parts if shape.distance_to(points[0]) < TOUCHING]
    return RepairError(
        _(
            "{names} touch along an edge only, near ({place}) mm; sink one in a little or move it"
        ).format(names=_(" and ").join(names), place=sizes(points[0], 1))
    )


def _groups(parts: Sequence[Named]) -> list[list[Named]]:
    """The parts in groups that are joined, the largest group first."""
    groups: list[list[Named]] = []
    for part in parts:
        touched = [group for group in groups if any(_join(part[1], other) for _n, other in group)]
        merged = [part] if not touched else [*(p for group in touched for p in group), part]
        groups = [group for group in groups if group not in touched] + [merged]
    return sorted(groups, key=len, reverse=True)


def _join(first: Shape, second: Shape) -> bool:
    if first.distance_to(second) >= TOUCHING:
        return False
    together = kernel.union([first, second])
    return len(together) == 1 and kernel.sound(together[0])


def _miss(group: list[Named], main: list[Named], others: list[list[Named]]) -> str:
    """How a group misses the nearest part of any other."""
    elsewhere = [*main, *(p for other in others if other is not group for p in other)]
    gap, name, nearest = min(
        (shape.distance_to(other), name, other_name)
        for name, shape in group
        for other_name, other in elsewhere
    )
    if gap < TOUCHING:
        return _(
            "{a} and {b} touch only along an edge or at a point; sink {a} in a little or move it"
        ).format(a=name, b=nearest)
    return _("{a} misses {b} by {gap}; move it or make it longer").format(
        a=name, b=nearest, gap=with_unit(gap, 3)
    )
