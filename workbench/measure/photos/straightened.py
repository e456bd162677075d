"""The part on its sheet as a photo shows it, seen from straight above and measured in mm."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

#: How well one step's blur is that of another of the same picture, standard, as a share: sensors, JPEG,
#: halos and the part's own shadow leave it open by a twentieth. Common practice, no source.
OPEN_BLUR = 0.05

#: The part's edge is softer than the marks when it is so by so many times what is open: a coverage
#: factor of 2.
SURE = 2.0

#: Fewest pixels of a side's length that are worth a profile across it.
LONG = 10


@dataclass(frozen=True, eq=False)
class Straightened:
    """A straightened picture.

    light : (h, w, 3) linear
    corner : mm of its left and upper edge; pixel : mm
    spread : standard deviation of the blur of the part's edge, in mm
    marks : the same of the sheet's marks about the part, each one step from black to white, and how
        evenly sharp they are; None where there are none
    """

    light: np.ndarray
    corner: tuple[float, float]
    pixel: float
    spread: float
    marks: tuple[float, float] | None = None

    @property
    def apart(self) -> float:
        """Standard deviation of the steps that a part's edge is made of, in mm: 0 where it is one.

        Two steps beside each other, as of a pale broken edge, look like one that is softer than the
        marks are; their variances add up.
        """
        if self.marks is None:
            return 0.0
        blur, doubt = self.marks
        one = blur + SURE * math.hypot(doubt, OPEN_BLUR * blur)
        return math.sqrt(max(self.spread**2 - one**2, 0.0))

    def at(self, places: np.ndarray) -> np.ndarray:
        """(n, m, 3) light at places (n, m, 2) in mm; beyond the picture, that of its rim."""
        import cv2

        columns = ((places[:, :, 0] - self.corner[0]) / self.pixel - 0.5).astype(np.float32)
        rows = ((self.corner[1] - places[:, :, 1]) / self.pixel - 0.5).astype(np.float32)
        seen = cv2.remap(
            self.light, columns, rows, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
        )
        return np.asarray(seen)

    def across(
        self, a: np.ndarray, b: np.ndarray, inward: np.ndarray, ends: float
    ) -> np.ndarray | None:
        """(m, 3) mean light along the side a b, so far inward of it, clear of ``ends`` mm of its
        ends; None where that leaves too little of it."""
        length = float(np.hypot(*(b - a)))
        if length - 2 * ends < LONG * self.pixel:
            return None
        along = (b - a) / length
        spots = a + np.arange(ends, length - ends, self.pixel)[:, None] * along
        places = spots[:, None, :] + inward[None, :, None] * np.array([-along[1], along[0]])
        return np.asarray(np.median(self.at(places), axis=0), dtype=float)
