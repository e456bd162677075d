"""The part on its sheet as a photo shows it, seen from straight above and measured in mm."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

#: Fewest pixels of a side's length that are worth a profile across it.
LONG = 10


@dataclass(frozen=True, eq=False)
class Straightened:
    """A straightened picture.

    light : (h, w, 3) linear
    corner : mm of its left and upper edge; pixel : mm
    spread : standard deviation of the blur of the part's edge, in mm
    """

    light: np.ndarray
    corner: tuple[float, float]
    pixel: float
    spread: float

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
