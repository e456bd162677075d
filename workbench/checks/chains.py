"""Shapes in neighbouring layers that go on from one to the next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.checks.slices import grown

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Two shapes this near to each other, seen from above, go on from one to the next, in mm.
NEAR = 0.02


def chained(steps: Sequence[int], sections: Sequence[CrossSection]) -> list[list[int]]:
    """Groups of shapes that go on from step to step.

    Parameters
    ----------
    steps : for each shape the number of its layer, rising
    sections : the shapes; those of one layer do not touch

    Returns
    -------
    For each group the indices of its shapes, lowest first.
    """
    leader = list(range(len(sections)))

    def lead(i: int) -> int:
        while leader[i] != i:
            leader[i] = leader[leader[i]]
            i = leader[i]
        return i

    before: list[int] = []
    here: list[int] = []
    for i, step in enumerate(steps):
        if here and steps[here[-1]] != step:
            before, here = here, []
        here.append(i)
        below = [j for j in before if steps[j] == step - 1]
        if below:
            wide = grown(sections[i], NEAR)
            for j in below:
                if lead(j) != lead(i) and meet(wide, sections[j]):
                    leader[lead(i)] = lead(j)
    groups: dict[int, list[int]] = {}
    for i in range(len(sections)):
        groups.setdefault(lead(i), []).append(i)
    return list(groups.values())


def meet(a: CrossSection, b: CrossSection) -> bool:
    """Whether two shapes overlap."""
    ax0, ay0, ax1, ay1 = a.bounds()
    bx0, by0, bx1, by1 = b.bounds()
    apart = ax0 > bx1 or bx0 > ax1 or ay0 > by1 or by0 > ay1
    return not apart and not (a ^ b).is_empty()
