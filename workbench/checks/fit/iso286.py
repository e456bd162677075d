"""Standard tolerances of ISO 286-1, from which the width of a fit grows with its size."""

from __future__ import annotations

import math
from bisect import bisect_left

from workbench.errors import RepairError
from workbench.words import _, with_unit

#: The grades stored here: IT6 to IT14.
GRADES = tuple(range(6, 15))

#: Standard tolerances in micrometres by the upper end of the range of sizes in mm ("over 3, up
#: to and including 6"). ISO 286-1: rows 3-6 to 50-80 from two agreeing copies of the table, the
#: others from memory; the standard itself was not read.
TABLE = {
    3: (6, 10, 14, 25, 40, 60, 100, 140, 250),
    6: (8, 12, 18, 30, 48, 75, 120, 180, 300),
    10: (9, 15, 22, 36, 58, 90, 150, 220, 360),
    18: (11, 18, 27, 43, 70, 110, 180, 270, 430),
    30: (13, 21, 33, 52, 84, 130, 210, 330, 520),
    50: (16, 25, 39, 62, 100, 160, 250, 390, 620),
    80: (19, 30, 46, 74, 120, 190, 300, 460, 740),
    120: (22, 35, 54, 87, 140, 220, 350, 540, 870),
    180: (25, 40, 63, 100, 160, 250, 400, 630, 1000),
    250: (29, 46, 72, 115, 185, 290, 460, 720, 1150),
    315: (32, 52, 81, 130, 210, 320, 520, 810, 1300),
    400: (36, 57, 89, 140, 230, 360, 570, 890, 1400),
    500: (40, 63, 97, 155, 250, 400, 630, 970, 1550),
}

#: Tolerance units in each grade, IT6 to IT14.
UNITS = (10, 16, 25, 40, 64, 100, 160, 250, 400)

_ENDS = tuple(TABLE)


def tolerance(size: float, grade: int) -> float:
    """The standard tolerance IT``grade`` of a size, both in mm.

    Raises RepairError when the size is not above 0 and up to 500 mm, or the grade is not stored.

    >>> tolerance(5.0, 12), tolerance(6.0, 7), tolerance(25, 13)
    (0.12, 0.012, 0.33)
    """
    if not (math.isfinite(size) and 0 < size <= _ENDS[-1]):
        raise RepairError(
            _("size is {size}; tolerances are known only above 0 and up to {most}").format(
                size=with_unit(size), most=with_unit(_ENDS[-1])
            )
        )
    if grade not in GRADES:
        raise RepairError(
            _("grade is IT{grade}; give IT{low} to IT{high}").format(
                grade=grade, low=GRADES[0], high=GRADES[-1]
            )
        )
    return TABLE[_ENDS[bisect_left(_ENDS, size)]][GRADES.index(grade)] / 1000
