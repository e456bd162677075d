"""Tolerances, holes and Bayes' rule against sources outside this project."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from scipy import integrate, stats

from workbench.checks.fit.bias import CAUSES, prior, row
from workbench.checks.fit.fits import HAND, JAWS, PRINTED, SLIP, Belief, Mating, Tried, window
from workbench.checks.fit.iso286 import GRADES, TABLE, UNITS, tolerance
from workbench.checks.fit.printer_profile import Observation, Profile
from workbench.solids.recipe.service import FITS, OUTCOMES
from workbench.solids.shapes.screws import CLEARANCE

#: ISO 286-1, standard tolerances in micrometres, IT6 to IT14 (a copy; two agree).
COPIED = {
    (3, 6): (8, 12, 18, 30, 48, 75, 120, 180, 300),
    (6, 10): (9, 15, 22, 36, 58, 90, 150, 220, 360),
    (10, 18): (11, 18, 27, 43, 70, 110, 180, 270, 430),
    (18, 30): (13, 21, 33, 52, 84, 130, 210, 330, 520),
    (30, 50): (16, 25, 39, 62, 100, 160, 250, 390, 620),
    (50, 80): (19, 30, 46, 74, 120, 190, 300, 460, 740),
}

#: ISO 273, fine, medium and coarse clearance holes in mm (a copy; two agree).
HOLES = {
    "M2": (2.2, 2.4, 2.6),
    "M2.5": (2.7, 2.9, 3.1),
    "M3": (3.2, 3.4, 3.6),
    "M4": (4.3, 4.5, 4.8),
    "M5": (5.3, 5.5, 5.8),
    "M6": (6.4, 6.6, 7.0),
    "M7": (7.4, 7.6, 8.0),
    "M8": (8.4, 9.0, 10.0),
}


@pytest.mark.parametrize(("low", "high"), COPIED)
def test_tolerances_of_iso_286(low, high):
    for grade, micrometres in zip(GRADES, COPIED[low, high], strict=True):
        for size in (low + 1e-6, (low + high) / 2, high):
            assert tolerance(size, grade) == pytest.approx(micrometres / 1000, abs=1e-12)


def tolerance_unit(low, high):
    """In micrometres, for a range of sizes in mm, with its geometric mean D."""
    middle = (low * high) ** 0.5
    return 0.45 * middle ** (1 / 3) + 0.001 * middle


def test_the_tolerance_unit_of_iso_286_reproduces_the_table_within_a_tenth():
    # ISO 286-1: i = 0.45 D^(1/3) + 0.001 D; the ranges above 3 mm (rows above 80 mm: from memory).
    ends = list(TABLE)
    for low, high in pairwise(ends):
        made = np.array(UNITS) * tolerance_unit(low, high)
        assert made == pytest.approx(np.array(TABLE[high]), rel=0.1)


def test_the_tolerance_unit_of_18_to_30_mm():
    # Worked in many textbooks (from memory): D = sqrt(18 x 30) = 23.24 mm, i = 1.31 micrometres.
    assert tolerance_unit(18, 30) == pytest.approx(1.31, abs=0.005)


def test_clearance_fits_of_screws_stay_below_the_coarse_holes_of_iso_273():
    assert CLEARANCE == HOLES
    for screw, (_fine, _medium, coarse) in HOLES.items():
        nominal = float(screw[1:])
        widest = nominal + window("clearance", nominal).high
        assert nominal < widest <= coarse


def test_words_of_iso_286_by_the_sign_of_the_clearance():
    # ISO 286-1, 3.4: a clearance fit always leaves clearance, an interference fit never does, a
    # transition fit may do either (from memory).
    signs = {kind: (window(kind, 20).low > 0, window(kind, 20).high > 0) for kind in FITS}
    assert signs == {
        "clearance": (True, True),
        "transition": (False, True),
        "interference": (False, False),
    }


def test_one_cause_measured_repeatedly_is_the_textbook_normal_mean():
    # Normal mean with known variance: 1/s'^2 = 1/s0^2 + n/v, m' = s'^2 (m0/s0^2 + sum/v); any
    # textbook, such as Gelman et al., Bayesian Data Analysis, 2.5 (from memory).
    bias, variance = prior("PLA"), 0.05**2
    acting = row("height", 0.0)  # at size 0 shrinkage takes no part: one cause alone
    found = np.array([0.11, 0.07, 0.09])
    after = bias.updated(np.tile(acting, (3, 1)), found, np.full(3, variance))
    m0, s0 = bias.of("height", 0.0)
    precision = 1 / s0**2 + len(found) / variance
    mean = (m0 / s0**2 + found.sum() / variance) / precision
    assert after.of("height", 0.0) == pytest.approx((mean, precision**-0.5))


def test_many_causes_measured_together_agree_with_least_squares():
    # With a prior as extra equations, the posterior mean is the weighted least-squares answer
    # and the covariance the inverse normal matrix; solved here by numpy.linalg.lstsq.
    random = np.random.default_rng(8)
    bias = prior("ABS")
    kinds = ("outside", "hole", "slot", "height", "gap")
    rows = np.array([row(kinds[n % 5], random.uniform(1, 90), n % 2 == 0) for n in range(25)])
    found, noise = random.normal(0, 0.15, 25), random.uniform(0.02, 0.08, 25)
    root = np.diag(1 / np.sqrt(np.diag(bias.covariance)))
    stacked = np.vstack([root, rows / noise[:, None]])
    aims = np.concatenate([root @ bias.mean, found / noise])
    mean = np.linalg.lstsq(stacked, aims, rcond=None)[0]
    after = bias.updated(rows, found, noise**2)
    assert after.mean == pytest.approx(mean, abs=1e-9)
    assert after.covariance == pytest.approx(np.linalg.inv(stacked.T @ stacked), abs=1e-12)


def test_noise_is_weighed_by_the_density_of_scipy():
    bias = prior("PLA")
    sizes = np.array([2.0, 2.2, 2.4, 2.6])
    rows = np.array([row("outside", size) for size in sizes])
    found, measuring = np.array([0.02, 0.14, 0.05, 0.18]), np.full(4, PRINTED**2)
    after = bias.with_noise_from(rows, found, measuring)
    noises = np.exp(np.linspace(np.log(0.005), np.log(0.4), 400))
    weights = stats.norm.pdf(np.log(noises), np.log(bias.noise), bias.noise_spread)
    for index, noise in enumerate(noises):
        spread = rows @ bias.covariance @ rows.T + np.diag(measuring + noise**2)
        weights[index] *= stats.multivariate_normal(rows @ bias.mean, spread).pdf(found)
    mean = np.exp((weights * np.log(noises)).sum() / weights.sum())
    assert after.noise == pytest.approx(mean, rel=0.02)


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_an_outcome_against_numerical_integration(outcome):
    # The chance of an outcome and the belief after it, by scipy's adaptive quadrature over the
    # sum of bias and reading error, instead of the grid; noise held at its middle value.
    bias = prior("PLA")
    calm = type(bias)(bias.mean, bias.covariance, bias.noise, 1e-9)
    belief = Belief("clearance", Mating(5.0), "outside", calm)
    mean, spread = calm.of("outside", 5.0)
    both = float(np.hypot(spread, JAWS))
    edges = window("clearance", 5.0).edges
    index, blur, size = OUTCOMES.index(outcome), float(np.hypot(calm.noise, HAND)), 4.8

    def chance(away: float) -> float:
        inside = stats.norm.cdf(edges, 5.0 - size - away, blur)
        return (1 - SLIP) * (inside[index + 1] - inside[index]) + SLIP / 5

    def moment(power: int) -> float:
        return integrate.quad(
            lambda away: away**power * chance(away) * stats.norm.pdf(away, mean, both),
            mean - 6 * both,
            mean + 6 * both,
            limit=200,
        )[0]

    assert belief.expect(size)[index] == pytest.approx(moment(0), abs=2e-3)
    belief.learn(Tried(size, outcome))
    expected = 5.0 - size - moment(1) / moment(0)
    assert belief.clearance(size)[0] == pytest.approx(expected, abs=3e-3)


def test_shrinkage_by_arithmetic():
    # 0.5 % of 120 mm is 0.6 mm; a print of 119.4 mm where 120 mm was asked for says so.
    index = CAUSES.index("shrinkage")
    assert row("outside", 120.0)[index] * 0.005 == pytest.approx(-0.6)
    seen = [
        Observation("outside", size, size * (1 - 0.005), origin=f"bar/{count}")
        for count, size in enumerate([20.0, 60.0, 120.0, 180.0] * 3)
    ]
    assert Profile(material="PLA", observations=tuple(seen)).bias.mean[index] == pytest.approx(
        0.005, abs=3e-4
    )
