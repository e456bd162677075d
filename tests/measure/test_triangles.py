"""Splitting an outline: the pieces are the outline, no more and no less."""

from __future__ import annotations

import math
import re
from itertools import combinations

import numpy as np
import pytest
import shapely
from calculator import sums_in
from hypothesis import given, settings
from shapes import ARROW, COMB, ELL, FLAT_CORNERS, HOUSE, NEEDLE, outlines

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline, trapezoid
from workbench.measure.outlines.triangles import WAYS, decompose, triangles
from workbench.words import measured, number

SHAPES = [ELL, COMB, ARROW, FLAT_CORNERS, HOUSE, NEEDLE, trapezoid(46, 37, 71, -7)]


def assert_covers(outline, pieces):
    """No gap, no overlap, nothing outside."""
    assert sum(p.area for p in pieces) == pytest.approx(outline.area, rel=1e-9)
    union = shapely.unary_union([shapely.Polygon(p.points) for p in pieces], grid_size=1e-9)
    assert union.symmetric_difference(outline.polygon).area <= 1e-6 * max(1.0, outline.area)


def kinds(pieces):
    return sorted(piece.kind for piece in pieces)


@pytest.mark.parametrize("outline", SHAPES, ids=len)
@pytest.mark.parametrize("way", WAYS)
def test_pieces_cover_known_shapes(outline, way):
    assert_covers(outline, decompose(outline, way))


@given(outline=outlines())
@settings(max_examples=40, deadline=None)
def test_triangles_are_the_fewest_and_cover(outline):
    pieces = decompose(outline, "triangles")
    assert len(pieces) == len(outline) - 2
    assert_covers(outline, pieces)
    corners = {tuple(p) for p in outline.points}
    assert all(tuple(point) in corners for piece in pieces for point in piece.points)


@given(outline=outlines())
@settings(max_examples=40, deadline=None)
@pytest.mark.parametrize("way", WAYS[1:])
def test_right_triangles_and_boxes_cover_and_are_right(way, outline):
    pieces = decompose(outline, way)
    assert_covers(outline, pieces)
    allowed = {"right triangle", "box"} if way == WAYS[2] else {"right triangle"}
    assert {p.kind for p in pieces} <= allowed
    for piece in pieces:
        square = min(_cosine(piece.points, i) for i in range(len(piece.points)))
        assert square == pytest.approx(0, abs=1e-6)


@given(outline=outlines(7))
@settings(max_examples=25, deadline=None)
def test_a_piece_is_rebuilt_from_its_base_height_apex_and_tilt(outline):
    for way in WAYS:
        for piece in decompose(outline, way):
            turn = math.radians(piece.tilt)
            along = np.array([math.cos(turn), math.sin(turn)])
            up = np.array([-along[1], along[0]])
            start = piece.points[0]
            assert start + piece.base * along == pytest.approx(piece.points[1], abs=1e-9)
            top = start + piece.apex * along + piece.height * up
            assert top == pytest.approx(piece.points[-1], abs=1e-7)


@given(outline=outlines(7))
@settings(max_examples=25, deadline=None)
def test_no_other_way_to_split_has_a_larger_smallest_angle(outline):
    corners = [tuple(p) for p in outline.points]
    best = _largest_smallest_angle(corners, outline.polygon)
    found = min(_smallest_angle(t) for t in triangles(outline.points))
    assert found == pytest.approx(best, abs=1e-6)


def test_a_trapezoid_is_triangle_box_triangle():
    pieces = decompose(trapezoid(44, 26, 60, 7), "boxes and right triangles")
    assert [p.kind for p in pieces] == ["right triangle", "box", "right triangle"]
    assert [p.base for p in pieces] == pytest.approx([7, 26, 11])
    assert "44.0 across minus 7.0 lean minus 11.0 lean leaves 26.0" in pieces[1].steps


def test_the_arithmetic_is_shown_in_words():
    box, lean = decompose(trapezoid(71, 62, 30), "boxes and right triangles")
    assert box.steps == ("71.0 across minus 9.0 lean leaves 62.0", "62.0 times 30.0 is 1860 mm²")
    assert lean.steps == (
        "71.0 across minus 62.0 leaves 9.0 of lean, over 30.0 up",
        "half of 9.0 times 30.0 is 135 mm²",
    )
    assert lean.where == "right: base from (62.0, 0.0) to (71.0, 0.0)"


def test_a_shape_drawn_askew_still_gives_plain_boxes():
    turn = math.radians(23)
    spin = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    for outline, expected in ((ELL, 2), (HOUSE, 3), (trapezoid(44, 26, 60, 7), 3)):
        level = decompose(outline, WAYS[2])
        askew = decompose(Outline(outline.points @ spin), WAYS[2])
        assert len(level) == len(askew) == expected
        assert kinds(level) == kinds(askew)


def test_boxes_that_stand_on_each_other_are_one():
    xs = [5, 10, 10, 15, 15, 10, 10, 5, 5, 0, 0, 5]
    ys = [0, 0, 5, 5, 10, 10, 15, 15, 10, 10, 5, 5]
    plus = Outline(zip(xs, ys, strict=True))
    assert len(decompose(plus, WAYS[2])) == 3
    comb = decompose(COMB, WAYS[2])
    assert kinds(comb) == ["box"] * 3


def test_a_far_leaning_strip_has_no_box_along_its_base_but_one_along_its_side():
    strip = Outline([(0, 0), (5, 0), (45, 40), (40, 40)])
    pieces = decompose(strip, WAYS[2])
    assert kinds(pieces) == ["box", "right triangle", "right triangle"]
    assert_covers(strip, pieces)


@pytest.mark.parametrize(
    ("corners", "kind", "base", "height"),
    [
        ([(0, 0), (4, 0), (4, 3)], "right triangle", 4, 3),
        ([(0, 0), (6, 0), (3, 4)], "isosceles triangle", 6, 4),
        ([(0, 0), (10, 0), (5, 5 * math.sqrt(3))], "equilateral triangle", 10, 5 * math.sqrt(3)),
        ([(0, 0), (14, 0), (5, 12)], "scalene triangle", 14, 12),
        ([(0, 0), (3, 3), (0, 6)], "right triangle", math.sqrt(18), math.sqrt(18)),
        ([(0, 0), (10, 0), (14, 3)], "scalene triangle", math.hypot(14, 3), None),
    ],
)
def test_kinds_of_triangle(corners, kind, base, height):
    (piece,) = decompose(Outline(corners))
    assert piece.kind == kind
    assert piece.base == pytest.approx(base)
    assert piece.height == pytest.approx(height or 2 * piece.area / piece.base)
    assert 0 <= piece.apex <= piece.base + 1e-9


def test_a_right_triangle_is_not_cut_again():
    assert len(decompose(Outline([(0, 0), (4, 0), (4, 3)]), "right triangles")) == 1
    assert len(decompose(trapezoid(20, 20, 10), "right triangles")) == 2


def ragged(rng: np.random.Generator) -> Outline:
    """An outline of 3 to 9 corners at any angle, in sizes that no ruler would show."""
    count = int(rng.integers(3, 10))
    turn = np.sort(rng.uniform(0, 0.8, count) + np.arange(count)) / count * 2 * math.pi
    reach = rng.uniform(8, 60, count)
    return Outline(np.c_[reach * np.cos(turn), reach * np.sin(turn)] + rng.uniform(-50, 50, 2))


def test_a_pocket_calculator_agrees_with_every_sum():
    rng = np.random.default_rng(4)
    count, off = 0, []
    for _turn in range(120):
        for way in WAYS:
            for piece in decompose(ragged(rng), way):
                told = [sum_ for step in piece.steps for sum_ in sums_in(step)]
                assert told
                count += len(told)
                off += [text for text, agrees in told if not agrees]
                # Base and height are shown to 0.01, and each rounding is multiplied by the other.
                shown = 0.012 * (piece.base + piece.height) + 0.01
                assert piece.reckoned == pytest.approx(piece.area, abs=shown)
                assert piece.steps[-1].endswith(f"is {number(piece.reckoned)} mm²")
    print(f"{count} sums, off: {off[:3]}")
    assert count > 2000 and not off


def test_the_calculator_finds_a_sum_that_is_off():
    assert sums_in("half of 59.64 times 26.84 is 800.45 mm²") == [
        ("half of 59.64 times 26.84 is 800.45 mm²", False)
    ]
    assert sums_in("half of 59.64 times 26.84 is 800.37 mm²")[0][1]
    assert sums_in("half of 0.25 times 0.1 is 0.01 mm²")[0][1]


def test_a_piece_tells_only_what_its_area_needs():
    for way in WAYS:
        for outline in SHAPES[:5]:
            for piece in decompose(outline, way):
                needed = {measured(piece.base), measured(piece.height)}
                area = piece.steps[-1]
                earlier = " ".join(piece.steps[:-1])
                shown = set(re.findall(r"\d+\.\d+", area)) - {number(piece.reckoned)}
                assert all(figure in earlier or piece.kind == "box" for figure in shown)
                assert "stands" not in earlier and needed


def test_an_unknown_way_is_refused_with_those_there_are():
    with pytest.raises(RepairError, match=r"hexagons.*triangles, right triangles, boxes"):
        decompose(ELL, "hexagons")


def test_corners_alone_will_do():
    assert len(decompose([(0, 0), (4, 0), (4, 3), (0, 3)])) == 2


def test_many_corners_are_split_quickly_enough_to_watch():
    angle = np.linspace(0, 2 * math.pi, 400, endpoint=False)
    reach = 40 + 6 * np.sin(9 * angle)
    gear = Outline(np.c_[reach * np.cos(angle), reach * np.sin(angle)])
    assert len(decompose(gear)) == 398
    assert_covers(gear, decompose(gear, WAYS[1]))


def _cosine(points, i):
    a, b = points[i - 1] - points[i], points[(i + 1) % len(points)] - points[i]
    return abs(float(a @ b)) / (np.hypot(*a) * np.hypot(*b))


def _smallest_angle(triangle):
    sides = np.hypot(*(np.roll(triangle, -1, axis=0) - triangle).T)
    a, b, c = sorted(sides)
    return math.acos(min(1.0, max(-1.0, (b * b + c * c - a * a) / (2 * b * c))))


def _largest_smallest_angle(corners, polygon):
    """By trying every split of every part: slow, and sure."""
    count = len(corners)
    inside = {
        (i, j): j == i + 1
        or (i, j) == (0, count - 1)
        or polygon.covers(shapely.LineString([corners[i], corners[j]]))
        for i, j in combinations(range(count), 2)
    }
    best = {(i, i + 1): math.inf for i in range(count - 1)}
    for gap in range(2, count):
        for i in range(count - gap):
            j = i + gap
            best[i, j] = -1.0
            if not inside[i, j]:
                continue
            for k in range(i + 1, j):
                triangle = np.array([corners[i], corners[k], corners[j]])
                area = np.linalg.det(np.c_[triangle, np.ones(3)]) / 2
                if area > 1e-12:
                    angle = min(best[i, k], best[k, j], _smallest_angle(triangle))
                    best[i, j] = max(best[i, j], angle)
    return best[0, count - 1]
