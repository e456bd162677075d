"""Edits with the way back, and the last solid that was good."""

from __future__ import annotations

import json
from random import Random

import numpy as np
import pytest
from edits import edit, random_repair

from workbench.errors import RepairError
from workbench.jupyter.state import MOST_UNDO, ONE_GESTURE, Workpiece, make
from workbench.solids.recipe.repair import Repair


class Clock:
    """A clock that goes only when it is told to."""

    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


def divider() -> Repair:
    return (
        Repair("tray divider")
        .add("fin", name="blade", bottom=46, top=37, height=71, inset=-7, thickness=1.6)
        .add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
    )


def bottom_of(repair: Repair) -> float:
    return repair.step("blade").values["bottom"]


def test_an_edit_can_be_undone_and_done_again():
    work = Workpiece(divider())
    assert not work.undoes and not work.redoes
    assert work.edit(lambda repair: repair.change("blade", bottom=40))
    assert work.undoes and bottom_of(work.repair) == 40
    assert work.undo() and bottom_of(work.repair) == 46
    assert work.redoes and not work.undoes
    assert work.redo() and bottom_of(work.repair) == 40


def test_undo_brings_everything_back_not_only_sizes():
    work = Workpiece(divider())
    before = work.frozen()
    work.edit(lambda repair: setattr(repair, "material", "PETG"))
    work.edit(lambda repair: repair.remove("foot"))
    work.edit(lambda repair: repair.add("box", seat="top of blade", name="grip"))
    for _n in range(3):
        assert work.undo()
    assert work.repair == before
    assert not work.undo()


def test_the_repair_is_edited_in_place_so_that_its_variable_follows():
    repair = divider()
    work = Workpiece(repair)
    work.edit(lambda r: r.change("blade", bottom=41))
    work.undo()
    assert work.repair is repair and bottom_of(repair) == 46


def test_a_new_edit_forgets_what_was_undone():
    work = Workpiece(divider())
    work.edit(lambda repair: repair.change("blade", bottom=40))
    work.undo()
    work.edit(lambda repair: repair.change("blade", top=20))
    assert not work.redoes


def undone(work: Workpiece) -> list[float]:
    """The blade's bottom after each undo, until there is nothing to undo."""
    found = []
    while work.undoes:
        work.undo()
        found.append(bottom_of(work.repair))
    return found


def test_one_drag_is_one_edit_to_undo_but_two_drags_are_two():
    clock = Clock()
    work = Workpiece(divider(), clock)
    for width in range(36, 46):
        clock.now += ONE_GESTURE / 10
        work.edit(lambda repair, width=width: repair.change("blade", bottom=width), key="bottom")
    clock.now += ONE_GESTURE * 2
    work.edit(lambda repair: repair.change("blade", bottom=50), key="bottom")
    assert undone(work) == [45, 46]


def test_a_drag_that_rests_on_the_way_is_one_edit_and_the_next_drag_another():
    clock = Clock()
    work = Workpiece(divider(), clock)
    for drag in (40, 50):
        work.hold(True)
        for width in (drag, drag + 1, drag + 2):
            clock.now += ONE_GESTURE * 3
            work.edit(lambda repair, to=width: repair.change("blade", bottom=to), key="bottom")
        clock.now += ONE_GESTURE * 3
        work.hold(False)
        # the last value may still be on its way when the hand lets go
        work.edit(lambda repair, to=drag + 3: repair.change("blade", bottom=to), key="bottom")
        clock.now += ONE_GESTURE / 2
    assert bottom_of(work.repair) == 53
    assert undone(work) == [43, 46]


def test_edits_of_different_fields_are_undone_one_by_one():
    work = Workpiece(divider(), Clock())
    work.edit(lambda repair: repair.change("blade", bottom=40), key="bottom")
    work.edit(lambda repair: repair.change("blade", top=20), key="top")
    work.undo()
    assert bottom_of(work.repair) == 40
    assert work.repair.step("blade").values["top"] == 37


def test_an_edit_that_changes_nothing_is_nothing_to_undo():
    work = Workpiece(divider())
    assert not work.edit(lambda repair: repair.change("blade", bottom=46))
    assert not work.undoes


def test_a_refused_edit_leaves_the_repair_as_it_was_even_half_way():
    work = Workpiece(divider())
    before = work.frozen()

    def half_way(repair: Repair) -> None:
        repair.change("blade", bottom=40)
        repair.change("blade", top=-3)

    with pytest.raises(RepairError, match="top"):
        work.edit(half_way)
    assert work.repair == before and not work.undoes


def test_what_a_cell_does_to_the_repair_is_noticed_once_and_can_be_undone():
    repair = divider()
    work = Workpiece(repair)
    assert not work.noticed()
    repair.change("foot", thickness=2.6)
    assert work.noticed() and not work.noticed()
    work.undo()
    assert repair.step("foot").values["thickness"] == 2.4


def test_a_frozen_repair_is_not_moved_by_later_edits():
    work = Workpiece(divider())
    kept = work.frozen()
    work.edit(lambda repair: repair.change("blade", bottom=60))
    work.edit(lambda repair: repair.statements.update(heat="it stays in the shade"))
    assert bottom_of(kept) == 46 and kept.statements == {}


def test_what_is_made_knows_its_volume_mass_and_bounds():
    made = make(Repair("block").add("box", width=20, depth=10, height=5))
    assert made.volume == pytest.approx(20 * 10 * 5)
    # Density of PLA as the table of materials has it; mass is volume times density.
    assert made.mass == pytest.approx(1.0 * 1.24, rel=0.1)
    np.testing.assert_allclose(made.bounds, [[-10, -5, 0], [10, 5, 5]], atol=1e-6)


def test_a_round_side_is_told_as_large_as_the_solid_is_and_not_its_mesh():
    made = make(Repair("pin").add("cylinder", name="pin", diameter=25, height=20))
    across = made.bounds[1, :2] - made.bounds[0, :2]
    np.testing.assert_allclose(across, 25, atol=1e-6)
    assert float(np.ptp(made.vertices[:, 1])) < 25 - 1e-3


def test_what_cannot_be_made_is_refused_in_words():
    with pytest.raises(RepairError, match="no parts yet"):
        make(Repair("nothing"))


def test_each_edit_has_a_name_for_undo():
    work = Workpiece(divider())
    work.edit(lambda repair: repair.change("foot", width=31), key=("foot", "width"))
    assert work.undoes == "width of foot"
    work.edit(lambda repair: repair.add("box", seat="top of blade", name="grip"))
    assert work.undoes == "add grip" and work.redoes == ""
    work.undo()
    assert work.undoes == "width of foot" and work.redoes == "add grip"


def test_undo_lasts_over_a_restart_two_hundred_steps_back():
    rng = Random(5)
    work, states = Workpiece(random_repair(rng, 4)), []
    for _n in range(MOST_UNDO + 10):
        states.append(work.repair.to_json())
        work.edit(lambda repair: edit(rng, repair))
    for _n in range(3):
        work.undo()
    kept = json.loads(json.dumps(work.kept()[1]))
    again = Workpiece(Repair.from_json(work.repair.to_json()))
    again.resume(kept)
    assert again.redo() and json.loads(again.repair.to_json()) == json.loads(states[-2])
    count = 0
    while again.undo():
        count += 1
        assert json.loads(again.repair.to_json()) == json.loads(states[-2 - count])
    assert count == MOST_UNDO - 2


def test_a_history_of_another_part_is_refused_in_words():
    work, other = Workpiece(divider()), Workpiece(Repair("block").add("box"))
    work.edit(lambda repair: repair.change("foot", width=31))
    other.resume(work.kept()[1])
    with pytest.raises(RepairError, match="width of foot"):
        other.undo()
    other.resume({"past": [{"name": 3}]})
