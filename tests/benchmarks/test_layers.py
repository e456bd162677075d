"""How quick the layer analysis is: against trimesh with shapely, and as parts and prints grow.

Processor seconds are compared, not those of the clock, so that other work on the machine counts
little; the best of several runs is taken.
"""

from __future__ import annotations

import os
import time
from collections.abc import Callable

import numpy as np
import pytest
from bodies import arrays, plate_with_holes
from layered import BODIES, everything, sections, tight
from manifold3d import Manifold
from parts import door
from speeds import quickest

from workbench.checks.layers.layer_analysis import layers
from workbench.checks.orientation.orient import quickly, rank
from workbench.checks.subject import Subject


def seconds(work: Callable[[], object], runs: int = 3) -> float:
    """Least processor time of several runs."""
    best = float("inf")
    for _run in range(runs):
        start = time.process_time()
        work()
        best = min(best, time.process_time() - start)
    return best


def exponent(sizes: list[float], times: list[float]) -> float:
    """Slope of time against size, both in logarithms: 1 is linear."""
    return float(np.polyfit(np.log(sizes), np.log(times), 1)[0])


def test_all_figures_against_areas_and_overhangs_alone(capsys):
    ratios = {}
    with capsys.disabled():
        print("\nFull layer analysis at 0.2 mm against area and overhang alone, with trimesh and")
        print("shapely, and as tightly as the mesh kernel does it")
        for name, make in BODIES.items():
            mesh = make()
            areas, beyond = tight(mesh)
            assert areas == pytest.approx(layers(*mesh).slices.areas.sum(), rel=0.01)
            ours, floor = quickest(lambda m=mesh: everything(m), lambda m=mesh: tight(m), tries=3)
            told: list[tuple[float, float]] = []
            (theirs,) = quickest(lambda m=mesh, told=told: told.append(sections(m)), tries=1)
            assert told[0] == pytest.approx((areas, beyond), rel=0.01)
            ratios[name] = theirs / ours
            print(
                f"{name:34}{len(mesh[1]):7} triangles {1000 * ours:7.0f} ms {ratios[name]:7.1f}x, "
                f"the kernel alone {theirs / floor:.1f}x"
            )
    assert ratios["plate with 30 countersunk holes"] > 20
    assert min(ratios.values()) > 1


def test_growth_with_triangles(capsys):
    sizes, times = [], []
    for segments in (30, 55, 110, 220):
        mesh = arrays(plate_with_holes(segments))
        sizes.append(len(mesh[1]))
        times.append(seconds(lambda mesh=mesh: everything(mesh)))
    found = exponent(sizes, times)
    with capsys.disabled():
        print(f"\nTime against triangles, {sizes[0]} to {sizes[-1]}: exponent {found:.2f}")
    assert 0.2 < found < 1.35


@pytest.mark.parametrize("name", ["ball", "plate with 30 countersunk holes"])
def test_growth_with_layers(capsys, name):
    mesh = BODIES[name]()
    heights = [0.4, 0.2, 0.1, 0.05]
    times = [seconds(lambda h=h: everything(mesh, h)) for h in heights]
    found = exponent([1 / h for h in heights], times)
    with capsys.disabled():
        print(f"\nTime against layers, {name}: exponent {found:.2f}")
    assert found < 1.35


def test_ranking_all_ways_up(capsys):
    """The panel's ranking with two workers gives what one gives; the ratio is of the clock."""
    subject = Subject.of(door())
    base = arrays(Manifold.sphere(12, 96))
    subject.__dict__["mesh"] = base
    rank(subject, most=2, workers=2)

    def clock(workers: int) -> tuple[float, list[str]]:
        start = time.perf_counter()
        found = rank(subject, workers=workers)
        return time.perf_counter() - start, [item.name for item in found]

    one, names = clock(1)
    two, same = clock(2)
    quick = time.perf_counter()
    quickly(subject)
    quick = time.perf_counter() - quick
    with capsys.disabled():
        print(
            f"\n26 ways up of {len(base[1])} triangles: {one:.2f} s alone, {one / two:.2f} times as"
            f" fast with two workers on {os.cpu_count()} cores; the quick look {quick:.2f} s"
        )
    assert same == names
