"""The notebook that a repair lives in: its cells say what the bench has, and a hand's lines stay."""

from __future__ import annotations

import ast
import json
import subprocess
import sys
from pathlib import Path
from random import Random
from typing import Any

import pytest
from edits import edit, random_repair
from hypothesis import example, given
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.output.notebook import cells
from workbench.output.notebook.document import EditedByHand, is_document, relined, set_in, written
from workbench.output.notebook.repair_sizes import named_sizes
from workbench.output.notebook.shelf import folders
from workbench.output.notebook.template_notebook import as_notebook, held_in, laid_over, read_json
from workbench.solids.recipe.changes import same
from workbench.solids.recipe.merge import row_of
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.same import Same

PATH = Path("part.ipynb")
SHELF = sorted(folders().templates.glob("*.ipynb"))


def notebook(repair: Repair, title: str = "part") -> dict[str, Any]:
    return json.loads(as_notebook(repair, title, "A note.", image=b""))


def read(content: dict[str, Any]) -> Repair:
    return laid_over(held_in(content, PATH))


def run(content: dict[str, Any]) -> Repair:
    """What the cells build when they are run."""
    space: dict[str, Any] = {}
    for cell in content["cells"]:
        if cell["cell_type"] == "code" and cell["id"] != "bench":
            exec("".join(cell["source"]).replace(", bench", ""), space)
    return space["repair"]


def cell(content: dict[str, Any], name: str) -> dict[str, Any]:
    return next(c for c in content["cells"] if c["id"] == name)


def by_hand(content: dict[str, Any], name: str, old: str, new: str) -> dict[str, Any]:
    changed = json.loads(json.dumps(content))
    text = "".join(cell(changed, name)["source"])
    assert old in text
    cell(changed, name)["source"] = text.replace(old, new)
    return changed


@given(st.integers(0, 2**32))
def test_the_cells_say_exactly_what_the_bench_has_after_any_edits(seed):
    rng = Random(seed)
    repair = random_repair(rng, rng.randint(1, 12))
    content = notebook(repair)
    assert run(content) == repair == read(content)
    for _n in range(rng.randint(1, 4)):
        edit(rng, repair)
    again = set_in(content, written(content, repair))
    assert run(again) == repair == read(again)
    assert row_of(run(again)) == row_of(repair)
    assert written(again, repair).sources == {}


@pytest.mark.parametrize("path", SHELF, ids=lambda path: path.stem)
def test_every_repair_of_the_shelf_comes_back_exactly(path):
    content = read_json(path)
    repair = read(content)
    assert is_document(content)
    assert row_of(run(content)) == row_of(repair)
    assert written(content, repair).sources == {}


def test_what_is_written_passes_the_linter(tmp_path):
    rng = Random(3)
    repairs = [random_repair(rng, n) for n in range(1, 13)]
    for n, repair in enumerate(repairs):
        (tmp_path / f"part_{n}.ipynb").write_bytes(as_notebook(repair, repair.name, image=b""))
    words = [sys.executable, "-m", "ruff", "check", "--isolated", "--line-length", "100"]
    words += ["--select", "E,F,I,B,UP,SIM,RUF", "--ignore", "E402,E501,B018,RUF001", str(tmp_path)]
    done = subprocess.run(words, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def test_a_hands_comments_and_lines_stay_and_only_the_number_changes():
    repair = Repair("part").add("tab", name="foot", width=30)
    content = by_hand(
        notebook(repair), "parameters", "foot_width = 30.0", "# my calipers\nfoot_width = 30.0"
    )
    repair.change("foot", width=31.5)
    text = written(content, repair).sources["parameters"]
    before = "".join(cell(content, "parameters")["source"])
    assert text == before.replace("foot_width = 30.0", "foot_width = 31.5")


def test_lines_come_and_go_with_their_steps_in_a_cell_that_a_hand_wrote_in():
    repair = Repair("part").add("tab", name="foot").add("box", name="rib")
    content = by_hand(notebook(repair), "parameters", "rib_depth", "# mine\nrib_depth")
    repair.remove("foot").add("box", name="nub", width=4)
    again = set_in(content, written(content, repair))
    text = "".join(cell(again, "parameters")["source"])
    assert "# mine" in text and "nub_width = 4.0" in text and "foot_width" not in text
    assert run(again) == repair


def test_a_cell_that_was_changed_and_has_not_run_is_left_alone():
    repair = Repair("part").add("tab", name="foot", width=30)
    content = by_hand(notebook(repair), "parameters", "foot_width = 30.0", "foot_width = 33.0")
    changed = repair.copy()
    changed.change("foot", thickness=2.7)
    with pytest.raises(EditedByHand, match="run all cells"):
        written(content, changed)
    ran = repair.copy()
    ran.change("foot", width=33)
    both = ran.copy()
    both.change("foot", thickness=2.7)
    again = set_in(content, written(content, both, row_of(ran)))
    assert read(again) == both == run(again)


@pytest.mark.parametrize(
    ("name", "old", "new", "words"),
    [
        ("build", 'name="foot"', 'name="foot", length=9', "changed by hand"),
        ("parameters", "foot_width = 30.0", "foot_width = 30,,", "line 2"),
        ("parameters", "foot_width = 30.0", "foot_width = 2 * 15", "line 2: foot_width"),
    ],
)
def test_a_cell_that_a_hand_wrote_is_never_written_over(name, old, new, words):
    repair = Repair("part").add("tab", name="foot", width=30)
    content = by_hand(notebook(repair), name, old, new)
    with pytest.raises(RepairError, match=words):
        written(content, repair)


def test_other_cells_and_an_edited_heading_stay():
    repair = Repair("part").add("tab", name="foot", width=30)
    content = by_hand(notebook(repair), "title", "A note.", "My own words.")
    content["cells"].append({"cell_type": "code", "id": "mine", "metadata": {}, "source": "x = 1"})
    repair.change("foot", width=31)
    assert set(written(content, repair).sources) == {"parameters"}


def test_the_heading_lists_the_sizes_as_they_are_now():
    repair = Repair("part").add("tab", name="foot", width=30)
    content = notebook(repair)
    repair.change("foot", width=31)
    assert "| `foot_width` | 31 mm |" in written(content, repair).sources["title"]


def test_what_papermill_put_in_does_not_win_over_the_bench():
    repair = Repair("part").add("tab", name="foot", width=30)
    content = notebook(repair)
    injected = {"tags": ["injected-parameters"]}
    content["cells"].insert(
        2, {"cell_type": "code", "id": "p", "metadata": injected, "source": "foot_width = 33"}
    )
    ran = read(content)
    ran.change("foot", width=35)
    again = set_in(content, written(content, ran, row_of(read(content))))
    assert read(again) == ran == run(again)


def test_sizes_that_follow_others_are_written_and_a_hand_s_formula_stays():
    repair = Repair("part").add("box", name="base", width=40).add("tab", name="foot", width=30)
    content = notebook(repair)
    repair.change("foot", width=Same("base.width - 8"))
    again = set_in(content, written(content, repair))
    assert 'foot_width = Same("base.width - 8")' in "".join(cell(again, "parameters")["source"])
    assert run(again) == repair == read(again)
    line = 'foot_width = Same("base.width - 8")'
    by_formula = by_hand(again, "parameters", line, "foot_width = base_width - 6")
    ran = run(by_formula)
    assert ran.step("foot").values["width"] == 34
    ran.change("base", height=9)
    after = set_in(by_formula, written(by_formula, ran, row_of(run(by_formula))))
    assert "foot_width = base_width - 6" in "".join(cell(after, "parameters")["source"])
    assert "base_height = 9.0" in "".join(cell(after, "parameters")["source"])


# -- hostile text ---------------------------------------------------------------------------

HOSTILE = st.text(min_size=1, max_size=30) | st.sampled_from(
    [
        "b\ngetattr(__import__('os'),'system')('touch owned')\n#",
        'a"); import os; ("',
        "x\r\nimport os",
        "x\u2028import os\x0cimport os",
        "\u202eso tropmi",
        "'''\nimport os\n'''",
        "\\",
        "%%bash\nls",
    ]
)


def shape(source: str) -> list[str]:
    """The statements of a cell by kind, and every name and call in it."""
    tree = ast.parse(source)
    return [type(node).__name__ for node in ast.walk(tree) if not isinstance(node, ast.Constant)]


@given(HOSTILE, HOSTILE)
@example("b\ngetattr(__import__('os'),'system')('touch owned')\n#", "x")
def test_no_text_becomes_code(name, text):
    try:
        repair = Repair(text).add("tab", name=name, width=30)
        repair.statements = {"heat": text}
        plain = Repair("part").add("tab", name="foot", width=30)
        plain.statements = {"heat": "why"}
    except RepairError:
        return
    for ours, theirs in ((cells.build, cells.build), (cells.parameters, cells.parameters)):
        got = ours(repair, named_sizes(repair))
        assert shape(got) == shape(theirs(plain, named_sizes(plain)))
    assert all(
        line.isprintable() for line in cells.parameters(repair, named_sizes(repair)).split("\n")
    )
    assert run(notebook(repair, text)) == repair


@given(HOSTILE)
def test_a_name_kept_from_somebody_s_notebook_is_a_name_or_is_left(name):
    repair = Repair("part").add("tab", name="foot")
    for found in named_sizes(repair, {name: ("foot", "width")}):
        assert found.isidentifier() and found not in ("repair", "bench", "Repair")


@given(st.dictionaries(st.sampled_from("abc"), st.floats(-9, 9) | st.booleans() | st.text()))
def test_a_relined_cell_has_the_values(values):
    source = "# mine\na = 1.0  # é\n\nb = (\n    2\n)\nc: float = 3\nd = 4\n"
    space: dict[str, Any] = {}
    exec(relined(source, values, {name: ("s", name) for name in "abc"}, {}), space)
    assert all(same(space[name], value) for name, value in values.items())
    assert all(name in values or name == "d" for name in "abcd" if name in space)
    assert space["d"] == 4 and "# mine" in relined(source, values, {}, {})
