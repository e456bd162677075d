"""The photo sheet that lies under a part: where its marks are, in mm.

::

    +----------------------+
    | #     #     #     #  |   # markers from OpenCV's ArUco module, each with a number
    | #                 #  |     that also tells which paper size the sheet is
    |                      |
    | #   room for the  #  |
    |         part         |
    | #                 #  |
    | #   |--100 mm--|  #  |
    +----------------------+

Sheet coordinates run from the lower left corner of the paper, x to the right, y up.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np

from workbench import gate

#: Paper sizes, width and height in mm (ISO 216; ANSI Y14.1, 8.5 x 11 in).
PAPERS = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4)}

#: Side of a marker and its distance from the paper's edge, in mm.
MARKER = 16.0
MARGIN = 10.0

#: Length of the printed bar that shows the scale of the print, in mm.
BAR = 100.0

_ACROSS, _UP = 4, 5
_EACH = 2 * _ACROSS + 2 * (_UP - 2)


@dataclass(frozen=True)
class Target:
    """One paper size's sheet.

    paper : "A4" or "Letter"
    """

    paper: str = "A4"

    def __post_init__(self) -> None:
        gate.choice("paper", self.paper, PAPERS)

    @property
    def size(self) -> tuple[float, float]:
        """Width and height of the paper, in mm."""
        return PAPERS[self.paper]

    @property
    def ids(self) -> range:
        """The numbers of this sheet's markers."""
        start = list(PAPERS).index(self.paper) * _EACH
        return range(start, start + _EACH)

    @cached_property
    def centres(self) -> np.ndarray:
        """(n, 2) middle of each marker, in mm, in the order of :attr:`ids`."""
        width, height = self.size
        near = MARGIN + MARKER / 2
        columns = np.linspace(near, width - near, _ACROSS)
        rows = np.linspace(near, height - near, _UP)
        spots = [(x, rows[0]) for x in columns] + [(x, rows[-1]) for x in columns]
        spots += [(x, y) for y in rows[1:-1] for x in (columns[0], columns[-1])]
        return np.array(spots)

    def corners(self, marker: int) -> np.ndarray:
        """(4, 2) corners of a marker in mm, clockwise from its upper left, as read upright."""
        half = MARKER / 2
        around = np.array([(-half, half), (half, half), (half, -half), (-half, -half)])
        return self.centres[marker - self.ids.start] + around

    @property
    def room(self) -> tuple[float, float, float, float]:
        """Where the part may lie: left, bottom, right, top, in mm."""
        width, height = self.size
        edge = MARGIN + MARKER + 4
        return edge, edge + 14, width - edge, height - edge

    @property
    def bar(self) -> np.ndarray:
        """(2, 2) ends of the printed bar, in mm."""
        middle, low = self.size[0] / 2, MARGIN + MARKER + 8
        return np.array([(middle - BAR / 2, low), (middle + BAR / 2, low)])


def target_with(marker: int) -> Target | None:
    """The sheet that a marker's number belongs to, or None where it belongs to none."""
    for paper in PAPERS:
        if marker in Target(paper).ids:
            return Target(paper)
    return None


@lru_cache(maxsize=1)
def dictionary() -> Any:
    """The ArUco dictionary that the markers come from: 4 x 4 squares, 50 markers."""
    import cv2

    return cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_50)


def marker_squares(marker: int) -> np.ndarray:
    """(6, 6) bool, True where the marker is white; row 0 is its upper edge."""
    import cv2

    return cv2.aruco.generateImageMarker(dictionary(), marker, 6) > 127
