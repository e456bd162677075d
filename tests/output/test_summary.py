"""A repair in plain lines: what a terminal shows."""

from __future__ import annotations

from workbench import Repair, build
from workbench.checks.report import Finding, Report
from workbench.checks.subject import Subject
from workbench.output.notebook.summary import summary

FINDINGS = (
    Finding(
        severity="stop",
        rule="fits the bed",
        where="plate",
        text="It is too wide.",
        remedy="Turn it.",
    ),
    Finding(severity="note", rule="brim", where="plate", text="A brim is wise."),
)


def test_it_says_size_volume_mass_and_every_finding_in_order() -> None:
    subject = Subject.of(Repair("shelf").add("plate", width=60, height=20, thickness=3))
    said = summary(subject, Report(FINDINGS))
    assert "shelf (PLA, generic 220), steps: 1" in said
    assert "size 60.0 x 20.0 x 3.0 mm, volume 3600 mm³, mass if solid 4.46 g" in said  # 1.24 g/cm³
    assert said.index("STOP     It is too wide.") < said.index("> Turn it.")
    assert said.index("> Turn it.") < said.index("note     A brim is wise.")


def test_no_line_is_wider_than_asked() -> None:
    said = summary(Repair("shelf").add("plate"), width=50)
    assert max(len(line) for line in said.splitlines()[3:]) <= 50


def test_the_checks_are_run_where_no_report_is_given() -> None:
    repair = Repair("long").add("plate", width=400, height=20)
    assert f"volume {build(repair).volume:.0f} mm³" in summary(repair)
    assert "STOP" in summary(repair)
