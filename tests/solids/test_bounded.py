"""Whatever the kernel may never be done with ends where a person waits; what is quick stays as it was."""

from __future__ import annotations

import os
import sys

import pytest

from workbench import fork
from workbench.errors import RepairError
from workbench.process import HELD, Limits, Stopped, TooLong
from workbench.solids.building import build
from workbench.solids.geometry import bounded, kernel
from workbench.solids.geometry.cache import Cache
from workbench.solids.meshes import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat

SHORT = Limits(seconds=1, still=5)


@pytest.fixture
def waiting(monkeypatch):
    """A process that a person waits at; gives how many copies were made."""
    made = []
    in_copy = fork.in_copy

    def counted(make, limits=SHORT):
        made.append(limits)
        return in_copy(make, SHORT)

    monkeypatch.setattr(fork, "in_copy", counted)
    monkeypatch.setattr(bounded, "waits", lambda: not HELD.is_set())
    monkeypatch.setattr(bounded, "_quick", set())
    monkeypatch.setattr(bounded, "_slow", set())
    monkeypatch.setattr(bounded, "_at_once", set())
    return made


def for_ever(*_given):
    return pow(7**90_000, 7**90_000)


def key(width: float = 20.0) -> Repair:
    repair = Repair("key").add("box", width=60, depth=40, height=5, name="base")
    repair.add("cylinder", seat=Seat("top of base"), diameter=width, height=6, name="post")
    return repair.cut(
        "cylinder", seat=Seat("top of post", sink=8), diameter=4, height=9, name="hole"
    )


def test_what_takes_longer_than_a_frame_is_made_aside_each_time(waiting, monkeypatch) -> None:
    here = os.getpid()
    monkeypatch.setattr(bounded, "FRAME", -1.0)
    assert {bounded.aside(lambda: "slow", os.getpid) for _n in range(2)}.isdisjoint({here})
    assert len(waiting) == 2
    monkeypatch.setattr(bounded, "FRAME", 1e9)
    assert bounded.aside(lambda: "quick", os.getpid) != here  # nobody knows yet
    assert bounded.aside(lambda: "quick", os.getpid) == here
    assert len(waiting) == 3


def test_a_frame_is_what_a_moving_picture_has_room_for() -> None:
    assert 1 / 60 < bounded.FRAME < 1 / 20


def test_what_fails_aside_is_told_in_its_own_words(waiting) -> None:
    with pytest.raises(ZeroDivisionError):
        bounded.aside(lambda: "fails", lambda: 1 // 0)
    with pytest.raises(RepairError, match="give 4 mm"):
        bounded.aside(lambda: "refused", refused)


def refused() -> bytes:
    raise RepairError("width is 3 mm; give 4 mm")


def test_a_view_is_drawn_alike_aside(waiting) -> None:
    from workbench.output.drawing.views import FRONT, view

    solid = build.build(key(), Cache())
    before = len(waiting)
    aside = view(solid, FRONT)
    assert len(waiting) == before + 1
    plain = bounded.HELD
    plain.set()
    try:
        here = view(solid, FRONT)
    finally:
        plain.clear()
    assert aside.direction == here.direction
    for ours, theirs in zip(aside.visible + aside.hidden, here.visible + here.hidden, strict=True):
        assert (ours == theirs).all()


def test_outside_a_notebook_nothing_is_copied(monkeypatch) -> None:
    monkeypatch.delitem(sys.modules, "ipykernel.kernelapp", raising=False)
    monkeypatch.setattr(fork, "in_copy", lambda *_given: pytest.fail("a copy was made"))
    assert build.build(key(), Cache()).volume > 0


def test_a_shape_joined_by_the_library_alone_is_made_in_a_copy_too(waiting) -> None:
    """The library asks for threads, of which a copy has none; waiting for them would not end."""
    from build123d import Box, Pos

    tiles = [Pos(3 * i, 0, 0) * Box(2, 2, 2) for i in range(30)]
    base = Box(200, 1, 1)
    assert base.fuse(*tiles).volume > 0  # the kernel's threads are at work by now
    made = fork.in_copy(lambda: str(base.fuse(*tiles).volume).encode())
    assert float(made) == pytest.approx(base.fuse(*tiles).volume)


def test_a_kind_is_tried_once_and_then_made_here(waiting) -> None:
    cache = Cache()
    plain = [build.build(key(width), cache).volume for width in (17, 18, 19, 31)]
    assert len(waiting) == 1
    build.build(key(33), cache)  # twice as large is another kind
    assert len(waiting) == 2
    waiting.clear()
    assert plain[0] == pytest.approx(build.build(key(17), Cache()).volume)
    assert not waiting


def test_what_was_quick_in_a_rehearsal_is_made_here(waiting) -> None:
    from workbench.output.drawing.views import FRONT, TOP, view

    def look() -> None:
        view(build.build(key().round("top of base", 1.0), Cache()), FRONT)
        raise RepairError("width is 3 mm; give 4 mm")

    build.rehearsed(key(), look)
    build.rehearsed(key(), look)
    assert waiting == [bounded.TRY], "what is known by now is not rehearsed"
    eased = build.build(key().round("top of base", 1.2), Cache())
    view(eased, FRONT)
    assert len(waiting) == 1
    view(eased, TOP)  # nobody looked from there
    assert len(waiting) == 2


def test_a_rehearsal_ends_with_what_is_not_quick(waiting, monkeypatch) -> None:
    monkeypatch.setattr(bounded, "QUICK", -1.0)
    build.rehearsed(key(), lambda: [build.build(key(), Cache()), for_ever()])
    assert len(waiting) == 1
    assert build.build(key(), Cache()).volume > 0
    assert bounded.TRY not in waiting[1:], "it is known to be slow as a whole"


def test_a_part_whose_rehearsal_does_not_end_is_built_piece_by_piece(waiting) -> None:
    build.rehearsed(key(), for_ever)
    assert build.build(key(), Cache()).volume > 0
    assert SHORT in waiting, "it is known to be slow as a whole"


def test_a_stopped_rehearsal_says_so_and_one_that_cannot_be_told_is_left(
    waiting, monkeypatch
) -> None:
    def stopped(*_given):
        raise Stopped("it was stopped")

    plain = fork.in_copy
    monkeypatch.setattr(fork, "in_copy", stopped)
    with pytest.raises(Stopped):
        build.rehearsed(key(), for_ever)
    monkeypatch.setattr(fork, "in_copy", plain)
    bounded.rehearse(lambda: "whole", lambda: bounded.limited(lambda: lambda: 0, list))
    assert not bounded._quick and not bounded._slow


def test_a_rounding_is_made_here_once_one_like_it_was_quick(waiting, monkeypatch) -> None:
    def eased(radius: float) -> Repair:
        return key().round("top of base", radius)

    cache = Cache()
    for radius, copies in ((1.0, 2), (1.2, 0), (1.9, 0), (2.1, 1)):
        waiting.clear()
        made = build.build(eased(radius), cache)
        assert len(waiting) == copies, "one of the whole, one of the rounding"
        assert made.volume < build.build(key(), cache).volume
    again = build.build(eased(1.2), Cache())
    monkeypatch.setattr(bounded, "_quick", set())
    assert again.volume == pytest.approx(build.build(eased(1.2), Cache()).volume, rel=1e-9)
    # What was slow is made where it can be ended, again and again.
    monkeypatch.setattr(bounded, "QUICK", -1.0)
    monkeypatch.setattr(bounded, "_quick", set())
    for radius in (1.3, 1.4):
        waiting.clear()
        build.build(eased(radius), cache)
        assert SHORT in waiting


def test_what_is_slow_comes_from_a_copy_and_is_the_same(waiting, monkeypatch) -> None:
    here = build.build(key(), Cache())
    monkeypatch.setattr(bounded, "QUICK", -1.0)
    monkeypatch.setattr(bounded, "_quick", set())
    waiting.clear()
    copied = build.build(key(), Cache())
    assert len(waiting) > 3, "the whole, each step and each boolean"
    assert copied.volume == pytest.approx(here.volume, rel=1e-12)
    assert len(copied.faces()) == len(here.faces()) and kernel.sound(copied)
    waiting.clear()
    build.build(key(21), Cache())
    assert SHORT in waiting and bounded.TRY not in waiting, "it is known to be slow as a whole"


@pytest.mark.parametrize("where", ["_carried_out", "_solids", "_sound"])
def test_a_kernel_call_that_never_ends_is_ended(waiting, monkeypatch, where) -> None:
    module = kernel if where == "_carried_out" else build
    monkeypatch.setattr(module, where, for_ever)
    with pytest.raises(TooLong, match="and was stopped"):
        build.build(key(), Cache())


def test_a_mesh_that_never_ends_is_ended(waiting, monkeypatch) -> None:
    solid = build.build(key(), Cache())
    monkeypatch.setattr(mesh, "_cover", for_ever)
    with pytest.raises(TooLong, match="and was stopped"):
        mesh.mesh(solid)


def test_a_slow_mesh_comes_from_a_copy_and_is_the_same(waiting, monkeypatch) -> None:
    solid = build.build(key(17.5), Cache())
    HELD.set()
    try:
        here = mesh.mesh(build.build(key(17.5), Cache()))
    finally:
        HELD.clear()
    monkeypatch.setattr(bounded, "QUICK", -1.0)
    waiting.clear()
    copied = mesh.mesh(solid)
    assert len(waiting) == 1
    assert all((one == other).all() for one, other in zip(copied, here, strict=True))


def test_faces_like_others_that_were_quick_are_meshed_here(waiting) -> None:
    mesh.mesh(build.build(key(21), Cache()))
    waiting.clear()
    mesh.mesh(build.build(key(22), Cache()))
    assert not waiting
    solid = build.build(key(33.5), Cache())
    waiting.clear()
    mesh.mesh(solid)
    assert len(waiting) == 1, "round faces of twice the size"


def test_a_press_on_stop_stops_the_whole_build(waiting, monkeypatch) -> None:
    def stopped(_make, _limits=None):
        waiting.append(1)
        raise Stopped("it was stopped; undo")

    monkeypatch.setattr(fork, "in_copy", stopped)
    with pytest.raises(Stopped):
        build.build(key(), Cache())
    assert len(waiting) == 1


def test_a_refusal_is_told_in_its_own_words(waiting) -> None:
    loose = (
        Repair("loose").add("box", name="a").add("box", name="b", seat=Seat("top of a", sink=-5))
    )
    with pytest.raises(RepairError) as here:
        build.build(loose, Cache())
    assert len(waiting) == 1 and "RuntimeError" not in str(here.value)
    HELD.set()
    try:
        with pytest.raises(RepairError) as held:
            build.build(loose, Cache())
    finally:
        HELD.clear()
    assert str(here.value) == str(held.value)


def test_reading_a_step_file_is_held_to_limits_and_gives_the_same(tmp_path, monkeypatch) -> None:
    from workbench.output.files.stl_step import step
    from workbench.solids.meshes import foreign_mesh

    path = tmp_path / "key.step"
    path.write_bytes(step(build.build(key(), Cache()), "key"))
    vertices, faces = foreign_mesh.read(path)
    HELD.set()
    try:
        here = foreign_mesh.read(path)
    finally:
        HELD.clear()
    assert (vertices == here[0]).all() and (faces == here[1]).all()
    in_copy = fork.in_copy
    monkeypatch.setattr(fork, "in_copy", lambda make: in_copy(make, SHORT))
    monkeypatch.setattr(foreign_mesh, "of_step", for_ever)
    with pytest.raises(TooLong):
        foreign_mesh.read(path)
