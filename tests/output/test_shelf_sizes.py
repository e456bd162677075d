"""The shelf at other sizes: whatever is typed, a part that does its job, or which number to change.

Each size is drawn from half to twice what it is on the shelf, within its range. What a part must
do is judged on its solid alone: what must pass through it passes, what must hold is there.
``WORKBENCH_FULL=1`` draws 3,000 sets; otherwise a few for each part. ``WORKBENCH_SEED=text``
draws others than the last time.
"""

from __future__ import annotations

import math
import os
import random
import re

import pytest

from workbench.errors import RepairError
from workbench.output.notebook.bundled import folders
from workbench.output.notebook.repair_sizes import follows, parameter, set_sizes, size
from workbench.output.notebook.template_notebook import open_template, read_template
from workbench.solids.building.build import build
from workbench.solids.parameters import Count, Size
from workbench.solids.shapes.screws import clearance_hole

SHELF = sorted(folders().templates.glob("*.ipynb"))
FULL = bool(os.environ.get("WORKBENCH_FULL"))
SEED = os.environ.get("WORKBENCH_SEED", "")
SETS = math.ceil(3000 / len(SHELF)) if FULL else 4

#: Threads, letters and teeth take a second to build: half as many sets.
LONG = {"bottle-cap", "threaded-knob", "gear-wheel", "house-number", "name-plate"}

#: Two shapes that share less than this, in mm³, share nothing.
NOTHING = 1e-4


class Made:
    """A part at some sizes: its sizes by name, and questions to its solid."""

    def __init__(self, repair):
        self.repair, self.solid = repair, build(repair)
        box = self.solid.bounding_box()
        self.low, self.high = tuple(box.min), tuple(box.max)

    def __getitem__(self, name):
        step, _dot, field = name.partition(".")
        return self.repair.step(step).number(field)

    def span(self, axis):
        return self.high[axis] - self.low[axis]

    def solid_at(self, x, y, z):
        return self.solid.is_inside((x, y, z), tolerance=1e-4)

    def passes(self, diameter, at, way="z", length=1000.0):
        """Whether a rod passes, its middle at a point."""
        from build123d import Cylinder, Location

        turn = {"z": (0, 0, 0), "x": (0, 90, 0), "y": (90, 0, 0)}[way]
        rod = Cylinder(diameter / 2 - 1e-3, length).moved(Location(at, turn))
        return self._shared(rod) < NOTHING

    def holds(self, width, depth, height, at):
        """Whether a block finds room, its middle at a point."""
        from build123d import Box, Location

        block = Box(width - 2e-3, depth - 2e-3, height - 2e-3).moved(Location(at))
        return self._shared(block) < NOTHING

    def bores(self, diameter):
        """How many round walls of a diameter there are, by their axes."""
        from build123d import GeomType

        axes = set()
        for face in self.solid.faces().filter_by(GeomType.CYLINDER):
            if abs(face.radius - diameter / 2) < 1e-4:
                axis = face.axis_of_rotation
                axes.add(tuple(round(v, 3) for v in (*axis.position, *map(abs, axis.direction))))
        return len({axis for axis in axes})

    def _shared(self, tool):
        return volume(self.solid & tool)


def volume(common):
    return sum(one.volume for one in (common if isinstance(common, list) else [common]) if one)


def near(one, other):
    return abs(one - other) < 1e-4


# -- what each part must do --------------------------------------------------------------------


def spacer_ring(p):
    assert p.passes(p["ring.inside"], (0, 0, 0))
    assert near(p.span(2), p["ring.height"]) and near(p.span(1), p["ring.outside"])


def radio_knob(p):
    deep, shaft = p["knob.depth"], p["knob.shaft"]
    flat = p["knob.across_flat"] - shaft / 2 if p["knob.section"] == "D" else shaft / 2
    assert not p.solid_at(0, shaft / 2 - 0.05, deep - 0.05)
    assert not p.solid_at(0, 0.05 - flat, deep / 2)
    assert p.solid_at(0, 0, deep + 0.1)  # closed above the shaft
    assert near(p.span(2), p["knob.height"])


def hinge_pin(p):
    under = p["pin.head_thickness"] if p["pin.head"] else 0
    assert near(p.span(2), p["pin.length"] + under)
    assert p.solid_at(0, 0, under + p["pin.length"] / 2)
    assert p["pin.head"] == 0 or p["pin.head"] > p["pin.diameter"]


def drawer_stop(p):
    assert near(p.span(0), p["stop.width"]) and near(p.span(2), p["stop.height"])
    assert p.bores(clearance_hole(p["stop.screw"])) == p["stop.holes"]


def coat_hook(p):
    assert p.bores(clearance_hole(p["hook.screw"])) == p["hook.holes"]
    assert near(min(p.span(axis) for axis in (0, 1, 2)), p["hook.width"]) or p.span(0) > 0


def cable_guide(p):
    assert near(p.span(1), p["guide.depth"])
    assert p.bores(p["guide.cable"]) >= p["guide.cables"]
    assert p["guide.mouth"] < p["guide.cable"]


def cabinet_foot(p):
    hole = clearance_hole(p["foot.screw"])
    assert near(p.span(2), p["foot.height"])
    assert p.passes(hole, (0, 0, 0))
    assert p["foot.head"] > hole


def latch_strike(p):
    assert p.holds(p["strike.opening_width"], p["strike.opening_height"], 99, (0, 0, 0))
    for side in (-1, 1):
        at = (0, side * p["strike.spacing"] / 2, 0)
        assert p.passes(clearance_hole(p["strike.screw"]), at)


def battery_door(p):
    width, height, thick = p["door.width"], p["door.height"], p["door.thickness"]
    assert near(p.low[2], 0)  # the toes lie flush below
    for toe, side in (("front toe", -1), ("back toe", 1)):
        inset = p[f"{toe}.place.inset_{toe.split()[0]}"] + p["door.corner_radius"]
        y, root = side * (height / 2 - inset - 0.1), -width / 2 + p[f"{toe}.place.sink"]
        assert p.solid_at(min(root, -width / 2) - 0.02, y, p[f"{toe}.thickness"] / 2)
    inner = [
        side * (height / 2 - p["door.corner_radius"] - p[f"{toe}.place.inset_{edge}"])
        - side * p[f"{toe}.width"]
        for toe, edge, side in (("front toe", "front", -1), ("back toe", "back", 1))
    ]
    assert not p.solid_at(-width / 2 - 0.1, sum(inner) / 2, 0.15)  # two toes, not one
    foot = width / 2 - p["hook.place.inset"] - 0.05
    assert p.solid_at(foot - p["hook.root_fillet"] - 0.1, 0, thick + 0.05)
    assert p["hook.width"] <= height + 1e-9


def blind_rail_tab(p):
    across = clearance_hole(p["body.screw"]) if p["body.screw"] != "none" else p["body.hole"]
    end = p["body.width"] / 2 + p["tongue.length"] - p["tongue.place.sink"]
    assert near(p.high[0], end) and near(p.low[2], 0)
    assert near(p.span(1), p["body.height"]) and near(p.span(2), p["body.thickness"])
    assert p.bores(across) >= p["body.holes"]


def screw_plate(p):
    across = clearance_hole(p["plate.screw"])
    for number in range(p["plate.holes"]):
        x = (number - (p["plate.holes"] - 1) / 2) * p["plate.spacing"]
        assert p.passes(across, (x, 0, 0))
    assert near(p.low[1], -p["plate.height"] / 2)
    assert near(p.low[2], p["lip.place.sink"] - p["lip.height"])


def shelf_peg(p):
    flat = p["peg.across_flat"] - p["peg.diameter"] / 2
    assert near(p.low[1], -flat)  # it prints lying on its flat
    assert near(p.high[2], p["peg.length"])
    assert p["rest.width"] > p["peg.diameter"]


def tray_divider(p):
    x = (p["blade.top"] / 2) + p["blade.inset"]
    deep = p["blade.height"] - p["finger notch.place.sink"]
    assert not p.solid_at(x, 0, min(deep + 0.1, p["blade.height"] - 0.01))
    assert near(p.low[2], p["foot.place.sink"] - p["foot.length"])
    assert p["foot.width"] <= p["blade.bottom"] + 1e-9
    out = p["rib.height"] - p["rib.place.sink"] + p["blade.thickness"] / 2
    assert near(p.low[1], -max(out, p["foot.thickness"] / 2))


def angle_bracket(p):
    thick, across = p["foot.height"], p["foot holes.diameter"]
    half = p["foot.width"] / 2 - p["foot holes.place.inset_left"]
    y = p["foot holes.place.inset_front"] - p["foot.depth"] / 2
    level = p["upright.height"] - p["upright.place.sink"] + thick - p["wall holes.place.inset_top"]
    front, head = p["foot.depth"] / 2 - thick, 2 * across - 0.5
    for side in (-1, 1):
        assert p.passes(across, (side * half, y, 0))
        assert p.passes(head, (side * half, y, thick + 10), length=20)
        assert p.passes(across, (side * half, front, level), "y")
        assert p.passes(head, (side * half, front - 10, level), "y", length=20)
    assert p.solid_at(
        0, front - p["rib.width"] / 2, thick + p["rib.height"] / 4 - p["rib.place.sink"]
    )


def snap_cover(p):
    wide, deep, tall = p["room.width"], p["room.depth"], p["room.height"]
    inside = p["bead.place.sink"]
    middle = (0, 0, p.high[2] - tall / 2)
    assert p.holds(wide, deep - 2 * inside, tall, middle)
    for side in (-1, 1):
        bead = (0, side * (deep / 2 - inside / 2), p.high[2] - p["bead.place.inset"])
        assert p.solid_at(*bead)
        assert not p.solid_at(wide / 2 - 0.5, bead[1], bead[2])


def tube_cap(p):
    wide = p["plug.outside"] + 2 * (p["ribs.width"] / 2 - 0.6)
    assert p["collar.diameter"] > wide > p["plug.outside"]
    sunk = min(p["plug.place.sink"], p["ribs.place.sink"])
    assert near(p.span(2), p["collar.height"] - sunk + p["plug.height"])
    assert p.solid_at(0, 0, p["collar.height"] / 2)


def rod_corner(p):
    w, d, tall = p["block.width"], p["block.depth"], p["block.height"]
    one, other = p["first rod.height"], p["second rod.height"]
    y = p["first rod.place.inset"] - d / 2
    x = p["second rod.place.inset"] - w / 2
    assert p.passes(p["first rod.diameter"], (w / 2 - one / 2, y, tall / 2), "x", one)
    assert p.passes(p["second rod.diameter"], (x, d / 2 - other / 2, tall / 2), "y", other)
    assert p.solid_at(w / 2 - one - 0.3, y, tall / 2)  # each has an end to stand on
    assert p.solid_at(x, d / 2 - other - 0.3, tall / 2)


def hose_clip(p):
    inside, mouth = p["ring.inside"], p["opening.width"]
    assert p.passes(inside, (0, 0, 0))
    assert mouth < inside
    assert not p.solid_at(0, -p["ring.outside"] / 2 + 0.5, p["ring.height"] / 2)
    front = p["ring.outside"] / 2 - p["foot.place.sink"]
    for side in (-1, 1):
        at = (side * p["foot.spacing"] / 2, front - 10, p["ring.height"] / 2)
        assert p.passes(p["foot.head"], at, "y", length=20)


def keyhole_hook(p):
    top, thick = p["plate.height"] / 2, p["plate.thickness"]
    head = top - p["head hole.place.inset"]
    end = head + p["slot.depth"]
    assert p.passes(p["head hole.diameter"], (0, head, 0), length=2 * thick)
    assert p.passes(p["slot.width"], (0, end, 0), length=2 * thick)
    assert p.solid_at(0, end + p["slot.width"] / 2 + 0.5, thick / 2)
    assert p.solid_at(p["slot.width"] / 2 + 0.1, end, thick / 2)  # the head does not slip out
    lip = -top + p["arm.place.inset"] + p["arm.depth"] + p["lip.height"] - p["lip.place.sink"]
    assert p.solid_at(0, lip - 1.0, p.high[2] - p["lip.depth"] / 2)


def vent_louvre(p):
    assert near(p.span(2), p["frame.height"])  # no slat stands out
    lean = math.radians(p["slats.place.lean"])
    assert p["slats.repeat.pitch"] * math.sin(lean) - p["slats.height"] > 0.5
    assert p.solid.volume > 0


def furniture_wheel(p):
    assert p.passes(p["bore.diameter"], (0, 0, 0))
    count = p["openings.repeat.n"]
    same = near(p["openings.diameter"], p["bore.diameter"])
    assert p.bores(p["openings.diameter"]) == count + same
    assert p.solid_at(0, 0, 1) is False


def drawer_pull(p):
    half = p["posts.repeat.pitch"] / 2
    top = p["bar.height"] - p["posts.place.sink"] + p["posts.height"]
    for side in (-1, 1):
        deep = p["screw holes.height"]
        assert p.passes(p["screw holes.diameter"], (side * half, 0, top - deep / 2), length=deep)
        assert p.solid_at(side * half, 0, 1.1)  # no screw comes out where the hand is
    assert near(p.span(2), top)


def cable_grommet(p):
    assert p.passes(p["passage.diameter"], (0, 0, 0))
    panel = p["flange.height"] - p["lugs.place.sink"]
    out = p["sleeve.diameter"] / 2 - 0.4 + p["lugs.width"] / 2
    assert out > p["sleeve.diameter"] / 2
    assert p.solid_at(out - 0.1, 0, panel + p["lugs.height"] / 2)
    assert not p.solid_at(out - 0.1, 0, panel - 0.1)
    assert p["flange.diameter"] > 2 * out


def curtain_glider(p):
    top = p.high[2]
    level = top - p["eye.place.inset"]
    assert p.passes(p["eye.diameter"], (0, 0, level), "y")
    assert p.solid_at(0, 0, level + p["eye.diameter"] / 2 + 0.3)
    assert p["head.diameter"] > p["neck.diameter"]


def bodies(p, count):
    assert len(p.solid.solids()) == count


def name_plate(p):
    bodies(p, 1)
    for side in (-1, 1):
        at = (side * (p["plate.width"] / 2 - p["holes.place.inset"]), 0, 0)
        assert p.passes(p["holes.diameter"], at)
    field = p["plate.thickness"] + p["field.height"] - p["field.place.sink"]
    assert near(p.high[2], field + p["words.depth"] - p["words.place.sink"])


def letter_stamp(p):
    bodies(p, 1)
    assert near(p.high[2], p["block.height"] + p["words.depth"] - p["words.place.sink"])
    assert near(p.span(0), p["block.width"]) and near(p.span(1), p["block.depth"])
    assert p.solid_at(0, 0, p["block.height"] / 2)


def house_number(p):
    bodies(p, 1)
    for side in (-1, 1):
        at = (side * (p["plate.width"] / 2 - p["holes.place.inset"]), 0, 0)
        assert p.passes(p["holes.diameter"], at)
    assert near(p.span(2), p["plate.thickness"] + p["plate.raised"])


def gear_wheel(p):
    tips = p["gear.module"] * (p["gear.teeth"] + 2)
    assert p.passes(p["bore.diameter"], (0, 0, 0))
    assert near(p.span(2), p["gear.thickness"] + p["hub.height"] - p["hub.place.sink"])
    assert tips - 2.25 * p["gear.module"] < p.span(0) < tips + 1e-4


def threaded_knob(p):
    bodies(p, 1)
    deep = p["thread.length"]
    # The minor diameter of M8 is 6.647 mm (ISO 724).
    assert p.passes(6.6, (0, 0, p.high[2] - deep / 2), length=deep)
    assert p.solid_at(0, 0, p.high[2] - deep - 1)  # closed above the bolt


def bottle_cap(p):
    bodies(p, 1)
    deep = p["thread.length"]
    assert p.passes(p["thread.core"], (0, 0, p.high[2] - deep / 2), length=deep)
    assert p.solid_at(0, 0, 1) and near(p.span(2), deep + 2)


def sliding_box(p):
    bodies(p, 2)
    room = p["box.height"] - 1.6
    assert p.holds(p["room.width"], p["room.depth"], room, (0, 0, 1.6 + room / 2))
    assert p["lid.depth"] < p["room.depth"] and p["lid.height"] < p["rails.height"]
    assert p["lid.width"] < p["rails.depth"]
    # The lid is wide below and narrow above, as its grooves are.
    out = p["lid.place.y"] + p["lid.depth"] / 2 + p["lid rails.width"] / 2
    assert p.solid_at(0, out, 0.05) and not p.solid_at(0, out, p["lid.height"] - 0.05)


def strap_buckle(p):
    bodies(p, 2)
    entry = p["entry.place.inset"] - p["frame.width"] / 2
    assert p.passes(p["head.top"], (entry, 0, 0))
    assert p.passes(p["neck.diameter"], (entry + p["throat.width"], 0, 0))
    assert p["head.top"] > p["rest.diameter"]
    at = p["slot.place.inset"] + p["slot.width"] / 2 - p["frame.width"] / 2
    assert p.holds(p["slot.width"], p["slot.depth"], 99, (at, 0, 0))


def leaf_hinge(p):
    from build123d import Axis, Location

    bodies(p, 2)
    one, other = p.solid.solids()
    rest, loose = (one, other) if one.center().X < other.center().X else (other, one)
    gap = p["gap.depth"]
    assert abs(rest.distance_to(loose) - gap) < 0.01 * gap  # it comes off the bed loose
    for turn in range(0, 181, 20):
        assert volume(rest & loose.rotate(Axis.Y, -turn)) < NOTHING, turn  # it swings shut
    cone = 1.5 * gap  # a cone of 45 degrees comes up against its socket sooner
    for off in ((0, 1.1 * gap, 0), (0, -1.1 * gap, 0), (cone, 0, 0), (0, 0, cone)):
        assert volume(rest & loose.moved(Location(off))) > NOTHING, off  # and is held
    hole = clearance_hole(p["leaves.screw"])
    for x in (-p["leaves.place.x"], p["leaves.place.x"]):
        for n in range(p["leaves.holes"]):
            at = (x, (n - (p["leaves.holes"] - 1) / 2) * p["leaves.spacing"], 0)
            assert p["leaves.rows"] > 1 or p.passes(hole, at)


# -- the sets ----------------------------------------------------------------------------------


def drawn(repair, names, chance, only=None):
    """New values for a template's free sizes, from half to twice the old ones."""
    values = {}
    for name, place in names.items():
        kind = parameter(repair, place).kind
        free = isinstance(kind, (Size, Count)) and follows(repair, place) is None
        if not free or place[1].endswith(".mating") or (only and name != only):
            continue
        old = size(repair, place)
        low, high = sorted((old / 2, old * 2))
        low, high = max(low, kind.low), min(high, kind.high)
        if isinstance(kind, Count):
            values[name] = chance.randint(math.ceil(low), math.floor(high))
        elif low < high:
            values[name] = round(chance.uniform(low, high), 3)
    return values


def tried(path, values, job):
    """Whether the part was made; where it was, it does its job, else the refusal says a number."""
    repair = read_template(path)
    try:
        made = Made(set_sizes(repair, open_template(path).names, values))
    except RepairError as refusal:
        assert re.search(r"\d", str(refusal)), refusal
        return False
    job(made)
    return True


@pytest.mark.parametrize("path", SHELF, ids=lambda path: path.stem)
def test_at_any_size_it_does_its_job_or_says_which_number_to_change(path):
    job = globals().get(path.stem.replace("-", "_"))
    if job is None:
        pytest.fail(f"say in this file what {path.stem} must do at any size")
    chance = random.Random(path.stem + SEED)
    names = open_template(path).names
    repair = read_template(path)
    job(Made(repair))
    made, sets = 0, SETS if FULL or path.stem not in LONG else SETS // 2
    for number in range(sets):
        only = chance.choice(list(names)) if number % 2 else None
        made += tried(path, drawn(repair, names, chance, only), job)
    print(f"{path.stem}: {made} of {sets} made, the others refused with a number")
