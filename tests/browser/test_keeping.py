"""What a hand did on the bench is in the notebook, and stays: in a real browser, with real kernels."""

from __future__ import annotations

import json
import os
import re
import signal
from pathlib import Path
from typing import Any

import nbformat
import psutil
import pytest
from browsed import PATIENCE, judged, note_faults, open_idle, run_all, until

from workbench.cli import main
from workbench.errors import RepairError
from workbench.output.notebook.template_notebook import read_template, save_template
from workbench.solids.recipe.repair import Repair

pytestmark = pytest.mark.browser

#: The line under the picture: there once the part is built.
LINE = ".wb-line p"


def divider() -> Repair:
    return (
        Repair("tray divider")
        .add("fin", name="blade", bottom=38, top=28, height=60, thickness=1.6)
        .add("tab", seat="bottom of blade", name="foot", width=28, length=4.2, thickness=2.4)
    )


@pytest.fixture
def at(page: Any):
    faults: list[str] = []
    note = note_faults(page, faults)
    page.set_default_timeout(PATIENCE * 1000)
    yield page
    page.remove_listener("pageerror", note)
    assert faults == []


def started(lab: Any, name: str) -> Path:
    """A repair as a notebook in the folder that the page shows."""
    return save_template(divider(), lab.folder, title=name)


def cell(page: Any, number: int) -> str:
    """The source of a cell as the page has it."""
    return page.evaluate(
        """number => {
            const shown = (w) => w.isVisible && w.context && w.content.model.sharedModel;
            const panel = [...jupyterapp.shell.widgets('main')].find(shown);
            return panel.content.model.sharedModel.cells[number].getSource();
        }""",
        number,
    )


def write_cell(page: Any, number: int, old: str, new: str) -> None:
    """Change a cell as a person who types in it does."""
    page.evaluate(
        """([number, old, now]) => {
            const shown = (w) => w.isVisible && w.context && w.content.model.sharedModel;
            const panel = [...jupyterapp.shell.widgets('main')].find(shown);
            const cell = panel.content.model.sharedModel.cells[number];
            cell.setSource(cell.getSource().replace(old, now));
        }""",
        [number, old, new],
    )


def give(page: Any, label: str, value: str) -> None:
    box = page.get_by_label(f"{label} in mm", exact=True).locator("visible=true").first
    box.fill(value)
    box.press("Enter")


def saved(page: Any, path: Path, step: str, field: str) -> Any:
    """A size as the file has it, once it can be read; None while it is being written."""
    try:
        return read_template(path).step(step).values[field]
    except RepairError:
        return None


def hidden(path: Path) -> list[Path]:
    return list(path.parent.glob(f".{path.stem}.workbench*"))


def shows(page: Any, words: str) -> bool:
    return page.get_by_text(words).locator("visible=true").count() > 0


def kernel_of(path: Path) -> int:
    """The process of the kernel that works on a notebook."""
    owner = json.loads(hidden(path)[0].read_text(encoding="utf-8"))["owner"]
    assert "ipykernel" in " ".join(psutil.Process(owner["process"]).cmdline())
    return owner["process"]


def test_the_cells_say_what_the_bench_has_and_the_file_after_ctrl_s(
    at: Any, lab: Any, capsys: pytest.CaptureFixture
):
    path = started(lab, "one document")
    judged(at, lab.url(path.name))
    cells = [cell.id for cell in nbformat.read(path, as_version=4).cells]
    assert cells == ["title", "parameters", "build", "bench"], "findings are not printed again"
    give(at, "bottom", "41.5")
    until(at, lambda: "blade_bottom = 41.5" in cell(at, 1), "the parameters cell says 41.5")
    until(at, lambda: bool(hidden(path)), "the work is kept beside the notebook")
    assert "| `blade_bottom` | 41.5 mm |" in cell(at, 0)
    assert read_template(path).step("blade").values["bottom"] == 38

    # the command speaks of the part that the bench shows, and says where it has it from
    main(["check", str(path)])
    told = capsys.readouterr()
    assert "what the bench has kept" in told.err and "41.5" not in told.err
    main(["check", str(path), "--as-saved"])
    assert "kept" not in capsys.readouterr().err

    # a step more, then saved as ever
    at.locator(".wb-pages").get_by_role("button", name="Add a step", exact=True).click()
    at.get_by_role("combobox", name="Shape", exact=True).select_option("tab")
    at.locator(".wb-form").get_by_label("Name", exact=True).locator("visible=true").fill("grip")
    at.locator(".wb-form").get_by_label("Sits on step").locator("visible=true").select_option(
        "blade"
    )
    at.get_by_role("button", name="Add step", exact=True).click()
    until(at, lambda: 'name="grip"' in cell(at, 2), "the build cell has the step")
    at.keyboard.press("Control+s")
    until(at, lambda: saved(at, path, "blade", "bottom") == 41.5, "it is saved")
    until(at, lambda: not hidden(path), "nothing is left beside it")
    assert [step.name for step in read_template(path).steps] == ["blade", "foot", "grip"]
    main(["check", str(path)])
    told = capsys.readouterr()
    assert "steps: 3" in told.out and told.err == ""

    # and from a box, which keeps its keys to itself
    give(at, "length", "6.5")
    until(at, lambda: "grip_length = 6.5" in cell(at, 1), "the parameters cell says 6.5")
    assert at.evaluate("document.activeElement.matches('.wb input')")
    at.keyboard.press("Control+s")
    until(at, lambda: saved(at, path, "grip", "length") == 6.5, "it is saved")


def test_run_all_a_restart_and_a_kill_lose_nothing_and_undo_goes_on(at: Any, lab: Any):
    path = started(lab, "nothing lost")
    judged(at, lab.url(path.name))
    give(at, "bottom", "41.5")
    until(at, lambda: "blade_bottom = 41.5" in cell(at, 1), "the parameters cell says 41.5")
    run_all(at)
    undo = at.get_by_role("button", name="Undo: bottom of blade")
    undo.wait_for()
    until(at, lambda: at.locator(LINE).count() == 1, "one bench is there")
    undo.click()
    until(at, lambda: "blade_bottom = 38.0" in cell(at, 1), "undone in the cell too")
    at.get_by_role("button", name="Redo").first.click()
    until(at, lambda: "blade_bottom = 41.5" in cell(at, 1), "done again")

    # the kernel is killed: one sentence, one button, the still picture, and no broken icon
    give(at, "height", "63")
    until(at, lambda: "blade_height = 63.0" in cell(at, 1), "the cell says 63")
    until(at, lambda: at.locator(".wb-still img").count() > 0, "there is a still picture")
    os.kill(kernel_of(path), signal.SIGKILL)
    go = at.get_by_role("button", name="Put it back on the bench")
    go.wait_for()
    assert at.get_by_text("The kernel behind this bench").locator("visible=true").count() == 1
    until(at, lambda: at.locator("dialog.jp-Dialog").count() == 0, "no dialog asks as well")
    assert at.locator(".wb-still img").first.is_visible()
    assert at.locator(".wb-bar").locator("visible=true").count() == 0
    go.click()
    undo = at.get_by_role("button", name="Undo: height of blade")
    undo.wait_for()
    assert at.locator(".wb-notice").count() == 0
    assert "blade_height = 63.0" in cell(at, 1)

    # page loaded anew without saving, and run: the work is still there
    at.evaluate("window.onbeforeunload = null")
    path.touch()
    at.goto("about:blank")
    judged(at, lab.url(path.name))
    until(at, lambda: "blade_height = 63.0" in cell(at, 1), "the cells say it again")
    at.get_by_role("button", name="Undo: height of blade").click()
    until(at, lambda: "blade_height = 60.0" in cell(at, 1), "undo goes on where it was")


def test_cells_and_bench_are_laid_together_and_a_line_says_what_gave_way(at: Any, lab: Any):
    path = started(lab, "both hands")
    judged(at, lab.url(path.name))
    write_cell(at, 1, "blade_bottom = 38.0", "blade_bottom = 44.0  # mine")
    give(at, "bottom", "41.5")
    give(at, "height", "63")
    at.get_by_text("The cells were changed by hand; run all cells").wait_for()
    assert "blade_bottom = 44.0  # mine" in cell(at, 1) and "blade_height = 60.0" in cell(at, 1)
    run_all(at)
    at.get_by_text("bottom of blade: 44 from the cell is used").wait_for()
    until(at, lambda: "blade_height = 63.0" in cell(at, 1), "the bench's height is in the cell")
    assert "blade_bottom = 44.0  # mine" in cell(at, 1)
    at.get_by_role("button", name=re.compile("^Undo")).first.click()
    until(at, lambda: "blade_bottom = 41.5" in cell(at, 1), "undo brings the bench's back")

    # nonsense in a cell: the last good part stays, and the line is told
    line = at.locator(LINE).inner_text()
    write_cell(at, 1, "blade_bottom = 41.5", "blade_bottom = 41,,5")
    run_all(at)
    at.get_by_text("The cell with the sizes did not run, line 2").wait_for()
    assert at.locator(LINE).inner_text() == line


def test_a_notebook_of_one_s_own_cells_is_never_rewritten_and_keeps_the_bench(at: Any, lab: Any):
    code = (
        "from workbench import Repair, bench\n"
        "r = Repair('wedge').add('fin', name='blade', bottom=38, top=28, height=60)\nbench(r)"
    )
    address = lab.notebook("own.ipynb", code)
    path = lab.folder / "own.ipynb"
    judged(at, address)
    give(at, "bottom", "41.5")
    until(at, lambda: bool(hidden(path)), "the work is kept beside the notebook")
    run_all(at)
    at.get_by_role("button", name="Undo: bottom of blade").wait_for()
    assert cell(at, 0) == code
    at.keyboard.press("Control+s")
    until(at, lambda: not hidden(path), "the saved notebook has it")
    assert nbformat.read(path, as_version=4).cells[0].source == code
    at.goto("about:blank")
    judged(at, address)
    assert at.get_by_label("bottom in mm", exact=True).first.input_value() == "41.5"


def test_a_saved_notebook_without_a_kernel_says_so_and_goes_on_with_one_button(at: Any, lab: Any):
    path = started(lab, "read later")
    judged(at, lab.url(path.name))
    until(at, lambda: at.locator(".wb-still img").count() > 0, "there is a still picture")
    at.keyboard.press("Control+s")
    until(at, lambda: "wb-still-gone" in path.read_text(encoding="utf-8"), "it is in the file")
    copy = path.with_name("copy.ipynb")
    copy.write_bytes(path.read_bytes())
    at.goto("about:blank")
    open_idle(at, lab.url(copy.name))
    go = at.get_by_role("button", name="Put it back on the bench")
    go.wait_for()
    assert not shows(at, "Error displaying widget") and not shows(at, "model not found")
    assert at.locator(".wb-still img").first.is_visible()
    go.click()
    until(at, lambda: at.locator(LINE).count() == 1, "the bench is there")
    assert at.locator(".wb-bar").first.is_visible()


#: Notes that the page has said it, which it may have done when the test looks next.
ARRIVING = """() => {
    window.arriving = false;
    const look = () => (window.arriving ||= Boolean(document.querySelector('.wb-arriving')));
    new MutationObserver(look).observe(document.body, { childList: true, subtree: true });
}"""


def test_a_link_under_start_this_repair_ends_on_the_bench(at: Any, lab: Any):
    if at.locator(LINE).count() == 0:  # any bench will do, such as that of the test before
        judged(at, lab.url(started(lab, "begin here").name))
    at.locator(".wb-pages").get_by_role("button", name="Shelf", exact=True).click()
    at.get_by_label("Templates", exact=True).select_option("shelf peg")
    name = at.get_by_label("Name", exact=True).locator("visible=true").last
    until(at, lambda: name.input_value() == "shelf peg", "the peg's sizes are asked for")
    name.fill("kitchen peg")
    at.get_by_role("button", name="Start this repair").click()
    at.evaluate(ARRIVING)
    at.get_by_role("link", name="Open kitchen-peg.ipynb on the bench").click()
    until(at, lambda: at.evaluate("arriving"), "it says that it is on its way")
    named = at.locator(".wb-name", has_text="kitchen peg").locator("visible=true")
    named.wait_for()
    until(at, lambda: at.locator(".wb-arriving").count() == 0, "it has arrived")
    box = named.bounding_box()
    assert box is not None and 0 < box["y"] < 500, "the bench is in view"
