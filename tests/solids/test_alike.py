"""Equal shapes that stand alike come to what the kernel makes of all of them at once."""

from __future__ import annotations

from itertools import combinations

import pytest
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from joined import is_as_the_kernel_makes_it

from workbench.errors import RepairError
from workbench.solids.building import alike
from workbench.solids.building.build import build
from workbench.solids.geometry.cache import Cache
from workbench.solids.geometry.faces import Faces
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.repeats import Ring, Row
from workbench.solids.recipe.seat import FACES, Seat

PEG = {"diameter": 3, "length": 5, "chamfer": 0.4}


def plate(**more):
    return Repair("part").add("plate", name="base", width=60, height=40, thickness=4, **more)


def spots(repair, places, template="peg", cuts=False, **values):
    """The same on each of the seats."""
    add = repair.cut if cuts else repair.add
    for number, seat in enumerate(places):
        add(template, seat, f"{template} {number}", **(values or PEG))
    return repair


def along(*places, across=0.0, on="top of base", sink=0.2, **more):
    return [Seat(on, along=place, across=across, sink=sink, **more) for place in places]


@pytest.fixture
def spared(monkeypatch):
    """Of each union and cut how many shapes were not given to the kernel."""
    counts, real = [], alike._copied

    def copied(solid, groups):
        made = real(solid, groups)
        counts.append(sum(len(group.numbers) - 1 for group in groups) if made else 0)
        return made

    monkeypatch.setattr(alike, "_copied", copied)
    return counts


def same(repair):
    """The repair's solid, which is valid and what the kernel makes of all shapes at once."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(alike, "_groups", lambda before, solids: [])
        try:
            whole = build(repair, Cache())
        except RepairError as error:
            refusal = str(error)
        else:
            refusal = ""
    if refusal:
        with pytest.raises(RepairError) as told:
            build(repair, Cache())
        assert str(told.value) == refusal
        return None
    made = build(repair, Cache())
    is_as_the_kernel_makes_it(made, whole)
    return made


ALIKE = {
    "pegs": (spots(plate(), along(-20, -10, 0, 10)), [3]),
    "pegs as one step": (
        plate().add("peg", along(0)[0], "peg", repeat=Row(5, 8), **PEG),
        [4],
    ),
    "on both sides": (
        spots(plate(), [*along(-20, -10), *along(0, 10, on="bottom of base")]),
        [3],
    ),
    "turned": (
        spots(
            plate(),
            [
                along(-20, turn=turn)[0] if not turn else along(turn / 3, turn=turn)[0]
                for turn in (0, 37, 50)
            ],
            "tab",
            width=4,
            length=5,
            thickness=2,
        ),
        [2],
    ),
    "in a ring": (
        plate().add(
            "tab", Seat("top of base", sink=0.2), "tab", repeat=Ring(5, 12), width=3, length=4
        ),
        [4],
    ),
    "holes through it": (
        spots(plate(), along(-20, -10, 0, 10, sink=9), "cylinder", True, diameter=3, height=12),
        [3],
    ),
    "blind holes": (
        spots(plate(), along(-20, -10, 0, 10, sink=2), "cylinder", True, diameter=3, height=12),
        [3],
    ),
    "pegs, then holes between them": (
        spots(
            spots(plate(), along(-20, -10, 0, 10)),
            along(-15, -5, 5, sink=9),
            "cylinder",
            True,
            diameter=3,
            height=12,
        ),
        [3, 2],
    ),
    "balls cut out of a side": (
        spots(
            plate(),
            along(-20, -9.3, 6.7, on="back of base", turn=37, sink=2.6),
            "sphere",
            True,
            diameter=3,
        ),
        [2],
    ),
    "some at the border": (spots(plate(), along(-29, -10, 0, 29.5)), [1]),
    "some that touch": (spots(plate(), along(-20, -18, 0, 10)), [1]),
    "some sunk otherwise": (spots(plate(), [*along(-20, -10), *along(0, sink=0.3)]), [1]),
    "one upon the next": (
        spots(plate(), along(-20, 0, 10)).add(
            "cylinder", Seat("top of peg 0", sink=0.2), "tip", diameter=1, height=3
        ),
        [1],
    ),
}


@pytest.mark.parametrize("case", ALIKE)
def test_equal_shapes_come_to_what_all_at_once_come_to(case, spared):
    repair, counts = ALIKE[case]
    assert same(repair)
    assert spared == counts


OTHERS = {
    "over a hole of what they stand on": lambda: plate().cut(
        "box", Seat("top of base", along=-10, sink=9), "room", width=9, depth=9, height=12
    ),
    "beside it": lambda: Repair("part").add("plate", name="base", width=14, height=40),
}


@pytest.mark.parametrize("base", OTHERS)
def test_what_stands_on_nothing_is_told_as_ever(base):
    assert same(spots(OTHERS[base](), along(0, -10, 10))) is None


def test_what_lies_within_another_is_left_to_the_kernel(spared):
    """A shape of which nothing is seen may be one that the kernel lost."""
    assert same(spots(plate(), along(-20, -10, 0, sink=3.01), "box", width=3, depth=3, height=3))
    assert spared == [0]


@pytest.mark.parametrize(("deeper", "counts"), [(1e-8, []), (1e-11, [1])])
def test_a_billionth_of_a_millimetre_deeper_is_alike(deeper, counts, spared):
    same(spots(plate(), [*along(-20), *along(0, sink=0.2 + deeper)]))
    assert spared == counts


@pytest.mark.parametrize(("gap", "counts"), [(0.01, [1]), (0.03, [2])])
def test_shapes_nearer_than_their_margins_are_left_to_the_kernel(gap, counts, spared):
    places = along(-20, -10, 3 + gap - 10, *([10] if gap < 0.02 else []))
    same(spots(plate(), places))
    assert spared == counts


def test_no_two_faces_share_what_the_kernel_notes_on_them():
    solid = same(ALIKE["pegs"][0])
    faces = Faces.of(solid.wrapped).shapes
    assert not any(one.IsPartner(other) for one, other in combinations(faces, 2))


HOSTS = {
    "plate": {"width": 50, "height": 40, "thickness": 4},
    "box": {"width": 40, "depth": 30, "height": 12},
    "cylinder": {"diameter": 40, "height": 9},
    "wedge": {},
}

SMALL = {
    "peg": PEG,
    "tab": {"width": 4, "length": 5, "thickness": 2},
    "box": {"width": 3, "depth": 4, "height": 7},
    "cylinder": {"diameter": 3, "height": 12},
    "sphere": {"diameter": 4},
    "cone": {"bottom": 4, "top": 2, "height": 6},
}


@st.composite
def rows(draw):
    """Rows of equal shapes on the faces of one, some of them holes."""
    host = draw(st.sampled_from(list(HOSTS)))
    repair = Repair("rows").add(host, name="base", **HOSTS[host])
    for number in range(draw(st.integers(1, 3))):
        kind = draw(st.sampled_from(list(SMALL)))
        add = repair.cut if draw(st.booleans()) else repair.add
        seat = Seat(
            f"{draw(st.sampled_from(FACES))} of base",
            along=draw(st.integers(-15, 5)),
            across=draw(st.integers(-8, 8)),
            sink=draw(st.sampled_from([0, 0.2, 1, 3, 9])),
            turn=draw(st.sampled_from([0, 90, 37])),
            tilt=draw(st.sampled_from([0, 0, 20])),
        )
        row = Row(draw(st.integers(2, 5)), draw(st.sampled_from([4, 6, 9.3])))
        add(kind, seat, f"{kind} {number}", repeat=row, **SMALL[kind])
    return repair


@settings(max_examples=15, phases=[Phase.explicit, Phase.generate])
@given(rows())
def test_any_rows_come_to_what_all_at_once_come_to(repair):
    same(repair)
