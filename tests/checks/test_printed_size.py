"""How sizes of the smaller templates are printed: outside or inside, level or up through layers."""

from __future__ import annotations

import pytest

from workbench.checks.fit.printed_size import is_inside, is_round, printed_as
from workbench.checks.subject import Subject
from workbench.solids.recipe.repair import Repair

UP, LEFT, BACK_DOWN = (0.0, 0.0, -1.0), (-1.0, 0.0, 0.0), (0.0, 1.0, 0.0)


@pytest.mark.parametrize(
    ("template", "field", "down", "feature"),
    [
        ("spacer", "inside", UP, "hole"),
        ("spacer", "outside", UP, "outside"),
        ("spacer", "height", UP, "height"),
        ("knob", "shaft", UP, "hole"),
        ("knob", "across_flat", UP, "slot"),
        ("pin", "diameter", UP, "outside"),
        ("pin", "length", (0.0, -1.0, 0.0), "outside"),
        ("stop", "height", UP, "height"),
        ("stop", "width", LEFT, "height"),
        ("hook", "opening", UP, "gap"),
        ("hook", "opening", LEFT, "slot"),
        ("guide", "cable", BACK_DOWN, "hole"),
        ("guide", "mouth", BACK_DOWN, "slot"),
        ("foot", "height", UP, "height"),
        ("strike", "opening_width", UP, "slot"),
        ("strike", "width", UP, "outside"),
    ],
)
def test_a_size_is_printed_as_it_lies(template, field, down, feature):
    repair = Repair(template).add(template)
    repair.down = down
    assert printed_as(Subject.of(repair), template, field).feature == feature


def test_a_fit_on_a_knob_s_bore_is_proposed_larger_than_its_shaft():
    from workbench.checks.fit.trials import next_size

    knob = Repair("knob").add("knob").fit("knob", "shaft", "6.0 mm", "clearance")
    step = knob.step("knob")
    assert is_round(step, "shaft") and is_inside(step, "shaft")
    assert next_size(knob, "knob", "shaft").size > 6.0


@pytest.mark.parametrize("material", ["PLA", "PETG"])
@pytest.mark.parametrize(
    "template", ["spacer", "knob", "pin", "stop", "hook", "guide", "foot", "strike"]
)
def test_the_defaults_print_as_they_are(template, material):
    from workbench.checks.check import check

    report = check(Repair(template, material=material).add(template))
    assert report.ok
    assert [f.text for f in report.findings if f.severity != "note"] == []


@pytest.mark.parametrize(("template", "axis"), [("pin", 1), ("hook", 0)])
def test_pins_and_hooks_lie_down_so_that_their_layers_do_not_part(template, axis):
    from workbench.checks.check import check

    best = check(Repair(template).add(template)).orientations[0]
    assert abs(best.down[axis]) == pytest.approx(1)
    assert best.grams == 0
