"""Shapes that stand alone on a plane come to what the kernel makes of all of them at once."""

from __future__ import annotations

import random

import pytest
from joined import is_as_the_kernel_makes_it
from random_repairs import values

from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.building import standing
from workbench.solids.building.build import assemble, build
from workbench.solids.geometry import kernel
from workbench.solids.geometry.cache import Cache
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import FACES, At, Seat


def plate(**more):
    return Repair("part").add("plate", name="base", width=60, height=40, thickness=4, **more)


@pytest.fixture
def put_on(monkeypatch):
    """Of each union how many shapes the kernel was not asked to join."""
    counts, real = [], standing._put_on

    def counted(base, rooted):
        made = real(base, rooted)
        counts.append(len(rooted) if made else 0)
        return made

    monkeypatch.setattr(standing, "_put_on", counted)
    return counts


def same(repair):
    """What comes of the steps' shapes, which is valid and what the kernel makes of them at once."""
    parts = list(assemble(repair, Cache()).parts.values())
    solids = [solid for part in parts for solid in part.solids()]
    (made,), (whole,) = standing.union(solids), kernel.union(solids)
    is_as_the_kernel_makes_it(made, whole)


def unlike(repair, number=3, on="top of base", sink=0.2, **more):
    for i in range(number):
        seat = Seat(on, along=10 * i - 10, sink=sink)
        repair.add("peg", seat, f"peg {i}", **{"diameter": 3 + i / 10, "length": 5, **more})
    return repair


TUBE = {"outside": 8, "inside": 4, "height": 6}

#: Repairs, and how many shapes of each are put on without the kernel's union.
STANDS = {
    "pegs of three sizes": (unlike(plate()), 3),
    "one alone": (plate().add("tab", Seat("top of base", sink=0.2), "tab", width=4, length=5), 1),
    "sunk through half": (unlike(plate(), sink=2.5), 3),
    "a tube, with the plane inside it": (
        plate().add("spacer", Seat("top of base", sink=0.5), "tube", **TUBE),
        1,
    ),
    "a ball": (plate().add("sphere", Seat("top of base", sink=1.2), "ball", diameter=5), 1),
    "on a plate that stands otherwise": (unlike(plate(seat=At(3, 2, 1, turn=90))), 3),
    "on a plate that is tilted": (unlike(plate(seat=At(tilt=10))), 0),
    "on a plate that is turned by a little": (
        unlike(plate(seat=At(turn=1e-6)), on="back of base"),
        0,
    ),
    "0.03 apart": (
        plate()
        .add("peg", Seat("top of base", sink=0.2), "one", diameter=3)
        .add("peg", Seat("top of base", along=3.08, sink=0.2), "other", diameter=3.1),
        2,
    ),
    "one through another": (
        unlike(plate()).add("box", Seat("top of base", sink=0.2), "box", width=2, depth=8),
        2,
    ),
    "one at the border": (
        unlike(plate()).add("peg", Seat("top of base", along=29, sink=0.2), "last", diameter=3),
        3,
    ),
    "all flush": (unlike(plate(), sink=0), 0),
}


@pytest.mark.parametrize("name", STANDS)
def test_shapes_that_stand_alone_come_to_what_the_kernel_makes(name, put_on):
    repair, count = STANDS[name]
    same(repair)
    assert sum(put_on[-1:]) == count


@pytest.mark.parametrize("side", FACES)
def test_they_stand_on_every_side(side, put_on):
    same(unlike(plate(), 2, on=f"{side} of base", diameter=1.5))
    assert put_on[-1] == 2


@pytest.mark.parametrize(("gap", "count"), [(0.0005, 0), (0.002, 1)])
def test_a_face_that_all_but_touches_is_left_to_the_kernel(gap, count, put_on):
    from build123d import Solid

    base = Solid.make_box(40, 40, 4)
    foot = Solid.make_box(6, 6, 5).translate((17, 17, 2))
    flange = Solid.make_box(12, 12, 2).translate((14, 14, 4 + gap))
    standing.union([base, kernel.union([foot, flange])[0]])
    assert sum(put_on) == count


@pytest.mark.parametrize("template", sorted(catalogue.names()))
def test_every_template_stands_as_the_kernel_joins_it(template):
    chance = random.Random(template)
    big = Repair("part").add("box", name="base", width=300, depth=300, height=60)
    for _try in range(3):
        try:
            repair = big.add(
                template,
                Seat("top of base", sink=chance.choice([0.2, 1.1, 7])),
                "one",
                **values(template, chance),
            )
            assemble(repair, Cache())
        except RepairError:
            continue
        same(repair)
        return


def test_what_does_not_close_is_left_to_the_kernel(monkeypatch, put_on):
    repair = unlike(plate())
    whole = build(repair, Cache()).volume
    assert put_on == [3]
    monkeypatch.setattr(standing, "closed", lambda faces: None)
    assert build(repair, Cache()).volume == pytest.approx(whole, rel=1e-9)
    assert put_on == [3, 0]
