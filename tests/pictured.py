"""Parts of known outline in photos and scans that were never taken, traced and compared."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from painted_scene import Scene, photo_on_sheet, scan

from workbench.measure.outlines.outline import Outline, trapezoid
from workbench.measure.photos.trace import trace
from workbench.measure.photos.trace_result import Traced

_COLOURS = ((60, 70, 85), (150, 40, 40), (20, 20, 20), (200, 110, 40), (90, 130, 90))


@dataclass(frozen=True)
class Compared:
    """Errors of the sides and their stated uncertainties, in mm; empty where a side is missing."""

    errors: tuple[float, ...]
    stated: tuple[float, ...]


def part(rng: np.random.Generator) -> Outline:
    """A leaning trapezoid, an angle bracket or a plate with two corners off, at any turn."""
    wide, high = rng.uniform(25, 70), rng.uniform(25, 80)
    shape = int(rng.integers(3))
    if shape == 0:
        outline = trapezoid(wide, rng.uniform(0.5, 0.95) * wide, high, rng.uniform(-8, 8))
    elif shape == 1:
        low, near = 0.45 * high, 0.5 * wide
        outline = Outline([(0, 0), (wide, 0), (wide, low), (near, low), (near, high), (0, high)])
    else:
        off = rng.uniform(5, 9)
        outline = Outline([(0, 0), (wide, 0), (wide, high - off), (wide - off, high), (0, high)])
    turn = rng.uniform(0, 2 * np.pi)
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    return Outline((outline.points - outline.points.mean(axis=0)) @ rotation.T + (105, 150))


def photographed(seed: int) -> Compared:
    """One photo on the sheet: perspective up to 35 degrees, noise, blur, uneven light, shadow.

    The part is 0.5 to 6 mm thick, its edges sharp, and its thickness read with calipers.
    """
    rng = np.random.default_rng(seed)
    outline, thickness = part(rng), rng.uniform(0.5, 6)
    scene = Scene(
        pixels=(900, 1200),
        tilt=rng.uniform(0, 35),
        azimuth=rng.uniform(0, 360),
        roll=rng.uniform(-40, 40),
        bend=rng.uniform(-0.04, 0.04),
        blur=rng.uniform(0.5, 1.4),
        noise=rng.uniform(1, 5),
        uneven=rng.uniform(0, 0.5),
        shadow=rng.uniform(0, 0.5),
        shadow_width=rng.uniform(4, 12),
        colour=_COLOURS[int(rng.integers(len(_COLOURS)))],
    )
    read = round(thickness + rng.normal(0, 0.02), 2)
    picture = photo_on_sheet(outline, scene, seed, thickness=thickness)
    return _compared(outline, trace(picture, thickness=read, edge=0))


def scanned(seed: int) -> Compared:
    """One flatbed scan at 150, 200 or 300 dots per inch."""
    rng = np.random.default_rng(seed)
    outline = part(rng)
    outline = Outline(outline.points - outline.points.min(axis=0) + 8)
    dpi = float(rng.choice([150, 200, 300]))
    colour = _COLOURS[int(rng.integers(len(_COLOURS)))]
    return _compared(outline, trace(scan(outline, dpi, seed, colour, rng.uniform(1, 4)), dpi=dpi))


def _compared(outline: Outline, traced: Traced) -> Compared:
    if [side.kind for side in traced.sides] != ["straight"] * len(outline):
        return Compared((), ())
    found = np.array([side.length for side in traced.sides])
    stated = np.array([side.uncertainty for side in traced.sides])
    turns = range(len(found))
    first = min(turns, key=lambda k: float(np.abs(np.roll(found, k) - outline.sides).sum()))
    return Compared(tuple(np.roll(found, first) - outline.sides), tuple(np.roll(stated, first)))
