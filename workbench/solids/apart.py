"""Why parts do not make one solid: which ones are apart, and by how much."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.errors import RepairError
from workbench.solids import kernel
from workbench.words import _, number

if TYPE_CHECKING:
    from build123d import Shape

#: Parts closer than this, in mm, touch.
TOUCHING = 1e-3

Named = tuple[str, "Shape"]


def refusal(parts: Sequence[Named]) -> RepairError:
    """The error that says which parts are not joined to the first, and by how much they miss.

    parts : names and shapes, in the order of the steps
    """
    groups = _groups(parts)
    if len(groups) == 1:
        return RepairError(
            _("the parts do not make one solid; sink one into another a little, such as 0.2 mm")
        )
    main, *others = groups
    return RepairError("; ".join(_miss(group, main, others) for group in others))


def _groups(parts: Sequence[Named]) -> list[list[Named]]:
    """The parts in groups that are joined, the largest group first."""
    groups: list[list[Named]] = []
    for part in parts:
        touched = [group for group in groups if any(_join(part[1], other) for _n, other in group)]
        merged = [part] if not touched else [*(p for group in touched for p in group), part]
        groups = [group for group in groups if group not in touched] + [merged]
    return sorted(groups, key=len, reverse=True)


def _join(first: Shape, second: Shape) -> bool:
    return first.distance_to(second) < TOUCHING and len(kernel.union([first, second])) == 1


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
            "{a} and {b} touch only along an edge or at a point; sink {a} by 0.2 mm or move it"
        ).format(a=name, b=nearest)
    return _("{a} misses {b} by {gap} mm; move it or make it longer").format(
        a=name, b=nearest, gap=number(gap, 3)
    )
