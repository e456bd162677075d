"""What is printed into the air: islands, bridges, ledges and slopes, and the support they need.

The overhangs of single layers (:mod:`workbench.checks.layers.overhang_patches`) that go on from layer to layer
are one region.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.bridges import FINE, Span, bridged, reach, span
from workbench.checks.layers.overhang_chains import NEAR
from workbench.checks.layers.overhang_patches import ANGLE, Patch, by_layer, grouped, patches
from workbench.checks.layers.sections import NOTHING, grown, inner_point, perimeter, union
from workbench.checks.layers.slices import Slices
from workbench.checks.layers.support import support

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Longest bridge that prints without support, in mm: common practice, no source.
BRIDGE = 10.0

#: An overhang of less than this prints without support, in mm²: common practice, no source.
SMALL = 1.0

#: An overhang with less than this share of its area in any one layer is a slope. Our choice.
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


def overhangs(
    slices: Slices, angle: float = ANGLE, line_width: float = 0.45, bridge: float = BRIDGE
) -> Overhangs:
    """Find every overhang of a laid part and the support that it needs.

    slices : the laid part
    angle : greatest overhang that prints without support, in degrees from the vertical
    line_width : a single ledge up to one line wide prints without support, in mm
    bridge : longest bridge that prints without support, in mm
    """
    found = patches(slices, angle, line_width)
    groups = grouped(found)
    regions, needs = [], []
    for group, held in zip(groups, _held(slices, groups), strict=True):
        region = _region(slices, group, held, line_width, bridge)
        regions.append(region)
        if region.supported:
            needs.extend(group)
    areas = np.zeros(len(slices))
    np.add.at(areas, [patch.layer for patch in found], [patch.area for patch in found])
    props = support(slices, by_layer(needs, len(slices)))
    return Overhangs(
        regions=tuple(sorted(regions, key=lambda region: -region.area)),
        areas=areas,
        sections=by_layer(found, len(slices)),
        columns=props.columns,
        support_areas=props.areas,
        support=float(props.areas.sum() * slices.layer),
        on_bed=float(props.areas[0]),
        on_part=props.on_part,
    )


def _region(
    slices: Slices, group: Sequence[Patch], found: Span, line_width: float, bridge: float
) -> Region:
    largest = max(group, key=lambda patch: patch.area)
    lowest = min(group, key=lambda patch: patch.layer)
    highest = max(group, key=lambda patch: patch.layer)
    area = sum(patch.area for patch in group)
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


def _held(slices: Slices, groups: Sequence[Sequence[Patch]]) -> Iterator[Span]:
    """How whole regions are held, each by what is below its lowest layer."""
    highest = [max(group, key=lambda patch: patch.layer) for group in groups]
    tops = [(patch.section, slices.section(patch.layer - 1)) for patch in highest]
    for group, top, length in zip(groups, tops, bridged(tops), strict=True):
        below = slices.section(min(patch.layer for patch in group) - 1)
        if length < np.inf and len(group) > 1:
            # An arch. A little wider where its layers join, so that no crack is left between them.
            yield span(union([grown(patch.section, NEAR / 4) for patch in group]), below)
        elif length < np.inf:
            yield Span(True, length)
        else:
            yield Span(False, reach(top[0], below, FINE if len(group) > 1 else 0.0))


def _narrow(largest: Patch, area: float) -> float:
    """Mean width of a region, in mm, its length taken from half the edge of its largest layer."""
    return 2 * area / max(perimeter(largest.section), 1e-9)


def _kind(largest: Patch, area: float, found: Span) -> str:
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


def _clearance(slices: Slices, patch: Patch) -> tuple[float, bool]:
    """Free height below a patch, and whether it ends on the bed."""
    for i in slices.closing_below(patch.layer, patch.section.bounds()):
        if (patch.section ^ slices.section(i)).area() > NOTHING:
            top = min(slices.top_of_run(i) + 1, patch.layer)
            return float((patch.layer - top) * slices.layer), False
    return float(patch.layer * slices.layer), True
