"""A change redone where it reaches comes to the same as everything built anew."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.solids.building import local_edit
from workbench.solids.building.build import build
from workbench.solids.geometry import kernel
from workbench.solids.geometry.cache import Cache
from workbench.solids.geometry.faces import Faces, wires_of, within
from workbench.solids.meshes import mesh as meshes
from workbench.solids.meshes.mesh import closes, mesh, volume
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat


@pytest.fixture
def local(monkeypatch):
    """Of each try whether it was a local edit."""
    tried, real = [], local_edit.edited

    def edited(*given):
        found = real(*given)
        tried.append(found is not None)
        return found

    monkeypatch.setattr(local_edit, "edited", edited)
    return tried


def field(width=90.0):
    """A plate with a tower, a row of pegs on both, a slanting rib, a room, and holes."""
    repair = Repair("field").add("plate", name="base", width=width, height=40, thickness=3)
    repair.add("cylinder", "top of base", "tower", diameter=16, height=10)
    repair.add(
        "box", Seat("top of base", along=30, sink=0.2), "block", width=14, depth=14, height=8
    )
    repair.cut("box", Seat("top of block", sink=6), "room", width=10, depth=10, height=9)
    repair.add("peg", Seat("top of base", along=30, sink=-1), "boss", diameter=3, length=4)
    for n in range(7):
        seat = Seat("top of base", along=-36 + 6 * n, across=-14, sink=0.2)
        repair.add("peg", seat, f"peg {n}", diameter=3, length=5, chamfer=0.4)
        repair.cut("cylinder", At(-36 + 6 * n, 14, -1), f"hole {n}", diameter=3, height=9)
    repair.add("tab", Seat("top of tower", sink=0.2), "tab", width=5, thickness=2, length=6)
    repair.add("peg", Seat("right of base", sink=0.2), "side", diameter=2, length=4)
    return repair.cut("cylinder", Seat("top of tab", sink=2), "bore", diameter=1, height=5)


def same(repair, kept):
    again, fresh = build(repair, kept), build(repair, Cache())
    assert again.volume == pytest.approx(fresh.volume, rel=1e-7)
    assert len(again.faces()) == len(fresh.faces())
    assert len(again.edges()) == len(fresh.edges())
    assert again.is_valid
    for solid in (again, fresh):
        vertices, faces = mesh(solid)
        assert closes(faces)
        assert volume(vertices, faces) == pytest.approx(solid.volume, rel=2e-3)
    assert len(mesh(again)[1]) == pytest.approx(len(mesh(fresh)[1]), rel=0.05)


LEAVES = {
    "a peg grows": lambda r: r.change("peg 3", diameter=3.6),
    "a peg moves far": lambda r: r.change("peg 3", Seat("top of base", along=20, across=14)),
    "a peg goes": lambda r: r.remove("peg 0"),
    "a peg comes": lambda r: r.add("peg", Seat("top of base", along=14, across=-12, sink=0.2)),
    "a peg becomes a hole": lambda r: r.change("peg 3", Seat("top of base", sink=4), cuts=True),
    "a hole grows": lambda r: r.change("hole 2", diameter=4),
    "a hole goes": lambda r: r.remove("hole 2"),
    "a hole becomes blind": lambda r: r.change("hole 2", At(-24, 14, 1)),
    "the boss grows": lambda r: r.change("boss", length=6),
    "the room widens": lambda r: r.change("room", width=11),
    "what stands on the tower": lambda r: r.change("tab", length=7),
    "what is cut into that": lambda r: r.change("bore", diameter=1.3),
    "what stands on a side": lambda r: r.change("side", length=6),
    "the tower with all on it": lambda r: r.change("tower", height=12),
    "the room after the boss": lambda r: r.move("room", 1),
}


@pytest.mark.parametrize("leaf", LEAVES)
def test_a_leaf_is_redone_where_it_is(leaf, local):
    repair, kept = field(), Cache()
    mesh(build(repair, kept))
    LEAVES[leaf](repair)
    mesh(build(repair, kept))
    assert local == [True]
    same(repair, kept)


@pytest.mark.parametrize("size", [79.0, 81.0, 130.0])
def test_faces_keep_their_triangles_at_every_size(size, local):
    """Of a change, only the faces near it get triangles: the others keep theirs to the last bit."""
    repair, kept = field(size), Cache()
    before = build(repair, kept)
    was, _faces = mesh(before)
    now, _faces = mesh(build(repair.change("peg 3", length=5.5), kept))
    assert local == [True]
    rows = [{tuple(row) for row in points.tolist()} for points in (was, now)]
    away = {row for row in rows[0] if abs(row[0] + 18) > 3 or abs(row[1] + 14) > 3}
    assert away <= rows[1]
    assert meshes.deviation_for(size) >= meshes.DEVIATION


def test_what_reaches_through_the_whole_is_built_anew(local):
    repair, kept = field(), Cache()
    build(repair, kept)
    build(repair.change("base", thickness=4), kept)
    assert local in ([], [False])
    same(repair, kept)


def test_a_leaf_that_comes_loose_is_refused_as_ever(local, refused):
    repair, kept = field(), Cache()
    build(repair, kept)
    with refused("peg 3 misses the rest of the part by 1 mm"):
        build(repair.change("peg 3", Seat("top of base", along=-18, across=-14, sink=-1)), kept)


def test_a_leaf_that_meets_another_along_an_edge_is_refused(refused):
    repair = Repair("r").add("plate", name="base", width=60, height=40)
    for name, x, y in (("a", 0.0, 0.0), ("b", 20.0, 9.0)):
        repair.add("box", Seat("top of base", along=x, across=y), name, width=8, depth=6, height=5)
    kept = Cache()
    build(repair, kept)
    with refused("a and b touch along an edge only"):
        build(repair.change("b", Seat("top of base", along=8, across=6)), kept)


kinds = st.sampled_from(["box", "cylinder", "peg", "wedge", "cone"])
spots = st.tuples(st.floats(-26, 26), st.floats(-16, 16))


@st.composite
def edits(draw):
    """A function that edits a repair of leaves on a plate."""
    what = draw(st.sampled_from(["add", "cut", "move", "grow", "remove", "turn", "order"]))
    (x, y), kind = draw(spots), draw(kinds)
    pick, size = draw(st.integers(0, 30)), draw(st.floats(0.5, 3.0))
    sink = draw(st.sampled_from([0.0, 0.2, 1.5, 4.0]))
    seat = Seat("top of base", along=round(x, 2), across=round(y, 2), sink=sink)

    def edit(repair):
        leaves = [step.name for step in repair.steps[1:]]
        if what in ("add", "cut") or not leaves:
            (repair.cut if what == "cut" else repair.add)(kind, seat)
            return
        name = leaves[pick % len(leaves)]
        if what == "move":
            repair.change(name, seat)
        elif what == "remove":
            repair.remove(name)
        elif what == "turn":
            repair.change(name, cuts=not repair.step(name).cuts)
        elif what == "order":
            repair.move(name, pick - 15)
        else:
            first = next(iter(repair.step(name).values))
            repair.change(name, **{first: round(4 * size, 2)})

    return edit


@settings(max_examples=6, phases=[Phase.explicit, Phase.generate])
@given(st.lists(edits(), min_size=3, max_size=7))
def test_any_edits_come_to_what_is_built_anew(made):
    kept = Cache()
    repair = Repair("r").add("plate", name="base", width=60, height=40, thickness=3)
    build(repair, kept)
    for edit in made:
        before = repair.steps
        try:
            edit(repair)
        except RepairError:
            continue
        try:
            build(repair, kept)
        except RepairError as error:
            with pytest.raises(RepairError) as fresh:
                build(repair, Cache())
            assert str(fresh.value) == str(error)
            repair.steps = before
        else:
            same(repair, kept)


def test_a_region_grows_where_its_boxes_meet():
    boxes = np.array([[[0, 0, 0], [1, 1, 1]], [[3, 0, 0], [4, 1, 1]], [[0.5, 0, 0], [3.5, 1, 1]]])
    assert local_edit.Region(boxes[:2].astype(float)).boxes.shape == (2, 2, 3)
    assert local_edit.Region(boxes.astype(float)).boxes.tolist() == [[[0, 0, 0], [4, 1, 1]]]


@pytest.mark.parametrize(
    ("start", "end", "met"),
    [
        ((-1, -1, 0.5), (2, 2, 0.5), True),
        ((-1, 0.5, 0.5), (2, 0.5, 0.5), True),
        ((-1, 1.5, 0.5), (2, 1.5, 0.5), False),
        ((-1, 0.5, 0.5), (-0.1, 0.5, 0.5), False),
        ((-1, 1.2, 0.5), (1.2, 3, 0.5), False),
        ((0.4, 0.4, 0.4), (0.6, 0.6, 0.6), True),
    ],
)
def test_a_straight_edge_crosses_a_region_where_it_leads_through(start, end, met):
    region = local_edit.Region(np.array([[[0.0, 0, 0], [1, 1, 1]]]))
    assert region.crossed(np.array([[start, end]], dtype=float)).tolist() == [met]


def holed(turn=0.0, across=0.0):
    """A plate with eight round holes, one of which may be moved over its neighbour or the edge."""
    repair = Repair("r").add("plate", name="base", width=60, height=20)
    for n in range(8):
        place = At(-26 + 7 * n, across if n == 3 else 0, -1, turn)
        repair.cut("cylinder", place, f"hole {n}", diameter=4, height=9)
    return build(repair, Cache())


@pytest.mark.parametrize(("turn", "across"), [(0, 0), (30, 0), (0, 9.5)])
def test_a_face_with_many_holes_is_valid_as_the_kernel_finds_all_at_once(turn, across):
    from OCP.BRepCheck import BRepCheck_Analyzer

    for face in Faces.of(holed(turn, across).wrapped).shapes:
        assert BRepCheck_Analyzer(face).IsValid()
        assert kernel.face_valid(face)


def test_holes_that_meet_are_no_valid_face():
    shapes = Faces.of(holed().wrapped).shapes
    face = max(shapes, key=lambda face: len(wires_of(face)))
    other = max(Faces.of(holed(across=0.5).wrapped).shapes, key=lambda face: len(wires_of(face)))
    assert kernel.face_valid(face)
    moved = [wire for wire in wires_of(other) if abs(wire.box.mean(axis=0)[1] - 0.5) < 1e-6]
    assert len(moved) == 1
    assert not kernel.face_valid(within(face, [*wires_of(face), *moved]))
