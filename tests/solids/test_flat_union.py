"""Flat parts joined as outlines are what the kernel makes of them."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import example, given
from hypothesis import strategies as st
from shapes import outlines

from workbench.solids.building import flat_union
from workbench.solids.building.seating import freely
from workbench.solids.geometry import kernel
from workbench.solids.recipe.seat import At
from workbench.solids.shapes.primitives import box, cylinder, triangular_prism, wedge
from workbench.solids.shapes.profile import prism
from workbench.solids.templates.clip import clip
from workbench.solids.templates.fin import fin
from workbench.solids.templates.plate import plate

places = st.builds(
    At,
    x=st.floats(-9, 9),
    z=st.floats(-9, 9),
    tilt=st.sampled_from([0.0, 90.0]) | st.floats(-180, 180),
)


def sheet_at(solid, place):
    return flat_union.Sheet.of(solid).moved(freely(place))


@pytest.mark.parametrize(
    ("solid", "corners"),
    [
        (box(6, 4, 3), 4),
        (wedge(6, 4, 3), 3),
        (triangular_prism(20, 15, -3, 2), 3),
        (fin(), 4),
        (plate(), 4),
        (clip(root_fillet=0), 7),
    ],
)
def test_straight_flat_parts_are_sheets(solid, corners):
    sheet = flat_union.Sheet.of(solid)
    assert sheet.corners.shape == (corners, 3)
    area = shapely.Polygon(sheet.corners @ sheet.axes[:2].T).area
    assert area * np.linalg.norm(sheet.through) == pytest.approx(solid.volume)


@pytest.mark.parametrize(
    "solid",
    [cylinder(), fin(edge="rounded"), fin(edge="tapered"), plate(holes=1), plate(corner_radius=2)],
)
def test_other_parts_are_not(solid):
    assert flat_union.Sheet.of(solid) is None


#: Corner to side, with 0.01 degrees of air beside the corner.
TOUCHING = (At(x=4.34, z=4.34, tilt=4.34), At(x=4.34, z=4.34, tilt=-69.99))


@given(first=places, second=places, wide=st.floats(2, 12))
@example(*TOUCHING, 9.47)
@example(*TOUCHING[::-1], 2.0)
@example(
    At(x=4.336245828378539, z=4.336245828378539, tilt=4.336245828378539),
    At(x=4.336245828378539, z=4.336245828378539, tilt=-69.98877806551006),
    9.471342689743226,
)
def test_two_sheets_are_joined_as_the_kernel_would(first, second, wide):
    shapes = [box(wide, 4, 3), triangular_prism(8, 6, 3, 4)]
    sheets = [sheet_at(shape, place) for shape, place in zip(shapes, (first, second), strict=True)]
    assert sheets[0].layer == sheets[1].layer
    together = flat_union.joined(sheets)
    solids = kernel.union(
        [kernel.solid_moved(s, freely(p)) for s, p in zip(shapes, (first, second), strict=True)]
    )
    if together is None:
        assert len(solids) == 2
        return
    assert sum(s.volume for s in together) == pytest.approx(sum(s.volume for s in solids), rel=1e-6)
    assert len(together) == len(solids)
    assert all(kernel.sound(solid) for solid in together)


@given(outline=outlines(), turn=st.floats(-180, 180))
def test_a_prism_of_any_outline_survives_the_join(outline, turn):
    solid = prism([(x, y) for x, y in outline.points.tolist()], 2)
    sheet = sheet_at(solid, At(3, 2, 1, tilt=turn))
    (again,) = flat_union.joined([sheet, sheet])
    assert again.volume == pytest.approx(solid.volume, rel=1e-7)
    assert again.is_valid


@pytest.mark.parametrize("place", [At(), At(x=1, y=2, z=3, tilt=33), At(turn=50), At(tilt=90)])
def test_a_row_of_boxes_becomes_one_box(place):
    row = [sheet_at(box(6, 4, 3), At(6 * i)).moved(freely(place)) for i in range(30)]
    (one,) = flat_union.joined(row)
    assert len(one.faces()) == 6
    assert one.volume == pytest.approx(30 * 6 * 4 * 3)


def test_a_ring_of_boxes_keeps_its_hole():
    round_it = [(0, 0), (6, 0), (12, 0), (0, 3), (12, 3), (0, 6), (6, 6), (12, 6)]
    (ring,) = flat_union.joined([sheet_at(box(6, 4, 3), At(x, z=z)) for x, z in round_it])
    assert len(ring.faces()) == 2 + 4 + 4
    assert ring.volume == pytest.approx(8 * 72)
    assert kernel.sound(ring)


@pytest.mark.parametrize("place", [At(6, z=3), At(8)], ids=["at a corner", "nowhere"])
def test_sheets_that_do_not_meet_are_left_to_the_kernel(place):
    first, other = box(6, 4, 3), box(6, 4, 3)
    assert flat_union.joined([sheet_at(first, At()), sheet_at(other, place)]) is None


def test_sheets_of_two_groups_become_two_solids():
    places = [At(0), At(6), At(20), At(26)]
    two = flat_union.joined([sheet_at(box(6, 4, 3), place) for place in places])
    assert [solid.volume for solid in two] == pytest.approx([144, 144])


def test_a_ring_that_closes_at_a_corner_only_is_left_to_the_kernel():
    floor = sheet_at(box(40, 4, 2), At())
    blocks = [At(-5, z=2), At(5, z=7)]
    ring = [floor, sheet_at(box(10, 4, 10), At(15, z=2))]
    assert flat_union.joined([*ring, *(sheet_at(box(10, 4, 5), place) for place in blocks)]) is None


def test_sheets_of_other_thickness_lie_in_another_layer():
    one, other = flat_union.Sheet.of(box(6, 4, 3)), flat_union.Sheet.of(box(6, 4.1, 3))
    assert one.layer != other.layer
    assert one.layer == sheet_at(box(9, 4, 9), At(5, z=2, tilt=10)).layer
