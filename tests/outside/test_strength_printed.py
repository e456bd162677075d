"""A beam as it is printed, walls round a core that is filled in part, against 3D elasticity.

The core is a softer solid, as stiff as the part of it that is filled. Deflection and the pull in
the walls half way along, where neither the wall that holds it nor the load is near, are compared
with scikit-fem.
"""

from __future__ import annotations

import numpy as np
import pytest
import skfem as fem
from manifold3d import CrossSection
from skfem.models.elasticity import lame_parameters, linear_elasticity

from workbench.checks.strength.beams import cantilever_deflection
from workbench.checks.strength.printed_section import printed

MODULUS, POISSON = 2000.0, 0.35
LINE, WALL = 0.45, 0.9
LONG, FORCE = 70.0, 10.0


@pytest.mark.parametrize(
    ("width", "thickness", "infill"), [(12.0, 12.0, 0.2), (16.0, 6.0, 0.2), (6.0, 10.0, 0.5)]
)
def test_a_printed_bar_bends_as_its_walls_and_its_core_say(width, thickness, infill):
    section = printed(CrossSection.square((width, thickness), True), LINE, infill)
    beam = cantilever_deflection(FORCE, LONG, MODULUS, section.inertia_along_y)
    stress = FORCE * LONG / 2 / section.modulus_along_y
    solid_end, solid_stress = bent(width, thickness, infill)
    # Shear, which the formula leaves out, adds up to a few percent on soft cores.
    assert 0.97 < solid_end / beam < 1.10
    assert solid_stress / stress == pytest.approx(1.0, abs=0.06)


def bent(width: float, thickness: float, infill: float) -> tuple[float, float]:
    """Deflection of the end in mm, and the pull half way along in MPa, of the solid."""
    mesh = fem.MeshHex.init_tensor(np.linspace(0, LONG, 15), grid(width), grid(thickness))
    element = fem.ElementVector(fem.ElementHexS2())
    basis = fem.Basis(mesh, element, intorder=4)
    middles = mesh.p[:, mesh.t].mean(axis=1)
    soft = (np.abs(middles[1]) < width / 2 - WALL) & (np.abs(middles[2]) < thickness / 2 - WALL)
    stiffness = 0
    for chosen, part in ((~soft, 1.0), (soft, infill)):
        if chosen.any():
            of_part = fem.Basis(mesh, element, intorder=4, elements=np.flatnonzero(chosen))
            form = linear_elasticity(*lame_parameters(MODULUS * part, POISSON))
            stiffness = stiffness + form.assemble(of_part)
    end = fem.FacetBasis(
        mesh, element, facets=mesh.facets_satisfying(lambda x: np.isclose(x[0], LONG))
    )
    pull = fem.LinearForm(lambda v, w: FORCE / (width * thickness) * v[2]).assemble(end)
    held = basis.get_dofs(lambda x: np.isclose(x[0], 0)).all()
    moved = fem.solve(*fem.condense(stiffness, pull, D=held))
    at_end = basis.get_dofs(lambda x: np.isclose(x[0], LONG)).all(["u^3"])
    # Pull from the strain along the top: its middle line lengthens between two cross-sections.
    along = basis.probes(np.array([[LONG / 2 - 3.5, LONG / 2 + 3.5], [0, 0], [thickness / 2] * 2]))
    first, second = (along @ moved).reshape(3, 2)[0]
    return float(moved[at_end].mean()), abs(float(MODULUS * (second - first) / 7.0))


def grid(size: float) -> np.ndarray:
    """Planes across, with one where wall and core meet."""
    inner = size / 2 - WALL
    if inner <= 0:
        return np.linspace(-size / 2, size / 2, 4)
    return np.array([-size / 2, *np.linspace(-inner, inner, 5), size / 2])
