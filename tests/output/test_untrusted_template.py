"""A template from somebody else is described, with its own code, and none of it is run."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from workbench.cli import main
from workbench.errors import RepairError
from workbench.gate import NOTEBOOK as LARGEST
from workbench.output.notebook.shelf import cards, folders
from workbench.output.notebook.template_notebook import open_template, save_template
from workbench.output.notebook.untrusted_template import described, own_code
from workbench.solids.recipe.repair import Repair

EVIL = "import pathlib\npathlib.Path('owned').touch()"


@pytest.fixture
def change(tmp_path: Path) -> Callable[..., Path]:
    """Save a template with its file changed by a function of its rows."""

    def changed(edit: Callable[[dict], object]) -> Path:
        path = save_template(
            Repair("peg").add("peg", diameter=6), tmp_path / "theirs", note="Goes in."
        )
        row = json.loads(path.read_text())
        edit(row)
        path.write_text(json.dumps(row))
        return path

    return changed


def code(text: str) -> dict:
    return {
        "cell_type": "code",
        "id": "x",
        "metadata": {},
        "outputs": [],
        "execution_count": None,
        "source": text,
    }


@pytest.mark.parametrize(
    "path", sorted(folders().templates.glob("*.ipynb")), ids=lambda path: path.stem
)
def test_every_shipped_template_has_only_code_that_the_tool_writes(path: Path) -> None:
    assert own_code(path) == ()


def test_a_template_is_told_with_version_ranges_and_what_to_measure(change) -> None:
    told = described(change(lambda row: None))
    assert "Goes in." in told and "saved by workbench" in told
    assert "peg_diameter" in told and "across the round; 1 to 60 mm; now 6" in told
    assert told.endswith("Its code is as the tool writes it.")


def test_whole_numbers_may_come_back_from_a_browser_without_their_point(change) -> None:
    def saved_by_a_browser(row: dict) -> None:
        row["metadata"]["workbench"]["repair"]["steps"][0]["values"]["diameter"] = 6

    assert own_code(change(saved_by_a_browser)) == ()


@pytest.mark.parametrize(
    ("text", "harmless"),
    [
        ("a = 1.0\nb = [(0, 1), (2, 3)]", True),
        ('from workbench import Same\n\na = Same("base.width - 2")\nb = (a + 2) / 3', True),
        ("from workbench import Same, bench\na = 1", False),
        ("from workbench import bench as Same\na = Same('x')", False),
        ("a = Same(print())", False),
        ("a = open('x')", False),
        ("a = 9 ** 9 ** 9", False),
        ("a = b.c", False),
        ("a: print() = 1", False),
        ("a[print()] = 1", False),
    ],
)
def test_sizes_that_follow_others_are_not_code_of_its_author(change, text, harmless) -> None:
    found = own_code(change(lambda row: row["cells"].insert(1, code(text))))
    assert (found == ()) == harmless


@pytest.mark.parametrize("place", [0, 2, -1])
def test_a_stranger_s_code_is_shown_and_not_run(
    change, place, tmp_path, monkeypatch, capsys
) -> None:
    monkeypatch.chdir(tmp_path)
    path = change(lambda row: row["cells"].insert(place, code(EVIL)))
    assert [cell.text for cell in own_code(path)] == [EVIL]
    assert main(["shelf", str(path)]) == 0
    assert "pathlib.Path('owned').touch()" in capsys.readouterr().out
    assert main(["new", str(path), "--folder", "mine"]) == 0
    (started,) = Path("mine").glob("*.ipynb")
    assert "owned" not in started.read_text() and not Path("owned").exists()


def test_code_hidden_in_a_changed_build_cell_is_shown_though_its_fingerprint_was_forged(
    change,
) -> None:
    from workbench.output.notebook import cells

    def forge(row: dict) -> None:
        build = next(cell for cell in row["cells"] if "build" in cell["metadata"].get("tags", []))
        build["source"] = "".join(build["source"]) + "\n" + EVIL
        row["metadata"]["workbench"]["code"] = cells.fingerprint(build["source"])

    path = change(forge)
    open_template(path)
    (shown,) = own_code(path)
    assert EVIL in shown.text


def test_signs_that_hide_a_line_in_a_terminal_are_made_visible(change) -> None:
    path = change(lambda row: row["cells"].append(code(EVIL + " \x1b[2K\r")))
    assert "\x1b" not in described(path) and "\r" not in described(path)


def test_a_broken_template_is_told_with_its_code(change) -> None:
    def edit(row: dict) -> None:
        row["metadata"]["workbench"]["format"] = 99
        row["cells"].append(code(EVIL))

    told = described(change(edit))
    assert "newer form (99)" in told and "touch()" in told
    assert "There is no code in it." in described(change(lambda row: row["cells"].clear()))


def test_a_file_larger_than_any_template_or_nested_without_end_is_refused(tmp_path) -> None:
    huge, deep = tmp_path / "huge.ipynb", tmp_path / "deep.ipynb"
    huge.write_bytes(b" " * (LARGEST + 1))
    deep.write_text("[" * 100_000)
    for path, words in ((huge, "at most 20 MB"), (deep, "nested too deeply")):
        with pytest.raises(RepairError, match=words):
            described(path)
    assert {card.path.parent for card in cards(tmp_path)} == {folders().templates}


@pytest.mark.parametrize("name", ["../../evil", "/etc/passwd", "a/b", "..", "nul\x00l"])
def test_a_name_that_is_a_path_stays_in_its_folder(change, name, tmp_path) -> None:
    def edit(row: dict) -> None:
        row["metadata"]["workbench"]["title"] = name
        row["metadata"]["workbench"]["repair"]["name"] = name

    path = change(edit)
    inside = tmp_path / "deep" / "mine"
    main(["new", str(path), "--folder", str(inside)])
    made = [found for found in tmp_path.rglob("*.ipynb") if found != path]
    assert all(found.parent == inside for found in made)


def test_a_fresh_size_of_the_tool_s_own_is_no_stranger(change) -> None:
    def edit(row: dict) -> None:
        cell = next(c for c in row["cells"] if "parameters" in c["metadata"].get("tags", []))
        cell["source"] = "".join(cell["source"]).replace("peg_diameter = 6.0", "peg_diameter = 7.5")

    path = change(edit)
    assert own_code(path) == () and "now 7.5" in described(path)


def test_the_gallery_says_which_template_has_code_of_its_author(change) -> None:
    from workbench.jupyter.lesson import gallery

    path = change(lambda row: row["cells"].append(code(EVIL)))
    html = gallery("", folder=path.parent)._repr_html_()
    assert html.count("Cells that the tool did not write: 1.") == 1
