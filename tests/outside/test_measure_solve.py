"""Solved outlines and derived sizes against published formulas, tables and a reference library."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from surveys import survey
from uncertainties import ufloat, umath

from workbench.measure.derived import combine, plus_minus
from workbench.measure.reading import Reading
from workbench.measure.sketches.outliers import chance, critical
from workbench.measure.sketches.sketch import Sketch
from workbench.measure.sketches.solve import Undetermined, solve


def triangle(a: float, b: float, c: float, sigma: float = 0.02) -> Sketch:
    """Sides BC, CA and AB."""
    sketch = Sketch({"A": (0, 0), "B": (4, 0), "C": (2, 3)}, setting=0)
    for where, value in (("BC", a), ("CA", b), ("AB", c)):
        sketch.read("side", where, value, uncertainty=sigma)
    return sketch


def test_heron():
    # Heron's formula, any handbook: sides 13, 14, 15 have area 84.
    assert solve(triangle(13, 14, 15)).outline.area == pytest.approx(84)


@given(st.floats(20, 60), st.floats(20, 60), st.floats(0.1, 0.9))
@settings(max_examples=20, deadline=None)
def test_law_of_cosines(a, b, part):
    # Law of cosines, any handbook.
    c = abs(a - b) + 2 * min(a, b) * part
    angle = math.degrees(math.acos((b * b + c * c - a * a) / (2 * b * c)))
    assert solve(triangle(a, b, c)).size("angle", "A").value == pytest.approx(angle, abs=1e-6)


def trapezoid_from_sides(a: float, b: float, c: float, d: float) -> Sketch:
    """Bases a and b, legs c and d."""
    sketch = Sketch({"A": (0, 0), "B": (30, 0), "C": (24, 20), "D": (6, 20)})
    for where, value in (("AB", a), ("BC", c), ("CD", b), ("DA", d)):
        sketch.read("side", where, value)
    return sketch.read("parallel", "A B and D C")


@pytest.mark.parametrize(
    ("sides", "height", "area"),
    [
        # From Heron's formula: bases 25 and 11, legs 13 and 15.
        ((25, 11, 13, 15), 12, 216),
        # hackmath problem 3410: bases 52.8 and 40.5, legs 42.5 and 35.0.
        ((52.8, 40.5, 42.5, 35.0), 30.3236, 1414.594),
    ],
)
def test_trapezoid_from_its_four_sides(sides, height, area):
    solution = solve(trapezoid_from_sides(*sides))
    assert solution.size("height", "D over A B").value == pytest.approx(height, abs=1e-4)
    assert solution.outline.area == pytest.approx(area, abs=2e-3)


@pytest.mark.parametrize(
    ("corners", "area"),
    [
        # Bretschneider's formula: sides 25, 15, 11, 13, diagonals 20 and 23.3238.
        ([(0, 0), (25, 0), (16, 12), (5, 12)], 216),
        # Worked from the corners.
        ([(0, 0), (40, 0), (35, 22), (4, 18)], 711),
    ],
)
def test_bretschneider(corners, area):
    sketch = Sketch(dict(zip("ABCD", corners, strict=True)))
    a, b, c, d, p, q = lengths = [
        math.dist(corners["ABCD".index(x)], corners["ABCD".index(y)])
        for x, y in ("AB", "BC", "CD", "DA", "AC", "BD")
    ]
    for where, value in zip(("AB", "BC", "CD", "DA", "AC", "BD"), lengths, strict=True):
        sketch.read("distance", where, value)
    formula = math.sqrt(4 * p**2 * q**2 - (b**2 + d**2 - a**2 - c**2) ** 2) / 4
    assert formula == pytest.approx(area)
    assert solve(sketch).outline.area == pytest.approx(formula, abs=1e-6)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_areas_are_those_of_shapely(seed):
    one = survey(np.random.default_rng(seed), spare=30, noise=0.0)
    try:
        solution = solve(one.sketch)
    except Undetermined:
        return
    if not solution.alternatives:
        assert solution.outline.area == pytest.approx(shapely.Polygon(one.corners).area, rel=1e-6)


def test_sums_and_differences_as_the_uncertainties_package_has_them():
    readings = {
        "overall": Reading(["64.2", "64.3", "64.1"]),
        "inset": Reading(["11.5", "11.6"], "dial calipers"),
        "lip": Reading("2", "ruler"),
    }
    overall, inset, lip = (ufloat(r.value, r.uncertainty) for r in readings.values())
    ours = combine({"overall": readings["overall"]}, {k: readings[k] for k in ("inset", "lip")})
    theirs = overall - inset - lip
    assert ours.value == pytest.approx(theirs.nominal_value)
    assert ours.uncertainty == pytest.approx(theirs.std_dev)
    twice = combine({"a": ours, "overall": readings["overall"]})
    assert twice.uncertainty == pytest.approx((theirs + overall).std_dev)
    shares = {v.nominal_value: d for v, d in theirs.error_components().items()}
    for name, reading in readings.items():
        assert abs(ours.contributions[name]) == pytest.approx(shares[reading.value])


@given(st.floats(30, 60), st.floats(30, 60), st.floats(0.3, 0.8), st.floats(0.01, 0.2))
@settings(max_examples=20, deadline=None)
def test_propagation_through_a_triangle_as_the_uncertainties_package_has_it(a, b, part, sigma):
    c = abs(a - b) + 2 * min(a, b) * part
    ua, ub, uc = (ufloat(v, s) for v, s in ((a, sigma), (b, 2 * sigma), (c, 0.5 * sigma)))
    sketch = triangle(a, b, c, sigma)
    sketch.change("side C A", uncertainty=2 * sigma).change("side A B", uncertainty=0.5 * sigma)
    solution = solve(sketch)
    along = (ub**2 + uc**2 - ua**2) / (2 * uc)
    up = umath.sqrt(ub**2 - along**2)
    for kind, theirs in (("offset", along), ("height", up)):
        ours = solution.size(kind, "C over A B")
        assert ours.value == pytest.approx(theirs.nominal_value, abs=1e-6)
        assert ours.uncertainty == pytest.approx(theirs.std_dev, rel=1e-4)
    corner = solution.covariance("C")
    assert math.sqrt(corner[0, 0]) == pytest.approx(along.std_dev, rel=1e-4)
    assert math.sqrt(corner[1, 1]) == pytest.approx(up.std_dev, rel=1e-4)
    angle = umath.acos((ub**2 + uc**2 - ua**2) / (2 * ub * uc)) * (180 / math.pi)
    ours = solution.size("angle", "A")
    assert ours.uncertainty == pytest.approx(angle.std_dev, rel=1e-4)


def test_mean_of_unequal_readings():
    # Weighted mean and its uncertainty, any handbook: 10.0 ± 0.1 and 10.3 ± 0.2 give
    # 10.06 ± 0.0894, chi-square 1.8.
    sketch = triangle(10, 10, 10, 0.05).remove("side A B")
    for value, sigma in ((10.0, 0.1), (10.3, 0.2)):
        sketch.read("side", "AB", value, uncertainty=sigma)
    solution = solve(sketch)
    size = solution.size("side", "AB")
    assert size.value == pytest.approx(10.06, abs=1e-6)
    assert size.uncertainty == pytest.approx(0.0894, abs=5e-5)
    assert solution.chi_square == pytest.approx(1.8)


def test_statement_of_uncertainty():
    # JCGM 100:2008, 7.2.6 (from memory): 10.057 62 ohm with u = 27 milliohm is stated as
    # 10.058 ohm; 28.05 kHz rounds to 28 kHz.
    assert plus_minus(10.05762, 0.027, "ohm", digits=2) == "10.058 ± 0.027 ohm"
    assert plus_minus(100.0, 28.05, "kHz", digits=2) == "100 ± 28 kHz"
    # JCGM 100:2008, 7.2.2 (from memory): 100.021 47 g with u = 0.35 mg.
    assert plus_minus(100.02147, 0.00035, "g", digits=2) == "100.02147 ± 0.00035 g"


def test_tables_of_the_normal_and_chi_square_distributions():
    # Any statistical table: two-sided 5 % of the normal distribution 1.960; chi-square 5 %
    # 3.841, 5.991, 7.815, 18.307 for 1, 2, 3, 10 degrees of freedom.
    assert critical(1, spare=100, level=0.05) == pytest.approx(1.960, abs=5e-4)
    for spare, value in ((1, 3.841), (2, 5.991), (3, 7.815), (10, 18.307)):
        assert chance(value, spare) == pytest.approx(0.05, abs=5e-5)
        assert critical(10**9, spare, level=0.05) == pytest.approx(math.sqrt(value), abs=5e-4)


def test_local_redundancy_of_repeated_readings():
    # n equal readings of one size: each has redundancy 1 - 1/n (Baarda 1968, from memory).
    sketch = triangle(10, 10, 10, 0.05)
    for _repeat in range(3):
        sketch.read("side", "AB", 10, uncertainty=0.05)
    redundancy = solve(sketch).redundancy
    assert redundancy["side A B (3)"] == pytest.approx(1 - 1 / 4)
    assert redundancy["side B C"] == pytest.approx(0, abs=1e-9)
