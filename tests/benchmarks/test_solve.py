"""A solve against one dense least-squares problem of its size, in the same run."""

from __future__ import annotations

import timeit

import numpy as np
from surveys import ring

from workbench.measure.sketches.solve import solve

#: A solve of 20 corners and 60 readings takes at most this many 60 by 40 least squares.
BOUND = 20


def quickest(work, number: int, repeat: int = 12) -> float:
    return min(timeit.repeat(work, number=number, repeat=repeat)) / number


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
    assert ours <= 20 * clean


def test_finding_the_wrong_one_of_six_hundred():
    sketch = ring(200, drawn=0.25)
    rng = np.random.default_rng(1)
    matrix, side = rng.normal(size=(600, 400)), rng.normal(size=600)
    plain = quickest(lambda: np.linalg.lstsq(matrix, side, rcond=None), 1)
    name = sketch.rows[205].name
    wrong = sketch.copy().change(name, sketch.row(name).value + 1.0)
    assert solve(wrong).suspect == name
    ours = quickest(lambda: solve(wrong), 1, repeat=3)
    print(f"one wrong of 600: {1e3 * ours:.0f} ms, {ours / plain:.1f} times one least squares")
    assert ours <= 25 * plain


def test_time_grows_no_faster_than_the_equations():
    # Larger ones would measure how the machine shares its cores among threads of the library.
    sketches = {corners: ring(corners) for corners in (5, 10, 20)}
    times = {n: quickest(lambda s=sketch: solve(s), 2) for n, sketch in sketches.items()}
    print(", ".join(f"{corners} corners {1e3 * t:.2f} ms" for corners, t in times.items()))
    # Dense equations: at most eight times the work for twice the corners.
    assert times[20] <= 8 * times[10] <= 64 * times[5]
