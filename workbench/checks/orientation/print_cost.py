"""What it costs to print a part in one orientation, in plain units.

The rough figures need no slices: contact, overhang, support and the length of all lines come from
the triangles alone, so that only the better sides need to be looked at layer by layer. Nothing
here needs the geometry kernel, so a worker process starts quickly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from workbench import data
from workbench.checks.layers.layer_analysis import Layers, Settings, layers
from workbench.checks.layers.overhang import Region
from workbench.checks.layers.overhang_patches import SLACK
from workbench.checks.layers.sections import narrowest, polygons
from workbench.checks.layers.slices import CUT_AT
from workbench.checks.layers.toolpaths import duration
from workbench.checks.orientation.bed_fit import turn_to_fit
from workbench.checks.orientation.candidates import ON_BED, Facets
from workbench.checks.orientation.estimate import estimate, pace
from workbench.checks.orientation.rough_lines import rough_paths
from workbench.checks.orientation.stability import Brim, brim, margin, tipping
from workbench.solids.lay import laid, rotation, unit

#: Minutes to break off support and to clean each cm² that it touched: a guess, no source.
CLEAN_START = 2.0
CLEAN_AREA = 4.0


@dataclass(frozen=True)
class Figures:
    """A part in one orientation: mm, mm², mm³, minutes and degrees.

    down : the direction, as the part stands, that lies on the bed
    height : of the laid part; narrow : its least width, seen from above
    count : of layers
    contact : area of the first layer
    tips : by how many degrees it can be leant before it falls over
    minutes : to print it, support included, from switching on
    support : volume of the support; touched : area of the part that it touches
    hanging : the overhangs that need support, largest first; empty in rough figures
    islands : how many parts of it start in mid-air
    brim : what is advised, or None
    turn : by how many degrees it is turned to fit the bed; None where it does not fit, or is
        lower than a layer
    rough : whether the figures come from the triangles alone; bare : minutes without the support,
        of those
    """

    down: tuple[float, float, float]
    height: float
    narrow: float
    count: int
    contact: float
    tips: float
    minutes: float
    support: float
    touched: float
    hanging: tuple[Region, ...] = field(default=(), repr=False)
    islands: int = 0
    brim: Brim | None = None
    turn: float | None = 0.0
    rough: bool = False
    bare: float = 0.0

    @property
    def cleaning(self) -> float:
        """Minutes to take the support off and clean what it touched."""
        return CLEAN_START + CLEAN_AREA * self.touched / 100 if self.touched else 0.0

    @property
    def risk(self) -> float:
        """Chance that it comes loose or falls over while it is printed: a guess, no source."""
        if self.height <= 2:
            return 0.0
        falls = 0.3 * math.exp(-self.tips / 5)
        loosens = 0.3 * math.exp(-self.contact / (2 * self.height))
        return falls + loosens


def figures(
    vertices: np.ndarray,
    faces: np.ndarray,
    down: Sequence[float],
    printer: data.Printer,
    material: data.Material,
) -> Figures:
    """Figures of one orientation, layer by layer.

    Parameters
    ----------
    vertices, faces : closed mesh, (n, 3) in mm and (m, 3)
    down : the direction, as the part stands, that lies on the bed
    printer, material : whose nozzle, layers and speeds count, and what is printed
    """
    return figures_of(layers(vertices, faces, down, Settings.of(printer)), printer, material)


def figures_of(cut: Layers, printer: data.Printer, material: data.Material) -> Figures:
    """Figures of a part that is cut into layers."""
    from manifold3d import CrossSection

    slices, found, stands = cut.slices, cut.overhangs, cut.stance
    return Figures(
        down=slices.down,
        height=slices.height,
        narrow=narrowest(CrossSection.hull_points(slices.placed[:, :2])),
        count=len(slices),
        contact=stands.contact,
        tips=stands.tips,
        minutes=estimate(cut, material, printer).minutes.value,
        support=found.support,
        touched=found.touched,
        hanging=tuple(region for region in found.regions if region.supported),
        islands=len(found.islands),
        brim=stands.brim,
        turn=turn_to_fit(slices.placed, printer.bed),
    )


def rough(
    facets: Facets,
    corners: np.ndarray,
    down: Sequence[float],
    printer: data.Printer,
    centre: np.ndarray,
) -> Figures:
    """First figures of one orientation, from the triangles alone.

    Parameters
    ----------
    facets : of the part as it stands
    corners : (n, 3) of its convex hull, in mm
    centre : of its mass, in mm
    """
    from manifold3d import CrossSection

    settings = Settings.of(printer)
    direction = unit(down)
    turn = rotation(direction)
    placed = laid(corners, direction)
    shift = placed[0] - turn @ corners[0]
    heights = facets.along(turn[2]) + shift[2]
    low, high = heights.min(axis=0), heights.max(axis=0)
    facing = facets.normals @ direction
    on_bed = (high < ON_BED) & (facing > 0)
    hangs = (facing > math.sin(math.radians(settings.angle + SLACK))) & ~on_bed
    level = facets.areas * facing
    contact = float(level[on_bed].sum())
    seen = facets.vertices @ turn[:2].T + shift[:2]
    touching = np.zeros(len(seen), dtype=bool)
    touching[facets.ends[heights < ON_BED]] = True
    base = narrowest(CrossSection.hull_points(seen[touching]))
    touching[facets.ends[:, hangs]] = True
    middle = turn @ centre + shift
    inside = margin(polygons(CrossSection.hull_points(seen[touching])), middle[:2])
    tips = tipping(inside, float(middle[2]))
    height = float(placed[:, 2].max())
    lines = rough_paths(low, high, -facing, facets.areas, hangs, settings)
    x, y, z = (float(part) for part in direction)
    return Figures(
        down=(x, y, z),
        height=height,
        narrow=narrowest(CrossSection.hull_points(placed[:, :2])),
        count=len(lines.walls),
        contact=contact,
        tips=tips,
        minutes=duration(lines, pace(printer)),
        support=float(level[hangs] @ heights[:, hangs].sum(axis=0)) / 3,
        touched=float(level[hangs].sum()),
        brim=brim(height, contact, base, tips),
        turn=None if height <= CUT_AT * settings.layer else turn_to_fit(placed, printer.bed),
        rough=True,
        bare=duration(replace(lines, support=np.zeros_like(lines.support)), pace(printer)),
    )
