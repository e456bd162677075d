"""Flat figures in SVG: millimetres laid on a piece of the screen, y upwards."""

from __future__ import annotations

from dataclasses import dataclass
from html import escape

import numpy as np


@dataclass(frozen=True)
class Frame:
    """Where millimetres come to lie in a figure.

    low : (x, y) that lies at the lower left inside the margin, in mm
    scale : pixels to the mm
    margin, wide, tall : in pixels
    """

    low: tuple[float, float]
    scale: float
    margin: float
    wide: float
    tall: float

    @classmethod
    def round(
        cls, bounds: np.ndarray, width: float = 300.0, height: float = 300.0, margin: float = 30.0
    ) -> Frame:
        """A frame round ``bounds`` (2, 2), the least and greatest x and y, in mm.

        width, height : greatest size of the figure, in pixels
        """
        low, high = np.asarray(bounds, dtype=float)
        size = np.maximum(high - low, 1e-6)
        scale = float(min((width - 2 * margin) / size[0], (height - 2 * margin) / size[1]))
        wide, tall = size * scale + 2 * margin
        return cls((float(low[0]), float(low[1])), scale, margin, float(wide), float(tall))

    def on_paper(self, points: np.ndarray) -> np.ndarray:
        """(n, 2) pixels for (n, 2) mm."""
        flat = (np.asarray(points, dtype=float).reshape(-1, 2) - self.low) * self.scale
        return np.column_stack([flat[:, 0] + self.margin, self.tall - self.margin - flat[:, 1]])

    def ring(self, points: np.ndarray) -> str:
        """A closed line as SVG path data."""
        spots = " L".join(f"{x:.1f} {y:.1f}" for x, y in self.on_paper(points))
        return f"M{spots} Z"

    def drawn(self, shapes: list[str], label: str, caption: str | None = None) -> str:
        """The figure as HTML, with what it shows in words for those who cannot see it."""
        return (
            f'<figure class="wb-figure"><svg role="img" aria-label="{escape(label)}" '
            f'viewBox="0 0 {self.wide:.0f} {self.tall:.0f}" '
            f'width="{self.wide:.0f}" height="{self.tall:.0f}">{"".join(shapes)}</svg>'
            f"<figcaption>{escape(label if caption is None else caption)}</figcaption></figure>"
        )


def bounds_of(*groups: np.ndarray) -> np.ndarray:
    """(2, 2) least and greatest x and y of all points, each group (n, 2)."""
    points = np.concatenate([np.asarray(group, dtype=float).reshape(-1, 2) for group in groups])
    return np.array([points.min(axis=0), points.max(axis=0)])
