"""Pieces added to a repair are the outline's prism."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from shapes import ARROW, COMB, ELL, HOUSE, NEEDLE, outlines

from workbench.errors import RepairError
from workbench.measure.outlines.outline import trapezoid
from workbench.measure.outlines.triangles import WAYS, decompose
from workbench.solids.building.build import build
from workbench.solids.drawn.piece_steps import add_pieces
from workbench.solids.recipe.repair import Repair

THICKNESS = 2.4


def prism_of(outline):
    from build123d import Plane, Polygon, extrude

    face = Plane.XZ * Polygon(*map(tuple, outline.points), align=None)
    return extrude(face, THICKNESS / 2, both=True)


def assert_is_the_prism(outline, way):
    solid = build(add_pieces(Repair("part"), decompose(outline, way), THICKNESS))
    prism = prism_of(outline)
    assert solid.volume == pytest.approx(outline.area * THICKNESS, rel=1e-7)
    for one, other in ((solid, prism), (prism, solid)):
        rest = one.cut(other)
        assert sum(s.volume for s in rest.solids()) <= 1e-6 * prism.volume


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("outline", [trapezoid(46, 39, 71, -7), ELL, ARROW, HOUSE, COMB], ids=len)
def test_known_shapes(outline, way):
    assert_is_the_prism(outline, way)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize(
    "outline", [NEEDLE, trapezoid(35, 34.95, 71, 0), trapezoid(35, 35, 71, -0.1)], ids=repr
)
def test_slivers_belong_to_it(outline, way):
    assert_is_the_prism(outline, way)


@given(outline=outlines(7))
@settings(max_examples=15, deadline=None)
@pytest.mark.parametrize("way", WAYS)
def test_any_simple_outline(way, outline):
    assert_is_the_prism(outline, way)


def test_steps_are_named_in_turn_and_none_stays_after_a_refusal():
    pieces = decompose(trapezoid(46, 37, 71, -7), "boxes and right triangles")
    repair = add_pieces(Repair("divider"), pieces, 1.6, name="blade")
    assert [s.name for s in repair.steps] == ["blade 1", "blade 2", "blade 3"]
    kept = repair.steps
    with pytest.raises(RepairError, match="already a step 'blade 1'"):
        add_pieces(repair, pieces, 1.6, name="blade")
    with pytest.raises(RepairError, match=r"thickness is -1 mm"):
        add_pieces(repair, pieces[:1], -1, name="other")
    with pytest.raises(RepairError, match="no pieces"):
        add_pieces(repair, [], 1.6)
    assert repair.steps == kept
