"""The bench for whoever reads inches: what it shows, what it takes, and that nothing is lost."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from workbench import units
from workbench.jupyter.bench import Bench, bench
from workbench.jupyter.page_buttons import widgets_of
from workbench.jupyter.pages.fitting import Fitting
from workbench.jupyter.pages.loads_page import Loading
from workbench.jupyter.pages.measuring import Measuring
from workbench.jupyter.sizes.fields import SizeField
from workbench.jupyter.sizes.sliders import field_for
from workbench.measure.reading import Reading
from workbench.solids import catalogue
from workbench.solids.parameters import Corners, Parameter
from workbench.solids.recipe.repair import Repair
from workbench.units import INCH, MM

#: A length in mm that a person would read; what the trade states in mm is told from it by words.
IN_MM = re.compile(r"\d\s?mm\b(?!³)")


@pytest.fixture(autouse=True)
def nothing_chosen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("WORKBENCH_UNIT")
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    return tmp_path


@pytest.fixture
def repair() -> Repair:
    return (
        Repair("tray divider")
        .add("fin", name="blade", bottom=34.9, top=25.4, height=71, inset=-7, thickness=1.6)
        .add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
        .fit("foot", "thickness", Reading(["2.45", "2.5"]))
    )


def panel(shown: Bench, kind: type) -> Any:
    return shown.panel(kind)


def seen(shown: Bench) -> str:
    """All words on the bench, whether shown or not."""
    parts = []
    for widget in widgets_of(shown, *shown.sizes.widgets):
        for key in ("value", "description", "tooltip", "placeholder"):
            said = getattr(widget, key, None)
            if isinstance(said, str) and "<style>" not in said:
                parts.append(re.sub("<[^>]+>", " ", said))
    return "\n".join(parts)


def test_the_choice_takes_effect_at_once_is_kept_and_changes_no_size(on_bench: Bench):
    before = on_bench.repair.to_json()
    box = on_bench.fields("blade")["bottom"].box
    assert on_bench._builder.settle()
    assert box.value == "34.9" and "41.9 × 2.4 × 75 mm" in on_bench.line.value
    on_bench.bar.unit.value = INCH
    assert (box.value, box.tooltip.partition(":")[0]) == ("1.374", "bottom, inches")
    assert "wb-in" in box._dom_classes and "wb-mm" not in box._dom_classes
    assert on_bench._builder.settle()
    assert "1.6495 × 0.0945 × 2.953 in</span></p>" in on_bench.line.value
    assert on_bench.repair.to_json() == before
    assert 'unit = "in"' in Path("data/unit.toml").read_text(encoding="utf-8")
    on_bench.bar.unit.value = MM
    assert box.value == "34.9"
    assert on_bench.repair.to_json() == before


def test_every_open_bench_follows(on_bench: Bench):
    other = bench(Repair("peg").add("peg", name="peg", diameter=5))
    on_bench.bar.unit.value = INCH
    box = other.fields("peg")["diameter"].box
    assert box.value == "0.19685"
    assert other.bar.unit.value is INCH
    other.close()
    on_bench.bar.unit.value = MM
    assert box.value == "0.19685", "nobody sees it any more"


def test_the_variable_leaves_no_choice(repair: Repair, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("WORKBENCH_UNIT", "in")
    shown = Bench(repair)
    assert shown.bar.unit.disabled and "WORKBENCH_UNIT" in shown.bar.unit.tooltip
    assert shown.fields("blade")["bottom"].box.value == "1.374"
    shown.close()


def test_a_choice_that_cannot_be_kept_holds_all_the_same(on_bench: Bench):
    Path("data").write_text("a file where the folder should be", encoding="utf-8")
    on_bench.bar.unit.value = INCH
    assert units.chosen() is INCH
    assert "is a file, not a folder" in on_bench.message.value


@pytest.mark.parametrize(
    ("typed", "mm"),
    [
        ("1.5", 38.1),
        ("1,5", 38.1),
        ("1 3/8", 34.925),
        ("1 3/8 in", 34.925),
        ('1.375"', 34.925),
        ("35 mm", 35.0),
        ("34,9mm", 34.9),
        ("1.375 1.377", 34.9504),
    ],
)
def test_a_bare_number_is_in_inches_and_mm_are_taken_too(on_bench: Bench, typed: str, mm: float):
    on_bench.bar.unit.value = INCH
    field = on_bench.fields("blade")["bottom"]
    field.box.value = typed
    assert on_bench.repair.step("blade").values["bottom"] == pytest.approx(mm)
    assert "refusal" not in field.note.value


def test_bad_text_is_one_sentence_and_loses_nothing(on_bench: Bench):
    on_bench.bar.unit.value = INCH
    field = on_bench.fields("blade")["bottom"]
    for typed in ("wide", "1/0", "40"):
        field.box.value = typed
        assert field.note.value.count("wb-refusal") == 1
        assert field.box.value == typed
        assert on_bench.repair.step("blade").values["bottom"] == 34.9
    assert "give 0.0395 to 11.811 in" in field.note.value


def test_a_slider_is_in_inches_and_stays_within_the_limits(on_bench: Bench):
    on_bench.bar.unit.value = INCH
    field = on_bench.fields("blade")["thickness"]
    assert isinstance(field, SizeField)
    assert field.slider.step == 0.002
    assert field.slider.min == 0.016 and field.slider.value == pytest.approx(0.062)
    field.slider.value = 0.1
    assert field.box.value == "0.1"
    assert on_bench.repair.step("blade").values["thickness"] == pytest.approx(2.54)
    field.slider.value = field.slider.min
    assert on_bench.repair.step("blade").values["thickness"] >= 0.4


def test_what_is_half_typed_stays_and_what_is_typed_is_told_in_the_other_unit(on_bench: Bench):
    fitting, loading = panel(on_bench, Fitting), panel(on_bench, Loading)
    measuring = panel(on_bench, Measuring)
    measuring.table.lines = [
        one | {"values": ["35", "", ""]} if i == 1 else one
        for i, one in enumerate(measuring.table.lines)
    ]
    fitting.measured.value, loading.round.value = "2.31 mm", "half a"
    on_bench.bar.unit.value = INCH
    assert fitting.measured.value == "0.09095"
    assert fitting.mating.value == "0.09645; 0.09845"
    assert "in inches" in fitting.mating.tooltip and "wb-in" in fitting.mating._dom_classes
    assert "wb-in" in fitting.measured._dom_classes
    assert loading.round.value == "half a"
    assert [one["unit"] for one in measuring.table.lines[:3]] == ["in", "mm", "in"]
    assert measuring.table.lines[1]["values"] == ["35", "", ""]


def test_boxes_for_lengths_take_inches(on_bench: Bench):
    on_bench.bar.unit.value = INCH
    fitting, loading = panel(on_bench, Fitting), panel(on_bench, Loading)
    fitting.size.value = ("foot", "thickness")
    fitting.mating.value = "0.1 in; 2.6 mm"
    fitting.say.click()
    assert fitting.bench.repair.fits[0].mating.values == pytest.approx((2.54, 2.6))
    fitting.mating.value = "0.1 0.102"
    fitting.say.click()
    assert fitting.bench.repair.fits[0].mating.values == pytest.approx((2.54, 2.5908))
    loading.round.value = "0.02"
    loading.rounder.click()
    assert on_bench.repair.rounding == pytest.approx(0.508)
    loading.round.value = "much"
    loading.rounder.click()
    assert "is not a length" in loading.round_note.value
    assert on_bench.repair.rounding == pytest.approx(0.508)


def test_readings_in_inches_make_an_outline(on_bench: Bench):
    on_bench.bar.unit.value = INCH
    measuring = panel(on_bench, Measuring)
    lines = measuring.table.lines
    typed = iter(["1 3/8", "2.8", "1.0", "-0.2"])
    measuring.table.lines = [
        one | {"values": [next(typed), "", ""]}
        if one["kind"] in ("side", "height", "offset")
        else one
        for one in lines
    ]
    assert measuring.settle()
    assert measuring.outcome.solution is not None
    assert "1.575 by 2.8 in" in measuring.sizes.value
    measuring.as_fin.click()
    sizes = on_bench.repair.steps[-1].values
    assert sizes["bottom"] == pytest.approx(34.925) and sizes["top"] == pytest.approx(25.4)


def test_corners_left_alone_keep_their_place(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("WORKBENCH_UNIT", "in")
    told: list[Any] = []
    corners = ((0.0, 0.0), (34.9, 0.0), (25.4, 71.03))
    field = field_for(
        Parameter("outline", Corners(), corners), lambda _name, value: told.append(value)
    )
    field.show(corners)
    assert field.text.value.splitlines() == ["0; 0", "1.374; 0", "1; 2.79645"]
    field.text.value = field.text.value.replace("1; 2", "1 1/8; 2")
    assert told[-1][:2] == corners[:2]
    assert told[-1][2] == pytest.approx((28.575, 71.03), abs=0.001)
    field.text.value = "0; 0\n1"
    assert "refusal" in field.note.value


def test_no_length_is_left_in_mm(repair: Repair):
    units.choose(INCH)
    shown = bench(repair)
    assert shown.settle()
    for each in shown.panels:
        each.opened()
        getattr(each, "settle", lambda: True)()
    shown.settle()
    stays = re.compile(r"brim of \d\smm|line of 0.4\smm|layers of 0.2\smm|piece|divider of")
    left = [line for line in seen(shown).splitlines() if IN_MM.search(line)]
    assert not [line for line in left if not stays.search(line)]
    assert "in²" in seen(shown)
    shown.close()


def test_the_shelf_and_every_template_tell_inches(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setenv("WORKBENCH_UNIT", "in")
    for name in catalogue.SHIPPED:
        for parameter in catalogue.find(name).parameters:
            field = field_for(parameter, lambda _name, _value: None)
            field.show(parameter.default)
            assert not IN_MM.search(field.note.value), (name, parameter.name)
