"""What the checks say of the shelf: the whole page is printed, and every sentence is looked at.

``python -m pytest -q -s tests/checks/test_strength_shelf.py`` prints the findings of every
shipped template, with numbers, limits, remedies and sources.
"""

from __future__ import annotations

import textwrap
from pathlib import Path

import pytest

import workbench
from workbench.checks.cautions.by_use import cautions
from workbench.checks.check import judge
from workbench.checks.report import Finding, Report
from workbench.checks.strength.loads import strength
from workbench.checks.subject import Subject
from workbench.output.notebook.template_notebook import read_template

SHELF = sorted((Path(workbench.__file__).parents[1] / "templates").glob("*.ipynb"))


@pytest.fixture(scope="module")
def subjects() -> dict[str, Subject]:
    return {path.stem: Subject.of(read_template(path)) for path in SHELF}


@pytest.fixture(scope="module")
def reports(subjects) -> dict[str, Report]:
    """The findings for each template on the shelf."""
    return {name: judge(subject) for name, subject in subjects.items()}


def told(finding: Finding) -> str:
    """A finding with everything that it carries."""
    lines = [f"{finding.severity}: {finding.rule}, at {finding.where}", finding.text]
    if finding.number is not None:
        limit = "" if finding.limit is None else f" against {finding.limit:.3g}"
        lines.append(f"= {finding.number:.3g}{limit} {finding.unit}")
    lines += [f"> {finding.remedy}"] * bool(finding.remedy)
    lines += [f"({finding.source})"] * bool(finding.source)
    return "\n      ".join(textwrap.fill(line, 100, subsequent_indent=" " * 8) for line in lines)


def test_the_page_of_findings(reports, capsys):
    with capsys.disabled():
        for name, report in reports.items():
            print(f"\n{name}: {'may be printed' if report.ok else 'stopped'}")
            for finding in report.findings:
                print("   ", told(finding))
    assert len(reports) >= 5


def test_every_finding_is_a_sentence_and_what_is_wrong_has_a_remedy(subjects):
    for name, subject in subjects.items():
        for finding in (f for rule in (strength, cautions) for f in rule(subject)):
            assert finding.text.rstrip().endswith((".", "?", '"')), (name, finding)
            assert "{" not in finding.text + finding.remedy, (name, finding)
            assert finding.where, (name, finding)
            if finding.severity != "note":
                assert finding.remedy, (name, finding)
            if finding.limit is not None:
                assert finding.number is not None and finding.unit, (name, finding)


def test_the_shelf_may_be_printed_and_holds_what_it_is_asked_to(reports):
    for name, report in reports.items():
        assert report.ok, name
        strong = [
            f for f in report.findings if f.rule in ("clip strain", "root bending", "peg shear")
        ]
        assert all(f.severity == "note" for f in strong), name
