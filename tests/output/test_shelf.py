"""The shelf finds what it should, and fresh copies never cost anybody their own work."""

from __future__ import annotations

import json
import os
import shutil
import sys
from pathlib import Path

import pytest
from turns import turn

from workbench import RepairError, __version__
from workbench.output.notebook import opening, shelf
from workbench.output.notebook.template_notebook import read_template, save_template, start
from workbench.solids.building.build import build
from workbench.solids.geometry.cache import Cache
from workbench.solids.recipe.repair import Repair


@pytest.fixture
def shipped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shipped set of our own, small enough to change."""
    place = tmp_path / "shipped"
    for name in ("notebooks", "templates"):
        (place / name).mkdir(parents=True)
    (place / "notebooks" / "00-start.ipynb").write_text("{} first")
    (place / "templates" / "door.ipynb").write_text("{} door")
    found = shelf.Folders(place / "notebooks", place / "templates")
    monkeypatch.setattr(shelf, "folders", lambda: found)
    return place


def done(folder: Path) -> dict[str, str]:
    return {copy.path.name: copy.what for copy in shelf.copy_to(folder)}


def test_the_shipped_folders_are_found_and_hold_the_first_templates() -> None:
    found = shelf.folders()
    assert found.notebooks.is_dir()
    assert {"tray-divider", "battery-door", "shelf-peg", "screw-plate", "blind-rail-tab"} | {
        *("spacer-ring", "radio-knob", "hinge-pin", "drawer-stop", "coat-hook", "cable-guide"),
        *("cabinet-foot", "latch-strike"),
    } <= {path.stem for path in found.templates.glob("*.ipynb")}


@pytest.mark.parametrize("path", turn(shelf.paths(), 0), ids=lambda path: path.stem)
def test_a_record_of_the_old_form_comes_out_with_the_same_solid(path: Path) -> None:
    """In the old form a cut took from everything that adds, so it may have stood anywhere."""
    repair = read_template(path)
    # What was made since may add after a cut, which the old form could not say.
    repair.steps = tuple(sorted(repair.steps, key=lambda step: step.cuts))
    row = json.loads(repair.to_json())
    row |= {"format": 1, "steps": sorted(row["steps"], key=lambda step: not step["cuts"])}
    again = Repair.from_json(json.dumps(row))
    assert again == repair
    assert build(again, Cache()).volume == pytest.approx(build(repair).volume, rel=1e-9)


def test_a_first_copy_brings_everything(shipped: Path, tmp_path: Path) -> None:
    assert done(tmp_path / "mine") == {"00-start.ipynb": "new", "door.ipynb": "new"}
    assert (tmp_path / "mine" / "templates" / "door.ipynb").read_text() == "{} door"


def test_a_second_copy_leaves_all_as_it_was(shipped: Path, tmp_path: Path) -> None:
    done(tmp_path)
    assert set(done(tmp_path).values()) == {shelf.KEPT}


def test_an_unchanged_file_is_renewed(shipped: Path, tmp_path: Path) -> None:
    done(tmp_path)
    (shipped / "templates" / "door.ipynb").write_text("{} better door")
    assert done(tmp_path)["door.ipynb"] == "renewed"
    assert (tmp_path / "templates" / "door.ipynb").read_text() == "{} better door"


def test_a_changed_file_stays_and_the_new_one_is_put_beside_it_once(
    shipped: Path, tmp_path: Path
) -> None:
    done(tmp_path)
    theirs = tmp_path / "templates" / "door.ipynb"
    theirs.write_text("{} with my numbers")
    assert done(tmp_path)["door.ipynb"] == shelf.KEPT  # nothing newer to bring
    (shipped / "templates" / "door.ipynb").write_text("{} better door")
    assert done(tmp_path)["door-2.ipynb"] == "beside"
    assert set(done(tmp_path).values()) == {shelf.KEPT}
    assert theirs.read_text() == "{} with my numbers"
    assert (tmp_path / "templates" / "door-2.ipynb").read_text() == "{} better door"


def test_a_file_that_was_there_before_the_first_copy_stays(shipped: Path, tmp_path: Path) -> None:
    theirs = tmp_path / "templates" / "door.ipynb"
    theirs.parent.mkdir()
    theirs.write_text("{} my own door")
    assert done(tmp_path)["door-2.ipynb"] == "beside"
    assert theirs.read_text() == "{} my own door"


def test_a_damaged_list_of_copies_overwrites_nothing(shipped: Path, tmp_path: Path) -> None:
    done(tmp_path)
    theirs = tmp_path / "templates" / "door.ipynb"
    theirs.write_text("{} with my numbers")
    (tmp_path / ".workbench-copies.json").write_text("{cut sho")
    done(tmp_path)
    assert theirs.read_text() == "{} with my numbers"


def test_a_checkout_is_left_alone(shipped: Path, tmp_path: Path) -> None:
    (tmp_path / "workbench").mkdir()
    for name in ("pyproject.toml", "workbench/cli.py"):
        (tmp_path / name).touch()
    before = sorted(tmp_path.rglob("*"))
    assert set(done(tmp_path).values()) == {shelf.KEPT}
    assert sorted(tmp_path.rglob("*")) == before


def test_a_folder_that_cannot_be_made_is_told(shipped: Path, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(RepairError, match="is a file, not a folder"):
        shelf.copy_to(tmp_path / "file" / "class")


def test_ones_own_template_comes_before_the_shipped_one(tmp_path: Path) -> None:
    mine = save_template(Repair("shelf peg").add("peg", diameter=6.8), tmp_path, note="mine")
    assert shelf.find("shelf-peg", tmp_path) == mine
    cards = shelf.cards(tmp_path)
    assert [card.note for card in cards if card.path.name == "shelf-peg.ipynb"] == ["mine"]
    assert len(cards) == len(list(shelf.folders().templates.glob("*.ipynb")))


def test_a_shared_shelf_is_read_and_copied_but_never_written_to(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shelves = [tmp_path / "club", tmp_path / "network"]
    for place, note in zip(shelves, ("club", "network"), strict=True):
        save_template(Repair("shelf peg").add("peg", diameter=6.8), place, note=note)
    save_template(Repair("garden hook").add("hook"), shelves[1], note="network")
    for place in shelves:
        place.chmod(0o555)
    there = {path: path.read_bytes() for place in shelves for path in place.iterdir()}
    monkeypatch.setenv("WORKBENCH_SHELF", os.pathsep.join([*map(str, shelves), "", "/not/there"]))

    notes = {card.path.stem: card.note for card in shelf.cards()}
    assert (notes["shelf-peg"], notes["garden-hook"]) == ("club", "network")
    assert shelf.find("garden-hook").parent == shelves[1]
    mine = save_template(Repair("shelf peg").add("peg", diameter=7.0), tmp_path / "my", note="mine")
    assert shelf.find("shelf-peg", mine.parent) == mine

    assert done(tmp_path / "class")["shelf-peg.ipynb"] == "new"
    copied = tmp_path / "class" / "templates"
    assert (copied / "shelf-peg.ipynb").read_bytes() == there[shelves[0] / "shelf-peg.ipynb"]
    assert os.access(copied / "garden-hook.ipynb", os.W_OK)
    assert {path: path.read_bytes() for place in shelves for path in place.iterdir()} == there


def test_a_damaged_notebook_does_not_empty_the_shelf(tmp_path: Path) -> None:
    (tmp_path / "broken.ipynb").write_text("{")
    (tmp_path / "plain.ipynb").write_text('{"cells": [], "metadata": {}}')
    (tmp_path / "odd.ipynb").write_text('{"cells": [3], "metadata": {"workbench": {"title": 1}}}')
    assert {card.path.parent for card in shelf.cards(tmp_path)} == {shelf.folders().templates}


@pytest.mark.parametrize(
    ("words", "found"),
    [
        ("BATTERY", ["battery-door"]),
        ("tray lean", ["tray-divider"]),
        # By its name first; then by a step, and by what such a part is called in a household.
        ("clip", ["hose-clip", "battery-door", "cable-guide", "snap-cover"]),
        ("tray zeppelin", []),
    ],
)
def test_the_shelf_is_searched_by_every_word(words: str, found: list[str]) -> None:
    assert [card.path.stem for card in shelf.search(words)] == found


@pytest.mark.parametrize(
    ("words", "nearest"),
    [
        ("tray zeppelin", ["tray-divider"]),
        ("roller blind zeppelin", ["blind-rail-tab"]),  # two words of three, not a wheel's one
        ("grommets", ["cable-grommet"]),
        ("Besenstielhaken", ["coat-hook", "keyhole-hook"]),
        ("Hakenleiste", []),  # which is a rail, and no hook
        ("keg", []),  # no name of four letters begins or ends it
        ("zeppelin", []),
        ("", []),
    ],
)
def test_where_no_part_has_every_word_the_nearest_are_told(words: str, nearest: list[str]) -> None:
    assert [card.path.stem for card in shelf.nearest(words)] == nearest
    if nearest:
        lines = shelf.told(words, width=1000).splitlines()
        assert lines[0] == f"Nothing matches all of {words!r}; the nearest are:"
        assert [line.split()[0] for line in lines[1 : 1 + len(nearest)]] == nearest


def test_no_more_than_five_come_nearest(tmp_path: Path) -> None:
    for number in range(7):
        save_template(Repair(f"heron {number}").add("hook"), tmp_path)
    assert len(shelf.nearest("heron zeppelin", tmp_path)) == 5


def test_no_words_find_everything() -> None:
    assert shelf.search("") == shelf.cards()
    assert "coupon_tile" not in [found.name for found in shelf.plain("")]


def test_ones_own_template_is_found_and_tells_its_version(tmp_path: Path) -> None:
    save_template(Repair("coat hook").add("hook"), tmp_path, note="For the hall.")
    (card,) = shelf.search("hall", tmp_path)
    assert (card.title, card.version) == ("coat hook", __version__)
    assert card.steps == ("hook", "hook")


@pytest.mark.parametrize(
    ("name", "hint"), [("shelf-pge", "did you mean shelf-peg"), ("x", "it has")]
)
def test_a_name_that_is_not_there_is_told_with_a_near_one(name: str, hint: str) -> None:
    with pytest.raises(RepairError, match=hint):
        shelf.find(name)


def test_a_repair_is_read_from_a_name_a_notebook_and_a_record(tmp_path: Path) -> None:
    from workbench.output.files.export import export

    by_name = shelf.repair_at("shelf-peg")
    record = export(by_name, tmp_path)[-1].parent
    own = shutil.copy(shelf.find("shelf-peg"), tmp_path / "own.ipynb")
    assert shelf.repair_at(str(own)) == by_name
    assert shelf.repair_at(str(record)) == by_name
    assert shelf.repair_at(str(record / "record.json")) == by_name


def test_jupyterlab_is_started_on_the_notebook_within_its_folder(tmp_path: Path) -> None:
    book = tmp_path / "my class" / "notebooks" / "00-start.ipynb"
    book.parent.mkdir(parents=True)
    book.write_text("{}")
    words = opening.lab_command(book, tmp_path / "my class", port=9999, no_browser=True)
    assert words[:4] == [sys.executable, "-P", "-m", "jupyterlab"]
    assert f"--ServerApp.root_dir={tmp_path / 'my class'}" in words
    assert "--LabApp.default_url=/lab/tree/notebooks/00-start.ipynb" in words
    assert {"--port=9999", "--no-browser"} <= set(words)
    with pytest.raises(RepairError, match="there is no notebook at"):
        opening.lab_command(tmp_path / "none.ipynb", tmp_path)


@pytest.mark.parametrize("path", turn(shelf.paths(), 1), ids=lambda path: path.stem)
def test_every_shipped_template_starts_another_part_that_builds(path: Path, tmp_path: Path) -> None:
    from workbench import build

    repair = read_template(path)
    assert repair.readings, "a template has its readings"
    assert any(len(reading.values) > 1 for reading in repair.readings.values())
    assert read_template(start(path, tmp_path, "another")).steps == repair.steps
    assert build(repair).is_valid


@pytest.mark.parametrize("path", turn(shelf.paths(), 2), ids=lambda path: path.stem)
def test_every_shipped_template_is_as_the_tool_would_save_it_today(
    path: Path, tmp_path: Path
) -> None:
    card = next(card for card in shelf.cards() if card.path == path)
    again = save_template(read_template(path), tmp_path, title=card.title, note=card.note)
    fresh = next(fresh for fresh in shelf.cards(tmp_path) if fresh.path == again)
    assert fresh.title == card.title and fresh.picture[:4] == card.picture[:4] == b"\x89PNG"
    assert read_template(again) == read_template(path)


# -- household words ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "stem"),
    [
        ("washer", "spacer-ring"),
        ("Unterlegscheibe", "spacer-ring"),
        ("Distanzhülse", "spacer-ring"),
        ("dowel", "shelf-peg"),
        ("Dübel", "shelf-peg"),
        ("shelf support", "shelf-peg"),
        ("Bodenträger", "shelf-peg"),
        ("Regalträger", "shelf-peg"),
        ("door catch", "latch-strike"),
        ("Türschnapper", "latch-strike"),
        ("L-bracket".replace("-", " "), "angle-bracket"),
        ("Winkel", "angle-bracket"),
        ("castor", "furniture-wheel"),
        ("Möbelrolle", "furniture-wheel"),
        ("vent cover", "vent-louvre"),
        ("Lüftungsgitter", "vent-louvre"),
        ("Rohrschelle", "hose-clip"),
        ("Gardinengleiter", "curtain-glider"),
        ("Kabeldurchlass", "cable-grommet"),
        ("Bügelgriff", "drawer-pull"),
    ],
)
def test_household_words_of_either_language_find_a_part(words: str, stem: str) -> None:
    assert stem in [card.path.stem for card in shelf.search(words)]
    assert stem in shelf.told(words)


def test_every_part_on_the_shelf_has_household_words_and_every_word_a_part() -> None:
    from workbench.output.notebook.household_words import _table
    from workbench.solids import catalogue

    stems = {card.path.stem for card in shelf.cards()}
    assert set(_table()) <= stems | set(catalogue.SHIPPED)
