"""Household parts built a second way, by coordinates in manifold3d, and two not on the shelf."""

from __future__ import annotations

import math

import numpy as np
from coordinates import CLEARANCE, box, extruded, rod
from manifold3d import Manifold

from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Row
from workbench.solids.recipe.seat import Seat


def angle_bracket(n):
    w, d, t = n("foot", "width"), n("foot", "depth"), n("foot", "height")
    up, sink = n("upright", "height"), n("upright", "place.sink")
    rw, rd, rh = n("rib", "width"), n("rib", "depth"), n("rib", "height")
    rib = Manifold.hull_points(
        np.array([(x, y, z) for x in (-rd / 2, rd / 2) for y, z in ((0, 0), (-rw, 0), (0, rh))])
    ).translate([0, d / 2 - t + 0.4, t - n("rib", "place.sink")])
    part = box(w, d, t) + box(w, t, up, 0, d / 2 - t / 2, t - sink) + rib
    across = n("foot holes", "diameter")
    x = w / 2 - n("foot holes", "place.inset_left")
    y = n("foot holes", "place.inset_front") - d / 2
    z = t - sink + up - n("wall holes", "place.inset_top")
    for side in (-x, x):
        part = part - rod(across, t, side, y) - rod(across, t, side, d / 2, z, "-y")
    return part


def snap_cover(n):
    w, d, h = (n("room", field) for field in ("width", "depth", "height"))
    tall = n("cover", "height")
    part = box(n("cover", "width"), n("cover", "depth"), tall) - box(w, d, h, 0, 0, tall - h)
    across, long = n("bead", "diameter"), n("bead", "height")
    for side in (-1, 1):
        y = side * (d / 2 - n("bead", "place.sink") + across / 2)
        part += rod(across, long, -long / 2, y, tall - n("bead", "place.inset"), "x")
    return part


def tube_cap(n):
    z = n("collar", "height") - n("plug", "place.sink")
    tall = n("plug", "height")
    part = rod(n("collar", "diameter"), n("collar", "height"))
    part += rod(n("plug", "outside"), tall, z=z) - rod(n("plug", "inside"), tall + 1, z=z)
    part += rod(n("plug", "inside"), n("plug", "place.sink"), z=z)
    for number in range(n("ribs", "repeat.n")):
        rib = box(n("ribs", "width"), n("ribs", "depth"), n("ribs", "height"))
        rib = rib.translate([n("ribs", "repeat.radius"), 0, z])
        part += rib.rotate([0, 0, 360 * number / n("ribs", "repeat.n")])
    return part


def rod_corner(n):
    w, d, h = (n("block", field) for field in ("width", "depth", "height"))
    one, other = n("first rod", "height"), n("second rod", "height")
    y = n("first rod", "place.inset") - d / 2
    x = n("second rod", "place.inset") - w / 2
    first = rod(n("first rod", "diameter"), one, w / 2, y, h / 2, "-x")
    return box(w, d, h) - first - rod(n("second rod", "diameter"), other, x, d / 2, h / 2, "-y")


def hose_clip(n):
    out, inside, tall = n("ring", "outside"), n("ring", "inside"), n("ring", "height")
    part = rod(out, tall) - rod(inside, tall)
    deep = n("opening", "depth")
    part -= box(n("opening", "width"), deep, tall, 0, -out / 2 - 1 + deep / 2)
    w, t, r = n("foot", "width"), n("foot", "thickness"), n("foot", "corner_radius")
    corners = [
        rod(2 * r, t, x, 0, z, "y")
        for x in (r - w / 2, w / 2 - r)
        for z in (r, tall - r)
    ]  # fmt: skip
    y = out / 2 - n("foot", "place.sink")
    part += Manifold.batch_hull(corners).translate([0, y, 0])
    for side in (-1, 1):
        x = side * n("foot", "spacing") / 2
        part -= rod(CLEARANCE["M4"], t, x, y, tall / 2, "y")  # before the ring is there
    return part


def keyhole_hook(n):
    w, h, t = n("plate", "width"), n("plate", "height"), n("plate", "thickness")
    head = h / 2 - n("head hole", "place.inset")
    long, wide = n("slot", "depth"), n("slot", "width")
    part = box(w, h, t) - rod(n("head hole", "diameter"), t, 0, head)
    part = part - box(wide, long, t, 0, head + long / 2) - rod(wide, t, 0, head + long)
    deep, tall = n("arm", "depth"), n("arm", "height")
    y, z = n("arm", "place.inset") - h / 2 + deep / 2, t - n("arm", "place.sink")
    part += box(n("arm", "width"), deep, tall, 0, y, z)
    out, up = n("lip", "height"), n("lip", "depth")
    y += deep / 2 - n("lip", "place.sink") + out / 2
    return part + box(n("lip", "width"), out, up, 0, y, z + tall - up)


def vent_louvre(n):
    tall = n("frame", "height")
    part = box(n("frame", "width"), n("frame", "depth"), tall)
    part -= box(n("opening", "width"), n("opening", "depth"), tall)
    count, pitch = n("slats", "repeat.n"), n("slats", "repeat.pitch")
    for number in range(count):
        slat = box(n("slats", "width"), n("slats", "depth"), n("slats", "height"))
        slat = slat.rotate([n("slats", "place.lean"), 0, 0])
        y = (number - (count - 1) / 2) * pitch
        part += slat.translate([0, y, tall - n("slats", "place.sink")])
    return part


def furniture_wheel(n):
    tall = n("wheel", "height")
    part = rod(n("wheel", "diameter"), tall) - rod(n("bore", "diameter"), tall)
    count, radius = n("openings", "repeat.n"), n("openings", "repeat.radius")
    for number in range(count):
        turn = 2 * math.pi * number / count
        part -= rod(
            n("openings", "diameter"), tall, radius * math.cos(turn), radius * math.sin(turn)
        )
    return part


def drawer_pull(n):
    low = n("bar", "height")
    part = box(n("bar", "width"), n("bar", "depth"), low)
    top = low - n("posts", "place.sink") + n("posts", "height")
    for side in (-1, 1):
        x = side * n("posts", "repeat.pitch") / 2
        part += rod(n("posts", "diameter"), n("posts", "height"), x, 0, top - n("posts", "height"))
        part -= rod(
            n("screw holes", "diameter"), n("screw holes", "height"), x, 0, top, "z"
        ).translate([0, 0, -n("screw holes", "height")])
    return part


def cable_grommet(n):
    low = n("flange", "height")
    top = low - n("sleeve", "place.sink") + n("sleeve", "height")
    part = rod(n("flange", "diameter"), low) + rod(
        n("sleeve", "diameter"), n("sleeve", "height"), z=top - n("sleeve", "height")
    )
    part -= rod(n("passage", "diameter"), 100, z=-1)
    for number in range(n("lugs", "repeat.n")):
        lug = box(n("lugs", "width"), n("lugs", "depth"), n("lugs", "height"))
        lug = lug.translate([n("lugs", "repeat.radius"), 0, low - n("lugs", "place.sink")])
        part += lug.rotate([0, 0, 360 * number / n("lugs", "repeat.n")])
    return part


def curtain_glider(n):
    z = n("head", "height")
    part = rod(n("head", "diameter"), z)
    z -= n("neck", "place.sink")
    part += rod(n("neck", "diameter"), n("neck", "height"), z=z)
    z += n("neck", "height") - n("body", "place.sink")
    deep, tall = n("body", "depth"), n("body", "height")
    part += box(n("body", "width"), deep, tall, z=z)
    return part - rod(
        n("eye", "diameter"), deep, 0, -deep / 2, z + tall - n("eye", "place.inset"), "y"
    )


def sliding_box(n):
    w, d, tall = n("box", "width"), n("box", "depth"), n("box", "height")
    room_w, room_d = n("room", "width"), n("room", "depth")
    part = box(w, d, tall) - box(room_w, room_d, tall, z=tall - n("room", "height"))
    deep, high, long = n("rails", "width"), n("rails", "height"), n("rails", "depth")
    z, y = tall - high, room_d / 2
    for side in (-1, 1):
        # A groove that narrows upwards: it is open where the lid comes in.
        corners = [(side * y, z), (side * (y + deep), z), (side * y, tall)]
        part -= extruded(corners[::side], long).translate([w / 2 - long / 2, 0, 0])
    mouth = n("mouth", "width")
    part -= box(mouth, room_d, high, w / 2 - mouth / 2, 0, z)
    lw, ld, lh = n("lid", "width"), n("lid", "depth"), n("lid", "height")
    lid, out = box(lw, ld, lh), n("lid rails", "width")
    for side in (-1, 1):
        corners = [(side * ld / 2, 0), (side * (ld / 2 + out), 0), (side * ld / 2, lh)]
        lid += extruded(corners[::side], lw)
    sunk = n("ridge", "place.sink")
    lid += box(n("ridge", "width"), n("ridge", "depth"), n("ridge", "height"), z=lh - sunk)
    return part + lid.translate([0, n("lid", "place.y"), 0])


def strap_buckle(n):
    w, d, t = n("frame", "width"), n("frame", "depth"), n("frame", "height")
    slot, long = n("slot", "width"), n("slot", "depth")
    frame = box(w, d, t) - box(slot, long, t, n("slot", "place.inset") + slot / 2 - w / 2)
    start = n("entry", "place.inset") - w / 2
    end = start + n("throat", "width")
    frame = frame - rod(n("entry", "diameter"), t, start) - rod(n("rest", "diameter"), t, end)
    frame -= box(end - start, n("throat", "depth"), t, (start + end) / 2)
    wide = n("tongue", "width")
    tongue = box(wide, d, t) - box(
        slot, long, t, wide / 2 - slot / 2 - n("tongue slot", "place.inset")
    )
    neck, head = n("neck", "diameter"), n("head", "top")
    z = t - n("neck", "place.sink")
    stud = rod(neck, n("neck", "height"), z=z)
    z += n("neck", "height")
    stud += rod(neck, n("head", "height"), z=z, top=head)
    z += n("head", "height") - n("crown", "place.sink")
    stud += rod(head, n("crown", "height"), z=z)
    tongue += stud.translate([n("neck", "place.inset") - wide / 2, 0, 0])
    return frame + tongue.translate([0, n("tongue", "place.y"), 0])


def leaf_hinge(n):
    across, long, gap = n("barrel", "diameter"), n("barrel", "length"), n("gap", "depth")
    low, thick, reach = -0.35 * across, n("leaves", "thickness"), n("leaves", "height")
    shank = rod(across, long, 0, -long / 2, 0, "y")
    shank -= box(across, long, across, z=low - across)
    end = long / 4 - gap / 2
    for side in (-1, 1):
        shank -= box(across, gap, across, 0, side * long / 4, -across / 2)
    r = n("leaves", "corner_radius")
    corners = [
        rod(2 * r, thick, x, y)
        for x in (r - reach / 2, reach / 2 - r)
        for y in (r - long / 2, long / 2 - r)
    ]
    leaf, hole, head = Manifold.batch_hull(corners), CLEARANCE["M3"], n("leaves", "head")
    deep = (head - hole) / 2
    for side in (-1, 1):
        y = side * n("leaves", "spacing") / 2
        leaf -= rod(hole, thick, 0, y) + rod(hole, deep, 0, y, thick - deep, top=head)
    off, wide = across / 2 + gap, across / 2 + gap + r + 0.5
    for side in (-1, 1):
        shank += leaf.translate([side * (off + reach / 2), 0, low])
        shank += box(wide, end, thick, -wide / 2, side * (long - end) / 2, low)
    shank += box(wide, long / 2 - gap, thick, wide / 2, 0, low)
    base, tall, more = 0.7 * across - 2.4, n("pivots", "height"), 0.83 * gap
    tip = base - 2 * tall
    for side, way in ((-1, "-y"), (1, "y")):
        shank -= rod(base + more, tall, 0, side * (long / 2 - end), 0, way, tip + more)
        shank += rod(base, tall, 0, side * (long / 4 - gap / 2), 0, way, tip)
    return shank


SHELF = {
    make.__name__.replace("_", "-"): make
    for make in (
        *(angle_bracket, snap_cover, tube_cap, rod_corner, hose_clip, keyhole_hook, vent_louvre),
        *(furniture_wheel, drawer_pull, cable_grommet, curtain_glider, sliding_box, strap_buckle),
        *(leaf_hinge,),
    )
}


def comb():
    """A comb of twelve teeth along a strip, its ends square."""
    repair = Repair("comb").add("box", name="back", width=96, depth=4, height=12)
    seat = Seat("top of back", edge="left", inset=1, sink=0.3)
    return repair.add("box", seat, "teeth", Row(12, 8), width=3, depth=4, height=18)


def comb_there(n):
    part = box(96, 4, 12)
    for number in range(12):
        part += box(3, 4, 18, -48 + 1 + 1.5 + 8 * number, 0, 11.7)
    return part


def handle():
    """A handle for a left hand: a sloping grip on a bent foot."""
    repair = Repair("left handle").add("box", name="foot", width=30, depth=18, height=5)
    repair.add("wedge", Seat("top of foot", edge=("right", "front"), inset=(2, 3)), "grip", width=20, depth=8, height=14)  # fmt: skip
    return repair.cut(
        "cylinder",
        Seat("top of foot", edge=("left", "back"), inset=5, sink=5),
        "hole",
        diameter=4,
        height=5,
    )


def handle_there(n):
    """The right hand of it, by coordinates."""
    foot = box(30, 18, 5) - rod(4, 5, 10, 4)
    slope = [(x, y, z) for y in (-6, 2) for x, z in ((-13, 5), (7, 5), (7, 19))]
    return foot + Manifold.hull_points(np.array([(-3 + 3 + x, y, z) for x, y, z in slope], float))


OTHERS = {
    "comb": (comb, comb_there),
    "other hand of a handle": (lambda: handle().mirrored("right handle"), handle_there),
}
