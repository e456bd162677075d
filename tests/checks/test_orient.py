"""Which way up: what is tried, how it is judged, and why."""

from __future__ import annotations

import multiprocessing
import threading

import numpy as np
import pytest
from bodies import arrays, ball, block
from parts import divider, door
from parts import peg as shelf_peg

from workbench import data
from workbench.checks.check import check
from workbench.checks.layers.slices import mass
from workbench.checks.orientation.bed_fit import turn_to_fit
from workbench.checks.orientation.candidates import AXES, Facets, candidates
from workbench.checks.orientation.orient import chosen_down, quickly, rank, ways_up
from workbench.checks.orientation.print_cost import figures, rough
from workbench.checks.orientation.side_names import name_of, side_of
from workbench.checks.orientation.step_at_point import step_at
from workbench.checks.subject import Subject
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.service import Load

PRINTER = data.printer("generic 220")
PLA = data.material("PLA")


def flat_plate() -> Repair:
    return Repair("cover").add("plate", name="cover", width=40, height=30, thickness=3, holes=0)


def thin_foot() -> Repair:
    """A blade on a foot thinner than itself: laid flat, the foot hangs."""
    repair = Repair("thin foot")
    repair.add("fin", name="blade", bottom=46, top=37, height=71, inset=-7, thickness=4)
    return repair.add("tab", seat="bottom of blade", name="foot", width=11, length=4, thickness=2.4)


# -- candidates --------------------------------------------------------------------------------


def test_the_sides_of_the_bench_are_always_tried():
    found = candidates(*arrays(ball()), most=26)
    assert len(found) == 26
    assert found[:6] == [tuple(map(float, axis)) for axis in AXES]


def test_leaning_faces_are_tried():
    found = np.array(candidates(*Subject.of(divider()).mesh))
    leaning = np.array([71, 0, 15.95]) / np.hypot(71, 15.95)
    assert (found @ leaning).max() == pytest.approx(1, abs=1e-6)


def test_no_direction_is_tried_twice():
    found = np.array(candidates(*arrays(ball()), most=60))
    near = found @ found.T - 2 * np.eye(len(found))
    assert near.max() < np.cos(np.radians(1.0)) + 1e-12


@pytest.mark.parametrize("most", [1, 6, 10])
def test_no_more_are_tried_than_asked(most):
    assert len(candidates(*arrays(ball()), most=most)) == most


# -- figures -----------------------------------------------------------------------------------


@pytest.mark.parametrize("down", [(0, 0, -1), (0, 0, 1), (1, 0, 0), (0.6, 0, -0.8)])
def test_rough_figures_come_near_the_close_ones(down):
    body = block(6, 10, 30) + block(40, 10, 4, (0, 0, 30))
    vertices, faces = arrays(body)
    centre = mass(vertices, faces)[1]
    near = figures(vertices, faces, down, PRINTER, PLA)
    first = rough(Facets.of(vertices, faces), vertices, down, PRINTER, centre)
    assert first.rough and not near.rough
    assert first.height == pytest.approx(near.height)
    assert first.touched == pytest.approx(near.touched, rel=0.05, abs=2)
    # Down to the bed, also where the part is in the way.
    assert first.support >= 0.95 * near.support - 20
    assert first.minutes == pytest.approx(near.minutes, rel=0.5)
    if down[0] in (0, 1):
        assert first.contact == pytest.approx(near.contact)


def test_a_part_that_lies_low_and_wide_runs_no_risk():
    found = figures(*arrays(block(40, 30, 2)), (0, 0, -1), PRINTER, PLA)
    assert found.risk == 0
    tall = figures(*arrays(block(40, 2, 30)), (0, 0, -1), PRINTER, PLA)
    assert 0.05 < tall.risk < 0.6


# -- judging -----------------------------------------------------------------------------------


def test_a_plate_lies_flat():
    best = ways_up(Subject.of(flat_plate()))[0]
    assert best.flat
    assert best.rank == 1
    assert best.name == "laid flat on its bottom"
    assert best.figures.support == 0
    assert "It needs no support." in best.reasons


def test_a_divider_on_a_thicker_foot_does_not_lie_flat_and_says_why():
    found = ways_up(Subject.of(divider()))
    flat = next(item for item in found if item.flat)
    assert not found[0].flat
    assert flat.rank > 1
    area = flat.figures.hanging[0].area
    assert area == pytest.approx((45.95 + 37) / 2 * 71, rel=1e-3)
    assert flat.reasons[0] == (
        f"Laid flat on its front, {area:.0f} mm² of the blade would hang 0.4 mm above the bed."
    )
    assert flat.minutes > found[0].minutes


def test_a_foot_thinner_than_its_blade_hangs_when_laid_flat():
    flat = next(item for item in ways_up(Subject.of(thin_foot())) if item.flat)
    assert flat.reasons[0] == (
        "Laid flat on its front, 44 mm² of the foot would hang 0.8 mm above the bed."
    )
    assert flat.rough_fits == ("foot",)


def test_ranks_follow_the_minutes():
    for repair in (divider(), door(), shelf_peg()):
        found = quickly(Subject.of(repair))
        assert [item.rank for item in found] == list(range(1, len(found) + 1))
        assert len(found) >= 3 or len(found) == len({item.name for item in found})
        assert all(item.reasons for item in found)


def test_the_report_carries_the_ways_up():
    subject = Subject.of(divider())
    report = check(divider())
    assert [item.name for item in report.orientations] == [item.name for item in ways_up(subject)]
    assert chosen_down(subject) == report.orientations[0].down


def test_the_user_s_choice_is_respected_and_judged():
    repair = divider()
    repair.down = (0, 2, 0)
    subject = Subject.of(repair)
    assert chosen_down(subject) == (0, 1, 0)
    (own,) = (item for item in ways_up(subject) if item.chosen)
    assert own.down == (0, 1, 0)
    assert own.rank > 1


def test_a_choice_between_the_sides_is_judged_too():
    repair = flat_plate()
    repair.down = (0.3, 0.5, -0.8)
    (own,) = (item for item in ways_up(Subject.of(repair)) if item.chosen)
    assert own.name.startswith("tilted") or "slanting" in own.name
    assert own.down == pytest.approx(np.array(repair.down) / np.linalg.norm(repair.down))


def post(force: float | None) -> Repair:
    """A slender upright pin on a wide foot that stands well by itself."""
    repair = Repair("post").add("box", name="base", width=40, depth=40, height=6)
    repair.add("box", seat=Seat("top of base", sink=1), name="pin", width=8, depth=8, height=25)
    if force:
        repair.loads = (Load("pin", force, (1, 0, 0)),)
    return repair


def test_a_load_turns_the_part_so_that_layers_run_along_it():
    calm = ways_up(Subject.of(post(None)))[0]
    assert calm.down == (0, 0, -1)
    assert (calm.strength, calm.weakest) == (1.0, "")
    loaded = ways_up(Subject.of(post(20)))
    standing = next(item for item in loaded if item.down == (0, 0, -1))
    assert standing.strength == pytest.approx(PLA.across)
    assert standing.weakest == "pin"
    assert any("pin pulls across layers" in reason for reason in standing.reasons)
    assert standing.minutes - calm.minutes == pytest.approx(60 * (1 - PLA.across))
    assert loaded[0].strength > standing.strength


def test_a_clip_lies_on_its_side_so_that_its_arm_bends_along_the_layers():
    best = ways_up(Subject.of(door()))[0]
    assert best.strength > 0.95


def test_a_side_that_shows_is_kept_clean():
    """Two ways up cost the same until one of them marks the side that shows."""
    repair = Repair("shelf end").add("box", name="end", width=60, depth=20, height=4)
    repair.add("box", seat=Seat("top of end", sink=0.5), name="lip", width=8, depth=20, height=8)
    first = ways_up(Subject.of(repair))
    upside_down = next(item for item in first if item.down == (0, 0, 1))
    repair.shows = ("top",)
    shown = next(item for item in ways_up(Subject.of(repair)) if item.down == (0, 0, 1))
    assert shown.spoilt == pytest.approx(52 * 20)
    assert shown.minutes > upside_down.minutes
    assert any("side that shows" in reason for reason in shown.reasons)


def test_what_does_not_fit_the_bed_comes_last():
    repair = Repair("long rod").add("box", name="rod", width=240, depth=10, height=10)
    found = ways_up(Subject.of(repair))
    assert found[0].figures.turn is not None
    small = Repair("long rod", printer="generic 120").add(
        "box", name="rod", width=130, depth=10, height=10
    )
    best, *others = ways_up(Subject.of(small))
    assert best.figures.turn
    assert any(f"turn it by {best.figures.turn:.0f}°" in reason for reason in best.reasons)
    assert all(item.figures.turn is None for item in others)


def test_alike_ways_up_are_told_once():
    found = ways_up(Subject.of(Repair("cube").add("box", width=20, depth=20, height=20)))
    assert len({round(item.minutes, 1) for item in found}) == len(found)
    assert found[0].down == (0, 0, -1)


# -- all of them, with progress ----------------------------------------------------------------


def test_progress_counts_up_to_all_of_them():
    seen: list[tuple[int, int]] = []
    subject = Subject.of(door())
    rank(subject, most=8, progress=lambda done, of: seen.append((done, of)))
    assert seen == [(i, 8) for i in range(1, 9)]


def test_cancelling_keeps_what_was_judged():
    stop = threading.Event()
    subject = Subject.of(divider())

    def progress(done: int, _of: int) -> None:
        if done == 3:
            stop.set()

    found = rank(subject, progress=progress, cancelled=stop.is_set)
    assert 1 <= len(found) <= 3


def test_cancelled_at_once_gives_nothing():
    assert rank(Subject.of(flat_plate()), cancelled=lambda: True) == ()


def test_two_workers_judge_as_one():
    subject = Subject.of(divider())
    one = rank(subject, most=8)
    two = rank(subject, most=8, workers=2)
    assert [item.name for item in two] == [item.name for item in one]
    assert [item.minutes for item in two] == pytest.approx([item.minutes for item in one])


def test_a_worker_that_is_ended_loses_nothing():
    subject = Subject.of(divider())
    known = set(multiprocessing.active_children())
    ended = []

    def progress(done: int, _of: int) -> None:
        if not ended:
            mine = [child for child in multiprocessing.active_children() if child not in known]
            ended.extend(mine or multiprocessing.active_children())
            ended[0].kill()

    found = rank(subject, most=12, workers=2, progress=progress)
    assert ended
    assert [item.name for item in found] == [item.name for item in rank(subject, most=12)]


# -- words and places --------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("down", "side"),
    [((0, 0, -1), "bottom"), ((0, 0, 1), "top"), ((0, -1, 0), "front"), ((-0.9, 0, 0.1), "left")],
)
def test_a_side_is_the_one_that_looks_down(down, side):
    assert side_of(down)[0] == side


@pytest.mark.parametrize(
    ("size", "down", "name"),
    [
        ((40, 30, 3), (0, 0, -1), "laid flat on its bottom"),
        ((40, 3, 30), (0, 0, -1), "standing on its bottom"),
        ((40, 3, 30), (0, 1, 0), "laid flat on its back"),
        ((40, 3, 30), (-1, 0, 0), "on its left edge"),
        ((40, 30, 25), (-1, 0, 0), "on its left side"),
        ((40, 3, 30), (-0.98, 0, -0.2), "on its slanting left edge"),
        ((40, 30, 25), (0, 0.6, -0.8), "tilted, its bottom 37° off the bed"),
    ],
)
def test_names_say_how_it_lies(size, down, name):
    assert name_of(figures(*arrays(block(*size)), down, PRINTER, PLA)) == name


def test_a_place_belongs_to_the_step_that_holds_it():
    subject = Subject.of(divider())
    assert step_at(subject, (0, 0, -1), (0, 0, 1)) == "foot"
    assert step_at(subject, (0, 0, -1), (0, 0, 40)) == "blade"
    assert step_at(subject, (0, 0, -1), (100, 0, 40)) == ""


@pytest.mark.parametrize(
    ("size", "bed", "turn"),
    [
        ((100, 50, 20), (220, 220, 250), 0.0),
        ((50, 205, 20), (220, 100, 250), 90.0),
        ((50, 50, 260), (220, 220, 250), None),
        ((215, 50, 10), (220, 100, 250), None),
    ],
)
def test_fitting_the_bed(size, bed, turn):
    assert turn_to_fit(arrays(block(*size))[0], bed) == turn
