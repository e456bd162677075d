"""What a changed size costs on its way to the picture, as ratios within one run. ``-s`` shows them."""

from __future__ import annotations

import itertools
import statistics
import time

import pytest

from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.solids.building.rough import rough
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat


def studded(steps: int) -> Repair:
    """A plate with so many steps in all: pegs in rows, each seated on it."""
    repair = Repair("studs").add("box", name="base", width=120, depth=80, height=4)
    for n in range(steps - 1):
        seat = Seat("top of base", along=-50 + 20 * (n % 6), across=-30 + 15 * (n // 6))
        repair.add("cylinder", name=f"peg {n}", seat=seat, diameter=7, height=9)
    return repair


@pytest.fixture
def on_bench(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(benches, "PAUSE", 600.0)
    opened: list[Bench] = []

    def put(steps: int) -> Bench:
        opened.append(Bench(studded(steps), inline=True))
        opened[-1].choose("peg 2")
        return opened[-1]

    yield put
    for shown in opened:
        shown.close()


def test_a_changed_step_of_twenty_costs_at_most_twice_one_of_five(on_bench):
    few, many = on_bench(5), on_bench(20)
    heights = itertools.cycle([round(9 + n / 10, 1) for n in range(1, 90)])
    took: dict[int, list[float]] = {5: [], 20: []}
    for _try in range(12):
        height = next(heights)
        for steps, shown in ((5, few), (20, many)):
            slider = shown.fields("peg 2")["height"].slider
            start = time.process_time()
            slider.value = height
            took[steps].append(time.process_time() - start)
    ratio = statistics.median(took[20][2:]) / statistics.median(took[5][2:])
    print(
        f"\nfrom a set value to the new picture: {1e3 * statistics.median(took[5][2:]):.0f} ms of "
        f"processor time with five steps, {ratio:.2f} times that with twenty"
    )
    # The square root of four, and what a disturbed machine adds.
    assert ratio <= 2.6


def test_a_rough_part_of_twenty_steps_costs_at_most_twice_one_of_five():
    parts = {5: studded(5), 20: studded(20)}
    took: dict[int, list[float]] = {5: [], 20: []}
    for n in range(14):
        for steps, repair in parts.items():
            repair.change("peg 2", height=round(10 + n / 10 + steps / 1000, 3))
            start = time.process_time()
            assert rough(repair) is not None
            took[steps].append(time.process_time() - start)
    ratio = statistics.median(took[20][2:]) / statistics.median(took[5][2:])
    print(f"\na rough part of twenty steps costs {ratio:.2f} times one of five")
    assert ratio <= 2.6


def test_a_changed_step_of_twenty_sends_little_more_than_its_own_geometry(
    on_bench, monkeypatch: pytest.MonkeyPatch
):
    shown = on_bench(20)
    sent: list[int] = []
    monkeypatch.setattr(
        shown.preview.picture, "send", lambda _said, parts=(): sent.append(sum(map(len, parts)))
    )
    for field, value in (("height", 10.5), ("diameter", 7.6)):
        sent.clear()
        shown.fields("peg 2")[field].slider.value = value
        vertices, faces = mesh(shown.shown.assembly.parts["peg 2"])
        own = 12 * len(vertices) + 12 * len(faces)
        print(f"\n{field}: {sum(sent)} bytes, {sum(sent) / own:.2f} times the step's own {own}")
        assert sent[1:] == [0]  # the sizes as text
        assert sent[0] <= 2 * own
