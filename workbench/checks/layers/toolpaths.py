"""The lines that a print is made of: how long they are, and how long they take.

Every layer is walls, skins and infill. Path lengths follow from areas, since a line of width w
covers w square millimetres for each millimetre of its length; the printer's speeds, its
acceleration at the turns, and what a layer takes besides, make minutes of them.
"""

from __future__ import annotations

import math
from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.layer_analysis import INFILL, SUPPORT, WALLS, Layers
from workbench.checks.layers.sections import grown, polygons
from workbench.checks.layers.slices import Slices

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: Thickness of the solid skin below and above, in mm. Common practice, no source.
SKIN = 0.8

#: Sharp turns in a ring of wall, and seconds for starting a line anew. Our choice.
TURNS, RESTART = 4, 0.2


@dataclass(frozen=True)
class Paths:
    """Path lengths of each layer, (n,) in mm, and what slows them down.

    walls, skin, infill, support : lengths
    rings : (n,) closed outlines of the layer
    run : (n,) mean length of a straight line inside, in mm
    """

    walls: np.ndarray
    skin: np.ndarray
    infill: np.ndarray
    support: np.ndarray
    rings: np.ndarray
    run: np.ndarray

    @property
    def part(self) -> float:
        """Length of all lines of the part itself, in mm."""
        return float((self.walls + self.skin + self.infill).sum())


@lru_cache(maxsize=6)
def paths(found: Layers, infill: float = INFILL, walls: int = WALLS) -> Paths:
    """The lines of each layer, from its areas."""
    slices, width = found.slices, found.settings.line_width
    inside, solid = _inside(slices, walls * width, max(1, round(SKIN / found.settings.layer)))
    skin = np.minimum(solid, inside)
    sparse = inside - skin
    firsts = np.flatnonzero(~slices.repeats).tolist()
    rings = np.array([slices.section(i).num_contour() for i in firsts], dtype=float)[slices.runs]
    # The mean chord of a plane figure is pi A/P (Crofton).
    run = math.pi * slices.areas / np.maximum(slices.perimeters, 1e-9)
    return Paths(
        walls=(slices.areas - inside) / width,
        skin=skin / width,
        infill=sparse * infill / width,
        support=found.overhangs.support_areas * SUPPORT / width,
        rings=rings * walls,
        run=np.maximum(run, width),
    )


def _inside(slices: Slices, wall: float, skins: int) -> tuple[np.ndarray, np.ndarray]:
    """(n,) area within the walls of each layer, and (n,) what of it is skin.

    A place is skin if a layer so many below or above it does not cover it. What stands apart in a
    layer is looked at by itself, and once where it goes on unchanged.
    """
    count, runs = len(slices), slices.runs.tolist()
    firsts = np.flatnonzero(~slices.repeats).tolist()
    rings = [{ring.tobytes() for ring in slices.polygons(i)} for i in firsts]
    # One contour alone that goes on may be the edge round all the others.
    alike = [False, *(len(one & other) > 1 for one, other in pairwise(rings)), False]
    apart = [
        _apart(slices.section(i)) if alike[run] or alike[run + 1] else {run: slices.section(i)}
        for run, i in enumerate(firsts)
    ]
    inner: dict[Hashable, tuple[CrossSection, float]] = {}
    kept: dict[tuple[Hashable, int, int], float] = {}
    inside, solid = np.zeros(count), np.zeros(count)
    for i, (run, *unlike) in enumerate(zip(runs, *slices.unlike(skins), strict=True)):
        below, above = i - skins, i + skins
        for part, shape in apart[run].items():
            if part not in inner:
                section = grown(shape, -wall)
                inner[part] = section, section.area()
            section, area = inner[part]
            inside[i] += area
            if below < 0 or above >= count:
                solid[i] += area
            elif area:
                # A layer that covers it all need not be looked at.
                under, over = (
                    runs[at] if differs and part not in apart[runs[at]] else -1
                    for at, differs in zip((below, above), unlike, strict=True)
                )
                key = part, under, over
                if key not in kept:
                    left = section if under < 0 else section ^ slices.section(below)
                    kept[key] = (left if over < 0 else left ^ slices.section(above)).area()
                solid[i] += max(0.0, area - kept[key])
    return inside, solid


def _apart(section: CrossSection) -> dict[Hashable, CrossSection]:
    """What stands apart in a section, by its corners."""
    parts = section.decompose()
    return {tuple(ring.tobytes() for ring in polygons(part)): part for part in parts}


def duration(lines: Paths, pace: Mapping[str, float]) -> float:
    """Minutes for all lines at one pace.

    pace : wall_speed, infill_speed, first_layer_speed and travel_speed in mm/s, acceleration in
        mm/s², layer_change and least_layer_time in s, start_up in min
    """
    wall_speed = np.full(len(lines.walls), pace["wall_speed"])
    fill_speed = np.full(len(lines.walls), pace["infill_speed"])
    wall_speed[0] = fill_speed[0] = pace["first_layer_speed"]
    filling = lines.skin + lines.infill + lines.support
    # Stopping and starting at a turn costs v/a against going on.
    walls = lines.walls / wall_speed + TURNS * lines.rings * wall_speed / pace["acceleration"]
    # A line too short to reach the speed goes with the speed that it reaches.
    reached = np.minimum(fill_speed, np.sqrt(pace["acceleration"] * lines.run))
    fill = filling / reached + filling / lines.run * reached / pace["acceleration"]
    restarts = lines.rings * (RESTART + lines.run / pace["travel_speed"])
    each = np.maximum(walls + fill + restarts, pace["least_layer_time"]) + pace["layer_change"]
    return float(each.sum()) / 60 + pace["start_up"]
