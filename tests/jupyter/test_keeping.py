"""What the bench and the cells come to together, as the page of the notebook stands."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from workbench.jupyter import keeping
from workbench.jupyter.keeping import Keeping
from workbench.jupyter.state import Workpiece
from workbench.output.notebook.template_notebook import as_notebook, read_json
from workbench.solids.recipe.repair import Repair


def foot(width: float) -> Repair:
    return Repair("part").add("tab", name="foot", width=width)


class Page:
    """A page that does at once what it is asked, and the kernel's keeping behind it.

    lines : what is said on the bench
    ran : the cells that have run
    """

    reached, refused = True, False

    def __init__(self, path: Path) -> None:
        self.ran: list[str] = []
        self.path, self.keep, self.lines = path, Keeping(path), list[str]()
        self.keep.front = self  # type: ignore[assignment]
        self.piece = self.run()
        self.load()

    def open(self) -> None:
        """There is a page already."""

    def say(self, asked: dict[str, Any]) -> bool:
        if asked["do"] == "write":
            self.keep._hear({"did": "write", "serial": asked["serial"]})
        return True

    def load(self) -> None:
        """Open the notebook from its file."""
        self.keep._hear({"content": read_json(self.path), "loaded": True})

    def run(self, width: float = 30, written_meanwhile: bool = False) -> Workpiece:
        """Run its cells, with this in the cell of the sizes; the last one puts it on the bench."""
        self.ran.append(f"repair = Repair('part')  # {width} wide")
        if written_meanwhile:
            self.keep.now()
        self.piece = self.keep.begin(foot(width), self.tell)
        return self.piece

    def tell(self, lines: list[str], _can_write: bool) -> None:
        self.lines = lines

    def on_bench(self, width: float) -> None:
        """An edit on the bench, and the cells written after it."""
        self.piece.edit(lambda repair: repair.change("foot", width=width))
        self.keep.now()
        assert self.keep._content is not None
        assert f"foot_width = {width}" in "".join(self.keep._content["cells"][1]["source"])

    @property
    def width(self) -> float:
        return self.piece.repair.step("foot").values["width"]


@pytest.fixture
def page(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Page:
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    path = tmp_path / "part.ipynb"
    path.write_bytes(as_notebook(foot(30), "part", image=b""))
    page = Page(path)
    monkeypatch.setattr(keeping, "code_that_ran", lambda: page.ran)
    return page


def test_a_number_typed_back_to_what_is_saved_is_a_hand_s_change(page: Page) -> None:
    page.on_bench(33.0)
    page.run(30)
    assert page.width == 30
    assert page.piece.undoes == "width of foot" and page.piece.undo() and page.width == 33


def test_the_cells_wait_for_a_hand_that_moves_but_not_for_ever(page: Page, monkeypatch) -> None:
    now, again, written = [100.0], list[int](), [0]
    monkeypatch.setattr(keeping.time, "monotonic", lambda: now[0])
    monkeypatch.setattr(page.keep, "_begin", lambda: again.append(1))
    say = page.say

    def counted(asked: dict[str, Any]) -> bool:
        written[0] += asked["do"] == "write"
        return say(asked)

    monkeypatch.setattr(page, "say", counted)
    width = 33.0

    def wrote(since: float) -> bool:
        """Whether the cells were written so long after another edit; the hidden file always is."""
        nonlocal width
        width += 0.5
        page.piece.edit(lambda repair: repair.change("foot", width=width))
        page.keep.soon()
        now[0] += since
        written[0] = 0
        again.clear()
        page.keep._in_turn()
        assert page.keep._file and str(width) in page.keep._file.read_text(encoding="utf-8")
        assert bool(again) is not bool(written[0]), "it comes again until they are"
        return bool(written[0])

    assert [wrote(0.29) for _time in range(6)] == [False] * 4 + [True, False]
    assert wrote(0.31)
    assert not wrote(0.29)


def test_where_the_bench_went_on_meanwhile_a_line_says_that_its_size_gave_way(page: Page) -> None:
    page.on_bench(33.0)
    page.piece.edit(lambda repair: repair.change("foot", width=35))
    page.run(30)
    page.keep.now()
    assert page.width == 30 and "not 35 from the bench" in " ".join(page.lines)


def test_a_page_loaded_anew_says_what_was_saved_and_that_is_no_hand_s_change(page: Page) -> None:
    page.on_bench(33.0)
    page.load()
    page.run(30)
    assert page.width == 33
    page.on_bench(35.0)
    page.run(30)
    assert page.width == 30, "it has run since"


def test_a_page_loaded_anew_whose_cells_were_written_while_they_ran(page: Page) -> None:
    page.on_bench(33.0)
    page.load()
    page.run(30, written_meanwhile=True)
    assert page.width == 33
