"""The picture of a moving hand: the same part in triangles as the exact solid comes to."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from turns import turn

from workbench import Repair, Seat, build
from workbench.output.notebook.template_notebook import read_template
from workbench.solids.building import rough as of_rough
from workbench.solids.building.rough import rough
from workbench.solids.geometry.cache import Kept
from workbench.solids.meshes.mesh import closes, volume
from workbench.solids.recipe.seat import At

SHELF = sorted((Path(__file__).resolve().parents[2] / "templates").glob("*.ipynb"))


@pytest.mark.parametrize("path", turn(SHELF, 0, of=2), ids=lambda path: path.stem)
def test_a_rough_part_is_the_exact_one_but_for_its_eased_edges(path: Path):
    repair = read_template(path)
    repair.eases = []
    found = rough(repair)
    assert found is not None and closes(found.faces)
    assert volume(found.vertices, found.faces) == pytest.approx(build(repair).volume, rel=5e-3)
    assert len(found.owners) == len(found.faces)
    assert set(found.owners) == set(range(len(repair.steps)))


def test_eased_edges_are_left_out():
    repair = Repair("block").add("box", width=20, depth=10, height=5, name="base")
    sharp = rough(repair)
    repair.round("top of base", 2)
    found = rough(repair)
    assert sharp is not None and found is not None
    np.testing.assert_array_equal(found.vertices, sharp.vertices)


def test_a_cut_that_ends_in_a_face_leaves_no_skin_there():
    repair = Repair("tube").add("cylinder", diameter=20, height=11, name="wall")
    repair.cut(
        "cylinder", name="room", diameter=15.1, height=7.3, seat=Seat("top of wall", sink=7.3)
    )
    found = rough(repair)
    assert found is not None
    over = (found.vertices[found.faces][:, :, 2] > 10.999).all(axis=1)
    corners = found.vertices[found.faces[over]]
    area = np.linalg.norm(
        np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1
    )
    assert area.sum() / 2 == pytest.approx(np.pi * (10**2 - 7.55**2), rel=0.01)


def test_what_does_not_come_to_one_body_has_no_rough_picture():
    repair = Repair("two").add("box", width=20, depth=10, height=5, name="base")
    repair.add("box", width=5, depth=5, height=5, name="far", seat=At(x=40))
    assert rough(repair) is None


def test_a_wall_that_a_cut_leaves_belongs_to_the_cut():
    repair = Repair("plate").add("box", width=20, depth=10, height=5, name="base")
    repair.cut("box", name="slot", width=6, depth=10, height=2, seat=Seat("top of base", sink=2))
    found = rough(repair)
    assert found is not None
    middles = found.vertices[found.faces].mean(axis=1)
    floor = (np.abs(middles[:, 2] - middles[:, 2].max() + 2) < 1e-3) & (np.abs(middles[:, 0]) < 3)
    assert floor.any()
    np.testing.assert_array_equal(found.owners[floor], 1)


def test_under_a_hand_each_step_comes_to_what_it_comes_to_alone(monkeypatch: pytest.MonkeyPatch):
    repair = Repair("studs").add("box", name="base", width=40, depth=30, height=4)
    for n in range(3):
        seat = Seat("top of base", along=12 * n - 12)
        repair.add("cylinder", name=f"peg {n}", seat=seat, diameter=7, height=9)
    hole = Seat("top of base", along=-12, sink=4)
    repair.cut("cylinder", name="hole", seat=hole, diameter=3, height=40)
    repair.cut("box", name="slot", seat=Seat("top of base", sink=2), width=3, depth=30, height=2)
    repair.add("box", name="rib", seat=Seat("top of base", across=12), width=40, depth=2, height=6)

    def alone() -> float:
        with monkeypatch.context() as fresh:
            fresh.setattr(of_rough, "_LAST", Kept(1))
            found = rough(repair)
        assert found is not None
        return volume(found.vertices, found.faces)

    joined: list[int] = []
    join = of_rough._joined
    for step in list(repair.steps) * 2:
        for _move in range(3):
            repair.change(step.name, height=step.values["height"] + 0.3 * (1 + _move))
            with monkeypatch.context() as counted:
                counted.setattr(
                    of_rough, "_joined", lambda *of: (joined.append(len(of[2])), join(*of))[1]
                )
                found = rough(repair)
            assert found is not None and closes(found.faces)
            assert volume(found.vertices, found.faces) == pytest.approx(alone(), rel=1e-9)
            owners = set(found.owners)
            assert owners == set(range(len(repair.steps)))
    assert max(joined) > 3  # the others were taken as one


@pytest.mark.parametrize(("step", "carried"), [("hole", False), ("slot", True), ("base", True)])
def test_what_comes_after_a_moved_step_is_carried_anew_only_where_it_meets_it(
    monkeypatch: pytest.MonkeyPatch, step: str, carried: bool
) -> None:
    repair = Repair("block").add("box", name="base", width=40, depth=30, height=4)
    for name, along, width in (("hole", -12, 3), ("slot", 0, 40)):
        seat = Seat("top of base", along=along, across=along, sink=2)
        repair.cut("box", name=name, seat=seat, width=width, depth=1, height=9)
    repair.add("box", name="rib", seat=Seat("top of base"), width=40, depth=2, height=6)
    whole: list[int] = []
    join = of_rough._joined
    monkeypatch.setattr(
        of_rough, "_joined", lambda key, *of: (whole.append(len(key)), join(key, *of))[1]
    )
    for _move in range(4):
        repair.change(step, height=repair.step(step).values["height"] + 0.3)
        whole.clear()
        assert rough(repair) is not None
    runs = 3
    assert (max(whole) < runs) is carried
