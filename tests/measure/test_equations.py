"""The slopes of every kind of reading, against finite differences."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from surveys import aligned, survey

from workbench.measure.sketches.equations import Equations
from workbench.measure.sketches.sketch import Sketch, Trace
from workbench.measure.sketches.table_row import KINDS, Row


def every_kind() -> Sketch:
    """A sketch with a row of each kind, rounded corners, an arc, holes and a trace."""
    corners = {"A": (0, 0), "B": (30, 2), "C": (28, 20), "D": (14, 30), "E": (2, 22)}
    ways = ({"A": (0.3, -0.1), "C": (0.0, 0.4)}, {"D": (-0.2, 0.2)})
    sketch = Sketch(corners, trace=Trace(0.2, 0.01, ways)).circle("H", 10, 10).circle("K", 20, 12)
    sketch.arc("E A", 0.2)
    for kind, where, value in (
        ("side", "AB", 35),
        ("diagonal", "AC", 44),
        ("distance", "A H", 12),
        ("height", "D over A B", 36),
        ("height", "A over D C", 20),
        ("offset", "D along A B", 17),
        ("overall width", "", 40),
        ("overall height", "over B C", 41),
        ("angle", "B", 85),
        ("angle", "A C D", 40),
        ("radius", "D", 3),
        ("radius", "C", 4),
        ("rise", "E A", 2),
        ("diameter", "H", 5),
        ("diameter", "K", 6),
        ("sum", "side A B plus offset D along A B minus overall width", 1),
    ):
        sketch.read(kind, where, value)
    for rim in ("near", "far", "centre"):
        sketch.read("distance", "H K", 8, rim=rim).read("height", "H over A B", 9, rim=rim)
        sketch.read("offset", "H along A B", 9, rim=rim)
    for kind, where in (
        ("parallel", "A B and E C"),
        ("square", "B"),
        ("square", "A B and C D"),
        ("equal", "B C and A E"),
        ("in line", "C with A B"),
    ):
        sketch.read(kind, where)
    return sketch


def test_the_sketch_has_every_kind():
    assert {row.kind for row in every_kind().rows} == set(KINDS)


@given(seed=st.integers(0, 10_000), spread=st.floats(0.01, 1.5))
@settings(max_examples=15, deadline=None)
def test_slopes_are_those_of_finite_differences(seed, spread):
    equations = Equations(every_kind())
    rng = np.random.default_rng(seed)
    x = equations.start + rng.normal(size=equations.size) * spread
    _fitted, slopes = equations.evaluate(x)
    step = 1e-5
    for i in range(equations.size):
        move = step * (np.arange(equations.size) == i)
        rise = equations.evaluate(x + move)[0] - equations.evaluate(x - move)[0]
        assert slopes[:, i] == pytest.approx(rise / (2 * step), abs=2e-6), equations.names


@given(seed=st.integers(0, 10_000))
@settings(max_examples=20, deadline=None)
def test_at_the_true_corners_readings_without_noise_fit(seed):
    one = survey(np.random.default_rng(seed), spare=20, noise=0.0)
    equations = Equations(one.sketch)
    x = equations.start.copy()
    x[: equations.count] = aligned(one.corners, one.sketch).ravel()
    fitted, _slopes = equations.evaluate(x)
    assert equations.misfit(fitted) == pytest.approx(np.zeros(len(fitted)), abs=1e-9)


def test_turning_the_drawing_changes_no_fitted_size():
    sketch = every_kind()
    sketch.trace = None
    equations = Equations(sketch)
    turned = Sketch({n: (-y, x) for n, (x, y) in sketch.corners.items()})
    for name, (x, y) in sketch.circles.items():
        turned.circle(name, -y, x)
    rows = [row for row in sketch.rows if "overall" not in row.name]
    asked = equations.asking(rows)
    spots = equations.start[: equations.count].reshape(-1, 2)
    quarter = equations.start.copy()
    quarter[: equations.count] = (spots @ np.array([[0, 1], [-1, 0]])).ravel()
    assert asked.evaluate(quarter)[0] == pytest.approx(asked.evaluate(equations.start)[0])


def test_a_statement_about_angles_takes_the_short_way_round():
    sketch = Sketch({"A": (0, 0), "B": (10, 0), "C": (10, 10), "D": (0, 10)})
    sketch.read("parallel", "A B and C D").read("angle", "A", 359.5)
    equations = Equations(sketch)
    rest = equations.misfit(np.array([-179.9, 0.2]))
    assert rest == pytest.approx([-0.1, -0.7])


def test_rows_asked_later_share_the_unknowns():
    equations = Equations(every_kind())
    fitted, slopes = equations.asking([Row("x", "side", ("A", "E"), (1.0,))]).evaluate(
        equations.start
    )
    spots = equations.start[: equations.count].reshape(-1, 2)
    assert fitted == pytest.approx([np.hypot(*(spots[4] - spots[0]))])
    assert slopes.shape == (1, equations.size)
