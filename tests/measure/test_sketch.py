"""Sketches: what they take, what they refuse, and their record."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given, settings
from shapes import outlines

from workbench.errors import RepairError
from workbench.measure.outlines.outline import trapezoid
from workbench.measure.reading import Reading
from workbench.measure.sketches.sketch import Sketch, Trace, corner_names, sketch_of
from workbench.measure.sketches.table_row import KINDS


@pytest.fixture
def sketch():
    return Sketch({"A": (0, 0), "B": (30, 0), "C": (25, 40), "D": (-5, 45)}).circle("H", 10, 10)


@pytest.mark.parametrize("where", ["A C", "AC", "A, C", "from A to C", ("A", "C"), ["A", "C"]])
def test_a_place_is_read_as_one_says_it(sketch, where):
    assert sketch.read("diagonal", where, 47).rows[0].where == ("A", "C")


def test_names_say_kind_and_place(sketch):
    sketch.read("height", "D A B", 45).read("offset", "DAB", -5).read("overall width", "", 35)
    sketch.read("parallel", "A B D C").read("sum", "side AB + offset D A B", 30)
    assert [row.name for row in sketch.rows] == [
        "height D over A B",
        "offset D along A B",
        "overall width",
        "parallel A B and D C",
        "side A B plus offset D along A B",
    ]


def test_a_size_read_twice_counts_twice_under_another_name(sketch):
    sketch.read("side", "AB", 30).read("side", "AB", 30.1)
    assert [row.name for row in sketch.rows] == ["side A B", "side A B (2)"]
    with pytest.raises(RepairError, match="already a reading 'side A B'"):
        sketch.read("side", "AB", 30.2, name="side A B")


@pytest.mark.parametrize(
    ("value", "mm"),
    [
        (35, 35.0),
        ("34,9", 34.9),
        ("1 3/8 in", 34.925),
        ([45.9, 46.1], 46.0),
        (Reading("3.5", unit="cm"), 35.0),
    ],
)
def test_values_as_a_reading_takes_them(sketch, value, mm):
    assert sketch.read("side", "AB", value).rows[0].value == pytest.approx(mm)


def test_angles_are_degrees(sketch):
    row = sketch.read("angle", "B", ["63,5°", 64.5]).rows[0]
    assert (row.value, row.measures, row.instrument) == (64, "°", "protractor")
    assert row.sigma() == pytest.approx(math.hypot(1 / math.sqrt(12), 0.5))


def test_the_doubt_about_a_reading(sketch):
    sketch.read("side", "AB", 30).read("side", "BC", [40, 40, 40]).read(
        "side", "CD", 30, uncertainty=0.5
    )
    one, repeated, given_one = sketch.rows
    step = 0.01 / math.sqrt(12)
    assert one.sigma() == pytest.approx(Reading(30).uncertainty)
    assert one.sigma(setting=0) == pytest.approx(step)
    assert repeated.sigma(0.05) == pytest.approx(Reading([40, 40, 40]).uncertainty_by(0.05))
    assert given_one.sigma() == 0.5
    scattered = sketch.read("side", "DA", [45, 46], instrument="ruler").rows[-1]
    assert scattered.sigma() == pytest.approx(Reading([45, 46], "ruler").uncertainty)


def test_statements_hold_exactly_unless_softened(sketch):
    sketch.read("square", "B").read("square", "C", uncertainty=0.2)
    assert [row.exact for row in sketch.rows] == [True, False]
    assert sketch.rows[1].sigma() == 0.2


@pytest.mark.parametrize(
    ("call", "told"),
    [
        (("sides", "AB", 30), "'sides' is not a kind of reading; use one of side, diagonal"),
        (("side", "A E", 30), "side A E: there is no corner 'E'; corners: A, B, C, D, H"),
        (("side", "A", 30), 'side needs 2 corners, such as "A B"'),
        (("side", "A A", 30), "names one corner twice"),
        (("height", "A over A B", 30), "names one corner twice"),
        (("side", "A C", 30), "A and C are not neighbours; call it a diagonal"),
        (("side", "A B", 0), "side A B is 0 mm; give more than 0, or leave a corner out"),
        (("side", "A B", -3), "side A B is -3 mm"),
        (("side", "A B", "wide"), "side A B: reading 'wide' is not a length"),
        (("side", "A B", "3/8"), "side A B: reading '3/8' is a fraction without a unit"),
        (("side", "A B", math.nan), "not a length"),
        (("side", "A B", None), "side A B has no value; read it again"),
        (("angle", "B", 0), "angle B is 0°; give more than 0° and less than 360°"),
        (("angle", "B", "steep"), "angle B is 'steep'; give degrees"),
        (("angle", "B", math.inf), "give degrees"),
        (("square", "B", 90), "square B needs no value"),
        (("diagonal", "A H", 30), "H is a circle; name a corner there"),
        (("diameter", "A", 30), "A is a corner; a diameter needs a circle"),
        (("sum", "", 30), "sum names no sizes"),
        (("sum", "width A B plus side B C", 30), "'width A B' is not a size"),
        (("sum", "side A B plus square B", 30), "'square B' is not a size"),
    ],
)
def test_what_is_no_reading_is_told_in_words(sketch, call, told):
    before = sketch.rows
    with pytest.raises(RepairError, match=told):
        sketch.read(*call)
    assert sketch.rows == before


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ({"instrument": "laser"}, "instrument is 'laser'; give one of calipers"),
        ({"unit": "ell"}, "unit is 'ell'; give one of mm, cm, in"),
        ({"uncertainty": -1}, "uncertainty is -1; give a number above 0"),
        ({"uncertainty": math.nan}, "uncertainty is nan"),
        ({"rim": "left"}, "rim is 'left'; give one of near, far, centre"),
    ],
)
def test_what_is_wrong_with_how_it_was_read(sketch, how, told):
    with pytest.raises(RepairError, match=told):
        sketch.read("side", "A B", 30, **how)


@pytest.mark.parametrize(
    ("edit", "told"),
    [
        (lambda s: s.corner("two words", 1, 1), "give a letter or one word"),
        (lambda s: s.corner("over", 1, 1), "corner name is 'over'"),
        (lambda s: s.corner("H", 1, 1), "H is a corner and a circle"),
        (lambda s: s.corner("E", math.nan, 1), "give two numbers of at most"),
        (lambda s: s.corner("E", "left", 1), "give two numbers of at most"),
        (lambda s: s.corner("E", 30, 0), "B and E are drawn at the same spot"),
        (lambda s: s.remove("side A B"), "no reading 'side A B'; readings: none yet"),
        (lambda s: Sketch(setting=-1), "setting is -1 mm"),
    ],
)
def test_bad_edits_are_told_in_words(sketch, edit, told):
    with pytest.raises(RepairError, match=told):
        edit(sketch)


def test_reading_again_keeps_the_place(sketch):
    sketch.read("height", "D over A B", 45, instrument="ruler")
    sketch.change("height D over A B", "44,5")
    row = sketch.row("height D over A B")
    assert (row.value, row.instrument, row.where) == (44.5, "ruler", ("D", "A", "B"))
    sketch.change("height D over A B", uncertainty=0.3)
    assert sketch.row("height D over A B").sigma() == 0.3
    with pytest.raises(RepairError, match="-1 mm"):
        sketch.change("height D over A B", -1)
    assert sketch.row("height D over A B").value == 44.5


def test_a_corner_is_erased_once_no_reading_names_it(sketch):
    sketch.read("side", "AB", 30).read("sum", "side A B plus offset D along A B", 40)
    with pytest.raises(RepairError, match="D is in side A B plus offset D along A B; remove"):
        sketch.erase("D")
    sketch.erase("C").erase("H")
    assert (list(sketch.corners), sketch.circles) == (["A", "B", "D"], {})
    with pytest.raises(RepairError, match="no corner 'C'; corners: A, B, D"):
        sketch.erase("C")


@pytest.mark.parametrize("corners", [{"A": 1}, {"A": (1, 2, 3)}, "ABC", [1, 2]])
def test_what_is_no_drawing_is_told(corners):
    with pytest.raises(RepairError, match="names with two numbers each"):
        Sketch(corners)


def test_a_copy_is_independent(sketch):
    sketch.read("side", "AB", 30)
    other = sketch.without("side A B")
    other.corner("E", 1, 20)
    assert len(sketch.rows) == 1
    assert "E" not in sketch.corners


def test_the_base_is_the_lowest_side_left_end_first():
    assert Sketch({"A": (0, 30), "B": (30, 30), "C": (30, 0), "D": (1, 1)}).base == ("D", "C")


def test_the_record_gives_an_equal_sketch_back(sketch):
    sketch.read("side", "AB", ["1 3/8 in", 35], name="bottom").read("square", "B")
    sketch.read("height", "H over A B", 9, rim="far", uncertainty=0.1).read("angle", "C", 80)
    sketch.read("sum", "side A B minus offset D along A B", 40).read("diameter", "H", 4)
    sketch.trace = Trace(0.1, 0.02, ({"A": (0.1, -0.2)},))
    text = json.dumps(sketch.to_dict())
    assert Sketch.from_dict(json.loads(text)) == sketch


@pytest.mark.parametrize(
    ("damage", "told"),
    [
        (lambda d: d.pop("corners"), "damaged at corners"),
        (lambda d: d["readings"][1].pop("kind"), "damaged at readings 2"),
        (lambda d: d["readings"][0].update(where=["A", "Z"]), "no corner 'Z'"),
        (lambda d: d["readings"][0].update(values=["x"]), "damaged at readings 1"),
        (lambda d: d["readings"][0].update(instrument="laser"), "instrument is 'laser'"),
        (lambda d: d["readings"][1].update(name="side A B"), "already a reading"),
    ],
)
def test_a_damaged_record_says_where(sketch, damage, told):
    data = json.loads(json.dumps(sketch.read("side", "AB", 30).read("side", "BC", 40).to_dict()))
    damage(data)
    with pytest.raises(RepairError, match=told):
        Sketch.from_dict(data)


@given(outlines())
@settings(max_examples=15, deadline=None)
def test_a_sketch_of_an_outline_has_its_corners(outline):
    sketch = sketch_of(outline)
    assert list(sketch.corners) == corner_names(len(outline))
    assert list(sketch.corners.values()) == [pytest.approx(tuple(p)) for p in outline.points]


def test_names_for_a_sketch_of_an_outline():
    outline = trapezoid(46, 37, 71, -7)
    assert list(sketch_of(outline, "PQRS").corners) == ["P", "Q", "R", "S"]
    assert sketch_of(outline, uncertainty=0.1).trace == Trace(0.1, 0.01)
    for names, told in (("PQR", "3 names for 4 corners"), ("PQRP", "same name")):
        with pytest.raises(RepairError, match=told):
            sketch_of(outline, names)
    with pytest.raises(RepairError, match="uncertainty is 0; give more than 0 mm"):
        sketch_of(outline, uncertainty=0)


def test_corner_names_are_all_different():
    names = corner_names(60)
    assert len(set(names)) == 60
    assert not {"I", "O"} & set(names)


def test_every_kind_has_an_example_that_works(sketch):
    for kind, (_count, example) in KINDS.items():
        value = None if kind in ("parallel", "square", "equal", "in line", "sum") else 30
        if kind == "rise":  # it is of a side that is drawn as an arc
            sketch.arc(example)
        sketch.read(kind, example, value)
    assert len(sketch.rows) == len(KINDS)
