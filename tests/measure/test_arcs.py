"""Outlines with rounds and arcs: what they measure, and what is refused."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench import Outline, RepairError, Sketch, build, decompose, sketch_of, solve
from workbench.measure.outlines.stretch import Stretch
from workbench.measure.outlines.triangles import WAYS
from workbench.measure.sketches.equations import Equations
from workbench.measure.sketches.slopes import SQUARE
from workbench.measure.sketches.table_row import Row
from workbench.solids.drawn.piece_steps import add_pieces
from workbench.solids.recipe.repair import Repair

#: A lever with a round end, a round on top, an inner arch and a rounded corner.
LEVER = Outline([(0, 0, 0, -90), (70, 0, 0, 13), (70, 24), (30, 24, 0, 15, 38), (0, 24, 2)])
CRESCENT = Outline([(0, 0, 0, 20), (30, 0, 0, -30)])


@st.composite
def rounded(draw: st.DrawFn) -> Outline:
    """A star-shaped polygon whose corners are rounded and whose sides bow, as far as they fit."""
    count = draw(st.integers(3, 7))
    corners = []
    for i in range(count):
        reach = draw(st.floats(28, 40))
        turn = math.tau * i / count
        spot = (reach * math.cos(turn), reach * math.sin(turn))
        radius = draw(st.sampled_from([0.0, 0.5, 2.0]))
        bulge = draw(st.sampled_from([0.0, 90.0, -90.0, 200.0]))
        corners.append((*spot, radius, bulge))
    try:
        return Outline(corners)
    except RepairError:  # bows that meet
        return draw(st.nothing())


@given(rounded())
def test_the_area_is_what_ever_finer_chords_come_to(outline: Outline) -> None:
    coarse, fine = (
        abs(_area(outline.chords(deviation)) - outline.area) for deviation in (0.05, 0.0005)
    )
    assert fine < 0.05 * max(coarse, 0.1)
    assert fine < 0.001 * outline.area


@given(rounded())
def test_the_way_round_and_the_first_corner_do_not_matter(outline: Outline) -> None:
    back = [
        (*corner[:2], *(corner[2:3] or (0.0,)), *before[3:])
        for corner, before in zip(
            outline.corners, [outline.corners[-1], *outline.corners[:-1]], strict=True
        )
    ][::-1]
    for other in (Outline(back), Outline([*outline.corners[2:], *outline.corners[:2]])):
        assert other.area == pytest.approx(outline.area, rel=1e-12)
        assert other.size == pytest.approx(outline.size, rel=1e-12)
        assert sorted(other.angles) == pytest.approx(sorted(outline.angles))


@given(rounded())
def test_the_path_runs_on_without_a_gap_and_smoothly_over_rounds(outline: Outline) -> None:
    for before, after in zip((outline.path[-1], *outline.path[:-1]), outline.path, strict=True):
        assert before.end == pytest.approx(after.start, abs=1e-9)
        rounds = {round(r, 6) for r in outline.radii if r}
        if {round(before.radius, 6), round(after.radius, 6)} & rounds:
            assert before.heading(1) == pytest.approx(after.heading(0), abs=1e-6)


@pytest.mark.parametrize("outline", [LEVER, CRESCENT])
@pytest.mark.parametrize("into", WAYS)
def test_the_pieces_make_up_the_outline_and_the_solid(outline: Outline, into: str) -> None:
    pieces = decompose(outline, into)
    assert sum(piece.area for piece in pieces) == pytest.approx(outline.area, rel=1e-12)
    assert {p.kind for p in pieces if p.arc is not None} == {"circular segment"}
    assert any(p.area < 0 for p in pieces)
    solid = build(add_pieces(Repair("lever"), pieces, 3.0))
    assert solid.volume == pytest.approx(3 * outline.area, rel=1e-8)


def test_a_panel_keeps_arcs_as_arcs_and_the_record_keeps_them_exactly() -> None:
    repair = Repair("lever").add("panel", name="lever", outline=LEVER, thickness=2.5)
    solid = build(repair)
    assert solid.volume == pytest.approx(2.5 * LEVER.area, rel=1e-12)
    assert len(solid.faces()) == 2 + len(LEVER.path)
    again = Repair.from_json(repair.to_json())
    assert again.steps == repair.steps
    assert Outline(again.step("lever").values["outline"]) == LEVER


def test_what_an_arc_is_given_by_does_not_matter() -> None:
    half, radius = 15.0, 17.0
    rise = radius - math.sqrt(radius**2 - half**2)
    by_radius = Outline([(0, 0, 0, radius), (2 * half, 0), (2 * half, 20), (0, 20)])
    by_point = Outline([(0, 0, 0, half, -rise), (2 * half, 0), (2 * half, 20), (0, 20)])
    assert by_radius.area == pytest.approx(by_point.area, rel=1e-12)
    assert by_radius.size == pytest.approx((30, 20 + rise))


@pytest.mark.parametrize(
    ("corners", "told"),
    [
        ([(0, 0, 16), (60, 0), (60, 30), (0, 30, 15)], "corner 1 .* 16 mm.* at most 15 mm"),
        ([(0, 0, 0, 29), (60, 0), (60, 30)], "corner 1 has a radius of 29 mm .* at least 30 mm"),
        ([(0, 0, 0, 70, 0), (60, 0), (60, 30)], "corner 1 goes through a point in line"),
        ([(0, 0, -1), (60, 0), (60, 30)], "corner 1 has a radius of -1 mm; give 0 or more"),
        ([(0, 0), (60, 0, 0, -31), (60, 60), (0, 60), (40, 30)], "crosses itself"),
        ([(0, 0), (30, 0, 2), (60, 0), (60, 30)], "corner 2 has a radius of 2 mm"),
    ],
)
def test_a_bend_that_cannot_be_is_told_in_words(corners: list, told: str) -> None:
    with pytest.raises(RepairError, match=told):
        Outline(corners)


def test_the_largest_radius_that_is_offered_fits_and_no_larger() -> None:
    box = [(0, 0, 15), (60, 0), (60, 30), (0, 30, 15)]
    assert Outline(box).area == pytest.approx(1800 - 2 * (1 - math.pi / 4) * 15**2)
    with pytest.raises(RepairError):
        Outline([(0, 0, 15.001), *box[1:]])


def test_an_arc_follows_when_the_calipers_pull_its_ends() -> None:
    sketch = sketch_of(LEVER, uncertainty=0.01)
    assert solve(sketch).outline.area == pytest.approx(LEVER.area, rel=1e-9)
    pulled = solve(sketch.read("side", "A B", 70 * 1.02, uncertainty=1e-4)).outline
    assert pulled.area == pytest.approx(LEVER.area * 1.02**2, rel=1e-3)


@pytest.mark.parametrize(("kind", "value"), [("rise", 7.5), ("radius", 20.816667)])
def test_a_drawn_arc_takes_its_rise_or_its_radius(kind: str, value: float) -> None:
    sketch = Sketch({"A": (0, 0), "B": (32, 0), "C": (32, 10), "D": (0, 10)}).arc("C D", 0.5)
    for corner in "ABC":
        sketch.read("square", corner)
    sketch.read("side", "A B", 32).read("side", "B C", 10)
    with pytest.raises(RepairError, match="side C D is an arc; read its rise"):
        solve(sketch)
    outline = solve(sketch.read(kind, "C D", value)).outline
    # A chord of 32 with a rise of 7.5 belongs to a circle of radius 20.8167.
    assert outline.size == pytest.approx((32, 17.5), abs=1e-4)
    again = Sketch.from_dict(sketch.to_dict())
    assert solve(again).outline == outline


def test_a_rise_and_a_radius_of_one_side_check_one_another() -> None:
    def bowed(radius: float) -> Sketch:
        sketch = Sketch({"A": (0, 0), "B": (32, 0), "C": (32, 10), "D": (0, 10)}).arc("C D", 0.5)
        for corner in "ABC":
            sketch.read("square", corner)
        sketch.read("side", "A B", 32).read("side", "B C", 10).read("radius", "C D", radius)
        return sketch.read("rise", "C D", 7.5)

    sound, odd = solve(bowed(20.816667)), solve(bowed(24))
    assert sound.outline.size == pytest.approx((32, 17.5), abs=1e-4)
    assert str(sound.size("radius", "C D")).startswith("radius C D is 20.82")
    assert not sound.doubt.wrong and "is wrong" in str(odd), str(odd)
    equations = Equations(bowed(20.8))
    x, step = equations.start, 1e-5
    for i in range(equations.size):
        move = step * (np.arange(equations.size) == i)
        change = equations.evaluate(x + move)[0] - equations.evaluate(x - move)[0]
        assert equations.evaluate(x)[1][:, i] == pytest.approx(change / (2 * step), abs=2e-6)
    alone = Sketch({"A": (0, 0), "B": (30, 0), "C": (0, 20)}).read("square", "A").arc("B C")
    alone.read("side", "A B", 30).read("side", "A C", 20).read("radius", "B C", 25)
    with pytest.raises(RepairError, match="nothing is known of rise B C; read it first"):
        solve(alone).size("rise", "B C")


def test_a_straight_side_has_no_rise_and_an_arc_that_is_too_tight_is_told() -> None:
    sketch = Sketch({"A": (0, 0), "B": (30, 0), "C": (30, 20)}).read("square", "B")
    with pytest.raises(RepairError, match="side A B is drawn straight"):
        sketch.read("rise", "A B", 3)
    sketch.arc("A C").read("side", "A B", 30).read("side", "B C", 20).read("radius", "A C", 11)
    with pytest.raises(RepairError, match="radius 11 mm does not span"):
        solve(sketch)


def test_a_disc_has_four_corners_to_measure_between() -> None:
    disc = Outline([(-10, 0, 0, 10), (10, 0, 0, 10)])
    sketch = sketch_of(disc, uncertainty=0.02)
    assert list(sketch.corners) == ["A", "B", "C", "D"]
    pulled = solve(sketch.read("diagonal", "A C", 20.4, uncertainty=1e-4)).outline
    assert pulled.size == pytest.approx((20.4, 20.4), abs=0.01)


def test_a_stretch_knows_its_shares() -> None:
    arc = Stretch(np.array([0.0, 0.0]), np.array([2.0, 0.0]), np.array([1.0, -3.0]))
    for share in (0.02, 0.3, 0.97):
        assert arc.share(arc.at(share)) == pytest.approx(share)
    assert Stretch.bowed(arc.start, arc.end, arc.bow).radius == pytest.approx(arc.radius)


def _area(ring: np.ndarray) -> float:
    x, y = ring.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2)


# -- across an arc -----------------------------------------------------------------------------


def lozenge(rise: float = 8.0) -> Sketch:
    """A plate of 40 by 20 with two rounded ends, each rising so far."""
    sketch = Sketch({"A": (0, 0), "B": (40, 0), "C": (40, 20), "D": (0, 20)})
    sketch.arc("B C", 0.9).arc("D A", 0.9)
    for kind, where, value in (("side", "AB", 40), ("side", "CD", 40), ("side", "BC", 20)):
        sketch.read(kind, where, value)
    for side in ("B C", "D A"):
        sketch.read("rise", side, rise)
    return sketch.read("square", "B").read("square", "C")


def test_an_overall_size_is_as_the_jaws_have_it_across_rounded_ends():
    solution = solve(lozenge())
    assert solution.size("overall width").value == pytest.approx(56)
    assert solution.size("overall height").value == pytest.approx(20)


def test_a_reading_across_a_rounded_end_tells_how_far_it_rises():
    across = lozenge().without("rise B C").read("overall width", "", 56)
    solution = solve(across)
    assert solution.size("rise", "B C").value == pytest.approx(8)
    assert solution.outline.size == pytest.approx((56, 20))
    wrong = solve(lozenge().read("overall width", "", 57))
    assert wrong.p_value < 0.01


def test_an_arc_that_nothing_tells_is_named_though_something_was_read_across():
    across = lozenge().without("rise B C", "rise D A").read("overall width", "", 56)
    with pytest.raises(RepairError, match="is an arc; read its rise"):
        solve(across)
    with pytest.raises(RepairError, match="side B C is an arc; read its rise"):
        solve(lozenge().without("rise B C"))


@pytest.mark.parametrize("seed", range(12))
def test_overall_sizes_of_arcs_are_those_of_the_outline_and_so_are_their_slopes(seed):
    rng = np.random.default_rng(seed)
    spots = np.array([(0, 0), (40, 0), (44, 26), (3, 22)]) + rng.normal(0, 2, (4, 2))
    sketch = Sketch(dict(zip("ABCD", map(tuple, spots), strict=True)))
    for a, b in itertools.combinations(range(4), 2):
        sketch.read("distance", ("ABCD"[a], "ABCD"[b]), math.dist(spots[a], spots[b]))
    for a, b in ((0, 1), (2, 3), (3, 0))[: int(rng.integers(1, 4))]:
        bow = float(rng.uniform(0.05, 0.9))
        side, half = ("ABCD"[a], "ABCD"[b]), math.dist(spots[a], spots[b]) / 2
        sketch.arc(side, bow)
        if rng.random() < 0.5:
            sketch.read("rise", side, bow * half)
        else:
            sketch.read("radius", side, half * (1 + bow**2) / (2 * bow))
    solution = solve(sketch)
    start, end = solution.corners["A"], solution.corners["B"]
    along = (end - start) / math.dist(start, end)
    ring = solution.outline.chords()
    for kind, way in (("overall width", along), ("overall height", along @ SQUARE.T)):
        assert solution.size(kind, "A B").value == pytest.approx(np.ptp(ring @ way), abs=0.03)
    asked = solution.adjusted.equations.asking(
        [Row(k, k, ("A", "B"), (1.0,)) for k in ("overall width", "overall height")]
    )
    x = solution.adjusted.x
    slopes = asked.evaluate(x)[1]
    for i, off in enumerate(np.eye(len(x)) * 1e-5):
        rise = (asked.evaluate(x + off)[0] - asked.evaluate(x - off)[0]) / 2e-5
        assert slopes[:, i] == pytest.approx(rise, abs=1e-4)
