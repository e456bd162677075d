"""Clearance holes for screws."""

from __future__ import annotations

#: ISO 273:1979, clearance holes for bolts and screws, diameters in mm: fine, medium, coarse
#: (H12, H13, H14). From two agreeing copies of the table, not the standard itself.
CLEARANCE = {
    "M2": (2.2, 2.4, 2.6),
    "M2.5": (2.7, 2.9, 3.1),
    "M3": (3.2, 3.4, 3.6),
    "M4": (4.3, 4.5, 4.8),
    "M5": (5.3, 5.5, 5.8),
    "M6": (6.4, 6.6, 7.0),
    "M7": (7.4, 7.6, 8.0),
    "M8": (8.4, 9.0, 10.0),
}

SERIES = ("fine", "medium", "coarse")


def clearance_hole(screw: str, fit: str = "medium") -> float:
    """Diameter in mm of the hole that a screw passes through, by ISO 273.

    >>> clearance_hole("M4"), clearance_hole("M8", "fine")
    (4.5, 8.4)
    """
    return CLEARANCE[screw][SERIES.index(fit)]
