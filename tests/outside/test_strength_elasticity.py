"""The snap-arm formula against three-dimensional elasticity (scikit-fem).

A straight and a tapered arm are bent by a force at the end, once built into a rigid wall and once
standing on a springy body three times as thick as the arm. The table shows how force and strain
of the solid compare with the beam formula, and where the formula stops being good: below about
three root thicknesses of length. On a real, springy body the formula asks for more force and
strain than there are, so it errs on the careful side.

::

       body            arm
      +-----+
      |     |_____________________
    ==|      _____________________|  v  force
      |     |
      +-----+
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from skfem import (
    Basis,
    ElementHexS2,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshHex,
    condense,
    solve,
)
from skfem.models.elasticity import lame_parameters, linear_elasticity

from workbench.checks.strength import beams
from workbench.checks.strength.loads import SLENDER

MODULUS, POISSON = 2000.0, 0.35
ROOT, WIDTH = 2.0, 6.0
LENGTHS = (10.0, 5.0, 3.0, 2.0, 1.0)  # in root thicknesses


@dataclass(frozen=True)
class Compared:
    """Solid over formula, for the same deflection of the end."""

    force: float
    strain: float


def half_arm(length: float, taper: float, springy: bool) -> MeshHex:
    """Half of an arm along x (its middle plane is z = 0), with its flat face at y = ROOT/2."""
    along = np.linspace(0, length, max(6, round(2 * length / ROOT)) + 1)
    up = np.linspace(-ROOT / 2, ROOT / 2, 4)
    if springy:
        along = np.concatenate([np.linspace(-2 * ROOT, 0, 5)[:-1], along])
        beyond = np.linspace(ROOT / 2, 3 * ROOT, 5)[1:]
        up = np.concatenate([-beyond[::-1], up, beyond])
    mesh = MeshHex.init_tensor(along, up, np.array([0, WIDTH / 2]))
    x, y, _z = mesh.p[:, mesh.t].mean(axis=1)
    mesh = mesh.remove_elements(np.flatnonzero((x > 0) & (np.abs(y) > ROOT / 2)))
    points = mesh.p.copy()
    thickness = 1 - (1 - taper) * np.clip(points[0], 0, None) / length
    points[1] = np.where(points[0] > 0, ROOT / 2 - (ROOT / 2 - points[1]) * thickness, points[1])
    return MeshHex(points, mesh.t)


def compare(slenderness: float, taper: float, springy: bool) -> Compared:
    """Bend the solid arm and the formula's by the same amount."""
    length = slenderness * ROOT
    mesh = half_arm(length, taper, springy)
    basis = Basis(mesh, ElementVector(ElementHexS2()), intorder=4)
    stiffness = linear_elasticity(*lame_parameters(MODULUS, POISSON)).assemble(basis)
    start = mesh.p[0].min()
    held = np.concatenate(
        [
            basis.get_dofs(lambda x: np.isclose(x[0], start)).all(),
            basis.get_dofs(lambda x: np.isclose(x[2], 0)).all(["u^3"]),
        ]
    )
    end = FacetBasis(
        mesh, basis.elem, facets=mesh.facets_satisfying(lambda x: np.isclose(x[0], length))
    )
    area = WIDTH / 2 * ROOT * taper

    @LinearForm
    def pull(v, _w):
        return v[1] * 0.5 / area  # 1 N on the whole arm

    load = pull.assemble(end)
    moved = solve(*condense(stiffness, load, D=held))
    deflection = 2 * load @ moved  # of the end, on average
    # Strain of the flat face half a thickness out from the root, beyond the corner's own peak.
    at, step = 0.5 * ROOT, 0.05 * ROOT
    spots = np.array([[at - step, at + step], [ROOT / 2 - 1e-9] * 2, [0.2 * WIDTH] * 2])
    along = (basis.probes(spots) @ moved).reshape(3, -1)[0]
    strain = abs(along[1] - along[0]) / (2 * step)
    formula = beams.arm_force(1.0, length, ROOT, taper * ROOT, WIDTH, MODULUS) * deflection
    there = beams.rectangle(WIDTH, ROOT * (1 - (1 - taper) * at / length))
    expected = formula * (length - at) / (MODULUS * there.modulus_along_y)
    return Compared(1 / formula, strain / expected)


@pytest.fixture(scope="module")
def table() -> dict[tuple[float, float, bool], Compared]:
    """All cases, worked out once."""
    return {
        (slenderness, taper, springy): compare(slenderness, taper, springy)
        for springy in (False, True)
        for taper in (1.0, 0.5)
        for slenderness in LENGTHS
    }


def test_the_table_of_solid_over_formula(table, capsys):
    with capsys.disabled():
        print("\nsolid over formula     rigid wall                springy body")
        print("length/root       even force strain taper  |  even force strain taper")
        for n in LENGTHS:
            row = [table[n, taper, springy] for springy in (False, True) for taper in (1.0, 0.5)]
            cells = "  |  ".join(
                f"{even.force:5.2f} {even.strain:5.2f}   {thin.force:5.2f} {thin.strain:5.2f}"
                for even, thin in (row[:2], row[2:])
            )
            print(f"{n:8.1f}        {cells}")
    assert len(table) == 4 * len(LENGTHS)


@pytest.mark.parametrize("taper", [1.0, 0.5])
def test_slender_arms_agree_within_4_percent(table, taper):
    for slenderness in LENGTHS:
        if slenderness >= SLENDER:
            found = table[slenderness, taper, False]
            assert found.force == pytest.approx(1, abs=0.04)
            assert found.strain == pytest.approx(1, abs=0.04)


@pytest.mark.parametrize("taper", [1.0, 0.5])
def test_short_arms_do_not_and_the_formula_then_says_too_much(table, taper):
    for slenderness in LENGTHS:
        if slenderness < SLENDER:
            found = table[slenderness, taper, False]
            assert 0.3 < found.force < 0.96
            assert 0.3 < found.strain < 0.96


@pytest.mark.parametrize("taper", [1.0, 0.5])
def test_a_springy_body_takes_strain_off_the_arm(table, taper):
    for slenderness in LENGTHS:
        springy, rigid = table[slenderness, taper, True], table[slenderness, taper, False]
        assert 0 < springy.strain < rigid.strain
        assert 0 < springy.force < rigid.force
    assert table[10.0, taper, True].strain == pytest.approx(1, abs=0.08)
    assert table[2.0, taper, True].strain < 0.8


@pytest.mark.parametrize("springy", [False, True])
def test_a_taper_spreads_the_strain_as_the_formula_has_it(table, springy):
    """The taper's benefit, 1.09 against 0.67, is there in the solid too."""
    even, thin = table[10.0, 1.0, springy], table[10.0, 0.5, springy]
    assert thin.strain / even.strain == pytest.approx(1, abs=0.06)
