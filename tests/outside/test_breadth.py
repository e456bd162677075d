"""Household parts built two ways: here by edges and patterns, and again by coordinates or formulas.

Volumes agree within 0.05 %. What is built of blocks and rods is in ``tests/household.py``, by
coordinates in manifold3d; below are formulas, those of any handbook unless a source is named.
Rounds and chamfers of edges chosen by hand are left off: they are checked by formula in
``tests/solids/test_eases.py``.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from coordinates import (
    CLEARANCE,
    below,
    box,
    extruded,
    lettering,
    revolved,
    rod,
    shelf,
    sizes,
    wound,
)
from household import OTHERS, SHELF
from manifold3d import Manifold

from workbench.output.notebook.bundled import folders
from workbench.solids.building.build import build


def disc(diameter):
    return math.pi * diameter**2 / 4


def chamfered_end(width, depth, length, cut):
    """A tongue whose end narrows at 45 degrees on all four sides."""
    foot = box(width, depth, length - cut)
    return Manifold.batch_hull([foot, box(width - 2 * cut, depth - 2 * cut, 1e-9, z=length)])


# -- parts of one shape ------------------------------------------------------------------------


def spacer_ring(n):
    """A ring less two chamfers, each by Pappus and Guldin."""
    bore, cut = n("ring", "inside"), n("ring", "bore_chamfer")
    off = cut**2 / 2 * 2 * math.pi * (bore / 2 + cut / 3)
    return (disc(n("ring", "outside")) - disc(bore)) * n("ring", "height") - 2 * off


def radio_knob(n):
    wide, tall, count = n("knob", "diameter"), n("knob", "height"), n("knob", "flutes")
    part = rod(wide, tall)
    for number in range(count):
        turn = (number + 0.5) * 2 * math.pi / count - math.pi / 2
        x, y = wide / 2 * math.cos(turn), wide / 2 * math.sin(turn)
        part -= rod(n("knob", "flute"), tall, x, y)
    shaft, deep = n("knob", "shaft"), n("knob", "depth")
    bore = rod(shaft, deep) - box(shaft, shaft, deep, 0, -n("knob", "across_flat"))
    # The pointer's groove is 0.8 mm deep, from the front rim to a sixth of the way past.
    groove = box(n("knob", "pointer"), wide, 0.8, 0, -wide / 6 - wide / 2, tall - 0.8)
    return (part - bore - groove).volume()


def hinge_pin(n):
    head, under, r = n("pin", "head"), n("pin", "head_thickness"), n("pin", "diameter") / 2
    tip, cut = under + n("pin", "length"), n("pin", "chamfer")
    rim = [(0, 0), (head / 2, 0), (head / 2, under), (r, under), (r, tip - cut), (r - cut, tip)]
    part, flat = revolved([*rim, (0, tip)]), r - n("pin", "flat")
    front = [(-flat, 0), (-flat, tip - cut), (2 - flat, tip - cut + 2), (-9, tip + 2), (-9, 0)]
    return (part - extruded(front, 2 * head)).volume()


def drawer_stop(n):
    long, base, tall = n("stop", "length"), n("stop", "base"), n("stop", "height")
    area = long * base + n("stop", "thickness") * (tall - base) + n("stop", "gusset") ** 2 / 2
    return area * n("stop", "width") - n("stop", "holes") * disc(CLEARANCE["M4"]) * base


def coat_hook(n):
    t, inner = n("hook", "thickness"), n("hook", "opening")
    area = t * (n("hook", "back") + n("hook", "lip")) + (disc(inner + 2 * t) - disc(inner)) / 2
    return area * n("hook", "width") - n("hook", "holes") * disc(CLEARANCE["M4"]) * t


def cable_guide(n):
    across, wall, floor = n("guide", "cable"), n("guide", "wall"), n("guide", "floor")
    count, deep, ear = n("guide", "cables"), n("guide", "depth"), n("guide", "ear")
    wide, top = count * (across + wall) + wall, floor + across
    part = box(wide + 2 * ear, deep, floor) + box(wide, deep, top)
    for number in range(count):
        x = (number - (count - 1) / 2) * (across + wall)
        part -= rod(across, deep, x, -deep / 2, floor + across / 2, "y")
        part -= box(n("guide", "mouth"), deep, across / 2, x, 0, floor + across / 2)
    return part.volume() - 2 * disc(CLEARANCE["M4"]) * floor


def cabinet_foot(n):
    """A frustum less a bore and the room for the head."""
    wide, tip, tall = n("foot", "diameter"), n("foot", "tip"), n("foot", "height")
    frustum = math.pi * tall * (wide**2 + wide * tip + tip**2) / 12
    room = n("foot", "head_depth")
    return frustum - disc(n("foot", "head")) * room - disc(CLEARANCE["M4"]) * (tall - room)


def latch_strike(n):
    w, t, ramp, edge = (n("strike", f) for f in ("width", "thickness", "ramp", "edge"))
    part = (w * t - ramp * (t - edge) / 2) * n("strike", "height")
    part -= n("strike", "opening_width") * n("strike", "opening_height") * t
    return part - 2 * countersunk(CLEARANCE["M4"], n("strike", "head"), t)


def countersunk(hole, head, t):
    """A hole through a plate with a countersink of 90 degrees: a frustum on top of a cylinder."""
    deep = (head - hole) / 2
    frustum = math.pi * deep * (head**2 + head * hole + hole**2) / 12
    return frustum + disc(hole) * (t - deep)


def rounded(n, step):
    """Volume of a plate whose corners are rounded."""
    corners = (4 - math.pi) * n(step, "corner_radius") ** 2
    return (n(step, "width") * n(step, "height") - corners) * n(step, "thickness")


# -- plates and what stands on them ------------------------------------------------------------


def screw_plate(n):
    hole = countersunk(CLEARANCE["M4"], n("plate", "head"), n("plate", "thickness"))
    lip = n("lip", "width") * n("lip", "depth") * (n("lip", "height") - n("lip", "place.sink"))
    return rounded(n, "plate") - n("plate", "holes") * hole + lip


def tongue(n, step):
    """What of a tongue stands out of what it is sunk into."""
    sizes = (n(step, field) for field in ("width", "thickness", "length", "chamfer"))
    body = chamfered_end(*sizes)
    return body.volume() - below(body, n(step, "place.sink"))


def blind_rail_tab(n):
    hole = disc(CLEARANCE["M3"]) * n("body", "thickness")
    return rounded(n, "body") - n("body", "holes") * hole + tongue(n, "tongue")


def battery_door(n):
    arm, root, tip = (n("hook", f) for f in ("length", "root_thickness", "tip_thickness"))
    out, r, face = (
        n("hook", "hook_depth"),
        n("hook", "root_fillet"),
        n("hook", "root_thickness") / 2,
    )
    nose = arm + out / math.tan(math.radians(n("hook", "return_angle")))
    end = nose + out / math.tan(math.radians(n("hook", "lead_in_angle")))
    back = face - tip
    side = [
        (-face, 0),
        (face, 0),
        (face, arm),
        (face + out, nose),
        (face, end),
        (back, end),
        (back, arm),
    ]
    hook = extruded(side, n("hook", "width"), "y")
    # A ball rolled into the corner of the foot: what it leaves between two lines at an angle.
    for foot, angle in (
        (face, math.pi / 2),
        (-face, math.atan2(arm, face * 2 - root + tip - root)),
    ):
        hook += fillet(foot, angle, r, n("hook", "width"))
    hook = hook.volume() - below(hook, n("hook", "place.sink"))
    return rounded(n, "door") + hook + tongue(n, "front toe") + tongue(n, "back toe")


def fillet(foot, angle, r, width):
    """The filling of a corner between the level face outside a foot and a side at an angle."""
    way = 1 if foot > 0 else -1
    reach = r / math.tan(angle / 2)
    corner = np.array([(0, 0), (reach, 0), (reach * math.cos(angle), reach * math.sin(angle))])
    turns = np.linspace(-math.pi / 2, angle - 3 * math.pi / 2, 90)
    arc = np.column_stack([reach + r * np.cos(turns), r + r * np.sin(turns)])
    corners = np.vstack([corner[:1], arc]) * (way, 1) + (foot, 0)
    return extruded(corners[::way], width, "y")


def tray_divider(n):
    t, sunk = n("blade", "thickness"), n("rib", "place.sink")
    area = (n("blade", "bottom") + n("blade", "top")) / 2 * n("blade", "height")
    r, deep = n("finger notch", "diameter") / 2, n("finger notch", "place.sink")
    turn = 2 * math.acos((r - deep) / r)
    area -= r**2 / 2 * (turn - math.sin(turn))  # a circular segment
    rib = n("rib", "width") * n("rib", "depth") * (n("rib", "height") - sunk)
    nub = n("nub", "width") * n("nub", "depth") * (n("nub", "height") - n("nub", "place.sink"))
    foot = tongue(n, "foot")
    # The foot is thicker than the blade, and stands out of it where it is sunk as well.
    foot += n("foot", "width") * (n("foot", "thickness") - t) * n("foot", "place.sink")
    return area * t + rib + nub + foot


def shelf_peg(n):
    r, tall, cut = n("peg", "diameter") / 2, n("peg", "length"), n("peg", "chamfer")
    flat = n("peg", "across_flat") - r
    part = revolved([(0, 0), (r, 0), (r, tall - cut), (r - cut, tall), (0, tall)])
    part -= extruded(
        [(-flat, 0), (-flat, tall - cut), (2 - flat, tall - cut + 2), (-9, tall + 2), (-9, 0)], 9
    )
    rest = n("rest", "width") * n("rest", "depth") * n("rest", "height")
    return part.volume() - below(part, n("rest", "place.sink")) + rest


# -- letters, threads and teeth ----------------------------------------------------------------


def words(n, step, text, field="height"):
    """Letters less what of them is sunk, by the font's own curves."""
    return lettering(text) * n(step, field) ** 2 * (n(step, "depth") - n(step, "place.sink"))


def letter_stamp(n):
    block = n("block", "width") * n("block", "depth") * n("block", "height")
    return block + words(n, "words", "MEND")


def name_plate(n):
    field = n("field", "height") - n("field", "place.sink")
    holes = 2 * disc(n("holes", "diameter")) * n("plate", "thickness")
    raised = n("field", "width") * n("field", "depth") * field
    return rounded(n, "plate") - holes + raised + words(n, "words", "Cellar")


def house_number(n):
    figures = lettering("58") * n("plate", "digits") ** 2 * n("plate", "raised")
    return (
        rounded(n, "plate") + figures - 2 * disc(n("holes", "diameter")) * n("plate", "thickness")
    )


def bottle_cap(n):
    tall, wide = n("cap", "height"), n("cap", "diameter")
    part = rod(wide, tall)
    for number in range(n("ribs", "repeat.n")):
        turn = 2 * math.pi * number / n("ribs", "repeat.n")
        x, y = (n("ribs", "repeat.radius") * f(turn) for f in (math.cos, math.sin))
        part += rod(n("ribs", "diameter"), tall, x, y)
    more, pitch = n("thread", "allowance"), n("thread", "pitch")
    crest, root = (n("thread", "diameter") + more) / 2, (n("thread", "core") + more) / 2
    ridge = (n("thread", "ridge") + more / 2) / pitch
    flank = (crest - root) / pitch  # 45 degrees
    shares = ridge, ridge + flank, 1 - flank, 1
    return part.volume() - wound(crest, root, shares, n("thread", "length"))


def threaded_knob(n):
    low = n("grip", "height")
    part = rod(n("grip", "diameter"), low)
    for number in range(n("lobes", "repeat.n")):
        turn = 2 * math.pi * number / n("lobes", "repeat.n")
        x, y = (n("lobes", "repeat.radius") * f(turn) for f in (math.cos, math.sin))
        part += rod(n("lobes", "diameter"), low, x, y)
    part += rod(n("hub", "diameter"), n("hub", "height"), z=low - n("hub", "place.sink"))
    # ISO 68-1 and 261: M8 by 1.25; H = 0.866 P, crest P/8, root P/4, depth 5/8 H.
    pitch, crest = 1.25, (8 + n("thread", "allowance")) / 2
    root = crest - 5 / 8 * math.sqrt(3) / 2 * pitch
    shares = 1 / 8, 1 / 8 + 5 / 16, 1 - 5 / 16, 1
    return part.volume() - wound(crest, root, shares, n("thread", "length"))


def gear_wheel(n):
    """Area of the teeth from their thickness at each radius, by ISO 21771."""
    teeth, module = n("gear", "teeth"), n("gear", "module")
    pitch, angle = teeth * module / 2, math.radians(n("gear", "pressure_angle"))
    base, root, tip = pitch * math.cos(angle), pitch - 1.25 * module, pitch + module
    half = math.pi / (2 * teeth) - n("gear", "backlash") / (2 * pitch) + math.tan(angle) - angle
    r = np.linspace(root, tip, 20001)
    turned = np.arccos(np.minimum(1.0, base / np.maximum(r, base)))  # below the base it is radial
    area = math.pi * root**2 + teeth * np.trapezoid(2 * (half - np.tan(turned) + turned) * r, r)
    hub = n("hub", "height") - n("hub", "place.sink")
    part = area * n("gear", "thickness") + disc(n("hub", "diameter")) * hub
    return part - disc(n("bore", "diameter")) * (n("gear", "thickness") + hub)


PARTS = {
    make.__name__.replace("_", "-"): make
    for make in (
        *(spacer_ring, radio_knob, hinge_pin, drawer_stop, coat_hook, cable_guide, cabinet_foot),
        *(latch_strike, screw_plate, blind_rail_tab, battery_door, tray_divider, shelf_peg),
        *(letter_stamp, name_plate, house_number, bottle_cap, threaded_knob, gear_wheel),
    )
}


@pytest.mark.parametrize("stem", PARTS)
def test_shelf_parts_by_formulas(stem):
    repair = shelf(stem)
    assert build(repair).volume == pytest.approx(PARTS[stem](sizes(repair)), rel=5e-4)


@pytest.mark.parametrize("stem", SHELF)
def test_shelf_parts_by_coordinates(stem):
    repair = shelf(stem)
    expected = SHELF[stem](sizes(repair)).volume()
    assert build(repair).volume == pytest.approx(expected, rel=5e-4)


@pytest.mark.parametrize("name", OTHERS)
def test_patterns_and_hands_by_coordinates(name):
    ours, theirs = OTHERS[name]
    repair = ours()
    assert build(repair).volume == pytest.approx(theirs(sizes(repair)).volume(), rel=5e-4)


def test_every_part_of_the_shelf_is_built_a_second_way():
    assert {*SHELF, *PARTS} == {path.stem for path in folders().templates.glob("*.ipynb")}
