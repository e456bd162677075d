"""Shapes made at once, for a picture while a hand moves: as the exact ones, and where these are."""

from __future__ import annotations

import math
import re
from functools import partial
from importlib.resources import files

import numpy as np
import pytest

from workbench import Repair, RepairError, Seat, build
from workbench.solids import catalogue
from workbench.solids.building.build import frame, made_at_once
from workbench.solids.building.rough import rough
from workbench.solids.building.seating import DIRECTIONS, face_frame
from workbench.solids.facts import facts_of
from workbench.solids.geometry import kernel, quick
from workbench.solids.geometry.cache import Cache
from workbench.solids.meshes.body import body_of
from workbench.solids.meshes.mesh import (
    ANGLE,
    DEVIATION,
    ROUGH_ANGLE,
    deviation_for,
    mesh,
    mesh_apart,
    rough_deviation_for,
)
from workbench.solids.meshes.swept import arc, chords

CASES = [
    ("thread", {}),
    ("thread", {"size": "other", "diameter": 24.0, "pitch": 3.0, "length": 17.3, "hole": True}),
    ("bottle_thread", {}),
    ("bottle_thread", {"hole": True, "length": 11.2, "pitch": 4.0}),
    ("gear", {"teeth": 13}),
    ("letters", {"text": "Köbe"}),
    ("letters", {"text": "Rg", "mirrored": True}),
    ("number_plate", {"figure": 804, "digits": 30.0}),
    ("plate", {"holes": 2, "corner_radius": 4.0}),
    ("plate", {"holes": 3, "rows": 2, "countersink": True, "height": 30.0, "width": 110.0}),
    ("pin", {}),
    ("pin", {"groove": 2.5, "chamfer": 0.0}),
    ("pin", {"head": 0.0, "chamfer": 1.0}),
    ("clip", {}),
    ("hook", {}),
    ("hook", {"holes": 3, "back": 60.0, "lip": 0.0}),
    ("guide", {}),
    ("guide", {"cables": 3, "mouth": 4.0}),
    ("stop", {}),
    ("stop", {"holes": 2, "width": 30.0, "gusset": 0.0}),
    ("strike", {}),
    ("strike", {"countersink": False, "ramp": 0.0}),
    ("knob", {}),
    ("knob", {"section": "round", "flutes": 0, "pointer": 0.0}),
    ("spacer", {"gap": 2.0}),
    ("spacer", {"gap": 1.0, "bore_chamfer": 0.0}),
    ("peg", {"section": "D", "chamfer": 0.6}),
    ("peg", {"section": "D", "collar": 9.0}),
    ("tab", {"chamfer": 0.7}),
    ("tab", {"barb": 0.5, "chamfer": 0.7}),
]

#: Exact ones whose triangles are known without the kernel.
CUT = [
    ("knob", {}),
    ("knob", {"section": "round", "flutes": 0, "pointer": 0.0}),
    ("spacer", {"gap": 2.0}),
    ("spacer", {"gap": 1.0, "bore_chamfer": 0.0}),
    ("peg", {"slot": 1.0}),
    ("peg", {"slot": 1.5, "collar": 9.0, "chamfer": 0.0}),
    ("peg", {"section": "D"}),
    ("pin", {}),
    ("tab", {}),
    ("tab", {"barb": 0.5, "chamfer": 0.7}),
    ("fin", {}),
    ("thread", {}),
    ("thread", {"size": "other", "diameter": 24.0, "pitch": 3.0, "length": 17.3, "hole": True}),
    ("bottle_thread", {}),
]

#: What a polygon of such a turn lacks of its circle.
ROUND = 1 - math.sin(math.radians(ROUGH_ANGLE)) / math.radians(ROUGH_ANGLE)

named = pytest.mark.parametrize(("name", "values"), CASES, ids=lambda part: str(part)[:40])


def both(name, values):
    make = partial(catalogue.find(name).function, **values)
    with quick.enough():
        at_once = make()
    return make(), at_once


@named
def test_the_triangles_lie_on_the_exact_surface(name, values) -> None:
    from manifold3d import Manifold, OpType

    exact, at_once = both(name, values)
    solids = list(kernel.solids_of(at_once))
    assert all(quick.triangles_of(kernel.unmoved(solid)[0]) for solid in solids)
    found = [body_of(*mesh_apart(solid, at_once=True)) or Manifold() for solid in solids]
    one, other = Manifold.batch_boolean(found, OpType.Add), body_of(*mesh_apart(exact))
    assert other is not None
    apart = (one - other).volume() + (other - one).volume()
    assert apart <= DEVIATION * other.surface_area(), "as the mean over the surface"
    assert one.volume() == pytest.approx(exact.volume, rel=ROUND)


@pytest.mark.parametrize(("name", "values"), CUT, ids=lambda part: str(part)[:40])
def test_the_triangles_of_what_is_cut_lie_on_its_surface(name, values) -> None:
    solid = catalogue.find(name).function(**values)
    assert quick.triangles_of(solid)
    known, covered = (body_of(*mesh_apart(solid, at_once)) for at_once in (True, False))
    assert known is not None and covered is not None
    apart = (known - covered).volume() + (covered - known).volume()
    assert apart <= DEVIATION * covered.surface_area(), "as the mean over the surface"
    assert known.volume() == pytest.approx(solid.volume, rel=1.1 * ROUND), "a D's share is larger"


@named
def test_it_sits_and_is_sat_on_as_the_exact_one(name, values) -> None:
    exact, at_once = both(name, values)
    for side in DIRECTIONS:
        here, there = face_frame(exact, side), face_frame(at_once, side)
        if facts_of(name).axial and side in ("top", "bottom"):
            here, there = here[2], there[2]  # it sits by its axis: the height of its end counts
        elif name in ("thread", "bottle_thread", "knob", "gear"):
            continue  # where something sits on a flank, the exact one is made
        np.testing.assert_allclose(there, here, atol=DEVIATION)


def test_a_picture_takes_the_quick_shape_until_the_exact_one_is_there() -> None:
    repair = Repair("rod").add("box", width=30, depth=30, height=4, name="base")
    repair.add("thread", name="rod", seat=Seat("top of base"), size="M12", length=11.3)
    repair.add("cylinder", name="knob", seat=Seat("top of rod"), diameter=20, height=5)
    cache = Cache()
    found = rough(repair, cache)
    assert found is not None and found.at_once == {"rod"}
    assert found.vertices[:, 2].max() == pytest.approx(20.3)
    exact = build(repair, cache)
    assert exact.bounding_box().max.Z == pytest.approx(20.3)
    assert not made_at_once(repair, cache)
    np.testing.assert_allclose(frame(repair, "knob", cache)[2, 3], 15.3)
    again = rough(repair, cache)
    assert again is not None and not again.at_once


@pytest.mark.parametrize(
    ("seat", "at_once"),
    [
        (Seat("top of base"), True),
        (Seat("top of base", within=True), False),
        (Seat("top of base", by="right"), False),
    ],
)
def test_what_sits_by_more_than_an_end_is_the_exact_one(seat, at_once) -> None:
    repair = Repair("wheel").add("box", width=60, depth=60, height=4, name="base")
    repair.add("gear", name="wheel", seat=seat, teeth=13)
    assert ("wheel" in made_at_once(repair, Cache())) is at_once


@pytest.mark.parametrize(("side", "at_once"), [("top", True), ("right", False)])
def test_what_is_sat_on_by_more_than_an_end_is_the_exact_one(side, at_once) -> None:
    repair = Repair("wheel").add("gear", name="wheel", teeth=13)
    repair.add("cylinder", name="hub", seat=Seat(f"{side} of wheel"), diameter=8, height=5)
    assert ("wheel" in made_at_once(repair, Cache())) is at_once


@pytest.mark.parametrize("of", ["mirror", "other_hand"])
def test_the_other_hand_of_a_shape_keeps_its_triangles(of) -> None:
    repair = Repair("pair").add("box", name="base", width=150, depth=80, height=4)
    how = {"mirror": "left-right"} if of == "mirror" else {"other_hand": True}
    seat = Seat("top of base", along=30.0)
    repair.add("strike", name="strike", seat=seat, thickness=3.1, edge=0.8, **how)
    found = rough(repair, Cache())
    assert found is not None and found.at_once == {"strike"}
    one, other = (body_of(*made) for made in ((found.vertices, found.faces), mesh(build(repair))))
    assert one is not None and other is not None
    assert (one - other).volume() + (other - one).volume() < 1e-3 * other.volume()
    strike = found.assembly.parts["strike"]
    still = [kernel.unmoved(solid)[0] for solid in kernel.solids_of(strike)]
    assert all(quick.triangles_of(solid) for solid in still)


@pytest.mark.parametrize("longest", [3.0, 15.0, 25.0, 60.0, 100.0, 300.0])
def test_what_is_rough_is_so_by_less_than_a_pixel_and_still_meets_nothing(longest) -> None:
    away = rough_deviation_for(longest)
    assert away <= max(DEVIATION, longest / 800), "a picture of 800 pixels"
    assert deviation_for(longest) <= away <= 2 * deviation_for(longest), "clearances stay open"


def test_facets_of_what_is_rough_are_not_drawn_as_edges() -> None:
    source = files("workbench.jupyter.picture").joinpath("src/mesh.js").read_text("utf-8")
    crease = re.search(r"CREASE = Math\.cos\(\((\d+) \* Math\.PI\) / 180\)", source)
    assert crease and ROUGH_ANGLE < float(crease[1]) - 5


def test_a_large_and_a_small_round_take_fewer_triangles() -> None:
    for diameter in (1.6, 50.0):
        solid = catalogue.find("cylinder").function(diameter=diameter, height=10)
        rough_, usual = mesh_apart(solid, at_once=True)[1], mesh_apart(solid)[1]
        assert len(rough_) < 0.75 * len(usual)


def test_it_refuses_what_the_exact_one_refuses() -> None:
    repair = Repair("rod").add("thread", name="rod", size="other", diameter=5.0, pitch=5.0)
    with pytest.raises(RepairError, match="pitch is 5 mm") as exact:
        build(repair, Cache())
    with pytest.raises(RepairError, match="pitch is 5 mm") as at_once:
        rough(repair, Cache())
    assert str(exact.value) == str(at_once.value)


def test_the_triangles_stay_when_the_usual_mesh_is_made() -> None:
    solid = catalogue.find("gear").function(teeth=17)
    before = mesh_apart(solid, at_once=True)
    assert len(mesh(solid)[1]) > len(before[1])
    for one, other in zip(before, mesh_apart(solid, at_once=True), strict=True):
        np.testing.assert_array_equal(one, other)


@pytest.mark.parametrize("radius", [0.5, 4.0, 60.0])
@pytest.mark.parametrize("turn", [-5.5, -1.0, 0.3, 3.0, 6.0])
def test_an_arc_has_chords_no_farther_off_and_no_steeper_than_asked(radius, turn) -> None:
    at = [(7 + radius * math.cos(a), 2 + radius * math.sin(a)) for a in (1, 1 + turn / 2, 1 + turn)]
    found = np.array([at[0], *arc(*at, DEVIATION, ANGLE)])
    away = np.hypot(*(found - (7, 2)).T)
    np.testing.assert_allclose(away, radius, rtol=1e-9)
    np.testing.assert_allclose(found[-1], at[-1])
    middles = (found[1:] + found[:-1]) / 2 - (7, 2)
    assert radius - np.hypot(*middles.T).min() <= DEVIATION * (1 + 1e-6)
    assert (
        len(found) - 1 == chords(radius, turn, DEVIATION, ANGLE) >= abs(math.degrees(turn)) / ANGLE
    )
