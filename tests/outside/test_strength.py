"""Strength against handbooks and a published design guide."""

from __future__ import annotations

import pytest
from scipy.integrate import quad

from workbench import data
from workbench.checks.strength import beams

# Worked example of "Snap-Fit Joints for Plastics: A Design Guide", Bayer MaterialScience; the
# figures from memory, recomputed. Thickness tapers to half at the tip.
ARM = 19.0
WIDTH = 9.5
UNDERCUT = 2.4
LEAD_IN = 30.0
STRAIN = 0.02
SECANT = 1815.0
RUBS = 0.6


def test_the_guide_s_arm_is_3_28_mm_thick_at_its_root():
    root = beams.arm_factor(0.5) * STRAIN * ARM**2 / UNDERCUT
    assert root == pytest.approx(3.28, abs=0.005)
    assert beams.arm_strain(UNDERCUT, ARM, root, root / 2) == pytest.approx(STRAIN, rel=1e-12)


def test_the_guide_s_deflection_and_mating_force():
    root = beams.arm_factor(0.5) * STRAIN * ARM**2 / UNDERCUT
    across = beams.arm_force(UNDERCUT, ARM, root, root / 2, WIDTH, SECANT)
    assert across == pytest.approx(32.5, abs=0.15)
    assert beams.sliding_force(across, LEAD_IN, RUBS) == pytest.approx(58.5, abs=0.15)
    # The guide's own formula for the force, P = (b h²/6) E e/l, from memory.
    assert across == pytest.approx(WIDTH * root**2 / 6 * SECANT * STRAIN / ARM, rel=1e-9)


def test_permissible_deflection_has_the_guide_s_factors():
    """0.67 for an even arm, 1.09 for one that tapers to half (from memory; computed)."""
    assert beams.arm_factor(1.0) == pytest.approx(0.67, abs=0.005)
    assert beams.arm_factor(0.5) == pytest.approx(1.09, abs=0.005)


def test_the_guide_s_best_taper_saves_strain_and_material():
    """At the same force and deflection an even arm has 46 % more strain than one that falls to
    30 %, and uses 17 % more material (seen in the guide's front matter)."""
    thicker = (3 * beams.arm_compliance(0.3)) ** (1 / 3)  # root over an even arm's, same stiffness
    even_strain = beams.arm_strain(1, 10, 1, 1)
    strain = beams.arm_strain(1, 10, thicker, 0.3 * thicker)
    assert even_strain / strain == pytest.approx(1.46, abs=0.02)
    assert 1 / (thicker * (1 + 0.3) / 2) == pytest.approx(1.17, abs=0.005)


def test_a_straight_arm_of_the_references():
    """e = 1.5 h y/l², beam theory: y 2.5, h 2.5, l 15 gives 4.1667 %."""
    assert 100 * beams.arm_strain(2.5, 15, 2.5, 2.5) == pytest.approx(4.1667, abs=5e-5)


def test_a_cantilever_of_the_references():
    """F 10 N, L 30, b 8, h 3, E 2000: I 18, deflection 2.5 mm, Z 12
    (FL³/3EI, bh²/6, any handbook)."""
    bar = beams.rectangle(8, 3)
    assert (bar.inertia_along_y, bar.modulus_along_y) == (18, 12)
    assert beams.cantilever_deflection(10, 30, 2000, 18) == pytest.approx(2.5)


@pytest.mark.parametrize("more", [0.0, 0.5, 1.0, 8.0])
def test_a_beam_that_weakens_towards_its_end_bends_as_its_integral_says(more):
    """1/I = (1 + c z/l) / I0 gives the integral of (l - z)²/I as (1/3 + c/12) l³/I0 (calculus)."""
    ends = [(0.0, 18.0), (30.0, 18.0 / (1 + more))]
    even = beams.even_inertia(30, ends)
    assert even == pytest.approx(18 / (1 + more / 4), rel=2e-5)
    assert beams.even_inertia(30, ends[::-1]) == even


@pytest.mark.parametrize("taper", [0.2, 0.3, 0.5, 0.75, 0.93, 1.0, 1.4])
def test_a_tapered_arm_against_quadrature_of_its_curvature(taper):
    """The deflection is the integral of M x/EI, and the strain M/EZ, along the arm."""

    def thickness(u: float) -> float:  # u runs from the tip to the root
        return taper + (1 - taper) * u

    compliance, _error = quad(lambda u: u**2 / thickness(u) ** 3, 0, 1)
    assert beams.arm_compliance(taper) == pytest.approx(compliance, rel=1e-9)
    peak = max(u / thickness(u) ** 2 for u in (i / 5000 for i in range(1, 5001)))
    assert beams.peak_strain_ratio(taper) == pytest.approx(peak, rel=1e-6)


@pytest.mark.parametrize(
    ("wall", "scale", "power"),
    [(3.0, 0.90720, -0.33333), (2.0, 0.90879, -0.28598), (1.2, 0.99590, -0.23829)],
)
@pytest.mark.parametrize("fillet", [0.05, 0.1, 0.2])
def test_corners_against_the_curves_fitted_to_peterson_s_chart(wall, scale, power, fillet):
    """Flat bar with shoulder fillets in bending, K = A (r/d)^b: fits to Peterson's chart as in
    Norton, "Machine Design" (from memory). Fits to such charts
    differ among themselves by a tenth."""
    ours = beams.concentration(1.0, fillet, wall)
    assert ours == pytest.approx(scale * fillet**power, rel=0.12)


@pytest.mark.parametrize("round_bar", [False, True])
@pytest.mark.parametrize("ratio", [0.1, 0.5, 1.0, 2.0, 2.1, 5.0, 20.0])
def test_corner_factors_sum_to_one_where_the_bar_is_all_step(ratio, round_bar):
    """Roark's polynomials end at K = 1 for 2h/D = 1: a slip of memory in one coefficient would
    break this."""
    assert sum(beams.corner_factors(ratio, round_bar)) == pytest.approx(1, abs=0.005)


@pytest.mark.parametrize("round_bar", [False, True])
def test_the_two_ranges_of_corner_factors_join(round_bar):
    below, above = (beams.concentration(1.0, 0.5 / r, 2.0, round_bar) for r in (1.9999, 2.0001))
    assert below == pytest.approx(above, rel=0.01)


@pytest.mark.parametrize(
    ("wall", "scale", "power"), [(3.0, 0.87868, -0.33243), (1.2, 0.97098, -0.21796)]
)
def test_round_corners_against_the_curves_fitted_to_peterson_s_chart(wall, scale, power):
    """Round shaft with shoulder fillet in bending, as in Norton, "Machine Design" (from memory)."""
    for fillet in (0.05, 0.1, 0.2):
        ours = beams.concentration(1.0, fillet, wall, round_bar=True)
        assert ours == pytest.approx(scale * fillet**power, rel=0.12)


def test_strength_across_layers_of_the_sources():
    """0.34 and 0.48 (Materiale Plastice 11509; doi 10.1089/3dp.2020.0109), 0.53 = 12.2/23.2
    (PolyTerra data sheet V5.3): the range that the PLA table carries."""
    low, high = data.material("PLA").span("across")
    assert low == pytest.approx(16 / 47, abs=0.005)
    assert high == pytest.approx(12.2 / 23.2, abs=0.005)
    assert data.material("PLA").across == pytest.approx(16 / 33, abs=0.006)
