"""Parts become one valid solid, or the message says which ones do not and by how much."""

from __future__ import annotations

import threading
from typing import Annotated

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import near_default

from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.building.build import assemble, build
from workbench.solids.geometry import faces, kernel
from workbench.solids.geometry.cache import Cache
from workbench.solids.meshes import mesh
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Row
from workbench.solids.recipe.seat import FACES, At, Seat

LENGTH = Annotated[float, Size(0.1, 100, measure="from end to end")]


@pytest.fixture
def own():
    """Registers templates for one test."""
    names = []

    def register(function):
        names.append(function.__name__)
        return catalogue.register(function)

    yield register
    for name in names:
        catalogue._own.pop(name, None)


@pytest.fixture
def cache():
    return Cache()


def divider():
    repair = Repair("tray divider").add("fin", name="blade", thickness=1.6)
    repair.add("tab", seat=Seat("bottom of blade", sink=0.2), name="foot", width=30, thickness=2.4)
    repair.add("box", seat=Seat("right of blade", sink=0.3), name="nub", width=1.6, depth=4)
    repair.add("peg", seat=Seat("top of blade", sink=0.2), name="pin", diameter=1.5, length=3)
    return repair.cut("cylinder", seat=At(15, 5, 30, turn=0), name="finger", diameter=8, height=9)


def test_parts_that_overlap_are_one_solid():
    assembly = assemble(divider())
    assert len(assembly.solid.solids()) == 1
    assert assembly.solid.is_valid
    assert list(assembly.parts) == ["blade", "foot", "nub", "pin", "finger"]


def test_parts_that_touch_face_to_face_are_one_solid():
    repair = Repair("r").add("box", name="a", width=10, depth=10, height=2)
    repair.add("box", seat="top of a", name="b", width=4, depth=4, height=3)
    solid = build(repair)
    assert solid.volume == pytest.approx(200 + 48)
    assert len(solid.faces()) == 11


@given(
    data=st.data(),
    first=st.sampled_from(["plate", "fin", "tab", "box", "peg"]),
    second=st.sampled_from(list(catalogue.SHIPPED)),
    face=st.sampled_from(FACES),
    turn=st.sampled_from([0.0, 30.0, 90.0, -135.0]),
    sink=st.sampled_from([0.0, 0.2, 0.35]),
)
@settings(max_examples=40)
def test_any_two_templates_together_are_one_sound_solid_or_refused(
    data, first, second, face, turn, sink
):
    repair = Repair("pair")
    try:
        repair.add(first, name="under", **data.draw(near_default(catalogue.find(first))))
        seat = Seat(f"{face} of under", turn=turn, sink=sink)
        repair.add(
            second, seat=seat, name="over", **data.draw(near_default(catalogue.find(second)))
        )
        assembly = assemble(repair)
    except RepairError as error:
        assert ";" in str(error)
    else:
        solid, parts = assembly.solid, assembly.parts
        assert solid.is_valid
        largest = max(part.volume for part in parts.values())
        assert solid.volume >= largest * (1 - 1e-6)
        assert solid.volume <= sum(part.volume for part in parts.values()) * (1 + 1e-6)
        vertices, faces = mesh.mesh(solid)
        assert mesh.volume(vertices, faces) == pytest.approx(solid.volume, rel=0.05)


# -- refusals ----------------------------------------------------------------------------------


def test_nothing_to_build(refused):
    with refused("empty has no parts yet"):
        build(Repair("empty"))
    with refused("hole only has no parts yet"):
        build(Repair("hole only").cut("cylinder"))


@pytest.mark.parametrize("gap", [0.05, 3, 129])
def test_parts_that_miss_say_by_how_much(gap, refused):
    repair = Repair("r").add("box", name="block", height=5)
    repair.add("tab", seat=Seat("top of block", sink=-gap), name="tongue")
    with refused("tongue misses block by", f" {gap:g} mm"):
        build(repair)


def test_every_loose_part_is_named_with_its_nearest(refused):
    repair = Repair("r").add("box", name="block", width=20, height=5)
    repair.add("box", seat="right of block", name="arm", width=2, depth=2, height=10)
    repair.add("box", seat=At(x=-14), name="left bit", width=2)
    repair.add("box", seat=Seat("right of arm", sink=-1.5), name="right bit", width=2)
    with refused("left bit misses block by 3 mm", "right bit misses arm by 1.5 mm"):
        build(repair)


@pytest.mark.parametrize("place", [At(x=20, z=5), At(x=20, y=10)], ids=["level", "upright"])
def test_parts_that_touch_along_an_edge_are_refused(place, refused):
    repair = Repair("r").add("box", name="a", width=20, depth=10, height=5)
    repair.add("box", seat=place, name="b", width=20, depth=10, height=5)
    with refused("b and a touch only along an edge"):
        build(repair)


def test_parts_that_touch_at_a_point_are_refused(refused):
    repair = Repair("r").add("box", name="a")
    repair.add("sphere", seat="top of a", name="knob")
    with refused("knob and a touch only", "sink knob"):
        build(repair)


def test_a_ring_that_closes_along_an_edge_only_is_refused(refused):
    repair = Repair("r").add("box", name="floor", width=40, depth=10, height=2)
    for name, x, z in (("left", -5, 2), ("right", 5, 7)):
        repair.add("box", seat=At(x=x, z=z), name=name, width=10, depth=10, height=5)
    repair.add("box", seat=At(x=15, z=2), name="post", width=10, depth=10, height=10)
    with refused("left and right touch along an edge only, near (0, 0, 7) mm", "sink"):
        build(repair)


def test_a_cut_that_takes_everything(refused):
    repair = Repair("r").add("box", name="a").cut("box", name="gap", width=50, depth=50, height=50)
    with refused("gap takes everything away"):
        build(repair)


def test_a_cut_that_leaves_pieces(refused):
    repair = Repair("r").add("box", name="a", width=20)
    repair.cut("box", name="slit", width=1, depth=50, height=50)
    with refused("slit leaves 2 loose pieces"):
        build(repair)


def test_a_cut_that_leaves_an_edge_to_hang_by(refused):
    """Two notches that meet along one edge leave a solid that touches itself there."""
    repair = Repair("r").add("box", name="a", width=20, depth=10, height=10)
    repair.cut("box", seat=At(x=-5, y=-4, z=5), name="notch", width=10, depth=10, height=5)
    repair.cut("box", seat=At(x=5, y=-4), name="other", width=10, depth=10, height=5)
    with refused("notch, other leaves", "touches itself"):
        build(repair)


def test_a_cut_that_only_grazes_takes_nothing():
    repair = Repair("r").add("box", name="a", width=30, depth=2, height=60)
    repair.cut("cylinder", seat=At(5, 5, 30), name="finger", diameter=8, height=9)
    solid = build(repair)
    assert solid.volume == pytest.approx(3600)
    assert mesh.volume(*mesh.mesh(solid)) == pytest.approx(3600)


def test_round_parts_that_touch_along_a_line_are_refused(refused):
    """Both are joined by a third part, and touch each other along a line besides."""
    repair = Repair("r").add("plate", name="floor", width=40, height=20)
    repair.add("cylinder", seat=Seat("top of floor", along=-5), name="left", diameter=10)
    repair.add("cylinder", seat=Seat("top of floor", along=5), name="right", diameter=10)
    with refused("left and right touch along an edge only, near (0, 0, ", "sink"):
        build(repair)


def test_a_template_that_refuses_names_its_step(refused):
    repair = Repair("r").add("clip", name="latch", length=5, hook_depth=6, root_fillet=0)
    with refused("latch: hook_depth is 6 mm"):
        build(repair)


def test_an_error_of_the_kernel_is_put_in_words(own, refused):
    @own
    def broken(length: LENGTH = 20.0):
        """A template whose kernel call fails."""
        from OCP.gp import gp_Dir

        return gp_Dir(0, 0, 0)

    with refused("broken: broken cannot be built from these values"):
        build(Repair("r").add(broken))


@pytest.mark.parametrize("made", ["nothing", "number", "face", "two", "builder"])
def test_what_a_template_gives_is_looked_at(made, own, refused):
    @own
    def odd(length: LENGTH = 20.0):
        """A template that gives something else than a solid."""
        from build123d import Box, BuildPart, Compound, Pos, Rectangle

        if made == "builder":
            with BuildPart() as part:
                Box(length, 2, 2)
            return part
        return {
            "nothing": None,
            "number": 3,
            "face": Rectangle(3, 4),
            "two": Compound([Box(1, 1, 1), Pos(5, 0, 0) * Box(1, 1, 1)]),
        }[made]

    repair = Repair("r").add(odd, name="part")
    if made == "builder":
        assert build(repair).volume == pytest.approx(80)
    else:
        with refused("part: odd gave ", "2 loose pieces" if made == "two" else "no solid"):
            build(repair)


def test_a_refused_change_leaves_the_last_good_repair(cache):
    repair = divider()
    volume = build(repair, cache).volume
    with pytest.raises(RepairError):
        repair.change("blade", height=-3)
    assert build(repair, cache).volume == volume


# -- nothing is built twice --------------------------------------------------------------------


@pytest.fixture
def counted(own):
    """A template that counts how often each length was built."""
    calls = []

    @own
    def bar(length: LENGTH = 20.0):
        """A bar."""
        from build123d import Align, Box

        calls.append(length)
        return Box(2, 3, length, align=(Align.CENTER, Align.CENTER, Align.MIN))

    return bar, calls


def test_only_the_changed_step_is_built_again(counted, cache):
    bar, calls = counted
    repair = Repair("r").add(bar, name="a", length=10)
    repair.add(bar, seat="top of a", name="b", length=11)
    repair.add(bar, seat="top of b", name="c", length=12)
    assert build(repair, cache).volume == pytest.approx(6 * 33)
    assert calls == [10, 11, 12]
    repair.change("b", length=15)
    assert build(repair, cache).volume == pytest.approx(6 * 37)
    assert calls == [10, 11, 12, 15]


def test_going_back_builds_nothing(counted, cache):
    bar, calls = counted
    repair = Repair("r").add(bar, name="a", length=10)
    first = build(repair, cache)
    build(repair.change("a", length=12), cache)
    assert build(repair.change("a", length=10), cache) is first
    assert calls == [10, 12]


def test_equal_steps_share_one_shape(counted, cache):
    bar, calls = counted
    repair = Repair("r").add(bar, name="a", length=10)
    repair.add(bar, seat="top of a", name="b", length=10)
    build(repair, cache)
    assert calls == [10]


def test_a_cache_of_ones_own_starts_empty_and_can_be_cleared(counted, cache):
    bar, calls = counted
    repair = Repair("r").add(bar, name="a")
    build(repair, cache)
    build(repair, Cache())
    cache.clear()
    build(repair, cache)
    assert calls == [20, 20, 20]


def test_a_function_written_anew_under_its_old_name_is_built_anew(own, cache):
    def make(width):
        def bar(length: LENGTH = 20.0):
            """A bar."""
            from build123d import Box

            return Box(width, 1, length)

        return bar

    own(make(2))
    repair = Repair("r").add("bar")
    assert build(repair, cache).volume == pytest.approx(40)
    own(make(3))
    assert build(repair, cache).volume == pytest.approx(60)


steps = st.sampled_from(["blade", "foot", "nub", "pin"])
edits = st.lists(st.tuples(steps, st.floats(1.0, 2.0)), min_size=1, max_size=5)


@given(edits)
@settings(max_examples=12)
def test_what_is_kept_never_changes_the_result(changes):
    """After any edits, a build with everything kept equals a build from nothing."""
    field = {"blade": "thickness", "foot": "thickness", "nub": "height", "pin": "length"}
    kept, repair = Cache(), divider()
    for step, value in changes:
        repair.change(step, **{field[step]: value})
        again, fresh = build(repair, kept), build(repair, Cache())
        assert again.volume == pytest.approx(fresh.volume, rel=1e-7)
        assert len(again.faces()) == len(fresh.faces())
        assert again.is_valid
        assert kernel.sound(again)


def test_order_of_the_steps_that_add_side_by_side_does_not_matter(cache):
    one, other = divider(), divider()
    other.steps = (*sorted(other.steps[:4], key=lambda step: step.name), other.steps[4])
    assert build(other, cache) is build(one, cache)


# -- in the order of the list --------------------------------------------------------------------


def room(*later):
    """A box with a room in it, 20 x 10 x 5 less 16 x 6 x 4, and what is added later."""
    repair = Repair("box").add("box", name="body", width=20, depth=10, height=5)
    repair.cut("box", name="room", seat=At(z=1), width=16, depth=6, height=8)
    for name, place in later:
        repair.add("box", name=name, seat=place, width=2, depth=2, height=3)
    return repair


def test_a_boss_stands_in_a_room_that_was_cut_above_it():
    repair = room(("boss", At(z=1)))
    assert build(repair).volume == pytest.approx(1000 - 16 * 6 * 4 + 2 * 2 * 3)
    assert build(repair.move("boss", -1)).volume == pytest.approx(1000 - 16 * 6 * 4)
    assert build(repair.move("boss", 1)).volume == pytest.approx(1000 - 16 * 6 * 4 + 2 * 2 * 3)


def test_a_cut_above_everything_cuts_nothing():
    assert build(room().move("room", -1)).volume == pytest.approx(1000)


def test_what_a_cut_parts_may_be_joined_again_below_it():
    repair = Repair("r").add("box", name="bar", width=20, depth=4, height=4)
    repair.cut("box", name="gap", width=2, depth=9, height=9)
    repair.add("box", name="bridge", seat=At(y=2, z=1), width=6, depth=4, height=2)
    assert build(repair).volume == pytest.approx(20 * 16 - 2 * 16 + 6 * 4 * 2 - 2 * 2 * 2 * 2)


def test_what_stands_free_in_a_room_is_refused(refused):
    with refused("boss misses the rest of the part by 0.5 mm"):
        build(room(("boss", At(z=1.5))))
    with refused(
        "a misses the rest of the part by 0.5 mm", "b misses the rest of the part by 1 mm"
    ):
        build(room(("a", At(x=-4, z=1.5)), ("b", At(x=4, z=2))))


def test_a_run_that_leaves_pieces_is_named_even_where_others_follow(refused):
    repair = Repair("r").add("box", name="bar", width=20, depth=4, height=4)
    repair.cut("box", name="gap", width=2, depth=9, height=9)
    repair.add("box", name="post", seat=At(x=5), width=2, depth=2, height=9)
    with refused("gap leaves 2 loose pieces"):
        build(repair)


@given(st.permutations(["blade", "foot", "nub", "pin", "finger", "bore"]), st.data())
@settings(max_examples=12)
def test_any_order_comes_to_what_one_step_after_another_comes_to(names, data):
    repair = divider().cut("box", At(10, 0, -3), "bore", width=4, depth=9, height=9)
    repair.steps = tuple(repair.step(name) for name in names)
    kept, known = Cache(), Cache()
    try:
        assembly = assemble(repair, kept)
    except RepairError:
        return
    standing = []
    for step in repair.steps:
        shape = [assembly.parts[step.name]]
        if step.cuts:
            standing = kernel.difference(standing, shape) if standing else standing
        else:
            standing = kernel.union([*standing, *shape])
    assert assembly.solid.volume == pytest.approx(sum(s.volume for s in standing), rel=1e-9)
    moved = repair.move(data.draw(st.sampled_from(names)), data.draw(st.integers(-3, 3)))
    try:
        again = build(moved, kept)
    except RepairError:
        return
    assert again.volume == pytest.approx(build(moved, known).volume, rel=1e-9)


def test_threads_may_build_at_once():
    cache, wrong = Cache(), []

    def work(seed):
        repair = divider()
        for i in range(4):
            height = 60 + (seed * 7 + i * 3) % 20
            repair.change("blade", height=height)
            solid = build(repair, cache)
            vertices, faces = mesh.mesh(solid)
            top = float(vertices[:, 2].max())
            if abs(top - height - 2.8) > 1e-6 or not mesh.closes(faces):
                wrong.append((height, top))

    threads = [threading.Thread(target=work, args=(seed,)) for seed in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not wrong


def _prism_on_a_ball() -> Repair:
    made = Repair("r").add("sphere", At(-5.4, 7.0, 14.7), "ball", diameter=10)
    seat = Seat("front of ball", along=-5.6, sink=0.5)
    sizes = {"base": 20.1, "height": 0.2, "thickness": 284.0}
    return made.add("triangular_prism", seat, "prism", mirror="left-right", **sizes)


def _ball_on_a_ball() -> Repair:
    made = Repair("r").add("sphere", At(-14.8, 13.6, 5.1), "small", diameter=6)
    seat = Seat("left of small", along=3.5, turn=45, sink=5.64)
    return made.add("sphere", seat, "large", diameter=333)


@pytest.mark.parametrize("made", [_prism_on_a_ball, _ball_on_a_ball])
def test_a_union_that_the_kernel_does_not_find_is_refused_in_words(made, refused):
    with refused("kernel failed", "change a size"):
        build(made())


def boxes(*widths: float) -> list:
    """Boxes side by side, each 10 x 10 mm, the next one beginning 1 mm before the last one ends."""
    repair, at = Repair("row"), 0.0
    for number, width in enumerate(widths):
        repair.add("box", At(at + width / 2), f"b{number}", width=width, depth=10, height=10)
        at += width - 1
    return [assemble(repair, Cache()).parts[step.name] for step in repair.steps]


@pytest.mark.parametrize(
    ("made", "goes"),
    [
        ((20.0, 10.0), False),  # the second is lost: its outside
        ((10.0,), False),  # the first is lost, which has more volume
        ((20.0, 10.0, 2.0), True),
    ],
)
def test_a_union_that_has_no_room_for_a_shape_is_none(made, goes, monkeypatch, refused):
    shapes = boxes(20, 10, 2)
    found = boxes(*made)
    monkeypatch.setattr(kernel, "_carried_out", lambda *_given: found)
    if goes:
        assert kernel.union(shapes) == found
    else:
        with refused("the geometry kernel failed"):
            kernel.union(shapes)


def test_a_shape_that_is_lost_with_all_at_once_is_joined_one_by_one(monkeypatch):
    shapes, carried_out = boxes(20, 10, 2), kernel._carried_out
    monkeypatch.setattr(
        kernel,
        "_carried_out",
        lambda operation, first, rest: (
            shapes[:1] if len(rest) > 1 else carried_out(operation, first, rest)
        ),
    )
    (joined,) = kernel.union(shapes)
    assert kernel.volume(joined) == pytest.approx(100 * (20 + 9 + 1), rel=1e-9)


@pytest.mark.parametrize(
    ("left", "goes"), [(19.05, True), (21.0, False), (8.0, False), (9.2, True)]
)
def test_a_cut_leaves_no_more_than_there_was_and_takes_no_more_than_the_tool_holds(
    left, goes, monkeypatch, refused
):
    shape, tool = boxes(20, 10.8)
    found = boxes(left)
    monkeypatch.setattr(kernel, "_carried_out", lambda *_given: found)
    if goes:
        assert kernel.difference([shape], [tool]) == found
    else:
        with refused("the geometry kernel failed"):
            kernel.difference([shape], [tool])


@pytest.mark.parametrize(("width", "goes"), [(28.96, True), (28.94, False)])
def test_a_union_may_reach_a_twentieth_of_a_millimetre_less_far(width, goes):
    assert kernel._has_room(boxes(width), boxes(20, 10)) is goes


@pytest.mark.parametrize(
    ("total", "goes"), [(30.1, True), (30.3, False), (19.95, True), (19.85, False)]
)
def test_a_union_holds_its_largest_shape_and_no_more_than_all(total, goes, monkeypatch):
    (whole,), told = boxes(20), iter([20.0, 10.0, total])
    monkeypatch.setattr(kernel, "volume", lambda _shape: next(told))
    assert kernel._has_room([whole], [whole, whole]) is goes


def test_what_the_kernel_loses_of_a_row_of_balls_and_a_cone_is_refused_or_there():
    """Found by chance: joined, they came to a valid solid without the cone."""
    repair = Repair("found by chance")
    repair.add("sphere", At(12.5, -13.6, 8.7), "ball", repeat=Row(4, 10.2, "along"), diameter=19.7)
    seat = Seat("front of ball", along=-5.2, turn=90, sink=2.65)
    repair.add("cone", seat, "cone", bottom=10, top=241.178, height=8)
    try:
        assert build(repair).volume == pytest.approx(142_440, rel=0.005)
    except RepairError as error:
        assert "the geometry kernel failed" in str(error)


def test_a_face_with_a_wire_of_no_edge_is_left_to_the_kernel_to_judge():
    from OCP.BRep import BRep_Builder
    from OCP.TopoDS import TopoDS_Wire

    nothing = TopoDS_Wire()
    BRep_Builder().MakeWire(nothing)
    (square,) = faces.wires_of(build(Repair("box").add("box"), Cache()).faces()[0].wrapped)
    assert kernel._outer([square]) is square
    assert kernel._outer([square, faces.Wire(nothing, np.zeros(0, dtype=int))]) is None
