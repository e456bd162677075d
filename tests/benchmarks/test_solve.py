"""A solve against one dense least-squares problem of its size, in the same run."""

from __future__ import annotations

import timeit

import numpy as np

from workbench.measure.sketch import Sketch
from workbench.measure.solve import solve

#: A solve of 20 corners and 60 readings takes at most this many 60 by 40 least squares.
BOUND = 20


def ring(corners: int, seed: int = 0) -> Sketch:
    """Corners round a middle; sides, short and long diagonals read: three a corner."""
    rng = np.random.default_rng(seed)
    turn = -2.2 + np.linspace(0, 2 * np.pi, corners, endpoint=False)
    reach = rng.uniform(25, 45, corners)
    true = np.c_[reach * np.cos(turn), reach * np.sin(turn)]
    names = [f"P{i}" for i in range(corners)]
    drawn = 0.7 * true + rng.normal(size=true.shape)
    sketch = Sketch(dict(zip(names, drawn, strict=True)))
    for step, kind in ((1, "side"), (2, "diagonal"), (corners // 3, "diagonal")):
        for i in range(corners):
            j = (i + step) % corners
            gap = float(np.hypot(*(true[i] - true[j]))) + rng.normal() * 0.03
            sketch.read(kind, (names[i], names[j]), gap, uncertainty=0.03)
    return sketch


def quickest(work, number: int) -> float:
    return min(timeit.repeat(work, number=number, repeat=12)) / number


def test_twenty_corners_and_sixty_readings():
    sketch = ring(20)
    assert len(sketch.rows) == 60
    assert solve(sketch).suspect is None
    rng = np.random.default_rng(1)
    matrix, side = rng.normal(size=(60, 40)), rng.normal(size=60)
    plain = quickest(lambda: np.linalg.lstsq(matrix, side, rcond=None), 10)
    ours = quickest(lambda: solve(sketch), 2)
    print(f"solve: {1e3 * ours:.2f} ms, {ours / plain:.1f} times one 60 by 40 least squares")
    assert ours <= BOUND * plain


def test_finding_the_wrong_one_of_sixty():
    sketch = ring(20)
    clean = quickest(lambda: solve(sketch), 2)
    name = sketch.rows[25].name
    wrong = sketch.copy().change(name, sketch.row(name).value + 1.0)
    assert solve(wrong).suspect == name
    ours = quickest(lambda: solve(wrong), 1)
    print(f"with one wrong reading: {1e3 * ours:.2f} ms, {ours / clean:.1f} times as long")
    assert ours <= 40 * clean


def test_time_grows_no_faster_than_the_equations():
    # Larger ones would measure how the machine shares its cores among threads of the library.
    sketches = {corners: ring(corners) for corners in (5, 10, 20)}
    times = {n: quickest(lambda s=sketch: solve(s), 2) for n, sketch in sketches.items()}
    print(", ".join(f"{corners} corners {1e3 * t:.2f} ms" for corners, t in times.items()))
    # Dense equations: at most eight times the work for twice the corners.
    assert times[20] <= 8 * times[10] <= 64 * times[5]
