"""Solving a sketch: the outline that fits best, and what is said where none does."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapes import star_outlines
from surveys import SIGMA, aligned, ring, survey

from workbench.errors import RepairError
from workbench.measure.outlines.outline import Outline, trapezoid
from workbench.measure.sketches import solve as solving
from workbench.measure.sketches.sketch import Sketch, sketch_of
from workbench.measure.sketches.solve import Undetermined, solve
from workbench.measure.sketches.table_row import KINDS, STATEMENTS


def quadrilateral() -> Sketch:
    return Sketch({"A": (0, 0), "B": (30, 0), "C": (25, 40), "D": (-5, 45)})


def divider(**changed: float) -> Sketch:
    """The leaning divider, read without error: 46 below, 39 above, 71 high, 7 out."""
    true = trapezoid(46, 39, 71, -7).points
    sketch = quadrilateral()
    for i, j in combinations(range(4), 2):
        kind = "diagonal" if j - i == 2 else "side"
        sketch.read(kind, ("ABCD"[i], "ABCD"[j]), math.dist(true[i], true[j]))
    sketch.read("height", "D over A B", 71).read("overall width", "", 53)
    sketch.read("parallel", "A B and D C")
    for name, value in changed.items():
        sketch.change(name.replace("_", " "), value)
    return sketch


# -- the fit -----------------------------------------------------------------------------------


@given(seed=st.integers(0, 10_000), spare=st.integers(0, 9))
@settings(max_examples=30, deadline=None)
def test_readings_without_noise_give_the_true_corners(seed, spare):
    one = survey(np.random.default_rng(seed), spare, noise=0.0)
    try:
        solution = solve(one.sketch)
    except Undetermined:
        return  # some corners may be held by nothing: that is told, and tested elsewhere
    assert solution.chi_square == pytest.approx(0, abs=1e-9)
    if not solution.alternatives:
        found = np.array(list(solution.corners.values()))
        assert found == pytest.approx(aligned(one.corners, one.sketch), abs=1e-4)
        assert solution.outline.area == pytest.approx(shapely.Polygon(one.corners).area, rel=1e-5)


@given(star_outlines(7))
@settings(max_examples=25, deadline=None)
def test_all_distances_give_the_outline_back(outline):
    sketch = sketch_of(outline)
    names = list(sketch.corners)
    for i, j in combinations(range(len(names)), 2):
        gap = math.dist(outline.points[i], outline.points[j])
        sketch.read("distance", (names[i], names[j]), gap)
    solution = solve(sketch)
    assert solution.outline.area == pytest.approx(outline.area, rel=1e-6)
    assert sorted(solution.outline.sides) == pytest.approx(sorted(outline.sides), rel=1e-6)
    assert solution.suspect is None


@given(seed=st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_no_nearby_outline_fits_better(seed):
    rng = np.random.default_rng(seed)
    one = survey(rng, spare=6)
    try:
        adjusted = solve(one.sketch).adjusted
    except Undetermined:
        return
    equations = adjusted.equations
    for _try in range(20):
        x = adjusted.x.copy()
        x[equations.free] += rng.normal(size=len(equations.free)) * 0.05
        rest = equations.misfit(equations.evaluate(x)[0]) / equations.sigma
        assert rest @ rest >= adjusted.chi_square - 1e-9


def test_the_drawing_need_not_be_to_scale():
    right = solve(divider()).outline.points
    for corners in (
        {"A": (0, 0), "B": (1, 0), "C": (1, 1), "D": (0, 1)},
        {"A": (300, 900), "B": (800, 950), "C": (700, 1200), "D": (310, 1500)},
        {"A": (0, 0), "B": (60, -10), "C": (50, 20), "D": (-20, 15)},
    ):
        sketch = Sketch(corners)
        for row in divider().rows:
            sketch.read(row.kind, row.where, list(row.values) or None)
        assert solve(sketch).outline.points == pytest.approx(right, abs=1e-4)


def test_drawn_clockwise_it_is_the_same_shape():
    sketch = Sketch({"A": (0, 0), "D": (-5, 45), "C": (25, 40), "B": (30, 0)})
    for row in divider().rows:
        sketch.read(row.kind, row.where, list(row.values) or None)
    sketch.read("angle", "B", math.degrees(math.atan2(71, 14)))
    solution, other = solve(sketch), solve(divider())
    for name, spot in other.corners.items():
        assert solution.corners[name] == pytest.approx(spot, abs=1e-3)


def test_a_divider_from_more_readings_than_needed():
    solution = solve(divider())
    assert solution.outline.points == pytest.approx(trapezoid(46, 39, 71, -7).points, abs=1e-6)
    assert solution.suspect is None
    assert solution.spare == 4
    assert solution.p_value == pytest.approx(1.0)
    assert set(solution.uncertainty) == set("ABCD")
    assert solution.uncertainty["A"] == 0
    assert "parallel A B and D C" not in solution.residuals
    assert max(map(abs, solution.residuals.values())) < 1e-6


def test_statements_hold_exactly():
    solution = solve(divider(side_C_D=39.05, height_D_over_A_B=71.03))
    (_ax, ay), (_bx, by), (_cx, cy), (_dx, dy) = solution.corners.values()
    assert (ay, by) == (0, 0)
    assert cy == pytest.approx(dy, abs=1e-9)


@pytest.mark.parametrize(
    ("kind", "where", "holds"),
    [
        ("square", "B", lambda p: (p["C"] - p["B"])[0]),
        ("square", "B C and A B", lambda p: (p["C"] - p["B"])[0]),
        ("parallel", "A D and B C", lambda p: np.linalg.det([p["D"] - p["A"], p["C"] - p["B"]])),
        ("equal", "A D and B C", lambda p: math.dist(p["A"], p["D"]) - math.dist(p["B"], p["C"])),
        ("in line", "C with B D", lambda p: np.linalg.det([p["C"] - p["B"], p["D"] - p["B"]])),
    ],
)
def test_each_statement(kind, where, holds):
    sketch = quadrilateral().read("side", "AB", 30).read("side", "BC", 41).read(kind, where)
    sketch.read("diagonal", "AC", 50).read("side", "AD", 45).read("side", "CD", 31)
    assert holds(solve(sketch).corners) == pytest.approx(0, abs=1e-8)


def test_sums_tie_sizes_together():
    sketch = quadrilateral().read("height", "D over A B", 40).read("height", "C over A B", 40)
    sketch.read("side", "AB", 30).read("offset", "D along A B", 5).read("side", "CD", 28)
    sketch.read("sum", "side A B plus offset D along A B", 35.2)
    solution = solve(sketch)
    assert solution.size("side", "AB").value == pytest.approx(30 + 0.2 / 3)
    statement = sketch.without("offset D along A B", "side A B plus offset D along A B")
    statement.read("sum", "side A B minus side C D minus offset D along A B")
    tied = solve(statement)
    assert tied.size("offset", "D along A B").value == pytest.approx(2)


def test_angles_and_overall_sizes():
    true = trapezoid(46, 39, 71, -7)
    sketch = quadrilateral().read("overall width", "", 53).read("overall height", "", 71)
    sketch.read("side", "AB", 46).read("side", "CD", 39).read("parallel", "AB and DC")
    solution = solve(sketch.copy().read("angle", "A", true.angles[0]))
    assert solution.outline.points == pytest.approx(true.points, abs=0.02)
    assert solution.size("angle", "B").value == pytest.approx(true.angles[1], abs=0.1)
    assert solution.size("angle", "A B C").value == pytest.approx(true.angles[1], abs=0.1)
    inward = Sketch({"A": (0, 0), "B": (20, 8), "C": (40, 0), "D": (20, 30)})
    for i, j in combinations("ABCD", 2):
        gap = math.dist(inward.corners[i], inward.corners[j])
        inward.read("distance", (i, j), gap)
    assert solve(inward).size("angle", "B").value == pytest.approx(
        360 - 2 * math.degrees(math.atan2(20, 8))
    )


# -- rounds, holes and traces ------------------------------------------------------------------


def screw_plate(radius: float = 3.0) -> Sketch:
    sketch = Sketch({"A": (0, 0), "B": (60, 0), "C": (60, 20), "D": (0, 20)})
    for corner in "ABC":
        sketch.read("square", corner)
    for corner in "ABCD":
        sketch.read("radius", corner, radius)
    return sketch.read("overall width", "", 60).read("overall height", "", 20)


def test_rounded_corners_and_holes():
    sketch = screw_plate().circle("H", 12, 9).circle("K", 45, 9)
    sketch.read("diameter", "H", 4.3).read("diameter", "K", 4.3)
    sketch.read("height", "H over A B", 10 - 2.15).read("offset", "H along A B", 10 - 2.15)
    sketch.read("height", "K over D C", 10 + 2.15, rim="far").read("distance", "H K", 40 - 4.3)
    solution = solve(sketch)
    assert solution.circles["H"][0] == pytest.approx((10, 10), abs=1e-6)
    assert solution.circles["K"][0] == pytest.approx((50, 10), abs=1e-6)
    assert solution.circles["K"][1] == pytest.approx(4.3)
    assert solution.radii == pytest.approx(dict.fromkeys("ABCD", 3.0))
    assert solution.outline.area == pytest.approx(1200 - (4 - math.pi) * 9)


def test_a_fully_round_end():
    sketch = screw_plate(10).remove("radius A").remove("radius D")
    outline = solve(sketch).outline
    assert outline.size == pytest.approx((60, 20), abs=1e-6)
    assert outline.area == pytest.approx(50 * 20 + math.pi * 50)


def test_rounds_that_do_not_fit_are_told():
    with pytest.raises(
        RepairError, match=r"corner 2 has a radius of 11 mm, too much .*; give at most 9 mm"
    ):
        solve(screw_plate(11).remove("radius A").remove("radius D"))


def test_the_jaws_rest_on_a_round():
    sketch = Sketch({"A": (0, 0), "B": (40, 0), "C": (20, 40)})
    sketch.read("side", "AB", 40).read("equal", "AC and BC").read("radius", "C", 4)
    for kind, where in (("overall height", ""), ("height", "C over A B")):
        solution = solve(sketch.copy().read(kind, where, 36))
        assert solution.outline.size[1] == pytest.approx(36)
        assert solution.outline.points[:, 1].max() > 40


def test_two_readings_pull_a_trace_to_size():
    rng = np.random.default_rng(4)
    true = trapezoid(46, 39, 71, -7)
    turn = np.array([[math.cos(0.2), -math.sin(0.2)], [math.sin(0.2), math.cos(0.2)]])
    traced = true.points @ turn.T * 1.013 + rng.normal(size=(4, 2)) * 0.05
    sketch = sketch_of(Outline(traced), uncertainty=0.05, scale=0.02)
    loose = solve(sketch)
    assert loose.outline.sides == pytest.approx(Outline(traced).sides, rel=1e-6)
    assert loose.uncertainty["C"] > 1
    sketch.read("side", "AB", 46).read("side", "BC", true.sides[1])
    solution = solve(sketch)
    assert solution.outline.sides == pytest.approx(true.sides, abs=0.2)
    assert solution.uncertainty["C"] < 0.2
    assert solution.suspect is None


# -- how far to trust it -----------------------------------------------------------------------


def test_stated_uncertainties_are_those_of_many_repeats():
    rng = np.random.default_rng(11)
    one = survey(rng, spare=5, noise=0.0)
    spots = []
    for _repeat in range(400):
        noisy = one.sketch.copy()
        for row in one.sketch.rows:
            noisy.change(row.name, row.value + rng.normal() * SIGMA)
        spots.append(solve(noisy).adjusted.x)
    solution = solve(one.sketch)
    for corner in "BCD":
        i = 2 * list(one.sketch.corners).index(corner)
        found = np.cov(np.array(spots)[:, i : i + 2].T)
        assert found == pytest.approx(solution.covariance(corner), rel=0.25, abs=0.1 * SIGMA**2)
        stated = solution.uncertainty[corner]
        assert stated == pytest.approx(math.sqrt(np.trace(found)), rel=0.12)


def test_chance_of_disagreement_is_even_when_all_is_well():
    rng = np.random.default_rng(3)
    chances = []
    while len(chances) < 150:
        try:
            chances.append(solve(survey(rng, spare=int(rng.integers(1, 8))).sketch).p_value)
        except Undetermined:
            continue
    for level in (0.1, 0.5, 0.9):
        share = np.mean(np.array(chances) < level)
        assert share == pytest.approx(level, abs=3 * math.sqrt(level * (1 - level) / 150))


@given(seed=st.integers(0, 10_000))
@settings(max_examples=15, deadline=None)
def test_redundancies_add_up_to_the_spare_readings(seed):
    one = survey(np.random.default_rng(seed), spare=5)
    try:
        solution = solve(one.sketch)
    except Undetermined:
        return
    assert solution.everything.redundancy.sum() == pytest.approx(solution.spare)


@given(seed=st.integers(0, 10_000))
@settings(max_examples=10, deadline=None)
def test_sizes_do_not_depend_on_which_side_lies_level(seed):
    one = survey(np.random.default_rng(seed), spare=30)
    turned = Sketch({n: (y, -x) for n, (x, y) in one.sketch.corners.items()}, setting=0)
    turned.rows = one.sketch.rows
    try:
        here, there = solve(one.sketch), solve(turned)
    except Undetermined:
        return
    for where in ("A C", "B D"):
        a, b = here.size("distance", where), there.size("distance", where)
        assert a.value == pytest.approx(b.value, abs=1e-6)
        assert a.uncertainty == pytest.approx(b.uncertainty, rel=1e-3)


def test_a_size_that_was_read_alone_has_its_doubt():
    sketch = Sketch({"A": (0, 0), "B": (4, 0), "C": (4, 3)}, setting=0)
    for where, value, sigma in (("AB", 40, 0.1), ("BC", 30, 0.2), ("CA", 50, 0.3)):
        sketch.read("side", where, value, uncertainty=sigma)
    solution = solve(sketch)
    assert solution.size("side", "BC").uncertainty == pytest.approx(0.2)
    assert solution.size("side", "BC").most == "side B C"
    perimeter = solution.size("sum", "side AB plus side BC plus side CA")
    assert perimeter.value == pytest.approx(120)
    assert perimeter.uncertainty == pytest.approx(math.sqrt(0.01 + 0.04 + 0.09))


def test_readings_that_nothing_checks_are_named():
    sketch = divider()
    sketch.remove("parallel A B and D C").remove("overall width")
    sketch.remove("height D over A B").remove("diagonal B D")
    assert "nothing cross-checks these readings" in str(solve(sketch))
    with_hole = divider().circle("H", 10, 10).read("diameter", "H", 4)
    with_hole.read("distance", "A H", 12).read("distance", "B H", 37)
    solution = solve(with_hole)
    assert {"diameter H", "distance A H", "distance B H"} <= set(solution.unchecked)
    assert not {"diagonal A C", "diagonal B D"} & set(solution.unchecked)
    assert "an error would not show in: diameter H, distance A H" in str(solution)


# -- too few -----------------------------------------------------------------------------------


def test_too_few_readings_name_the_corner_and_the_next_reading():
    sketch = (
        quadrilateral().read("side", "AB", 44).read("side", "BC", 70).read("diagonal", "AC", 75)
    )
    with pytest.raises(Undetermined, match="D is free to move; read side A D and side C D next"):
        solve(sketch)
    sketch.read("side", "AD", 70)
    with pytest.raises(Undetermined, match="D is free to move; read side C D next") as told:
        solve(sketch)
    assert told.value.free == ("D",)
    assert [(r.kind, r.where) for r in told.value.take] == [("side", ("C", "D"))]


def test_four_sides_of_a_quadrilateral_do_not_hold_it():
    sketch = quadrilateral()
    for where, value in (("AB", 44), ("BC", 71), ("CD", 39), ("DA", 70)):
        sketch.read("side", where, value)
    with pytest.raises(Undetermined, match="C, D are free to move; read diagonal A C next"):
        solve(sketch)


@given(seed=st.integers(0, 10_000), missing=st.integers(1, 3))
@settings(max_examples=20, deadline=None)
def test_what_it_asks_for_is_enough(seed, missing):
    one = survey(np.random.default_rng(seed), spare=-missing, noise=0.0)
    with pytest.raises(Undetermined) as told:
        solve(one.sketch)
    assert len(told.value.take) >= 1
    moved = aligned(one.corners, one.sketch)
    true = Sketch(dict(zip(one.sketch.corners, moved.tolist(), strict=True)))
    equations = solve(_with_all_distances(true)).adjusted.equations
    for reading in told.value.take:
        size = equations.asking([_row(reading)]).evaluate(equations.start)[0][0]
        one.sketch.read(reading.kind, reading.where, max(float(size), 0.5))
    solve(one.sketch)


def _with_all_distances(sketch):
    for i, j in combinations(sketch.corners, 2):
        gap = math.dist(sketch.corners[i], sketch.corners[j])
        sketch.read("distance", (i, j), gap)
    return sketch


def _row(reading):
    from workbench.measure.sketches.table_row import Row

    return Row("asked", reading.kind, reading.where, (1.0,))


def test_a_hole_without_a_place_or_a_size_is_free():
    with pytest.raises(Undetermined, match="H is free to move; read diameter H and distance"):
        solve(divider().circle("H", 10, 10))


# -- mirrors -----------------------------------------------------------------------------------


def kite() -> Sketch:
    sketch = Sketch({"A": (0, 0), "B": (30, 0), "C": (30, 30), "D": (0, 30)})
    for where, value in (("AB", 30), ("BC", 30), ("CD", 40), ("DA", 40)):
        sketch.read("side", where, value)
    return sketch.read("diagonal", "AC", 42)


def test_both_mirror_solutions_are_shown():
    solution = solve(kite())
    (other,) = solution.alternatives
    assert other.chi_square == pytest.approx(solution.chi_square, abs=1e-6)
    across = [s.size("diagonal", "BD").value for s in (solution, other)]
    told = f"read diagonal B D; it is {across[0]:.2f} mm as drawn and {across[1]:.2f} mm"
    assert told in str(solution)


def test_solving_another_shape_again_finds_that_shape():
    first = solve(kite())
    (other,) = first.alternatives
    again = solve(other.sketch)
    for diagonal in ("AC", "BD"):
        theirs = other.size("diagonal", diagonal).value
        assert again.size("diagonal", diagonal).value == pytest.approx(theirs, abs=1e-6)
    (back,) = again.alternatives
    assert back.size("diagonal", "BD").value == pytest.approx(first.size("diagonal", "BD").value)


def test_a_size_along_the_lowest_side_stays_along_it_when_another_lies_lowest():
    sketch = Sketch({"A": (0, 0), "B": (30, 0), "C": (15, 20)}).read("overall width", "", 30)
    sketch.read("sum", "overall height plus side A B", 50)
    turned = sketch.drawn_as({"A": (0, 0), "B": (30, 0), "C": (15, -20)})
    assert turned.base != sketch.base
    assert [turned.rows[0].where, turned.rows[1].terms[0][2]] == [("A", "B"), ("A", "B")]
    assert sketch.drawn_as(sketch.corners) == sketch


def test_what_is_left_without_a_wrong_reading_may_fit_two_shapes():
    sketch = kite()
    sketch.read("side", "AB", 30, name="again").read("side", "BC", 30, name="BC again")
    sketch.change("side B C", 33).read("side", "BC", 30, name="BC thrice")
    solution = solve(sketch)
    assert solution.suspect == "side B C"
    assert "another shape fits as well" in str(solution)


def test_the_reading_it_names_settles_which_mirror():
    solution = solve(kite().read("diagonal", "BD", 55.47))
    assert solution.alternatives == ()
    drawn_over = Sketch({"A": (0, 0), "B": (30, 0), "C": (30, 30), "D": (35, -8)})
    drawn_over.rows = kite().rows
    assert solve(drawn_over).size("diagonal", "BD").value == pytest.approx(12.62, abs=0.01)


# -- contradictions ----------------------------------------------------------------------------


def test_statements_that_cannot_all_hold_are_named():
    sketch = Sketch({"A": (0, 0), "B": (30, 0), "C": (25, 40)}).read("side", "AB", 30)
    sketch.read("square", "A").read("square", "B").read("square", "C")
    with pytest.raises(RepairError, match="cannot all be true: square A, square B, square C"):
        solve(sketch)


def test_sides_too_short_to_meet_are_named():
    sketch = Sketch({"A": (0, 0), "B": (40, 0), "C": (20, 15)}).read("side", "AB", 40)
    sketch.read("side", "BC", 10).read("side", "CA", 20)
    with pytest.raises(RepairError, match="cannot all be true: side A B, side B C, side C A"):
        solve(sketch)


def test_an_outline_that_crosses_itself_is_refused():
    sketch = Sketch({"A": (0, 0), "B": (40, 0), "C": (0, 30), "D": (40, 30)})
    sketch.read("side", "AB", 40).read("side", "CD", 40)
    for where in ("AD", "BC"):
        sketch.read("distance", where, 50)
    sketch.read("diagonal", "AC", 30)
    with pytest.raises(RepairError, match="crosses itself"):
        solve(sketch)


@pytest.mark.parametrize(
    ("sketch", "told"),
    [
        (Sketch(), "sketch has 0 corners; draw at least 3"),
        (Sketch({"A": (0, 0), "B": (1, 0)}), "2 corners"),
        (trapezoid(3, 2, 1), "takes a Sketch"),
        (quadrilateral(), "free to move"),
    ],
)
def test_what_cannot_be_solved_is_told(sketch, told):
    with pytest.raises(RepairError, match=told):
        solve(sketch)


def test_unknown_names_are_told():
    solution = solve(divider())
    with pytest.raises(RepairError, match="no corner 'Z'; corners: A, B, C, D"):
        solution.covariance("Z")
    with pytest.raises(RepairError, match="no reading 'top'"):
        solution.alike("top")


@given(seed=st.integers(0, 10_000))
@settings(max_examples=25, deadline=None)
def test_any_readings_give_an_outline_or_a_sentence(seed):
    rng = np.random.default_rng(seed)
    names = "ABCDEF"[: rng.integers(3, 6)]
    sketch = Sketch({name: rng.uniform(0, 50, 2) for name in names})
    kinds = list(KINDS)
    for _row in range(int(rng.integers(2 * len(names) - 3, 3 * len(names)))):
        kind = kinds[rng.integers(len(kinds))]
        count = rng.choice(KINDS[kind][0] or [0])
        where = [names[i] for i in rng.permutation(len(names))[:count]]
        value = None if kind in STATEMENTS else float(10 ** rng.uniform(0, 2.2))
        try:
            sketch.read(kind, where, value)
        except RepairError:
            continue
    try:
        solution = solve(sketch)
    except RepairError as error:
        assert str(error)
        return
    assert np.isfinite(solution.outline.points).all()
    assert all(math.isfinite(u) and u >= 0 for u in solution.uncertainty.values())
    assert str(solution)


def test_two_sides_and_an_angle_that_is_not_between_them_fit_two_triangles():
    sketch = Sketch({"A": (0, 0), "B": (40, 0), "C": (30, 20)})
    sketch.read("side", "A B", 48).read("side", "B C", 31).read("angle", "A", 33)
    solution = solve(sketch)
    (other,) = solution.alternatives
    # Law of sines, any handbook: the third side is 48 cos A ± (31² - 48² sin² A)^½.
    turn = math.radians(33)
    half = math.sqrt(31**2 - (48 * math.sin(turn)) ** 2)
    found = sorted(abs(one.size("side", "A C").value) for one in (solution, other))
    assert found == pytest.approx(
        [48 * math.cos(turn) - half, 48 * math.cos(turn) + half], abs=1e-3
    )
    assert "another shape fits as well: read side A C" in str(solution)


@pytest.mark.parametrize("seed", [2, 3])
def test_corners_drawn_out_of_order_find_their_places(seed) -> None:
    # Corners are 1.5 apart and drawn with an error of 1: some neighbours have changed places.
    solution = solve(ring(150, seed))
    assert solution.suspect is None
    assert solution.p_value > 0.01


@pytest.mark.parametrize(("corners", "limited"), [(19, False), (20, True)])
def test_many_readings_are_reckoned_by_one_thread(corners, limited, monkeypatch):
    sketch = ring(corners)
    assert len(sketch.rows) == 3 * corners
    threads, seen = solving._threads(), []

    def solved(_sketch):
        seen.extend(one["num_threads"] for one in threads.info() if one["user_api"] == "blas")

    monkeypatch.setattr(solving, "_solved", solved)
    with threads.limit(limits=2):
        solve(sketch)
    assert seen and (set(seen) == {1}) == limited
