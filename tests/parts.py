"""Parts that the tests of drawings, files and sheets share, with readings of their own."""

from __future__ import annotations

import numpy as np

from workbench.measure.reading import Reading
from workbench.solids.catalogue import SHIPPED
from workbench.solids.facts import facts_of
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat

#: Templates that make a part alone: letters stand on one, which holds them together.
WHOLE = [name for name in SHIPPED if not facts_of(name).pieces]
#: What is drawn: the tile only carries a test piece's figures.
ALONE = [name for name in WHOLE if name != "coupon_tile"]


def cube(side: float = 10.0) -> tuple[np.ndarray, np.ndarray]:
    """A closed cube of 12 triangles with a corner at the origin: vertices (8, 3), faces (12, 3)."""
    corners = np.array([[x, y, z] for z in (0, 1) for y in (0, 1) for x in (0, 1)], dtype=float)
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    faces = [tri for a, b, c, d in quads for tri in ((a, b, c), (a, c, d))]
    return corners * side, np.array(faces)


def divider() -> Repair:
    """The divider of a small-parts tray: a leaning blade on a thicker foot."""
    repair = Repair("Tray divider")
    repair.add(
        "fin",
        name="blade",
        bottom=Reading([45.9, 46.0, 45.95]),
        top=37,
        height=Reading(71, instrument="ruler"),
        inset=-7,
        thickness=1.6,
    )
    repair.add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
    return repair.fit("foot", "thickness", Reading([2.45, 2.5]))


def door() -> Repair:
    """A battery door with its clip."""
    repair = Repair("Battery door", material="PETG")
    repair.add("plate", name="door", width=30, height=18, thickness=2, holes=0)
    return repair.add("clip", seat=Seat("front of door", sink=0.4), name="clip")


def screw_plate() -> Repair:
    """A plate with rounded corners, two screw holes and a pin hole off the middle."""
    repair = Repair("Screw plate").add("plate", name="plate", holes=2, corner_radius=3)
    return repair.cut(
        "cylinder",
        seat=Seat("top of plate", along=8.5, across=3, by="top", sink=8),
        name="pin hole",
        diameter=3.2,
        height=12,
    )


def peg() -> Repair:
    """A round shelf peg with a collar, printed as it stands."""
    return Repair("Shelf peg", down=(0.0, 0.0, -1.0)).add(
        "peg", name="peg", diameter=Reading(4.92), collar=9
    )


def rail() -> Repair:
    """A body with a ramp set askew on it and a tongue at its end."""
    repair = Repair("Rail tab").add("box", name="body", width=40, depth=12, height=6)
    on_top, at_left = (
        Seat("top of body", turn=30, sink=0.2),
        Seat("left of body", along=2, sink=0.5),
    )
    repair.add("wedge", on_top, "ramp", width=12, depth=8, height=6)
    return repair.add("tab", at_left, "tongue", width=8, length=6, thickness=2)


ALL = (divider, door, screw_plate, peg, rail)
