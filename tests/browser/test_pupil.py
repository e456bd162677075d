"""A pupil's evening, from the start page to the printed file, as a person goes through it.

``WORKBENCH_RECORD=FOLDER`` leaves numbered pictures of the run and one that moves.
"""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browsed import PATIENCE, note_faults, serving, until
from ports import free_port

pytestmark = pytest.mark.browser

#: What the calipers read at home: a deeper hole, and the shelf's own thickness in inches.
HOLE, LENGTH, SLIPPED = "5.12 5,10; 5.11", "5/16 in", "9.41 9.39 94"
#: The same in mm, worked out here: 5/16 of 25.4, and the mean of two readings that agree.
LENGTH_MM, HEIGHT_MM = 5 / 16 * 25.4, (9.41 + 9.39) / 2
#: How far the rest is sunk into the peg, as the template says.
SINK = 0.4


class Record:
    """Numbered pictures of a page, and from them one that moves; nothing where no folder is set."""

    def __init__(self, page: Any) -> None:
        self._page = page
        where = os.environ.get("WORKBENCH_RECORD")
        self._folder = Path(where) if where else None
        self._paths: list[Path] = []

    def __call__(self, what: str) -> None:
        if self._folder is None:
            return
        self._folder.mkdir(parents=True, exist_ok=True)
        path = self._folder / f"{len(self._paths) + 1:02d}-{what}.png"
        self._page.screenshot(path=path)
        self._paths.append(path)

    def close(self) -> None:
        from PIL import Image

        if self._folder is not None and self._paths:
            first, *others = (Image.open(path).convert("RGB") for path in self._paths)
            first.save(
                self._folder / "pupil.webp", save_all=True, append_images=others, duration=2000
            )


@pytest.fixture
def opened(tmp_path: Path) -> Iterator[tuple[str, Path]]:
    """What ``workbench open`` prints as its address, and the pupil's folder."""
    port = free_port()
    folder, home = tmp_path / "class", tmp_path / "home"
    home.mkdir()
    environment = os.environ | {
        **{name: str(home) for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME")},
        **{f"JUPYTER_{kind}_DIR": str(home / kind) for kind in ("CONFIG", "DATA", "RUNTIME")},
        "IPYTHONDIR": str(home / "ipython"),
        "PYTHONUNBUFFERED": "1",
    }
    command = [sys.executable, "-c", "import sys; from workbench.cli import main; sys.exit(main())"]
    command += ["open", "--no-browser", "--folder", str(folder), "--port", str(port)]
    log = tmp_path / "open.log"
    with (
        log.open("wb") as file,
        serving(command, env=environment, cwd=tmp_path, stdout=file) as server,
    ):
        yield _address(server, log), folder


def _address(server: subprocess.Popen, log: Path) -> str:
    end = time.monotonic() + PATIENCE
    while time.monotonic() < end and server.poll() is None:
        found = re.search(r"http://127\.0\.0\.1:\S+token=\w+", log.read_text(errors="replace"))
        if found:
            return found[0]
        time.sleep(0.1)
    pytest.fail(f"JupyterLab did not start: {log.read_text(errors='replace')[-2000:]}")


@pytest.fixture
def screen(page: Any) -> Any:
    """A page as large as a plain laptop's screen."""
    page.set_viewport_size({"width": 1280, "height": 720})
    page.set_default_timeout(PATIENCE * 1000)
    return page


def typed(page: Any, label: str, text: str) -> Any:
    """Type into a box as a person does, and return it."""
    box = page.get_by_role("textbox", name=label, exact=True).locator("visible=true").first
    box.fill(text)
    box.press("Enter")
    return box


def turn_to(page: Any, name: str) -> None:
    button = page.locator(".wb-page-row .wb-pages:visible").get_by_role("button", name=name)
    button.click()
    button.scroll_into_view_if_needed()


def test_a_pupil_goes_from_the_start_page_to_files_that_print(
    opened: tuple[str, Path], screen: Any
):
    address, folder = opened
    page, record, faults = screen, Record(screen), []
    note_faults(page, faults)

    # the start page, and the shelf in pictures
    page.goto(address)
    page.locator(".jp-Notebook .jp-Cell").first.wait_for()
    page.get_by_text("Python 3 (ipykernel) | Idle").wait_for()
    assert page.get_by_text("notified about official Jupyter news").count() == 0
    record("start-page")
    page.locator(".jp-Notebook .jp-Cell").first.click()
    for _cell in range(3):
        page.keyboard.press("Shift+Enter")
    pictures = page.locator(".wb-gallery img")
    pictures.first.wait_for()
    assert all(pictures.evaluate_all("all => all.map((e) => e.complete && e.naturalWidth > 100)"))
    pictures.first.scroll_into_view_if_needed()
    record("gallery")

    # one's own from a template, with what the calipers read
    page.locator(".wb-lesson .wb-pages").get_by_role("button", name="shelf peg").press("Enter")
    hole = typed(page, "what peg diameter fits in mm", HOLE)
    until(page, lambda: hole.input_value() == "5.11", "the mean of the hole's readings is shown")
    assert page.get_by_text("mean of 5.12 · 5.1 · 5.11").is_visible()
    length = typed(page, "peg length in mm", LENGTH)
    until(page, lambda: length.input_value() == f"{LENGTH_MM:.4f}", "inches are taken over in mm")
    height = typed(page, "rest height in mm", SLIPPED)
    page.get_by_text("94 mm is far from the others, which read about 9.4 mm").wait_for()
    until(page, lambda: float(height.input_value()) > 30, "the mean has the slip in it")
    record("a-reading-that-slipped")
    height = typed(page, "rest height in mm", "9.41 9.39")
    until(page, lambda: height.input_value() == "9.4", "the slip is gone")
    typed(page, "Name", "larder peg")
    page.get_by_role("button", name="Start this repair").press("Enter")
    page.get_by_role("link", name="Open larder-peg.ipynb on the bench").wait_for()
    record("started")
    page.get_by_role("link", name="Open larder-peg.ipynb").click()

    # on the bench, where the link leads: picture, drawing, findings
    verdict = page.locator(".wb-verdict:visible")
    verdict.get_by_text("Nothing stops a print").wait_for()
    page.locator(".wb-bar:visible").evaluate("e => e.scrollIntoView()")
    canvas = page.locator(".wb-preview .wb-picture").locator("visible=true")
    until(page, lambda: _inked(canvas.screenshot()), "the part is drawn")
    assert not page.locator(".jp-FileBrowser").first.is_visible(), "the bench has the screen"
    record("on-the-bench")

    # a size on the bench: picture, drawing and findings follow
    turn_to(page, "Drawing")
    page.locator(".wb-drawing:visible svg").first.wait_for()
    before, drawn = canvas.screenshot(), page.locator(".wb-drawing:visible").inner_html()
    diameter = typed(page, "diameter in mm", "5.3 5.3 5.9")
    page.get_by_text("5.9 mm is far from the others").first.wait_for()
    until(page, lambda: canvas.screenshot() != before, "the picture follows")
    turn_to(page, "Drawing")
    until(
        page,
        lambda: page.locator(".wb-drawing:visible").inner_html() != drawn,
        "the drawing follows",
    )
    turn_to(page, "Findings")
    page.locator(".wb-findings:visible").get_by_text("5.9 mm is far from the others").wait_for()
    record("findings-follow")
    page.get_by_role("button", name=re.compile("^Undo")).locator("visible=true").click()
    until(page, lambda: diameter.input_value() == "4.7", "undo brings the diameter back")

    # cautions: who is near it
    turn_to(page, "Use and bed side")
    page.get_by_label("children use it or can reach it").check()
    verdict.get_by_text("Do not print this yet").wait_for()
    turn_to(page, "Findings")
    page.locator(".wb-findings:visible").get_by_text("choke a child").first.wait_for()
    record("a-caution-stops-it")
    turn_to(page, "Use and bed side")
    page.get_by_label("children use it or can reach it").uncheck()
    verdict.get_by_text("Nothing stops a print").wait_for()

    # the files
    turn_to(page, "Files")
    page.get_by_role("button", name="Write revision 1").press("Enter")
    page.get_by_role("button", name="Write revision 2").wait_for()
    record("files")
    (printed,) = folder.rglob("revision-1/larder-peg.3mf")
    for solid in _solids(printed):
        # The peg stands along x, y or z, as it is laid for printing: its length is one of three.
        longest = LENGTH_MM + HEIGHT_MM - SINK
        assert min(abs(side - longest) for side in solid) < 0.01

    # for next time
    typed(page, "Title", "larder peg for thick doors")
    page.get_by_role("button", name="Save as template").press("Enter")
    page.get_by_text("it is on the shelf now").wait_for()
    (saved,) = folder.rglob("templates/larder-peg-for-thick-doors.ipynb")
    turn_to(page, "Shelf")
    shelf = page.get_by_label("Templates", exact=True).locator("visible=true")
    until(page, lambda: "larder peg for" in shelf.inner_text().replace("\xa0", " "), "it is there")
    shelf.select_option("larder peg for thick doors")
    again = (
        page.get_by_role("textbox", name="peg length in mm", exact=True)
        .locator("visible=true")
        .first
    )
    until(page, lambda: again.input_value() == f"{LENGTH_MM:.4f}", "its sizes are those typed")
    record("on-the-shelf")
    record.close()
    assert saved.is_file() and faults == []


def _inked(shot: bytes) -> bool:
    import io

    from PIL import Image

    pixels = np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)
    return bool((pixels.sum(axis=2) < 500).mean() > 0.01)


def _solids(path: Path) -> list[np.ndarray]:
    """Width, depth and height of what is in a 3MF file, as lib3mf and as trimesh read it."""
    import lib3mf
    import trimesh

    model = lib3mf.get_wrapper().CreateModel()
    model.QueryReader("3mf").ReadFromFile(str(path))
    items = model.GetBuildItems()
    assert items.MoveNext()
    box = items.GetCurrent().GetObjectResource().GetOutbox()
    ends = [np.array([list(end)]) for end in (box.MinCoordinate, box.MaxCoordinate)]
    return [
        np.ptp(np.concatenate(ends), axis=0),
        np.asarray(trimesh.load(path, force="mesh").extents),
    ]
