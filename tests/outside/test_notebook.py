"""Template notebooks against papermill, which set the convention of the parameters cell.

Source: papermill's documentation, "Parameterize": a cell tagged ``parameters``, one assignment
a line, a comment behind it as its help. Checked with the library itself.
"""

from __future__ import annotations

from pathlib import Path

import papermill
import pytest

from workbench import Repair
from workbench.output.notebook.template_notebook import read_template, save_template


@pytest.fixture
def template(tmp_path: Path) -> Path:
    repair = Repair("tray divider").add("fin", name="blade", bottom=36, inset=-4)
    return save_template(repair, tmp_path)


def test_papermill_finds_every_size_and_its_help(template: Path) -> None:
    found = papermill.inspect_notebook(str(template))
    assert found["blade_bottom"]["default"] == "36.0"
    assert found["blade_bottom"]["help"] == "mm, across the bottom edge"
    assert found["blade_inset"]["default"] == "-4.0"


def test_numbers_that_papermill_sets_are_the_ones_read_back(template: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.ipynb"
    papermill.execute_notebook(
        str(template), str(other), {"blade_bottom": 41.5}, prepare_only=True, progress_bar=False
    )
    assert read_template(other).step("blade").values["bottom"] == 41.5
    assert read_template(template).step("blade").values["bottom"] == 36.0
