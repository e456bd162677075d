"""Rosters as spreadsheets and people write them."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import pytest
from rosters import written

from workbench.measure.repeated_readings import readings_in
from workbench.output.roster.roster import open_roster


def rows(path: Path) -> list:
    return list(open_roster(path).rows())


def saved(folder: Path, content: bytes) -> Path:
    path = folder / "mend-it.csv"
    path.write_bytes(content)
    return path


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_delimiters_and_byte_order_marks_are_found(tmp_path, delimiter, encoding) -> None:
    text = delimiter.join(["template", "pupil", "width"]) + "\r\n"
    text += delimiter.join(["plate", "Zoë", '"34,9; 35,0"']) + "\r\n"
    (row,) = rows(saved(tmp_path, text.encode(encoding)))
    assert (row.number, row.fault) == (2, "")
    assert row.cells == {"template": "plate", "pupil": "Zoë", "width": "34,9; 35,0"}


def test_headings_are_read_as_people_write_them(tmp_path) -> None:
    (row,) = rows(written(tmp_path, "fin,Mia,3.5", head="Template,Pupil label,Blade-Bottom (cm)"))
    assert row.sizes == {"blade_bottom": "3.5"} and row.units == {"blade_bottom": "cm"}
    assert row.get("pupil") == "Mia"


def test_empty_rows_are_left_out_and_rows_keep_the_spreadsheets_number(tmp_path) -> None:
    found = rows(written(tmp_path, "plate,Mia,,", ",,,", "", "plate,Jonas,,"))
    assert [row.number for row in found] == [2, 5]


@pytest.mark.parametrize(
    ("head", "told"),
    [
        ("template,width", "no column pupil"),
        ("name,width", "no column template and pupil"),
        ("template|pupil|width", "commas, semicolons or tabs"),
        ("template,pupil,width,width", "column width twice"),
    ],
)
def test_what_the_first_row_lacks_is_told(tmp_path, refused, head, told) -> None:
    with refused("mend-it.csv" if "name" not in head else "template and pupil", told.split()[-1]):
        open_roster(written(tmp_path, "plate,Mia,1", head=head))


def test_a_column_without_a_heading_is_told_where_it_is_filled_in(tmp_path) -> None:
    bare, filled = rows(written(tmp_path, "plate,,Mia", "plate,3,Jo", head="template,,pupil"))
    assert bare.fault == "" and filled.fault.startswith("a column with '3' has no heading")


def test_files_that_cannot_be_read_are_told(tmp_path, refused) -> None:
    with refused("no roster", "CSV"):
        open_roster(tmp_path / "gone.csv")
    with refused("empty"):
        open_roster(saved(tmp_path, b""))
    with refused("cannot be read"):
        open_roster(tmp_path)
    with refused("quote"):
        rows(saved(tmp_path, b'template,pupil\r\nplate,"Mia\r\n'))


def test_a_row_that_is_not_utf_8_is_told_and_the_others_are_read(tmp_path) -> None:
    bad, good = rows(saved(tmp_path, b"template,pupil\r\nplate,J\xfcrgen\r\nplate,J\xc3\xb8rn\r\n"))
    assert "UTF-8" in bad.fault and bad.get("pupil").encode()
    assert (good.fault, good.get("pupil")) == ("", "Jørn")


@pytest.mark.parametrize("cell", ["=1+1", "@SUM(A1)", "+cmd", "-Mia", "=HYPERLINK(1)"])
def test_formulas_are_refused_in_words(tmp_path, cell) -> None:
    label, size = rows(written(tmp_path, f"plate,{cell},", f"plate,Mia,{cell}"))
    assert "formula" in label.fault and label.fault.startswith("pupil")
    assert "formula" in size.fault and size.fault.startswith("width")


@pytest.mark.parametrize("cell", ["-5", "+5.5", "-5 -5.1 mm", "-1/4 in", "−5"])
def test_numbers_with_a_sign_are_no_formulas(tmp_path, cell) -> None:
    (row,) = rows(written(tmp_path, f"fin,Mia,{cell}", head="template,pupil,inset"))
    assert row.fault == "" and row.get("inset") == cell


def test_faults_of_a_row_name_what_to_do(tmp_path) -> None:
    found = rows(
        written(
            tmp_path,
            "plate,Mia,34,9,20",
            ",Mia,,",
            "plate,,3",
            f"plate,{'M' * 70},",
            "plate,a\x01b,",
        )
    )
    words = ["decimal comma", "template is empty", "pupil is empty", "longer than 60", "not text"]
    assert all(word in row.fault for word, row in zip(words, found, strict=True))


@pytest.mark.parametrize(
    ("text", "unit", "found"),
    [
        ("34.9", "mm", ["34.9 mm"]),
        ("34,9;35,0", "mm", ["34,9 mm", "35,0 mm"]),
        ("34.9mm  3.5cm", "mm", ["34.9 mm", "3.5 cm"]),
        ("1 3/8 in 1 7/16 in", "mm", ["1 3/8 in", "1 7/16 in"]),
        ('5/16"; 3/8"', "mm", ['5/16 "', '3/8 "']),
        ("1⅜ in", "mm", ["1⅜ in"]),
        ("1 3/8 Zoll 1,4 Zoll", "mm", ["1 3/8 zoll", "1,4 zoll"]),
        ("1.375 1.380 in", "mm", ["1.375 in", "1.380 in"]),
        ("3.5 3.6", "cm", ["3.5 cm", "3.6 cm"]),
        ("–2 1 3⁄8”", "mm", ['-2 "', '1 3/8 "']),
        ("1/2; ½ 3", "mm", ["1/2", "½", "3 mm"]),
        ("1/2 ½", "in", ["1/2 in", "½ in"]),
        ("1/2 ½ mm", "in", ["1/2 mm", "½ mm"]),
    ],
)
def test_readings_in_one_cell(text, unit, found) -> None:
    assert readings_in(text, unit) == found


@pytest.mark.parametrize("text", ["abc", "34.9 x", "34.9 mm 35", "1 in 2 3 mm", "3..4", "1e400"])
def test_cells_that_are_no_readings_are_refused(refused, text) -> None:
    with refused(text):
        readings_in(text, "mm")


def test_ten_thousand_rows_take_no_more_memory_than_a_thousand(tmp_path) -> None:
    def peak(count: int) -> int:
        path = written(tmp_path, *(f"plate,Pupil {i},34.9 35.0," for i in range(count)))
        table = open_roster(path)
        tracemalloc.start()
        try:
            assert sum(1 for _row in table.rows()) == count
            return tracemalloc.get_traced_memory()[1]
        finally:
            tracemalloc.stop()

    assert peak(10_000) < 1.5 * peak(1_000)
