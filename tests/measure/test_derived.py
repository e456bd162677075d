"""Derived sizes: the sum in words, the doubt, and which reading brings it."""

from __future__ import annotations

import math
import re
from decimal import ROUND_HALF_UP, Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.measure.derived import Derived, combine, plus_minus
from workbench.measure.reading import Reading
from workbench.measure.sketches.sketch import Sketch
from workbench.measure.sketches.solve import solve

readings = st.builds(
    Reading,
    st.lists(st.floats(1, 200), min_size=1, max_size=4),
    st.sampled_from(["calipers", "dial calipers", "ruler"]),
)


def test_the_arithmetic_is_in_words():
    overall, inset = Reading(["64.2", "64.4", "64.0"]), Reading(["11.5", "11.6", "11.4"])
    left = combine(plus={"overall": overall}, minus={"inset": inset})
    assert left.value == pytest.approx(52.7)
    assert str(left).startswith("overall 64.2 minus inset 11.5 leaves 52.70 ± 0.18 mm, ")
    assert str(left).endswith("% of the uncertainty from overall")
    whole = combine(plus={"base": "44", "overhang": 7.0})
    assert str(whole).startswith("base 44.0 plus overhang 7.0 makes 51.0")


@given(st.lists(readings, min_size=1, max_size=4), st.lists(readings, max_size=3))
def test_value_and_variance_add_up(plus, minus):
    size = combine(
        {f"p{i}": r for i, r in enumerate(plus)}, {f"m{i}": r for i, r in enumerate(minus)}
    )
    assert size.value == pytest.approx(sum(r.value for r in plus) - sum(r.value for r in minus))
    variance = sum(r.uncertainty**2 for r in (*plus, *minus))
    assert size.uncertainty == pytest.approx(math.sqrt(variance))
    assert sum(size.shares.values()) == pytest.approx(1)
    assert list(size.shares.values()) == sorted(size.shares.values(), reverse=True)
    worst = max((*plus, *minus), key=lambda r: r.uncertainty)
    assert size.shares[size.most] * variance == pytest.approx(worst.uncertainty**2)


@given(readings, readings)
def test_what_is_added_and_taken_away_again_leaves_no_doubt(a, b):
    both = combine({"a": a, "b": b}, name="both")
    back = combine({"both": both}, {"b": combine({"b": b})})
    assert back.value == pytest.approx(a.value, abs=1e-9)
    assert back.uncertainty == pytest.approx(a.uncertainty, abs=1e-12)


def test_sizes_of_one_solution_keep_their_correlation():
    sketch = Sketch({"A": (0, 0), "B": (30, 0), "C": (30, 20), "D": (0, 20)}, setting=0)
    for where, value, sigma in (("AB", 40, 0.1), ("BC", 30, 0.2), ("AD", 30, 0.1)):
        sketch.read("side", where, value, uncertainty=sigma)
    sketch.read("square", "A").read("square", "B")
    solution = solve(sketch)
    area_like = combine({"b": solution.size("side", "BC")}, {"a": solution.size("side", "AD")})
    assert area_like.uncertainty == pytest.approx(math.hypot(0.2, 0.1))
    width = solution.size("side", "AB")
    none_left = combine({"width": width}, {"the same": width})
    assert none_left.uncertainty == pytest.approx(0, abs=1e-12)


def test_a_size_of_a_solution_says_what_to_measure_better():
    sketch = Sketch({"A": (0, 0), "B": (30, 0), "C": (30, 20), "D": (0, 20)})
    sketch.read("side", "AB", "40", instrument="ruler").read("side", "BC", 30)
    sketch.read("square", "A").read("square", "B").read("square", "C")
    size = solve(sketch).size("diagonal", "AC")
    assert size.most == "side A B"
    assert str(size) == "diagonal A C is 50.0 ± 0.2 mm, 100 % of the uncertainty from side A B"


@pytest.mark.parametrize(
    ("value", "uncertainty", "unit", "text"),
    [
        (52.7031, 0.0995, "mm", "52.7 ± 0.1 mm"),
        (52.7031, 0.14, "mm", "52.70 ± 0.14 mm"),
        (52.7031, 0.3, "mm", "52.7 ± 0.3 mm"),
        (52.7031, 3.4, "mm", "53 ± 3 mm"),
        (52.7031, 13.0, "mm", "53 ± 13 mm"),
        (63.46, 0.5, "°", "63.5 ± 0.5°"),
        (35.0, 0.0, "mm", "35.0 mm"),
        (0.96, 0.096, "mm", "1.0 ± 0.1 mm"),
    ],
)
def test_the_doubt_decides_where_the_value_ends(value, uncertainty, unit, text):
    assert plus_minus(value, uncertainty, unit) == text


@given(st.floats(0.001, 500), st.floats(1e-4, 50))
def test_rounding_keeps_value_and_doubt(value, uncertainty):
    shown, _sign, doubt, _unit = plus_minus(value, uncertainty).split()
    assert float(doubt) == pytest.approx(uncertainty, rel=0.34)
    assert abs(float(shown) - value) <= 0.51 * float(doubt)


def test_nothing_to_add_and_no_length_are_told():
    with pytest.raises(RepairError, match="nothing to add up"):
        combine({})
    with pytest.raises(RepairError, match="inset: reading 'x' is not a length"):
        combine({"overall": 64}, {"inset": "x"})


def test_a_size_without_doubt():
    assert str(Derived("gap", 3.0)) == "gap is 3.0 mm"
    assert Derived("gap", 3.0).most is None


def test_sums_of_readings_come_out_on_a_pocket_calculator():
    rng = np.random.default_rng(3)
    for _turn in range(300):
        sizes = {name: Reading(rng.normal(rng.uniform(5, 90), 0.02, 3)) for name in "abc"}
        told = str(combine({"a": sizes["a"], "b": sizes["b"]}, {"c": sizes["c"]}))
        a, b, c, outcome = (Decimal(n) for n in re.findall(r"-?\d+\.\d+", told)[:4])
        assert (a + b - c).quantize(outcome, ROUND_HALF_UP) == outcome, told
