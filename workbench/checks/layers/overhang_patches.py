"""Where a layer hangs: its connected patches, and which of them go on from layer to layer.

A layer may reach out beyond the one below it by its height times the tangent of the overhang
angle. Where it reaches further, all of what lies outside the layer below counts as overhang::

        ____________
       |____________|   layer i
       |__________|xxx  overhang: beyond the reach of the layer below
       |____|           layer i - 1
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.overhang_chains import NEAR, chained
from workbench.checks.layers.sections import NOTHING, grown, union
from workbench.checks.layers.slices import Slices

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Greatest overhang that prints without support, in degrees from the vertical: Mazlan et al.,
#: J. Adv. Ind. Technol. Appl., 2020, 38-47; common practice.
ANGLE = 45.0

#: A face at exactly the greatest angle is fine, rounding included, in degrees.
SLACK = 0.5


@dataclass(frozen=True)
class Patch:
    """One connected overhang of one layer: its section, its area in mm², and whether it is an
    island, which rests on nothing."""

    layer: int
    section: CrossSection
    area: float
    island: bool


def patches(slices: Slices, angle: float, line_width: float) -> list[Patch]:
    """Every connected overhang of every layer, lowest first.

    slices : the laid part
    angle : greatest overhang that prints without support, in degrees from the vertical
    line_width : overhangs nearer to each other than this are one, in mm
    """
    reach = slices.layer * np.tan(np.radians(min(angle + SLACK, 89.0)))
    found: list[Patch] = []
    for i in np.flatnonzero(slices.leaning(angle)).tolist():
        if i > 0 and not slices.repeats[i]:
            here, below = slices.section(i), slices.section(i - 1)
            found.extend(_layer_patches(i, here, below, reach, line_width))
    return found


def _layer_patches(
    i: int, here: CrossSection, below: CrossSection, reach: float, line_width: float
) -> Iterator[Patch]:
    reached = grown(below, reach)
    beyond = here - reached
    if beyond.area() < NOTHING:
        return
    # Where the reach lies wholly inside this layer, the layer hangs over all round.
    all_round = abs(here.area() - reached.area() - beyond.area()) < NOTHING
    for part in here.decompose():
        if _afloat(part, below, beyond):
            yield Patch(i, part, part.area(), True)
            beyond, here = beyond - part, here - part
    if beyond.area() < NOTHING:
        return
    # Back from what is beyond reach to all that lies outside the layer below.
    outside = here - below
    if not all_round:
        outside = outside ^ grown(beyond, reach + NEAR)
    parts = outside.decompose()
    if len(parts) > 1:
        parts = _with_gaps_closed(outside, line_width, below).decompose()
    for part in parts:
        area = part.area()
        if area > NOTHING and (len(parts) == 1 or not (part ^ beyond).is_empty()):
            yield Patch(i, part, area, False)


def _afloat(part: CrossSection, below: CrossSection, beyond: CrossSection) -> bool:
    """Whether a part of a layer rests on nothing."""
    return beyond.area() > part.area() - NOTHING and (part ^ below).area() < NOTHING


def _with_gaps_closed(
    outside: CrossSection, line_width: float, below: CrossSection
) -> CrossSection:
    """Overhangs with the gaps between them that are narrower than a line, and so close when
    they are printed."""
    wide = grown(outside, line_width / 2)
    if wide.num_contour() >= outside.num_contour():
        return outside
    # In and out again, so that rounding along the edges does not count as a gap.
    gaps = grown(grown(grown(wide, -line_width / 2) - outside - below, -NEAR / 4), NEAR / 2)
    return outside + gaps


def grouped(patches: Sequence[Patch]) -> list[list[Patch]]:
    """Patches that go on from one layer to the next, gathered; islands stay by themselves."""
    going = [patch for patch in patches if not patch.island]
    chains = chained([patch.layer for patch in going], [patch.section for patch in going])
    alone = [[patch] for patch in patches if patch.island]
    return alone + [[going[i] for i in chain] for chain in chains]


def by_layer(patches: Sequence[Patch], count: int) -> tuple[CrossSection | None, ...]:
    """The patches of each layer as one section, None where there are none."""
    found: list[list[CrossSection]] = [[] for _layer in range(count)]
    for patch in patches:
        found[patch.layer].append(patch.section)
    return tuple(union(sections) if sections else None for sections in found)
