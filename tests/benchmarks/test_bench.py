"""What the bench adds to building and meshing, as ratios within one run. ``-s`` shows the figures."""

from __future__ import annotations

import itertools
import time
from collections.abc import Callable

import pytest

from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.solids.building.build import build
from workbench.solids.geometry.cache import Cache
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At, Seat

#: Far more values than the cache of built shapes is asked for twice in a row, in mm.
HEIGHTS = itertools.cycle([round(60 + n / 10, 1) for n in range(130)])


def five_steps() -> Repair:
    repair = Repair("tray divider")
    repair.add("fin", name="blade", bottom=46, top=37, height=59, inset=-7, thickness=1.6)
    repair.add("tab", seat=Seat("bottom of blade", sink=0.2), name="foot", width=30, thickness=2.4)
    repair.add(
        "box", seat=Seat("left of blade", sink=0.3), name="nub", width=1.2, depth=4, height=2
    )
    repair.add("cylinder", seat=Seat("top of blade", sink=0.2), name="pin", diameter=1.4, height=3)
    return repair.cut("cylinder", seat=At(15, 5, 30), name="finger", diameter=9, height=8)


@pytest.fixture
def on_bench(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(benches, "PAUSE", 600.0)
    opened: list[Bench] = []

    def put(inline: bool) -> Bench:
        opened.append(Bench(five_steps(), inline=inline))
        assert opened[-1]._builder.settle(60)
        return opened[-1]

    yield put
    for shown in opened:
        shown.close()


def in_turns(jobs: dict[str, Callable[[], object]], tries: int = 15) -> dict[str, float]:
    """The least time of each job, the jobs taking turns, in processor seconds of all threads,
    so that other work on the machine counts little."""
    times: dict[str, list[float]] = {name: [] for name in jobs}
    for _ in range(tries):
        for name, job in jobs.items():
            start = time.process_time()
            job()
            times[name].append(time.process_time() - start)
    return {name: min(each) for name, each in times.items()}


def test_from_a_set_value_to_the_new_mesh_takes_little_more_than_build_and_mesh(on_bench):
    at_once, beside = on_bench(inline=True), on_bench(inline=False)
    plain, cache = five_steps(), Cache()

    def slide(shown: Bench) -> None:
        before = shown.preview.part.version
        shown.fields("blade")["height"].slider.value = next(HEIGHTS)
        assert shown._builder.settle(60)
        assert shown.preview.part.version > before

    took = in_turns(
        {
            "bare": lambda: mesh(build(plain.change("blade", height=next(HEIGHTS)), cache)),
            "inline": lambda: slide(at_once),
            "thread": lambda: slide(beside),
        }
    )
    print(
        f"\nset value to new mesh on the five-step divider, against bare build and mesh: "
        f"{took['inline'] / took['bare']:.2f} in the same thread, "
        f"{took['thread'] / took['bare']:.2f} beside it"
    )
    assert took["inline"] <= 2.0 * took["bare"]
    assert took["thread"] <= 2.5 * took["bare"]


def test_a_burst_of_forty_values_is_not_forty_builds(on_bench):
    shown = on_bench(inline=False)
    slider = shown.fields("blade")["height"].slider

    def one() -> None:
        slider.value = next(HEIGHTS)
        assert shown._builder.settle(60)

    def burst() -> None:
        for _ in range(40):
            last = slider.value = next(HEIGHTS)
        assert shown._builder.settle(60)
        assert shown.shown.repair.step("blade").values["height"] == last

    took = in_turns({"one": one, "burst": burst}, tries=4)
    print(f"\na burst of 40 values: {took['burst'] / took['one']:.1f} times one value")
    assert took["burst"] <= 40 * took["one"]
