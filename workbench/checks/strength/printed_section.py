"""A cross-section as it is printed: walls all round, and a core that is filled in part."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from workbench.checks.layers.layer_analysis import INFILL, WALLS
from workbench.checks.layers.sections import grown, perimeter, polygons
from workbench.checks.strength.beams import Section

if TYPE_CHECKING:
    from manifold3d import CrossSection

#: A section is round from here on, as its area over that of a circle of its perimeter: 0.79 for
#: a square, 1 for a circle. Our choice.
ROUND = 0.85

#: Sharper corners than this are cut off when the core is found. Our choice.
_SHARP = 8.0


def printed(section: CrossSection, line: float, infill: float = INFILL) -> Section:
    """What of a section carries: its walls wholly, and its core as much as it is filled.

    section : (x, y) square to the beam, in mm
    line : width of a line, in mm; the walls are :data:`WALLS` lines thick
    infill : of the core, 0 to 1; stiffness and strength follow it in proportion, which 3D
        elasticity on a solid core of that stiffness bears out
    """
    core = grown(section, -WALLS * line, _SHARP)
    whole, hollow = _moments(section), _moments(core)
    area, x, y, xx, yy = (a - (1 - infill) * b for a, b in zip(whole, hollow, strict=True))
    middle = np.array([x, y]) / area
    about = np.array([xx, yy]) - area * middle**2  # (2,) second moments along x and along y
    outline = np.concatenate(polygons(section))
    far_x, far_y = np.abs(outline - middle).max(axis=0)
    along_x, along_y = float(about[0]), float(about[1])
    peak = 4 / 3 if roundness(section) > ROUND else 1.5
    return Section(
        float(area), along_y / float(far_y), along_x / float(far_x), along_y, along_x, peak
    )


def roundness(section: CrossSection) -> float:
    """Area over that of a circle of the same perimeter: 1 for a circle."""
    return float(4 * np.pi * section.area() / perimeter(section) ** 2)


def _moments(section: CrossSection) -> tuple[float, float, float, float, float]:
    """Area, its first moments along x and y, and its second moments, about the origin."""
    total = np.zeros(5)
    for ring in polygons(section):
        (x, y), (u, v) = ring.T, np.roll(ring, -1, axis=0).T
        cross = x * v - u * y
        total += [
            cross.sum() / 2,
            (cross * (x + u)).sum() / 6,
            (cross * (y + v)).sum() / 6,
            (cross * (x * x + x * u + u * u)).sum() / 12,
            (cross * (y * y + y * v + v * v)).sum() / 12,
        ]
    area, first_x, first_y, second_x, second_y = total.tolist()
    return area, first_x, first_y, second_x, second_y
