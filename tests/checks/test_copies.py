"""A function of the user's own is judged as a shipped one: no check goes by a template's name."""

from __future__ import annotations

import ast
import inspect
import types
from functools import cache
from pathlib import Path
from typing import Annotated

import pytest
from build123d import Solid
from parts import WHOLE
from turns import turn

import workbench
from workbench.checks.fit.coupon import coupon, triable
from workbench.checks.fit.fit_report import fits
from workbench.checks.fit.printed_size import measured
from workbench.checks.strength.duties import duties
from workbench.checks.strength.loads import strength
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.solids import catalogue
from workbench.solids.facts import facts_of
from workbench.solids.parameters import Size
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.service import Load

SHIPPED = WHOLE


@cache
def copied(name: str) -> str:
    """A copy of a shipped function under another name, without what stands beside it.

    It is made once for all the tests: to be found alike, its solids are built.
    """
    function = inspect.unwrap(catalogue.find(name).function)
    copy = types.FunctionType(
        function.__code__, function.__globals__, f"own_{name}", function.__defaults__, None
    )
    copy.__annotations__ = dict(function.__annotations__)
    copy.__doc__ = function.__doc__
    copy.__kwdefaults__ = function.__kwdefaults__
    copy.__module__ = "mine"
    copy.__qualname__ = f"own_{name}"
    return catalogue.find(copy).name


@pytest.mark.parametrize("name", turn(SHIPPED, 0))
def test_a_copy_has_the_same_facts_and_measures_the_same(name):
    copy = copied(name)
    assert facts_of(copy) == facts_of(name)
    repair = Repair("both").add(name, name="it").add(copy, name="other")
    for parameter in catalogue.find(name).parameters:
        if isinstance(parameter.kind, Size) and parameter.kind.unit == "mm":
            one, other = (measured(repair.step(step), parameter.name) for step in ("it", "other"))
            assert one == other, parameter.name


@pytest.mark.parametrize("name", turn(SHIPPED, 1))
def test_a_copy_gets_the_same_fits_loads_and_duties(name):
    def told(template: str) -> list:
        repair = Repair("part").add("box", name="body", width=60, depth=60, height=6)
        repair.add(template, seat=Seat("top of body", sink=0.2), name="it")
        repair.loads = (Load("it", 20, (0, 1, 0)), Load("body", 20, (1, 0, 0)))
        for parameter in catalogue.find(template).parameters:
            if (
                isinstance(parameter.kind, Size)
                and parameter.kind.unit == "mm"
                and parameter.default > 0
            ):
                repair.fit("it", parameter.name, parameter.default)
        subject = Subject.of(repair)
        return [*strength(subject), *duties(subject), *fits(subject)]

    assert told(copied(name)) == told(name)


@pytest.mark.parametrize("name", turn(SHIPPED, 2))
def test_a_copy_gets_the_same_comb(name):
    def comb(template: str, field: str):
        made = coupon(Repair("part").add(template, name="it"), "it", field, [-0.1, 0, 0.1])
        return [(step.template, step.values, step.place, step.cuts) for step in made.steps]

    copy = copied(name)
    for parameter in catalogue.find(name).parameters:
        step = Repair("part").add(name, name="it").step("it")
        try:
            triable(step, parameter.name)
            expected = comb(name, parameter.name)
        except RepairError:
            continue
        assert comb(copy, parameter.name) == expected, parameter.name


def test_a_function_that_calls_a_shipped_one_is_judged_by_its_shape():
    from workbench.solids.templates.spacer import spacer

    def ring(
        bore: Annotated[float, Size(1, 40, 0.05)] = 5.0,
        rim: Annotated[float, Size(2, 60, 0.05)] = 12.0,
        high: Annotated[float, Size(1, 60, 0.05)] = 6.0,
    ):
        return spacer(inside=bore, outside=rim, height=high)

    ring.__annotations__ = {"bore": Annotated[float, Size(1, 40, 0.05)], "rim": Annotated[float, Size(2, 60, 0.05)], "high": Annotated[float, Size(1, 60, 0.05)]}  # fmt: skip
    own = Repair("own").add(ring, name="it", bore=5.0).fit("it", "bore", 5.0)
    shipped = Repair("own").add("spacer", name="it", inside=5.0, outside=12.0, height=6.0)
    shipped.fit("it", "inside", 5.0)
    (mine,), (theirs,) = (list(fits(Subject.of(repair))) for repair in (own, shipped))
    assert mine.number == theirs.number and mine.severity == theirs.severity
    assert (
        mine.fix["steps"]["it"]["values"]["bore"] == theirs.fix["steps"]["it"]["values"]["inside"]
    )
    assert mine.fix["steps"]["it"]["values"]["bore"] > 5.0


def test_a_radius_is_judged_as_no_diameter():
    def collar(
        r: Annotated[float, Size(0.5, 40, measure="half the hole")] = 2.5,
        bore: Annotated[float, Size(0, 40, measure="across the hole")] = 0.0,
    ) -> Solid:
        """A collar."""
        return Solid.make_cylinder(9, 6) - Solid.make_cylinder(bore / 2 or r, 6)

    own = catalogue.find(collar).name
    repair = Repair("part").add(own, name="it", r=2.7).fit("it", "r", 5.0)
    assert ["radius" in found.text for found in fits(Subject.of(repair))] == [True]
    repair = Repair("part").add(own, name="it", bore=5.4).fit("it", "bore", 5.0)
    shipped = Repair("part").add("spacer", name="it", inside=5.4).fit("it", "inside", 5.0)
    (one,), (other,) = fits(Subject.of(repair)), fits(Subject.of(shipped))
    assert one.number == other.number and "radius" not in one.text


def test_no_check_names_a_template():
    """A comb is made of tabs, pegs, boxes and cylinders; nothing else compares such a name."""
    folder = Path(workbench.__file__).parent / "checks"
    named = set()
    for path in sorted(folder.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Compare):
                texts = [n.value for n in ast.walk(node) if isinstance(n, ast.Constant)]
                about = ast.dump(node.left) + "".join(map(ast.dump, node.comparators))
                if "template" in about and set(texts) & set(SHIPPED):
                    named.add((path.name, *texts))
    assert {each for each in named if each[0] != "coupon.py"} == set()
