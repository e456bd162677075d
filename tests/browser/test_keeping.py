"""What a hand did on the bench is in the notebook, and stays: in a real browser, with real kernels."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from browsed import PATIENCE, judged, until

from workbench.output.notebook.template_notebook import read_template, save_template
from workbench.solids.repair import Repair

pytestmark = pytest.mark.browser


def divider() -> Repair:
    return (
        Repair("tray divider")
        .add("fin", name="blade", bottom=38, top=28, height=60, thickness=1.6)
        .add("tab", seat="bottom of blade", name="foot", width=28, length=4.2, thickness=2.4)
    )


@pytest.fixture
def at(page: Any):
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.set_default_timeout(PATIENCE * 1000)
    yield page
    assert faults == []


def started(lab: Any, name: str) -> Path:
    """A repair as a notebook in the folder that the page shows."""
    return save_template(divider(), lab.folder, title=name)


def cell(page: Any, number: int) -> str:
    """The source of a code cell as the page has it."""
    return page.evaluate(
        """number => {
            const panel = [...jupyterapp.shell.widgets('main')].find(w => w.isVisible && w.context);
            return panel.content.model.sharedModel.cells[number].getSource();
        }""",
        number,
    )


def size(page: Any, label: str) -> Any:
    return page.get_by_label(f"{label} in mm", exact=True).locator("visible=true").first


def give(page: Any, label: str, value: str) -> None:
    box = size(page, label)
    box.fill(value)
    box.press("Enter")


def hidden(path: Path) -> Path:
    return path.with_name(f".{path.stem}.workbench")


def test_the_cells_say_what_the_bench_has_and_the_file_after_ctrl_s(at: Any, lab: Any):
    path = started(lab, "one document")
    judged(at, lab.url(path.name))
    give(at, "bottom", "41.5")
    until(at, lambda: "blade_bottom = 41.5" in cell(at, 1), "the parameters cell says 41.5")
    until(at, lambda: hidden(path).is_file(), "the work is kept beside the notebook")
    assert "| `blade_bottom` | 41.5 mm |" in cell(at, 0)
    assert read_template(path).step("blade").values["bottom"] == 38
    at.keyboard.press("Control+s")
    until(at, lambda: read_template(path).step("blade").values["bottom"] == 41.5, "it is saved")
    until(at, lambda: not hidden(path).is_file(), "nothing is left beside it")
