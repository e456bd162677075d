"""The plain shapes, against their closed forms and outlines."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.solids.shapes import primitives
from workbench.solids.shapes.primitives import (
    LARGEST,
    SMALLEST,
    box,
    cone,
    cylinder,
    sphere,
    triangular_prism,
    tube,
    wedge,
)

sizes = st.floats(SMALLEST, LARGEST)


@given(a=sizes, b=sizes, c=sizes)
def test_box_and_wedge(a, b, c):
    assert box(a, b, c).volume == pytest.approx(a * b * c)
    assert wedge(a, b, c).volume == pytest.approx(a * b * c / 2)


def test_a_box_is_centred_and_stands_on_its_bottom():
    corners = box(20, 10, 5).bounding_box()
    assert tuple(corners.min) == pytest.approx((-10, -5, 0))
    assert tuple(corners.max) == pytest.approx((10, 5, 5))


def test_a_wedge_is_high_on_its_left():
    high = [v for v in wedge(20, 10, 5).vertices() if v.Z > 2.5]
    assert [v.X for v in high] == pytest.approx([-10, -10])


@given(base=sizes, height=sizes, apex=st.floats(-LARGEST, LARGEST), thickness=sizes)
def test_a_triangular_prism_is_half_base_by_height(base, height, apex, thickness):
    solid = triangular_prism(base, height, apex, thickness)
    assert solid.volume == pytest.approx(base * height / 2 * thickness)


@pytest.mark.parametrize("apex", [-7.0, 0.0, 4.0, 20.0, 31.0])
def test_a_triangular_prism_has_its_corners_where_it_says(apex):
    solid = triangular_prism(20, 15, apex, 2)
    front = sorted((round(v.X, 9), round(v.Z, 9)) for v in solid.vertices() if v.Y < 0)
    assert front == sorted([(0, 0), (20, 0), (apex, 15)])
    assert {round(v.Y, 9) for v in solid.vertices()} == {-1, 1}


@given(diameter=sizes, height=sizes)
def test_a_cylinder(diameter, height):
    assert cylinder(diameter, height).volume == pytest.approx(math.pi * diameter**2 / 4 * height)


@given(outside=st.floats(2, LARGEST), share=st.floats(0.1, 0.8), height=sizes)
def test_a_tube_is_the_difference_of_two_cylinders(outside, share, height):
    inside = max(outside * share, SMALLEST)
    expected = math.pi / 4 * (outside**2 - inside**2) * height
    assert tube(outside, inside, height).volume == pytest.approx(expected)


@given(bottom=st.floats(2, LARGEST), top=sizes | st.just(0.0), height=sizes)
def test_a_cone_is_a_frustum(bottom, top, height):
    expected = math.pi / 12 * height * (bottom**2 + bottom * top + top**2)
    assert cone(bottom, top, height).volume == pytest.approx(expected)


@given(diameter=sizes)
def test_a_sphere_rests_on_its_lowest_point(diameter):
    ball = sphere(diameter)
    assert ball.volume == pytest.approx(math.pi / 6 * diameter**3)
    assert ball.bounding_box().min.Z == pytest.approx(0, abs=1e-5)


def test_a_bore_that_leaves_no_wall_is_refused(refused):
    with refused("inside is 11.7 mm", "outside 12 mm", "at most 11.6 mm"):
        tube(outside=12, inside=11.7)


def test_a_needle_is_refused(refused):
    with refused("height is 50 mm", "0.2 mm across", "at most 40 mm"):
        cone(bottom=0.2, top=0, height=50)


def test_the_shapes_are_what_the_module_offers():
    made_here = [
        name
        for name, found in vars(primitives).items()
        if callable(found) and getattr(found, "__module__", "") == primitives.__name__
    ]
    assert made_here == ["box", "wedge", "triangular_prism", "cylinder", "tube", "cone", "sphere"]
