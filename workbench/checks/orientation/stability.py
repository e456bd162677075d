"""Whether a part stays on the bed while it is printed: contact, tipping, brims and towers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.overhang_chains import meet
from workbench.checks.layers.sections import inner_point, narrowest, polygons
from workbench.checks.layers.slices import Slices
from workbench.checks.layers.thin_walls import samples
from workbench.words import _, area_with_unit, number, with_unit

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: From here on a part or a tower counts as slender, as height to width: common practice, no source.
SLENDER = 4.0

#: A tower of less than this area is warm from one layer when the next one comes, in mm²: common
#: practice, no source.
SMALL = 50.0

#: Above a step to less than this share of the area a new tower begins. Our choice.
_STEPS = 0.4

#: A part that would fall over when leant by less than this, in degrees, wants a brim. Our choice.
TIPS = 15.0

#: A part whose base is narrower than this, in mm, rests on an edge or a point. Our choice.
_NO_BASE = 0.1


@dataclass(frozen=True)
class Tower:
    """A part of the print that stands alone for a while, from where it starts to its top.

    height, width : in mm; the width is the least one of its hull, half-way up its lower half
    area : of that layer, in mm²
    slender : height to width
    place : (x, y, z) inside that layer of the laid part, in mm
    """

    height: float
    width: float
    area: float
    place: tuple[float, float, float]

    @property
    def slender(self) -> float:
        """Height to width."""
        return self.height / self.width if self.width else float("inf")

    @property
    def small(self) -> bool:
        """Whether it is slender and has little area to cool on."""
        return self.slender > SLENDER and self.area < SMALL


@dataclass(frozen=True)
class Brim:
    """A brim: its width in mm, and what it is for, as :func:`brim` takes it."""

    width: float
    height: float
    contact: float
    base: float
    tips: float

    @property
    def reason(self) -> str:
        """Why, in the reader's unit; what is kept of a part outlasts the choice of one."""
        if self.base < _NO_BASE:
            return _("it rests only on an edge or a point")
        if self.height / self.base > SLENDER:
            return _("it is {height} tall on a base {base} wide").format(
                height=with_unit(self.height, 0), base=with_unit(self.base, 1)
            )
        if self.tips < TIPS:
            return _("it falls over if it leans by {tips}°").format(tips=number(self.tips, 0))
        contact = area_with_unit(self.contact, 0)
        return _("only {contact} holds it to the bed").format(contact=contact)


@dataclass(frozen=True)
class Stance:
    """How a laid part stands. Lengths in mm, areas in mm².

    contact : area of the first layer
    pieces : into how many patches the contact falls
    hull : area of the convex hull of the contact and of the support that stands on the bed
    base : least width of the contact's own hull
    margin : how far inside the hull the centre of mass is; below 0 it falls over by itself
    tips : by how many degrees it can be leant before it falls over; 0 where it falls by itself
    slender : height to the base's width
    brim : what is advised, or None
    """

    contact: float
    pieces: int
    hull: float
    base: float
    margin: float
    tips: float
    slender: float
    brim: Brim | None


def stance(slices: Slices, support: Sequence[CrossSection] = ()) -> Stance:
    """How a laid part stands on the bed, together with its support's feet."""
    from manifold3d import CrossSection

    foot = slices.section(0)
    hull = CrossSection.batch_hull([foot, *support])
    base = narrowest(foot)
    inside = margin(polygons(hull), slices.centre[:2])
    tips = tipping(inside, float(slices.centre[2]))
    return Stance(
        contact=foot.area(),
        pieces=len(foot.decompose()),
        hull=hull.area(),
        base=base,
        margin=inside,
        tips=tips,
        slender=slices.height / base if base else float("inf"),
        brim=brim(slices.height, foot.area(), base, tips),
    )


def brim(height: float, contact: float, base: float, tips: float) -> Brim | None:
    """Whether a brim is wise: tall, thin or small on the bed. Common practice, no source.

    Parameters
    ----------
    height : of the laid part, in mm
    contact : area of the first layer, in mm²
    base : least width of the contact's hull, in mm
    tips : degrees by which it can be leant before it falls over
    """
    if height <= 2:
        return None
    if base < _NO_BASE or height / base > 2 * SLENDER:
        width = 8.0
    elif height / base > SLENDER or tips < TIPS or contact < 5 * height:
        width = 5.0
    else:
        return None
    return Brim(width, height, contact, base, tips)


def towers(slices: Slices) -> tuple[Tower, ...]:
    """Parts that stand alone from where they start or part from another, most slender first.

    Only towers that end free count: one that joins others again is held by them.
    """
    open_towers: list[_Growing] = []
    finished: list[Tower] = []
    for layer in samples(slices):
        parts = slices.section(layer).decompose()
        if len(parts) == len(open_towers) == 1:
            above = [[0]]
        else:
            above = [
                [i for i, part in enumerate(parts) if meet(part, tower.top)]
                for tower in open_towers
            ]
        claimed = Counter(i for found in above for i in found)
        going = {}
        for tower, found in zip(open_towers, above, strict=True):
            if not found:
                finished.append(tower.ended(slices, layer))
            elif len(found) == 1 and claimed[found[0]] == 1 and tower.goes_on(parts[found[0]]):
                going[found[0]] = tower.grown(layer, parts[found[0]])
        open_towers = [going.get(i, _Growing((layer,), (part,))) for i, part in enumerate(parts)]
    finished.extend(tower.ended(slices, len(slices)) for tower in open_towers)
    return tuple(sorted(finished, key=lambda tower: -tower.slender))


@dataclass(frozen=True)
class _Growing:
    """A tower on the way up: the layers it was seen in, and its part of each."""

    layers: tuple[int, ...]
    parts: tuple[CrossSection, ...]

    @property
    def top(self) -> CrossSection:
        return self.parts[-1]

    def goes_on(self, part: CrossSection) -> bool:
        """Whether a part above is still this tower, not a narrower one that stands on it."""
        return part.area() > _STEPS * self.top.area()

    def grown(self, layer: int, part: CrossSection) -> _Growing:
        return _Growing((*self.layers, layer), (*self.parts, part))

    def ended(self, slices: Slices, layer: int) -> Tower:
        start = self.layers[0]
        # The layer seen nearest to a quarter of its height: above a foot, below a head.
        quarter = start + (layer - start) / 4
        at = int(np.argmin([abs(seen - quarter) for seen in self.layers]))
        part = self.parts[at]
        x, y = inner_point(part)
        return Tower(
            height=(layer - start) * slices.layer,
            width=narrowest(part),
            area=part.area(),
            place=(x, y, float(slices.levels[self.layers[at]])),
        )


def margin(hull: list[np.ndarray], point: np.ndarray) -> float:
    """Distance in mm from a point to the nearest edge line of a convex polygon, below 0 outside."""
    corners = hull[0] if hull else np.empty((0, 2))
    edges = np.roll(corners, -1, axis=0) - corners
    length = np.hypot(*edges.T)
    keep = length > 0
    if keep.sum() < 3:
        return float("-inf")
    away = point - corners[keep]
    inside = edges[keep, 0] * away[:, 1] - edges[keep, 1] * away[:, 0]
    return float((inside / length[keep]).min())


def tipping(inside: float, height: float) -> float:
    """By how many degrees a part can be leant before it falls over, its centre of mass being
    ``height`` mm up and ``inside`` mm inside the edge that it would tip over."""
    return float(np.degrees(np.arctan2(max(inside, 0.0), height)))
