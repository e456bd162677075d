"""The lines of a print as the triangles alone tell them, without a single section.

A triangle is taken to spread evenly over its height. Two that make up a rectangle do, so that
walls and areas of most parts come out exactly; of rings nothing is known, and one is taken.
"""

from __future__ import annotations

import math

import numpy as np

from workbench.checks.layers.layer_analysis import INFILL, SUPPORT, WALLS, Settings
from workbench.checks.layers.slices import CUT_AT
from workbench.checks.layers.toolpaths import SKIN, Paths

#: Triangles lower than this are level, in mm: rounding.
_LEVEL = 1e-6


def rough_paths(
    low: np.ndarray,
    high: np.ndarray,
    up: np.ndarray,
    areas: np.ndarray,
    hangs: np.ndarray,
    settings: Settings,
) -> Paths:
    """Path lengths of each layer of a laid part.

    Parameters
    ----------
    low, high : (m,) heights of each triangle's lowest and highest corner above the bed, in mm
    up : (m,) z of its unit normal
    areas : (m,) in mm²
    hangs : (m,) whether support is to hold it up
    settings : of the printer
    """
    layer, width = settings.layer, settings.line_width
    count = max(1, round(float(high.max()) / layer))
    planes = (np.arange(count) + CUT_AT) * layer
    first, last = (np.clip(np.ceil(z / layer - CUT_AT), 0, count).astype(int) for z in (low, high))
    span = np.where(high - low > _LEVEL, high - low, np.inf)

    def below(at: np.ndarray, weight: np.ndarray) -> np.ndarray:
        """(count,) sum of the weights that begin at or below each plane."""
        return np.cumsum(np.bincount(at, weights=weight, minlength=count + 1)[:count])

    def across(weight: np.ndarray) -> np.ndarray:
        """(count,) sum of the weights of the triangles that each plane cuts."""
        return below(first, weight) - below(last, weight)

    level = areas * up
    around = across(areas * np.sqrt(np.clip(1 - up**2, 0, 1)) / span)
    # A section is as large as what is above it, seen from above.
    above = level.sum() - below(first, level)
    held = above + across(level * high / span) - planes * across(level / span)
    section = np.maximum(held, 0.0)
    inside = np.clip(section - WALLS * width * around, 0.0, None)
    skins = max(1, round(SKIN / layer))
    skin = np.minimum(inside, _soon(first, level, count, skins))
    column = level[hangs]
    props = -column.sum() + below(((first + last) // 2)[hangs], column)
    return Paths(
        walls=(section - inside) / width,
        skin=skin / width,
        infill=(inside - skin) * INFILL / width,
        support=props * SUPPORT / width,
        rings=np.full(count, float(WALLS)),
        run=np.maximum(math.pi * section / np.maximum(around, 1e-9), width),
    )


def _soon(at: np.ndarray, level: np.ndarray, count: int, skins: int) -> np.ndarray:
    """(count,) area that ends within so many layers above, or began within so many below."""
    tops = np.cumsum(np.bincount(at, weights=np.maximum(level, 0), minlength=count + 1))
    floors = np.cumsum(np.bincount(at, weights=np.maximum(-level, 0), minlength=count + 1))
    here = np.arange(count)
    ending = tops[np.minimum(here + skins, count)] - tops[here]
    began = floors[here] - np.where(here >= skins, floors[np.maximum(here - skins, 0)], 0.0)
    return ending + began
