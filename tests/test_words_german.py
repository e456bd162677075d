"""The German catalogues say all that the English sentences say, and the tool speaks it."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys

import pytest
from babel.messages.mofile import read_mo

from workbench.checks.check import judge
from workbench.checks.fit.coupon import sizes_of
from workbench.checks.fit.reading_spread import readings_agree
from workbench.checks.fit.smallest_change import Lever, changes
from workbench.checks.fit.trials import label
from workbench.checks.report import RULE_NAMES
from workbench.checks.subject import Subject
from workbench.errors import RepairError
from workbench.locale import collect
from workbench.measure.reading import Reading
from workbench.output.notebook import shelf
from workbench.output.notebook.beginning import beginning
from workbench.output.notebook.summary import summary
from workbench.output.notebook.template_notebook import open_template, read_template, start
from workbench.output.roster.roster import open_roster
from workbench.solids.catalogue import find
from workbench.solids.recipe.changes import edit_in_words
from workbench.solids.recipe.repair import Repair
from workbench.words import DOMAIN, LESSONS, _, measured, number

DOMAINS = (DOMAIN, LESSONS)

#: A text without its German is shown in English and printed here; a release has none.
RELEASE = "WORKBENCH_RELEASE" in os.environ

#: Texts and words that are the same in both languages.
SAME = {"Mazlan et al., J. Adv. Ind. Technol. Appl., 2020, 38-47", "doi 10.1089/3dp.2020.0109"}
SAME_WORDS = {
    "in",
    "material",
    "min",
    "minus",
    "mm",
    "name",
    "notebook",
    "parallel",
    "plus",
    "radius",
}


def path_of(domain: str):
    return collect.LOCALES / "de" / "LC_MESSAGES" / f"{domain}.po"


@pytest.fixture(scope="module", params=DOMAINS)
def domain(request):
    return request.param


@pytest.fixture(scope="module")
def german(domain):
    return collect.stored(path_of(domain))


@pytest.fixture
def in_german(monkeypatch):
    monkeypatch.setenv("WORKBENCH_LANGUAGE", "de")


def placeholders(text: str) -> list[str]:
    return sorted(re.findall(r"\{\{|\}\}|\{[^{}]*\}|%(?:\(\w+\))?[sdr]", text))


def words_of(text: str) -> set[str]:
    """The words in a text, without placeholders and single letters."""
    return {word.lower() for word in re.findall(r"[^\W\d_]{2,}", re.sub(r"\{[^{}]*\}", "", text))}


def told(messages) -> str:
    return "; ".join(map(str, messages))


def test_every_text_has_its_german(german, domain):
    said = {(m.id, m.context) for m in german if m.id and m.string}
    asked = [m for m in collect.collected(domain) if m.id]
    missing = sorted(m.id for m in asked if (m.id, m.context) not in said)
    print(f"{domain}: {len(asked) - len(missing)} of {len(asked)} texts are in German")
    print(*missing, sep="\n")
    if RELEASE:
        assert not missing, f"python -m workbench.locale.collect, then translate: {told(missing)}"


def test_nothing_in_german_is_a_guess_or_has_a_plural_that_is_not_looked_up(german):
    assert not told(m.id for m in german if m.id and (m.fuzzy or m.pluralizable))


def test_german_fills_in_the_same_values(german):
    said = (m for m in german if m.id and m.string)
    assert not told(m.id for m in said if placeholders(m.id) != placeholders(m.string))


def test_no_german_is_the_english_again(german):
    same = {m.id for m in german if m.id and m.string == m.id} - SAME
    assert not told(text for text in same if words_of(text) - SAME_WORDS)


def test_german_keeps_the_spaces_that_join_words_and_has_no_english_quotes(german):
    def ends(text):
        return text[:1] == " ", text[-1:] == " "

    said = [m for m in german if m.id and m.string]
    assert not told(m.id for m in said if "{" in m.id and ends(m.id) != ends(m.string))
    assert not told(
        m.string for m in said if "“" in m.id or m.string.count("„") != m.string.count("“")
    )


def test_what_the_tool_reads_was_made_from_what_the_translator_wrote(german, domain):
    with path_of(domain).with_suffix(".mo").open("rb") as file:
        read = read_mo(file)
    assert {(m.id, m.context): m.string for m in read if m.id} == {
        (m.id, m.context): m.string for m in german if m.id and m.string and not m.fuzzy
    }


def test_texts_that_are_data_are_collected():
    texts = collect.in_data() | set(collect.in_code())
    assert {"through the blade", "clearance", "top", "fin", "calipers", "measure again"} <= texts
    assert any("Acetone" in text for text in texts)


def test_every_rule_has_a_name_to_state_it_under():
    rules = set()
    for repair in (
        Repair("ring", uses=("food", "heat 200", "weight", "outdoors")).add("fin", thickness=0.4),
        Repair("far too long").add("box", width=390, depth=1, height=1).add("clip", name="arm"),
    ):
        rules |= {finding.rule for finding in judge(Subject.of(repair)).findings}
    assert len(rules) > 8 and rules <= set(RULE_NAMES)


def test_a_check_and_a_refusal_are_german(in_german):
    repair = Repair("Trennsteg").add("fin", name="Wand", thickness=0.5)
    report = judge(Subject.of(repair))
    text = " ".join(summary(repair, report).split())
    assert "Schritte: 1" in text and "Lage auf dem Bett: " in text
    assert "Die dünnste Wand ist 0,5 mm, 3 Schichten von 0,2 mm" in text
    with pytest.raises(RepairError, match=r"^Wand: Dicke ist -3 mm; gib 0,4 bis 60 mm an"):
        repair.change("Wand", thickness=-3)


def test_a_fit_and_a_coupon_call_a_size_as_its_box_does(in_german):
    repair = Repair("Haken").add("hook", name="Haken", back=Reading([32, 34]))
    repair.fit("Haken", "back", Reading([33, 36]))
    step, said = repair.step("Haken"), find("hook").parameter("back").said
    assert said != _("back"), "the same word has another meaning here"
    findings = list(readings_agree(Subject.of(repair)))
    assert len(findings) == 2 and all(said in finding.text for finding in findings)
    assert label(step, "back") == said
    changed = changes(repair, step, lambda sizes: 40 - sizes["back"], 0, [Lever("back", True)])
    assert said in changed.words[0]
    rows = [json.loads(one.to_json()) for one in (repair, repair.copy().change("Haken", back=40))]
    assert edit_in_words(*rows) == _("{field} of {step}").format(field=said, step="Haken")
    with pytest.raises(RepairError, match=f"^Haken: .*{said}.*: 9 "):
        sizes_of(step, "back", range(9))


def test_words_are_taken_in_german_and_kept_in_english(in_german):
    repair = shelf.stated(
        Repair("Haken").add("plate", fit="fein", countersink="ja"),
        ["Wärme 70", "food"],
        ["Kleinteile=Nur Erwachsene nutzen ihn"],
    )
    assert repair.uses == ("heat 70", "food")
    assert repair.statements == {"small parts": "Nur Erwachsene nutzen ihn"}
    assert (repair.steps[0].values["fit"], repair.steps[0].values["countersink"]) == ("fine", True)


def test_a_roster_may_have_german_headings(in_german, tmp_path):
    path = tmp_path / "kurs.csv"
    path.write_text("Vorlage;Teilnehmer;Drucker;blade_bottom (mm)\ntray-divider;Mia;;36,0\n")
    (row,) = open_roster(path).rows()
    assert (row.get("template"), row.get("pupil"), row.sizes) == (
        "tray-divider",
        "Mia",
        {"blade_bottom": "36,0"},
    )


def test_a_shipped_template_is_german_under_names_that_stay(in_german, tmp_path):
    sizes = beginning("tray-divider").sizes
    assert {"blade_bottom", "foot_thickness_mating"} <= set(sizes)
    path = start(shelf.find("tray-divider"), tmp_path, "Küchensteg", blade_bottom="36,1 mm")
    saved = open_template(path)
    assert [step.name for step in saved.repair.steps] == [
        "Wand",
        "Fuß",
        "Rippe",
        "Nase",
        "Griffmulde",
    ]
    assert saved.names["blade_bottom"] == ("Wand", "bottom")
    assert saved.note.startswith("Der verlorene Trennsteg")
    assert [card.title for card in shelf.search("trennsteg")] == ["Trennsteg"]


def test_right_is_a_side_or_how_a_print_went(in_german):
    assert _("right") == "rechts"
    assert _("right", "outcome") == "passt"


def test_a_size_has_the_word_for_what_it_measures(in_german):
    said = [find(name).parameter(size).said for name, size in collect.TOLD_APART]
    assert said == ["Rücken", "Sockel", "Größe"]
    assert find("triangular_prism").parameter("base").said == "Grundseite"


def test_numbers_have_the_decimal_mark_of_the_language(in_german):
    assert (number(34.85), measured(71), number(1200, 0)) == ("34,85", "71,0", "1200")


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (["--help"], 0, "Messschieber"),
        (["shelf", "--help"], 0, "Aufruf: workbench shelf"),
        (["check"], 2, "es fehlt: REPARATUR"),
        (["sheet", "--kind", "x"], 2, "--kind ist 'x'; gib eines an von 'print'"),
    ],
)
def test_the_command_speaks_german_to_its_last_word(words, code, said):
    answer = subprocess.run(
        [
            sys.executable,
            "-c",
            "import sys; from workbench.cli import main; sys.exit(main())",
            *words,
        ],
        env={**os.environ, "WORKBENCH_LANGUAGE": "de", "PYTHONIOENCODING": "utf-8"},
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
    text = answer.stdout + answer.stderr
    assert answer.returncode == code and said in text
    assert not re.search(r"\b(usage|options|message|the|required|arguments?)\b", text)


@pytest.mark.parametrize("name", ["sliding-box", "strap-buckle"])
def test_a_shipped_part_with_loose_bodies_is_read_in_german(in_german, name):
    repair = read_template(shelf.find(name))
    assert {body.step for body in repair.loose} <= {step.name for step in repair.steps}
