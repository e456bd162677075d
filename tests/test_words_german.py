"""The German catalogue says all that the English sentences say, and the tool speaks it."""

from __future__ import annotations

import os
import re
import subprocess
import sys

import pytest

from workbench.checks.check import judge
from workbench.checks.report import Subject
from workbench.errors import RepairError
from workbench.locale import collect
from workbench.output.summary import summary
from workbench.solids.repair import Repair
from workbench.words import _, measured, number

PATH = collect.LOCALES / "de" / "LC_MESSAGES" / "workbench.po"


@pytest.fixture(scope="module")
def german():
    return collect.stored(PATH)


@pytest.fixture
def in_german(monkeypatch):
    monkeypatch.setenv("WORKBENCH_LANGUAGE", "de")


def placeholders(text: str) -> set[str]:
    return set(re.findall(r"\{\{|\}\}|\{[^{}]*\}", text))


def told(messages) -> str:
    return "; ".join(messages)


def test_every_sentence_has_its_german_or_waits_among_a_few(german):
    """A new sentence shows in English until it is translated; more than one in 50 is too many."""
    said = {(m.id, m.context) for m in german if m.id and m.string}
    asked = [m for m in collect.collected() if m.id]
    missing = sorted(m.id for m in asked if (m.id, m.context) not in said)
    print(f"{len(missing)} of {len(asked)} wait for their German: {told(missing)}")
    assert len(missing) <= len(asked) / 50, "run python -m workbench.locale.collect and translate"


def test_nothing_in_german_is_a_guess(german):
    assert not told(str(m.id) for m in german if m.id and m.fuzzy)


def test_german_fills_in_the_same_values(german):
    done = [m for m in german if m.id and m.string]
    wrong = [m.id for m in done if placeholders(m.id) != placeholders(str(m.string))]
    assert not told(wrong)


def test_german_keeps_the_spaces_that_join_words(german):
    def ends(text):
        return text[:1] == " ", text[-1:] == " "

    assert not told(m.id for m in german if m.string and m.id and ends(m.id) != ends(str(m.string)))


def test_what_the_tool_reads_was_made_from_what_the_translator_wrote(german):
    assert PATH.with_suffix(".mo").read_bytes() == collect.compiled(german)


def test_texts_that_are_data_are_collected():
    texts = collect.in_data()
    assert {"through the blade", "clearance", "top", "fin", "calipers"} <= texts
    assert any("Acetone" in text for text in texts)


def test_a_check_and_a_refusal_are_german(in_german):
    repair = Repair("Trennsteg").add("fin", name="Blatt", thickness=0.5)
    report = judge(Subject.of(repair))
    text = " ".join(summary(repair, report).split())
    assert "Schritte: 1" in text and "Lage auf dem Bett" in text
    assert "Die dünnste Wand ist 0,5 mm, 3 Schichten von 0,2 mm" in text
    with pytest.raises(RepairError, match=r"gib 0,4 bis 60 mm an \(durch das Blatt\)"):
        repair.change("Blatt", thickness=-3)


def test_right_is_a_side_or_how_a_print_went(in_german):
    assert _("right") == "rechts"
    assert _("right", "outcome") == "passt"


def test_numbers_have_the_decimal_mark_of_the_language(in_german):
    assert (number(34.85), measured(71), number(1200, 0)) == ("34,85", "71,0", "1200")


def test_the_command_speaks_german():
    answer = subprocess.run(
        [sys.executable, "-c", "from workbench.cli import main; main()", "--help"],
        env={**os.environ, "WORKBENCH_LANGUAGE": "de", "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
    assert answer.returncode == 0 and "Messschieber" in answer.stdout
