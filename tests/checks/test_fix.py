"""Fixes: edits as plain data that a button or the command carries out."""

from __future__ import annotations

import json

import pytest

from workbench import Repair, RepairError, Seat, check
from workbench.checks.fix import apply, in_words, moved, resized
from workbench.checks.report import Finding, Report
from workbench.solids.recipe.seat import At


def divider() -> Repair:
    return (
        Repair("divider")
        .add("fin", name="blade")
        .add("tab", Seat("bottom of blade", sink=0.2), "foot", thickness=2.4)
    )


def test_a_fix_is_plain_json_and_changes_only_what_it_names():
    fix = {**resized("foot", thickness=2.35), "material": "PETG", "rounding": 0.5}
    before = divider()
    after = apply(json.loads(json.dumps(fix)), divider())
    assert after.step("foot").values == {**before.step("foot").values, "thickness": 2.35}
    assert (after.material, after.rounding) == ("PETG", 0.5)
    assert after.step("blade") == before.step("blade")


def test_a_place_keeps_what_the_fix_does_not_name():
    repair = divider()
    apply(moved(repair.step("foot"), along=3.0), repair)
    assert repair.step("foot").place == Seat("bottom of blade", along=3.0, sink=0.2)
    apply({"steps": {"foot": {"at": {"x": 9.0}}}}, repair)
    assert repair.step("foot").place == At(9.0)


def test_a_step_goes_and_a_way_up_is_taken_back():
    repair = divider()
    repair.down = (0.0, 0.0, -1.0)
    apply({"steps": {"foot": None}, "down": None}, repair)
    assert [step.name for step in repair.steps] == ["blade"]
    assert repair.down is None


@pytest.mark.parametrize(
    "fix",
    [
        {"colour": "red"},
        resized("leg", thickness=2.0),
        resized("foot", thickness=-1.0),
        resized("foot", girth=1.0),
        {"material": "cheese"},
        {"down": [0, 0, 0]},
    ],
)
def test_what_cannot_be_is_refused(refused, fix):
    refused(apply, fix, divider())


def test_a_button_says_verb_and_object():
    assert in_words(resized("foot", thickness=2.35), divider()) == "Set foot thickness to 2.35 mm"
    assert in_words({"down": [0, -1, 0]}, divider()) == "Lay it on its front"
    assert in_words({"steps": {"foot": None}}, divider()) == "Remove foot"
    assert in_words({"material": "PETG"}, divider()) == "Print it in PETG"


def test_a_report_names_the_rules_that_have_a_fix(refused):
    given = {"severity": "note", "where": "foot", "text": "x."}
    report = Report(
        (
            Finding(rule="fit", fix=resized("foot", thickness=2.4), **given),
            Finding(rule="use", **given),
        )
    )
    assert report.fix_for("fit").fix == resized("foot", thickness=2.4)
    with pytest.raises(RepairError, match="fixes are offered for: fit"):
        report.fix_for("use")


def test_a_chosen_way_up_that_does_not_fit_the_bed_is_laid_another_way():
    tall = Repair("post", printer="generic 120", down=(0, 0, -1)).add(
        "box", width=20, depth=20, height=125
    )
    (finding,) = [f for f in check(tall).findings if f.rule == "fits the bed"]
    assert finding.severity == "stop" and finding.fix is not None
    assert not [
        f
        for f in check(apply(finding.fix, tall.copy())).findings
        if f.rule == "fits the bed" and f.severity == "stop"
    ]
