"""Words and figures as closed rings, wide enough in every stroke for a nozzle to draw."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from workbench.output.drawing.paper import CAPITALS, FAMILY, has_glyph
from workbench.solids.shapes import numerals

#: Heights to try, in mm, largest first: of capitals, whose strokes are then 0.8 mm wide or more (but
#: for accents), twice what a nozzle of 0.4 mm draws; and of figures of plain strokes.
CAPITAL_HEIGHTS, FIGURE_HEIGHTS = (9.0, 7.5, 6.0), (7.0, 6.0, 5.0, 4.0)

#: Width of the strokes of figures, in mm.
STROKE = 0.9

_SIZE = 100.0


@dataclass(frozen=True)
class Lettering:
    """A text that can be raised.

    heights : to try, in mm, largest first
    rings : from a height to closed rings (n, 2) in mm, filled by the non-zero rule, from (0, 0) on
    """

    text: str
    heights: tuple[float, ...]
    rings: Callable[[float], list[np.ndarray]]

    def size(self, height: float) -> tuple[float, float]:
        """Width and height in mm of everything, accents included."""
        width, high = np.concatenate(self.rings(height)).max(axis=0)
        return float(width), float(high)


def figures(text: str) -> Lettering:
    """A number in plain strokes."""

    def rings(height: float) -> list[np.ndarray]:
        listed = []
        for outer, openings in numerals.outlines(text, height, STROKE):
            listed.append(_turned(np.array(outer), 1))
            listed += [_turned(np.array(ring), -1) for ring in openings]
        return listed

    return Lettering(text, FIGURE_HEIGHTS, rings)


def capitals(text: str) -> Lettering | None:
    """A label in bold capitals, or None where nothing of it can be written so.

    >>> capitals("Mia").text, capitals("☂")
    ('MIA', None)
    """
    kept = "".join(
        sign for sign in text.upper() if (sign.isalnum() or sign in " -.") and _has(sign)
    )
    kept = " ".join(kept.split())
    if not any(sign.isalnum() for sign in kept):
        return None
    drawn = _drawn(kept)
    return Lettering(kept, CAPITAL_HEIGHTS, lambda height: [ring * height for ring in drawn])


def initials(label: str) -> str:
    """The first letter of each word and all figures; "" for a single word.

    >>> initials("Pupil 12"), initials("Ada King"), initials("Mia")
    ('P12', 'AK', '')
    """
    words = re.findall(r"\d+|[^\W\d_]+", label)
    return "".join(w if w.isdigit() else w[0] for w in words) if len(words) > 1 else ""


def to_raise(label: str, row: int) -> list[Lettering]:
    """What to try on a part: the label, its initials, the row's number."""
    found = [capitals(text) for text in (label, initials(label)) if text]
    return [*(one for one in found if one is not None), figures(str(row))]


def _has(sign: str) -> bool:
    return sign == " " or has_glyph(sign, bold=True)


def _drawn(text: str) -> list[np.ndarray]:
    """The rings of a text whose capitals are 1 high, its lower left corner at (0, 0)."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import TextPath

    path = TextPath((0, 0), text, size=_SIZE, prop=FontProperties(family=FAMILY, weight="bold"))
    closed = [np.asarray(ring) for ring in path.to_polygons()]
    rings = [ring[:-1] / (_SIZE * CAPITALS) for ring in closed if len(ring) > 3]
    corner = np.concatenate(rings).min(axis=0)
    return [ring - corner for ring in rings]


def _turned(ring: np.ndarray, way: int) -> np.ndarray:
    """The ring running anticlockwise for 1, clockwise for -1."""
    x, y = ring.T
    area = float(x @ np.roll(y, -1) - np.roll(x, -1) @ y)
    return ring if area * way > 0 else ring[::-1]
