"""What a layer lays into the air: islands, bridges, ledges and slopes, and the support they need.

A layer may reach out beyond the one below it by its height times the tangent of the overhang
angle. Where it reaches further, all of what lies outside the layer below counts as overhang::

        ____________
       |____________|   layer i
       |__________|xxx  overhang: beyond the reach of the layer below
       |____|           layer i - 1

Overhangs that go on from layer to layer are gathered into one region.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.bridges import Span, reach, span
from workbench.checks.chains import NEAR, chained
from workbench.checks.slices import NOTHING, STRAIGHT, Slices, grown, inner_point, perimeter

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Greatest overhang that prints without support, in degrees from the vertical: Mazlan et al.,
#: J. Adv. Ind. Technol. Appl., 2020, 38-47; common practice.
ANGLE = 45.0

#: A face at exactly the greatest angle is fine, rounding included, in degrees.
SLACK = 0.5

#: Longest bridge that prints without support, in mm: common practice, no source.
BRIDGE = 10.0

#: An overhang of less than this prints without support, in mm²: common practice, no source.
SMALL = 1.0

#: An overhang with less than this share of its area in any one layer is a slope.
_ONE_LAYER = 0.5


@dataclass(frozen=True)
class Region:
    """One overhang of a laid part. Heights are above the bed, areas seen from above.

    kind : "island" starts in mid-air; "bridge" is held on both sides; "ledge" sticks out;
        "slope" leans out further from layer to layer
    layer, last : number of its lowest and highest layer, from 0
    height : of its underside, in mm
    clearance : free height below it, down to the bed or to the part, in mm
    over_bed : whether the bed, not the part, is what lies below
    area : in mm²
    place : (x, y, z) of a point inside it on the laid part, in mm
    length : of a bridge its span, else how far it reaches out, in mm
    supported : whether it needs support to print
    """

    kind: str
    layer: int
    last: int
    height: float
    clearance: float
    over_bed: bool
    area: float
    place: tuple[float, float, float]
    length: float
    supported: bool


@dataclass(frozen=True, eq=False)
class Overhangs:
    """All overhangs of a laid part, and the support that they need.

    regions : largest first
    areas : (n,) overhanging area of each layer, in mm²
    sections : the overhanging section of each layer, None where there is none
    columns : the support in each layer, as pieces that do not overlap
    support_areas : (n,) area of the support in each layer, in mm²
    support : volume of the support, in mm³
    on_bed, on_part : footprint of the support on the bed and on the part, in mm²
    """

    regions: tuple[Region, ...]
    areas: np.ndarray
    sections: tuple[CrossSection | None, ...]
    columns: tuple[tuple[CrossSection, ...], ...]
    support_areas: np.ndarray
    support: float
    on_bed: float
    on_part: float

    @cached_property
    def islands(self) -> tuple[Region, ...]:
        """The regions that start in mid-air, lowest first."""
        found = (region for region in self.regions if region.kind == "island")
        return tuple(sorted(found, key=lambda region: region.layer))

    @property
    def area(self) -> float:
        """Overhanging area of all layers together, in mm²."""
        return float(self.areas.sum())

    @property
    def touched(self) -> float:
        """Area of the part that support touches from below, in mm²."""
        return sum(region.area for region in self.regions if region.supported)


@dataclass
class _Patch:
    """One connected overhang of one layer."""

    layer: int
    section: CrossSection
    area: float
    island: bool


def overhangs(
    slices: Slices, angle: float = ANGLE, line_width: float = 0.45, bridge: float = BRIDGE
) -> Overhangs:
    """Find every overhang of a laid part and the support that it needs.

    Parameters
    ----------
    slices : the laid part
    angle : greatest overhang that prints without support, in degrees from the vertical
    line_width : a single ledge up to one line wide prints without support, in mm
    bridge : longest bridge that prints without support, in mm
    """
    patches = [patch for layer in _patches(slices, angle, line_width) for patch in layer]
    groups = _grouped(patches)
    regions, needs = [], []
    for group in groups:
        region = _region(slices, group, line_width, bridge)
        regions.append(region)
        if region.supported:
            needs.extend(group)
    areas = np.zeros(len(slices))
    np.add.at(areas, [patch.layer for patch in patches], [patch.area for patch in patches])
    columns, support_areas, on_part = _support(slices, needs)
    return Overhangs(
        regions=tuple(sorted(regions, key=lambda region: -region.area)),
        areas=areas,
        sections=_by_layer(patches, len(slices)),
        columns=columns,
        support_areas=support_areas,
        support=float(support_areas.sum() * slices.layer),
        on_bed=float(support_areas[0]),
        on_part=on_part,
    )


def _patches(slices: Slices, angle: float, line_width: float) -> Iterator[list[_Patch]]:
    reach = slices.layer * np.tan(np.radians(min(angle + SLACK, 89.0)))
    for i in np.flatnonzero(slices.leaning(angle)).tolist():
        if i == 0 or slices.repeats[i]:
            continue
        here, below = slices.section(i), slices.section(i - 1)
        reached = grown(below, reach)
        beyond = here - reached
        if beyond.area() > NOTHING:
            yield _layer_patches(i, reach, here, below, reached, beyond, line_width)


def _layer_patches(
    i: int,
    reach: float,
    here: CrossSection,
    below: CrossSection,
    reached: CrossSection,
    beyond: CrossSection,
    line_width: float,
) -> list[_Patch]:
    found = []
    # Where the reach lies wholly inside this layer, the layer hangs over all round.
    all_round = abs(here.area() - reached.area() - beyond.area()) < NOTHING
    afloat = [part for part in here.decompose() if _afloat(part, below, beyond)]
    for part in afloat:
        found.append(_Patch(i, part, part.area(), True))
        beyond, here = beyond - part, here - part
    if beyond.area() < NOTHING:
        return found
    # Back from what is beyond reach to all that lies outside the layer below.
    outside = here - below
    if not all_round:
        outside = outside ^ grown(beyond, reach + NEAR)
    patches = outside.decompose()
    if len(patches) > 1:
        patches = _with_gaps_closed(outside, line_width, below).decompose()
    for patch in patches:
        area = patch.area()
        if area > NOTHING and (len(patches) == 1 or not (patch ^ beyond).is_empty()):
            found.append(_Patch(i, patch, area, False))
    return found


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


def _grouped(patches: Sequence[_Patch]) -> list[list[_Patch]]:
    """Patches that go on from one layer to the next, gathered; islands stay by themselves."""
    going = [patch for patch in patches if not patch.island]
    chains = chained([patch.layer for patch in going], [patch.section for patch in going])
    alone = [[patch] for patch in patches if patch.island]
    return alone + [[going[i] for i in chain] for chain in chains]


def _region(slices: Slices, group: Sequence[_Patch], line_width: float, bridge: float) -> Region:
    largest = max(group, key=lambda patch: patch.area)
    lowest = min(group, key=lambda patch: patch.layer)
    highest = max(group, key=lambda patch: patch.layer)
    area = sum(patch.area for patch in group)
    found = _held(slices, group, lowest, highest)
    kind = _kind(largest, area, found)
    clearance, over_bed = _clearance(slices, lowest)
    x, y = inner_point(largest.section)
    return Region(
        kind=kind,
        layer=lowest.layer,
        last=highest.layer,
        height=float(slices.levels[lowest.layer]),
        clearance=clearance,
        over_bed=over_bed,
        area=area,
        place=(x, y, float(slices.levels[largest.layer])),
        length=found.length,
        supported=kind == "island"
        or (
            area > SMALL
            and _needs_support(kind, found.length, _narrow(largest, area), line_width, bridge)
        ),
    )


def _held(slices: Slices, group: Sequence[_Patch], lowest: _Patch, highest: _Patch) -> Span:
    """How a whole region is held by what is below its lowest layer."""
    below = slices.section(lowest.layer - 1)
    if len(group) == 1:
        return span(lowest.section, below)
    closes = span(highest.section, slices.section(highest.layer - 1)).bridge
    if not closes:
        return Span(False, reach(highest.section, below))
    # An arch. A little wider where its layers join, so that no crack is left between them.
    return span(_union([grown(patch.section, NEAR / 4) for patch in group]), below)


def _narrow(largest: _Patch, area: float) -> float:
    """Mean width of a region, in mm, its length taken from half the edge of its largest layer."""
    return 2 * area / max(perimeter(largest.section), 1e-9)


def _kind(largest: _Patch, area: float, found: Span) -> str:
    if largest.island:
        return "island"
    if found.bridge:
        return "bridge"
    return "ledge" if largest.area >= _ONE_LAYER * area else "slope"


def _needs_support(
    kind: str, length: float, width: float, line_width: float, bridge: float
) -> bool:
    if kind == "bridge":
        return length > bridge
    if kind == "slope":
        # A narrow slope, such as a rounded lower edge, prints well enough by itself.
        return min(length, width) > 2 * line_width
    return length > line_width


def _clearance(slices: Slices, patch: _Patch) -> tuple[float, bool]:
    """Free height below a patch, and whether it ends on the bed."""
    i = patch.layer - 1
    while i >= 0:
        if (patch.section ^ slices.section(i)).area() > NOTHING:
            top = min(slices.top_of_run(i) + 1, patch.layer)
            return float((patch.layer - top) * slices.layer), False
        i = int(np.searchsorted(slices.runs, slices.runs[i])) - 1
    return float(patch.layer * slices.layer), True


def _support(
    slices: Slices, needs: Sequence[_Patch]
) -> tuple[tuple[tuple[CrossSection, ...], ...], np.ndarray, float]:
    """Columns below the patches, layer by layer downwards, until they land.

    A column is kept as pieces that do not overlap; they are joined only where the part may be
    in their way.
    """
    count = len(slices)
    wanted = _by_layer(needs, count)
    columns: list[tuple[CrossSection, ...]] = [()] * count
    areas = np.zeros(count)
    landed = 0.0
    pieces: tuple[CrossSection, ...] = ()
    for i in range(count - 2, -1, -1):
        new = wanted[i + 1]
        if new is not None:
            pieces = (*pieces, new)
        if not pieces:
            continue
        if not (slices.repeats[i + 1] or _widens(slices, i, new)):
            stood = sum(piece.area() for piece in pieces)
            left = (_joined(pieces) - slices.section(i)).simplify(STRAIGHT)
            landed += max(0.0, stood - left.area())
            pieces = (left,) if left.area() > NOTHING else ()
        columns[i] = pieces
        areas[i] = sum(piece.area() for piece in pieces)
    return tuple(columns), areas, float(landed)


def _joined(pieces: Sequence[CrossSection]) -> CrossSection:
    """Pieces that lie edge to edge as one, a thousandth wider, so that no crack is left."""
    first, *others = pieces
    return _union([first, *(grown(piece, NEAR / 20) for piece in others)])


def _widens(slices: Slices, i: int, new: CrossSection | None) -> bool:
    """Whether layer ``i`` lies wholly below the next, which hangs over all round by ``new``; then
    the support cannot meet it."""
    more = slices.section(i + 1).area() - slices.section(i).area()
    return new is not None and abs(new.area() - more) < NOTHING


def _by_layer(patches: Sequence[_Patch], count: int) -> tuple[CrossSection | None, ...]:
    """The patches of each layer as one section, None where there are none."""
    found: list[list[CrossSection]] = [[] for _layer in range(count)]
    for patch in patches:
        found[patch.layer].append(patch.section)
    return tuple(_union(sections) if sections else None for sections in found)


def _union(sections: Sequence[CrossSection]) -> CrossSection:
    from manifold3d import CrossSection, OpType

    if len(sections) == 1:
        return sections[0]
    return CrossSection.batch_boolean(list(sections), OpType.Add)
