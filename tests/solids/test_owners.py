"""Whose surface each triangle of the whole is, against places worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from workbench.solids.building.build import assemble
from workbench.solids.meshes.mesh import mesh
from workbench.solids.meshes.owners import Surface, owners
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat


def owned(repair: Repair) -> tuple[np.ndarray, list[str]]:
    """The middles of the whole's triangles, and the step that each belongs to."""
    assembly = assemble(repair)
    vertices, faces = mesh(assembly.solid)
    names = [step.name for step in repair.steps]
    bodies = [Surface.of(*mesh(assembly.parts[step.name]), step.cuts) for step in repair.steps]
    found = owners(vertices, faces, bodies)
    return vertices[faces].mean(axis=1), [names[number] for number in found]


def test_a_hole_s_wall_belongs_to_the_hole_and_the_rest_to_the_plate():
    repair = Repair("cover").add("box", name="base", width=40, depth=20, height=3)
    repair.cut("cylinder", name="hole", seat=At(x=5, z=-1), diameter=8, height=9)
    middles, names = owned(repair)
    radius = np.hypot(middles[:, 0] - 5, middles[:, 1])
    wall = (radius < 4.05) & (middles[:, 2] > 0.01) & (middles[:, 2] < 2.99)
    assert {name for name, inside in zip(names, wall, strict=True) if inside} == {"hole"}
    assert {name for name, inside in zip(names, wall, strict=True) if not inside} == {"base"}


def test_between_two_holes_that_end_with_a_face_the_face_is_its_own():
    repair = Repair("foot").add("box", name="base", width=36, depth=28, height=5)
    seat = Seat("top of base", sink=5, along=11, across=-3)
    repair.cut("cylinder", name="holes", seat=seat, diameter=4.5, height=5, mirror="left-right")
    repair.add("box", name="rib", seat=Seat("top of base", across=8), width=4, depth=9, height=17)
    middles, names = owned(repair)
    level = (abs(middles[:, 2] - 5) < 1e-6) | (abs(middles[:, 2]) < 1e-6)
    assert {name for name, on in zip(names, level, strict=True) if on} == {"base"}
    assert {"base", "holes", "rib"} == set(names)


def test_where_two_steps_are_flush_the_smaller_face_has_its_own_triangles():
    repair = Repair("bar").add("box", name="long", width=60, depth=10, height=10)
    repair.add("box", name="stub", seat=At(x=34), width=8, depth=10, height=10)
    middles, names = owned(repair)
    for (x, _y, _z), name in zip(middles, names, strict=True):
        if x > 38:
            assert name == "stub"
        if x < 0:
            assert name == "long"


def test_a_boss_on_a_round_side_is_told_from_it():
    repair = Repair("knob").add("cylinder", name="body", diameter=30, height=20)
    repair.add("box", name="mark", seat=At(x=15, z=15), width=6, depth=3, height=10)
    middles, names = owned(repair)
    radius = np.hypot(middles[:, 0], middles[:, 1])
    for far, high, name in zip(radius, middles[:, 2], names, strict=True):
        if far > 15.1 or high > 20.1:
            assert name == "mark"
        elif far < 14.9 and high < 19.9:
            assert name == "body"


@pytest.mark.parametrize("radius", [0.5, 1.0])
def test_a_rounded_edge_goes_to_a_step_beside_it(radius: float):
    repair = Repair("block").add("box", name="low", width=30, depth=20, height=6)
    repair.add("box", name="high", seat=Seat("top of low"), width=10, depth=10, height=12)
    repair.round(radius)
    middles, names = owned(repair)
    for (_x, _y, z), name in zip(middles, names, strict=True):
        if z > 6 + 2 * radius:
            assert name == "high"
        if z < 6 - 2 * radius:
            assert name == "low"
