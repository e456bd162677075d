"""Shapes in neighbouring layers that go on from one to the next."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from workbench.checks.layers.sections import grown

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Two shapes this near to each other, seen from above, go on from one to the next, in mm.
#: Our choice.
NEAR = 0.02


def chained(steps: Sequence[int], sections: Sequence[CrossSection]) -> list[list[int]]:
    """Groups of shapes that go on from step to step.

    steps : for each shape the number of its layer, rising
    sections : the shapes; those of one layer do not touch. A layer's only shape goes on from
        the only one below if the frames round them touch.

    Returns for each group the indices of its shapes, lowest first.
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
        alone = len(here) == len(below) == 1 and (i + 1 == len(steps) or steps[i + 1] != step)
        if alone and _near(sections[i], sections[below[0]]):
            leader[lead(i)] = lead(below[0])
        elif below:
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
    return _near(a, b) and not (a ^ b).is_empty()


def _near(a: CrossSection, b: CrossSection) -> bool:
    """Whether the frames round two shapes come as near as :data:`NEAR`."""
    ax0, ay0, ax1, ay1 = a.bounds()
    bx0, by0, bx1, by1 = b.bounds()
    across = max(ax0, bx0) - min(ax1, bx1)
    along = max(ay0, by0) - min(ay1, by1)
    return max(across, along) <= NEAR
