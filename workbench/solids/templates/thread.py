"""An ISO metric screw thread: a threaded rod, or what cuts a threaded hole."""

from __future__ import annotations

import math
from functools import lru_cache, partial
from itertools import pairwise
from typing import TYPE_CHECKING, Annotated

from workbench.errors import RepairError
from workbench.solids.facts import facts
from workbench.solids.geometry import kernel, quick
from workbench.solids.meshes import swept
from workbench.solids.parameters import Choice, Flag, Size, checked
from workbench.words import _, number, with_unit

if TYPE_CHECKING:
    from build123d import Solid
    from OCP.TopoDS import TopoDS_Shape, TopoDS_Solid

#: Outer diameter and coarse pitch of each thread in mm (ISO 261).
COARSE = {
    "M4": (4.0, 0.7),
    "M5": (5.0, 0.8),
    "M6": (6.0, 1.0),
    "M8": (8.0, 1.25),
    "M10": (10.0, 1.5),
    "M12": (12.0, 1.75),
    "M16": (16.0, 2.0),
    "M20": (20.0, 2.5),
    "M24": (24.0, 3.0),
}
OTHER = "other"

#: A finer pitch than this, in mm, is lost in the lines of the common nozzle of 0.4 mm.
FINEST = 0.7

#: Crest, flanks and root of the basic profile of ISO 68-1 along the pitch.
ISO = (1 / 8, 7 / 16, 11 / 16, 1.0)

#: Turns at most, so that it is built in seconds.
MOST_TURNS = 40


@facts(
    axial=True, ridged=True, one_hand=True, quick=lambda _values: True, read=("diameter", "pitch")
)
@checked
def thread(
    size: Annotated[
        str, Choice((*COARSE, OTHER), measure="outer diameter, and from crest to crest")
    ] = "M8",
    length: Annotated[float, Size(2, 60, 0.5, measure="of the thread, end to end")] = 8.0,
    allowance: Annotated[
        float, Size(0, 1, 0.05, measure="off the diameter of a rod, onto that of a hole")
    ] = 0.2,
    hole: Annotated[bool, Flag(measure="whether it cuts a threaded hole")] = False,
    diameter: Annotated[
        float, Size(3, 60, 0.05, measure='over the crests, where size is "other"')
    ] = 14.0,
    pitch: Annotated[
        float, Size(FINEST, 6, 0.05, measure='from crest to crest, where size is "other"')
    ] = 2.0,
) -> Solid:
    """A right-handed screw thread by ISO 68-1, standing on its end.

    The flanks lean 30 degrees from square, the crest is an eighth of the pitch wide and the root
    a quarter. A thread is known by its diameter over the crests and its pitch, from crest to crest.
    A step that cuts is given ``hole``: it is larger by the allowance.

    Raises RepairError when the thread is too coarse for its diameter, or has too many turns.
    """
    across, step = (diameter, pitch) if size == OTHER else COARSE[size]
    across += allowance if hole else -allowance
    root = across / 2 - 5 / 8 * math.sqrt(3) / 2 * step
    if root < 0.25 * across:
        raise RepairError(
            _("pitch is {pitch}, too coarse for {diameter} across; give at most {most}").format(
                pitch=with_unit(step),
                diameter=with_unit(across),
                most=with_unit(math.floor(across / 4 / (5 / 16 * math.sqrt(3)) * 100) / 100),
            )
        )
    if length / step > MOST_TURNS:
        raise RepairError(
            _("length is {length}, {turns} turns of the thread; give at most {most}").format(
                length=with_unit(length),
                turns=number(length / step, 0),
                most=with_unit(MOST_TURNS * step),
            )
        )
    return wound(across / 2, root, step, length)


def wound(
    crest: float, root: float, pitch: float, length: float, shares: tuple[float, ...] = ISO
) -> Solid:
    """A thread as one solid, its triangles known; where one made at once is enough, the rod round it.

    crest, root : radii in mm
    shares : where along the pitch the crest, the lower flank, the root and the upper flank end
    """
    from build123d import Solid

    if quick.wanted():
        solid = Solid.make_cylinder(crest, length)
    else:
        solid = Solid(_exact(crest, root, pitch, length, shares))
    profile = (crest, crest, root, root), (0.0, *shares[:3])
    return quick.standing(solid, partial(swept.wound, *profile, pitch, length))


@lru_cache(maxsize=16)
def _exact(
    crest: float, root: float, pitch: float, length: float, shares: tuple[float, ...]
) -> TopoDS_Solid:
    """Ruled faces along the thread's helices, closed at the axis and cut level.

    Half a turn of each of the profile's four stretches is made and repeated. Joining a core to a
    ridge took the kernel most of a minute instead, and faces swept the other way, from a level
    section, forty times as many triangles.
    """
    from build123d import Edge, Face, Location, Solid, Wire
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeSolid, BRepBuilderAPI_Sewing
    from OCP.BRepFill import BRepFill
    from OCP.TopoDS import TopoDS

    knots = list(zip((0.0, *shares), (crest, crest, root, root, crest), strict=True))
    helices = [
        Edge.make_helix(pitch, pitch / 2, radius).moved(Location((0, 0, share * pitch)))
        for share, radius in knots
    ]
    axis = Edge.make_line((0, 0, 0), (0, 0, pitch / 2))
    strips = [BRepFill.Face_s(low.wrapped, high.wrapped) for low, high in pairwise(helices)]
    inner = BRepFill.Face_s(helices[0].wrapped, axis.wrapped)
    profile = [(radius, 0, share * pitch) for share, radius in knots]
    across = Face(Wire.make_polygon([(0, 0, 0), *profile, (0, 0, pitch)], close=True)).wrapped
    turns = math.ceil(length / pitch) + 2  # one more at each end, to be cut off
    sewing = BRepBuilderAPI_Sewing(1e-4)

    def put(face: TopoDS_Shape, halves: int) -> None:
        place = Location((0, 0, halves * pitch / 2), (0, 0, 180 * halves))
        sewing.Add(face.Moved(place.wrapped))

    for half in range(2 * turns):
        for strip in strips:
            put(strip, half)
    for end in (0, 2 * turns):
        put(across, end)
        put(inner, end)
        put(inner, end + 1)
    sewing.Perform()
    solid = Solid(BRepBuilderAPI_MakeSolid(TopoDS.Shell(sewing.SewedShape())).Solid())
    if solid.volume < 0:
        solid = Solid(TopoDS.Solid(solid.wrapped.Reversed()))
    # Cut in the middle of a turn, where no end of the helices touches the cut; half a turn back.
    slab = Solid.make_box(4 * crest, 4 * crest, length)
    level = kernel.common(solid, slab.moved(Location((-2 * crest, -2 * crest, 1.5 * pitch))))
    return level.moved(Location((0, 0, -1.5 * pitch), (0, 0, 180))).wrapped
