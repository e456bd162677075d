"""A row becomes a repair, or a sentence that says why not."""

from __future__ import annotations

import pytest
import trimesh

from workbench.output.notebook.template_notebook import save_template
from workbench.output.roster.part_job import made
from workbench.output.roster.roster import Row
from workbench.output.roster.roster_row import AGAIN, ROW, Job, Refused, Rows, doubts
from workbench.solids.recipe.repair import Repair


def job(units=None, rows=None, number=2, **cells):
    filled = {"template": "plate", "pupil": "Mia", **cells}
    return (rows or Rows()).job(Row(number, filled, units or {}))


def repair(found) -> Repair:
    assert isinstance(found, Job), found
    return Repair.from_json(found.repair)


def refusal(found, state: str, *words: str) -> None:
    assert isinstance(found, Refused) and found.state == state
    assert all(word in found.why for word in words), found.why


def test_readings_go_into_the_repair_in_any_unit() -> None:
    made = repair(job(width="1 3/8 in 1 3/8 in", height="2,5 cm", thickness="2.2"))
    values = made.steps[0].values
    assert values["width"] == pytest.approx(34.925) and values["height"] == pytest.approx(25)
    assert made.readings["plate.width"].values == pytest.approx((34.925, 34.925))


@pytest.mark.parametrize(("units", "cells"), [({"width": "cm"}, {}), ({}, {"unit": "cm"})])
def test_the_unit_of_a_column_or_a_row_counts_where_the_cell_names_none(units, cells) -> None:
    assert repair(job(units, width="3.5", **cells)).steps[0].values["width"] == pytest.approx(35)


def test_a_fraction_of_which_no_unit_is_known_is_asked_after() -> None:
    refusal(job(width="15/16"), AGAIN, "width", "15/16' is a fraction without a unit")


def test_the_part_is_named_after_pupil_and_template() -> None:
    made = repair(job(template="tray-divider", material="PETG", printer="generic 120"))
    assert made.name == "Mia · tray divider"
    assert (made.material, made.printer) == ("PETG", "generic 120")


def test_the_instrument_goes_with_the_reading() -> None:
    assert repair(job(width="35", instrument="ruler")).readings["plate.width"].instrument == "ruler"


def test_a_template_on_the_shelf_takes_its_own_sizes() -> None:
    made = repair(job(template="tray-divider", blade_inset="-4", foot_thickness_mating="2.6 2.61"))
    assert made.step("blade").values["inset"] == -4
    assert made.fits[0].mating.values == (2.6, 2.61)


def test_the_file_of_a_part_that_it_works_with_is_sought_beside_the_template(
    tmp_path, monkeypatch
) -> None:
    trimesh.creation.box((36, 26, 18)).export(tmp_path / "block.stl")
    monkeypatch.chdir(tmp_path)
    plug = Repair("plug", material="PLA").add("box", name="plug", width=35, depth=25, height=4)
    save_template(plug.against("block.stl", unit="mm"), tmp_path)
    (tmp_path / "elsewhere").mkdir()
    monkeypatch.chdir(tmp_path / "elsewhere")
    found = made(job(rows=Rows([tmp_path]), template="plug"))
    assert any("runs into" in why for why in found.why), found.why


def test_words_and_counts_are_taken_as_they_are() -> None:
    values = repair(job(holes="2", countersink="yes", screw="M3")).steps[0].values
    assert (values["holes"], values["countersink"], values["screw"]) == (2, True, "M3")


def test_what_the_row_gets_wrong_is_to_be_put_right() -> None:
    refusal(job(template="tray-divide"), ROW, "no template", "tray-divider")
    refusal(job(template="Fin"), ROW, "did you mean fin?")
    refusal(job(template="gone.ipynb"), ROW, "gone.ipynb")
    refusal(job(material="cheese"), ROW, "cheese")
    refusal(job(printer="giant"), ROW, "giant")
    refusal(job(widht="30"), ROW, "no size widht", "width")
    refusal(Rows().job(Row(2, {}, fault="pupil is empty")), ROW, "pupil is empty")


def test_what_was_measured_wrong_is_to_be_measured_again() -> None:
    refusal(job(width="9999"), AGAIN, "width", "9999 mm")
    refusal(job(width="wide"), AGAIN, "width", "wide")
    refusal(job(width="34.9 mm 35 36 cm"), AGAIN, "unit")
    refusal(job(width="35", unit="ell"), AGAIN, "ell")
    refusal(job(width="35", instrument="thumb"), AGAIN, "thumb")


def test_rows_that_come_twice_are_told_apart_from_second_parts() -> None:
    rows = Rows()
    assert isinstance(job(rows=rows, width="30"), Job)
    refusal(job(rows=rows, number=3, width="30"), ROW, "same as row 2")
    refusal(job(rows=rows, number=4, width="31"), ROW, "row 2", "Mia 2")
    refusal(job(rows=rows, number=5, pupil="MIA", width="31"), ROW, "row 2")
    assert isinstance(job(rows=rows, number=6, pupil="Jonas", width="30"), Job)
    assert isinstance(job(rows=rows, number=7, template="fin"), Job)


def test_the_same_work_has_the_same_key_and_other_work_another() -> None:
    keys = [job(width="30").key, job(width="30", number=9).key, job(width="30.1").key]
    assert keys[0] == keys[1] != keys[2]
    assert job(width="30").key != job(width="30", rows=Rows(labels=True)).key
    assert job(width="30").key != job(width="30", rows=Rows(paper="Letter")).key


def test_readings_that_lie_apart_are_doubted_by_the_instruments_measure() -> None:
    assert doubts(repair(job(width="35.0 35.1 35.2"))) == []
    (told,) = doubts(repair(job(width="35.0 36.2")))
    assert "plate: width" in told and "35 to 36.2 mm" in told
    assert doubts(repair(job(width="35 36", instrument="ruler"))) == []
    (told,) = doubts(repair(job(template="tray-divider", foot_thickness_mating="2.6 3.6")))
    assert "what thickness fits" in told
