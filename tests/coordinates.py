"""Bodies by coordinates in manifold3d, from its own primitives only, for second models of parts."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
from manifold3d import CrossSection, FillRule, Manifold
from matplotlib import get_data_path
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path

from workbench.output.notebook.bundled import folders
from workbench.output.notebook.template_notebook import read_template

#: Facets of a round: a polygon of 720 corners has 0.0013 % less area than its circle.
ROUND = 720

#: ISO 273:1979, medium series, diameters in mm, from two agreeing copies of the table.
CLEARANCE = {"M3": 3.4, "M4": 4.5, "M5": 5.5}

FONT = FontProperties(fname=str(Path(get_data_path()) / "fonts/ttf/DejaVuSans-Bold.ttf"))


def shelf(stem: str) -> Any:
    """A part of the shelf, its rounds and chamfers left off."""
    repair = read_template(folders().templates / f"{stem}.ipynb")
    repair.eases = ()
    return repair


def sizes(repair: Any) -> Any:
    """The sizes of a repair, by step and field."""
    return lambda step, field: repair.step(step).number(field)


def box(w, d, h, x=0.0, y=0.0, z=0.0):
    """A block by the middle of its bottom."""
    return Manifold.cube([w, d, h], False).translate([x - w / 2, y - d / 2, z])


def rod(d, h, x=0.0, y=0.0, z=0.0, way="z", top=None):
    """A rod from a point along an axis; ``top`` is its diameter at the far end."""
    turn = {"z": (0, 0, 0), "x": (0, 90, 0), "-x": (0, -90, 0), "y": (-90, 0, 0), "-y": (90, 0, 0)}
    far = d if top is None else top
    return Manifold.cylinder(h, d / 2, far / 2, ROUND).rotate(turn[way]).translate([x, y, z])


def extruded(corners, width, along="x"):
    """A polygon of (y, z) drawn out along x, or of (x, z) along y, its middle at 0."""
    section = CrossSection([np.array(corners, float)], FillRule.NonZero)
    body = section.extrude(width).translate([0, 0, -width / 2])
    # (u, v, w) to (w, u, v) for x, to (u, -w, v) for y.
    way = [[0, 0, 1, 0], [1, 0, 0, 0], [0, 1, 0, 0]]
    if along == "y":
        way = [[1, 0, 0, 0], [0, 0, -1, 0], [0, 1, 0, 0]]
    return body.transform(np.array(way, float))


def revolved(profile):
    """A profile of (radius, z) turned about z."""
    section = CrossSection([np.array(profile, float)], FillRule.NonZero)
    return section.revolve(ROUND)


def below(body, z):
    """The volume of a body below a level."""
    _above, under = body.split_by_plane([0, 0, 1], z)
    return under.volume()


def wound(crest, root, shares, length):
    """Volume in mm³ of a thread: every level section of a helical body has the same area.

    The section's radius runs once through the profile in a turn: pi times the mean of r² over one
    pitch (Cavalieri), a slope from r to R counting (r² + rR + R²)/3.
    """
    flat, slope, bottom, rise = np.diff([0.0, *shares])
    ramp = (crest**2 + crest * root + root**2) / 3
    return math.pi * length * (flat * crest**2 + (slope + rise) * ramp + bottom * root**2)


def cross(a, b):
    return float(a[0] * b[1] - b[0] * a[1])


def lettering(text: str) -> float:
    """Area of a text whose capitals are 1 high: the font's lines and curves by Green's theorem."""
    spots, codes = text_to_path.get_text_path(FONT, text)
    height = np.ptp(np.array(text_to_path.get_text_path(FONT, "H")[0])[:, 1])
    total, at, start, here = 0.0, 0, None, None
    while at < len(codes):
        if codes[at] == 1:
            start = here = spots[at]
        elif codes[at] == 2:
            total += cross(here, spots[at]) / 2
            here = spots[at]
        elif codes[at] == 3:
            middle, end = spots[at], spots[at + 1]
            total += (2 * cross(here, middle) + 2 * cross(middle, end) + cross(here, end)) / 6
            here, at = end, at + 1
        else:
            total += cross(here, start) / 2
        at += 1
    return abs(total) / float(height) ** 2
