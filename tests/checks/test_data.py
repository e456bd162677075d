"""Materials and printers: figures with sources, the user's own beside them, mistakes in words."""

from __future__ import annotations

import math
import os

import pytest

from workbench import data
from workbench.data.tables import Table
from workbench.solids.recipe.repair import Repair

WANTED = {"PLA", "PETG", "ABS", "ASA", "TPU", "PA", "PC"}


@pytest.fixture
def own(tmp_path, monkeypatch):
    """Write a file of the user's own; returns its path."""
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path))

    def write(text: str, name: str = "materials.toml"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_every_shipped_figure_has_a_source_and_lies_in_its_own_range():
    assert set(data.materials()) >= WANTED
    for row in (*data.materials().values(), *data.printers().values()):
        for key, figure in row.figures.items():
            if figure.unit:
                assert len(figure.source) > 8
                assert row.cite(key).startswith(f"{row.name} {data.label(key)} ")
                assert row.cite(key).endswith(figure.source)
            if figure.low is not None:
                low, high = row.span(key)
                assert low <= figure.value <= high


def test_what_no_source_was_found_for_says_so_and_stays_below_the_elastic_limit():
    for material in data.materials().values():
        said = f"{material.source('strain_once')} {material.source('strength')}"
        assert "no source" in said or "memory" in said
        assert material.strain_often < material.strain_once
        elastic = 100 * material.strength / material.modulus
        assert material.strain_once <= elastic + 0.1


def test_a_part_keeps_its_shape_up_to_the_lower_of_two_temperatures_unless_it_is_rubbery():
    assert data.material("PLA").holds_shape_to == data.material("PLA").softens
    assert data.material("TPU").holds_shape_to > 40 > data.material("TPU").glass_transition


def test_a_correction_changes_one_figure_and_keeps_the_rest(own):
    shipped = data.material("PETG")
    own('[PETG]\ndensity = { value = 1.29, source = "my scale" }\n')
    mine = data.material("PETG")
    assert mine.density == 1.29
    assert mine.source("density") == "my scale"
    assert mine.modulus == shipped.modulus
    assert mine.source("modulus") == shipped.source("modulus")


def test_a_new_filament_begins_like_another_and_is_used_at_once(own):
    path = own('[mine]\nlike = "ABS"\nstrength = 44\n')
    repair = Repair("hinge", material="mine")
    assert data.material(repair.material).strength == 44
    assert data.material("mine").density == data.material("ABS").density
    assert path.name in data.material("mine").source("strength")


def test_a_file_that_changes_is_read_again(own):
    path = own("[PLA]\ndensity = 1.3\n")
    assert data.material("PLA").density == 1.3
    path.write_text("[PLA]\ndensity = 1.25\n", encoding="utf-8")
    os.utime(path, (1, 1))
    assert data.material("PLA").density == 1.25
    path.unlink()
    assert data.material("PLA").density == 1.24


def test_the_first_folder_wins_over_a_shared_one(tmp_path, monkeypatch):
    mine, shared = tmp_path / "mine", tmp_path / "shared"
    for folder, price in ((mine, 20), (shared, 30)):
        folder.mkdir()
        (folder / "materials.toml").write_text(f"[PLA]\nprice = {price}\n", encoding="utf-8")
    (shared / "printers.toml").write_text(
        '[ours]\nlike = "generic 220"\nbed = [235, 235, 250]\n', encoding="utf-8"
    )
    monkeypatch.setenv("WORKBENCH_DATA", os.pathsep.join([str(mine), str(shared)]))
    assert data.folder() == mine
    assert data.material("PLA").price == 20
    assert data.printer("ours").bed == (235, 235, 250)


def test_a_mark_that_some_editors_put_first_does_no_harm(own):
    own("\ufeff[PLA]\ndensity = 1.3\n")
    assert data.material("PLA").density == 1.3


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("[PLA]\n\ndensty = 1.3\n", 3, ["PLA.densty", "did you mean 'density'"]),
        ('[PLA]\ndensity = "1,3"\n', 2, ["PLA.density", "1,3", "not a number"]),
        ("[PLA]\nstrength = 44\ndensity = 1240\n", 3, ["PLA.density", "0.3 to 12 g/cm³"]),
        ("[PLA]\ndensity = 1.3 g\n", 2, ["density = 1.3 g"]),
        ("[PLA]\ndensity = nan\n", 2, ["PLA.density", "nan"]),
        ("[PLA]\ndensity = { value = 1.3, low = 1.4 }\n", 2, ["PLA.density", "in order"]),
        ("[PLA]\ndensity = { value = 1.3, sorce = 'x' }\n", 2, ["PLA.density", "'source'"]),
        ("[PLA]\noutdoors = 1\n", 2, ["PLA.outdoors", "true nor false"]),
        ("# mine\n[wood]\ndensity = 1.1\n", 2, ["wood", "modulus", "is missing", "like"]),
        ('[wood]\nlike = "oak"\n', 2, ["wood.like", "'oak'"]),
        ("density = 1.3\n", 1, ["density", "heading"]),
        ("[PLA]\n[PLA]\n", 2, ["[PLA]"]),
        ('[PLA]\nsummary = "soft\n', 2, ["summary"]),
    ],
)
def test_a_typing_mistake_is_told_with_file_line_and_key(own, refused, text, line, words):
    path = own(text)
    with refused(str(path), f"line {line},", *words):
        data.material("PLA")
    assert path.read_text(encoding="utf-8") == text  # nothing is mended behind the user's back


def test_a_bed_needs_three_numbers(own, refused):
    own('[ours]\nlike = "generic 220"\nbed = [220, 220]\n', "printers.toml")
    with refused("line 3", "ours.bed", "three numbers"):
        data.printer("ours")


def test_a_file_that_is_no_text_is_told(own, refused):
    path = own("")
    path.write_bytes(b"\xff\xfe\x00PLA")
    with refused(str(path), "UTF-8"):
        data.material("PLA")


def test_a_name_that_is_not_known_lists_those_that_are(refused):
    with refused("'wood'", "PLA", "PETG", "materials.toml"):
        Repair("stool", material="wood")
    for near in ("Generic 220", "generic 22", " generic 220 "):
        with refused("did you mean generic 220?"):
            data.printer(near)
    with refused("did you mean PETG?"):
        data.material("petg")
    with refused("'the red one'", "generic 220"):
        Repair("stool", printer="the red one")


def test_a_damaged_shipped_file_is_told_too(tmp_path, refused):
    path = tmp_path / "materials.toml"
    path.write_bytes((data.HERE / "materials.toml").read_bytes()[:1000] + b"\n[[[")
    with refused(str(path), "line"):
        Table(path)


@pytest.mark.parametrize("value", ["[" * 900, "{a=" * 900, "9" * 5000])
def test_a_table_that_no_parser_takes_is_told(tmp_path, refused, value):
    path = tmp_path / "materials.toml"
    path.write_text(f"[clay]\ndensity = {value}\n")
    with refused(str(path), "line 2"):
        Table(path)


def test_the_line_is_found_in_any_way_of_writing(tmp_path):
    path = tmp_path / "printers.toml"
    path.write_text('["a b"]\nx = 1\n\n["a b".bed]\nvalue = 3\n[c]\n"y z" = 2\n', encoding="utf-8")
    table = Table(path)
    assert (table.line("a b"), table.line("a b", "bed"), table.line("c", "y z")) == (1, 4, 7)


def test_density_and_thread_of_a_kilogram():
    """Closed form: 1 kg at 1.24 g/cm³ is 335.3 m of 1.75 mm filament (references)."""
    thread = math.pi * data.printer("generic 220").filament ** 2 / 4
    assert thread == pytest.approx(2.4053, abs=5e-5)
    assert 1000 / data.material("PLA").density / thread == pytest.approx(335.3, abs=0.05)
