"""Layers against closed forms, a reference library, published limits and common practice.

Closed forms: with the overhang angle a from the vertical, a face hangs if its normal leans less
than 90 - a from straight down. Areas are seen from above, support goes straight down.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
import trimesh
from bodies import arrays, ball, block, bridge, drilled, funnel, ring, tee

from workbench.checks.layers.layer_analysis import Settings, layers
from workbench.checks.layers.slices import cut
from workbench.checks.orientation.orient import ways_up
from workbench.checks.orientation.stability import brim
from workbench.solids.lay import laid
from workbench.solids.recipe.repair import Repair

DOWN = (0.0, 0.0, -1.0)


def found(body, layer: float = 0.05, down=DOWN, angle: float = 45.0):
    return layers(*arrays(body), down, Settings(layer=layer, angle=angle))


def contact_radius(radius: float, layer: float) -> float:
    """Radius of a sphere's first layer, cut at 0.49 of its height."""
    return math.sqrt(2 * radius * 0.49 * layer - (0.49 * layer) ** 2)


# -- closed forms ------------------------------------------------------------------------------


@pytest.mark.parametrize("angle", [30, 45, 60])
def test_a_sphere_hangs_within_the_cone_of_the_overhang_angle(angle):
    """Area pi r^2 cos(angle)^2 less the contact; the slack of half a degree stays within 3 %."""
    radius = 15.0
    hangs = found(ball(radius, 360), angle=angle).overhangs
    foot = contact_radius(radius, 0.05)
    exact = math.pi * ((radius * math.cos(math.radians(angle))) ** 2 - foot**2)
    assert hangs.area == pytest.approx(exact, rel=0.03)


def test_support_under_a_sphere():
    """Integral of 2 pi x (r - sqrt(r^2 - x^2)) from the contact to r/sqrt(2)."""
    radius = 15.0
    hangs = found(ball(radius, 360)).overhangs
    edge, foot = radius / math.sqrt(2), contact_radius(radius, 0.05)

    def under(x: float) -> float:
        return math.pi * x**2 * radius + 2 * math.pi / 3 * (radius**2 - x**2) ** 1.5

    assert hangs.support == pytest.approx(under(edge) - under(foot), rel=0.04)
    assert hangs.on_part == pytest.approx(0, abs=0.01 * hangs.on_bed)


def test_a_sphere_s_contact_is_its_first_layer():
    radius, layer = 15.0, 0.2
    stance = found(ball(radius, 360), layer).stance
    assert stance.contact == pytest.approx(math.pi * contact_radius(radius, layer) ** 2, rel=0.01)
    assert stance.hull == pytest.approx(stance.contact, rel=1e-3) or stance.hull > stance.contact


def test_figures_come_nearer_to_the_closed_form_with_thinner_layers():
    exact = math.pi * 15**2 * math.sin(math.radians(44.5)) ** 2
    errors = [
        abs(
            found(ball(15, 360), layer).overhangs.area
            + math.pi * contact_radius(15, layer) ** 2
            - exact
        )
        for layer in (0.4, 0.1, 0.025)
    ]
    assert errors[0] > errors[2]
    assert errors[2] < 0.01 * exact


@pytest.mark.parametrize("angle", [50, 60, 75])
def test_a_cone_hangs_outside_its_foot(angle):
    """Area pi (R^2 - r^2); support the integral of 2 pi x (x - r)/tan(angle) from r to R."""
    height, foot = 8.0, 5.0
    slope = math.tan(math.radians(angle))
    top = foot + height * slope
    hangs = found(funnel(angle, height, foot, 360)).overhangs
    assert hangs.area == pytest.approx(math.pi * (top**2 - foot**2), rel=0.01)
    exact = 2 * math.pi / slope * ((top**3 - foot**3) / 3 - foot * (top**2 - foot**2) / 2)
    assert hangs.support == pytest.approx(exact, rel=0.02)
    assert hangs.on_bed == pytest.approx(hangs.area, rel=1e-3)


@pytest.mark.parametrize("tilt", [10, 20, 35, 40])
def test_a_tilted_box_hangs_under_its_lower_face(tilt):
    """A box w by d by h on one of its edges, its base leaning up by the tilt: area w d cos(tilt),
    support the prism under it, d/2 (w cos)(w sin)."""
    w, d, h = 30.0, 10.0, 20.0
    c, s = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    hangs = found(block(w, d, h).rotate((0, -tilt, 0)), 0.025).overhangs
    assert hangs.area == pytest.approx(w * d * c, rel=0.015)
    assert hangs.support == pytest.approx(d / 2 * w * c * w * s, rel=0.015)


@pytest.mark.parametrize("tilt", [0, 46, 60, 80])
def test_a_box_tilted_beyond_the_angle_hangs_on_its_other_face(tilt):
    w, d, h = 30.0, 10.0, 20.0
    hangs = found(block(w, d, h).rotate((0, -tilt, 0)), 0.025).overhangs
    exact = h * d * math.sin(math.radians(tilt)) if tilt else 0.0
    assert hangs.area == pytest.approx(exact, rel=0.02, abs=1e-9)


@pytest.mark.parametrize(("arm", "stem"), [(17, 30), (4, 12)])
def test_a_tee_hangs_by_its_arms(arm, stem):
    """Two arms, each arm by 10, over stem mm of air; contact 6 by 10; hull the same."""
    result = found(tee(arm, stem), 0.2)
    assert result.overhangs.area == pytest.approx(2 * arm * 10)
    assert result.overhangs.support == pytest.approx(2 * arm * 10 * stem)
    assert result.overhangs.on_bed == pytest.approx(2 * arm * 10)
    assert result.stance.contact == pytest.approx(60)


@pytest.mark.parametrize("free", [6, 20])
def test_a_bridge_spans_its_legs(free):
    """Contact of two legs 120 mm2 with a hull (free + 12) by 10; span and area of the deck."""
    result = found(bridge(free, 10), 0.2)
    (region,) = result.overhangs.regions
    assert region.length == pytest.approx(free)
    assert region.area == pytest.approx(free * 10)
    assert result.overhangs.support == pytest.approx(free * 10 * 10 if free > 10 else 0)
    assert result.stance.contact == pytest.approx(120)
    assert result.stance.hull == pytest.approx((free + 12) * 10)


def test_tipping_of_a_block_is_the_arc_tangent_of_half_its_width_to_half_its_height():
    for width, height in ((10, 10), (4, 40), (30, 6)):
        tips = found(block(width, 40, height), 0.2).stance.tips
        assert tips == pytest.approx(math.degrees(math.atan2(width, height)) if width < 40 else 0)


# -- against trimesh and shapely ---------------------------------------------------------------


def reference(body, down, layer: float, angle: float = 45.0) -> tuple[list[float], list[float]]:
    """Area of each layer and what of it is beyond the reach of the one below."""
    vertices, faces = arrays(body)
    placed = laid(vertices, down)
    heights = (np.arange(max(1, round(placed[:, 2].max() / layer))) + 0.49) * layer
    mesh = trimesh.Trimesh(placed, faces, process=False)
    cuts = mesh.section_multiplane([0, 0, 0], [0, 0, 1], heights)
    shapes = [
        shapely.build_area(shapely.MultiLineString(path.discrete)) if path else shapely.Polygon()
        for path in cuts
    ]
    reach = layer * math.tan(math.radians(angle + 0.5))
    beyond = [
        above.difference(below.buffer(reach, join_style="mitre", mitre_limit=2)).area
        for below, above in pairwise(shapes)
    ]
    return [shape.area for shape in shapes], beyond


@pytest.mark.parametrize(
    ("body", "down"),
    [
        (ball, (0.1, 0.2, -1)),
        (ring, (0, 0, -1)),
        (ring, (0.5, -0.4, -0.3)),
        (tee, (1, 0.2, 0.1)),
        (lambda: drilled(8), (0, 0, -1)),
    ],
)
def test_areas_and_overhanging_layers_agree_with_trimesh_and_shapely(body, down):
    areas, beyond = reference(body(), down, 0.2)
    result = found(body(), 0.2, down)
    assert result.slices.areas == pytest.approx(areas, abs=0.01)
    hangs = result.overhangs.areas
    for i, outside in enumerate(beyond, start=1):
        # What is beyond the reach is part of what hangs; without it nothing hangs.
        if outside > 0.05:
            assert hangs[i] >= outside - 0.05
        elif outside < 1e-4:
            assert hangs[i] < 0.05


def test_volume_and_centre_of_mass_agree_with_trimesh():
    for body in (ball(), ring(), drilled(6)):
        vertices, faces = arrays(body)
        slices = cut(vertices, faces, (0.3, 0.5, -0.7))
        mesh = trimesh.Trimesh(slices.placed, faces, process=False)
        assert slices.volume == pytest.approx(mesh.volume, rel=1e-9)
        assert slices.centre == pytest.approx(mesh.center_mass, abs=1e-6)


# -- published limit and common practice -------------------------------------------------------


def test_45_degrees_print_without_support():
    """Mazlan et al., J. Adv. Ind. Technol. Appl., 2020, 38-47: up to 45 degrees from the
    vertical without support; common practice."""
    assert found(funnel(45), 0.2).overhangs.support == 0
    assert found(funnel(50), 0.2).overhangs.support > 0


def test_tall_thin_parts_get_a_brim():
    """Common practice, no source: a brim for tall thin parts, none for low wide ones."""
    assert brim(height=71, contact=30 * 2.4, base=2.4, tips=1.9) is not None
    assert brim(height=3, contact=1200, base=30, tips=80) is None


def test_a_tab_thicker_than_its_body_cannot_lie_flat():
    """Common practice, no source: laid flat, the body would hang above the bed."""
    from workbench.checks.subject import Subject

    repair = Repair("divider").add("fin", name="blade", thickness=1.6)
    repair.add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
    best, *others = ways_up(Subject.of(repair))
    flat = next(item for item in others if item.flat)
    assert not best.flat
    assert flat.figures.hanging[0].clearance == pytest.approx(0.4)
    assert best.figures.brim is not None


def test_two_lines_of_a_nozzle_are_the_thinnest_wall():
    """Common practice, no source: 0.8 mm with a 0.4 mm nozzle."""
    for wall, passes in ((0.79, True), (0.8, True), (0.7, False)):
        thin = found(block(20, wall, 20), 0.2).thin
        assert (not thin) == passes
