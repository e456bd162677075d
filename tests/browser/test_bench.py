"""The bench as a person uses it: in JupyterLab, in a real browser, by keyboard and by mouse."""

from __future__ import annotations

import io
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browsed import Watched, judged, looked_at, settled

pytestmark = pytest.mark.browser

DIVIDER = """\
from workbench import Repair, bench
repair = (
    Repair("tray divider")
    .add("fin", name="blade", bottom=46, top=37, height=71, inset=-7, thickness=1.6)
    .add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
)
bench(repair)"""

#: Mean width times height times thickness, and the foot's box; bottom is to be filled in, in mm.
BLADE, FOOT = 71 * 1.6 / 2, 30 * 4 * 2.4


def volume_for(bottom: float) -> float:
    return (bottom + 37) * BLADE + FOOT


class Lab(Watched):
    """What the tests do on a page, with waiting for what is to come instead of for a time."""

    def open(self, url: str) -> None:
        """Open a notebook, run its cells and wait for the first solid and its findings."""
        judged(self.page, url)
        self.page.wait_for_selector(".wb-preview canvas")

    def stay(self, lab: Any) -> Path:
        """Stay on the bench that an earlier test has left, or open one; the notebook's file."""
        if self.page.locator(".wb-preview canvas").count() == 0:
            self.open(lab.notebook("stayed.ipynb", DIVIDER))
        return lab.folder / self.page.evaluate("jupyterapp.shell.currentWidget.context.path")

    def pixels(self) -> np.ndarray:
        """The preview as it looks now, (h, w, 3)."""
        from PIL import Image

        shot = self.page.locator(".wb-preview .wb-picture").screenshot()
        return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)

    def until_drawn(self) -> np.ndarray:
        """Wait until the preview shows a part on the paper, and return its pixels."""
        seen: list[np.ndarray] = []

        def drawn() -> bool:
            seen[:] = [self.pixels()]
            dark = seen[0].sum(axis=2) < 500
            return bool(dark.mean() > 0.02)

        self.until(drawn, "the part is drawn")
        return seen[0]

    def until_redrawn(self, before: np.ndarray) -> np.ndarray:
        """Wait until the preview differs visibly from before, and return its pixels."""
        seen: list[np.ndarray] = []

        def redrawn() -> bool:
            seen[:] = [self.pixels()]
            # A page scrolled by part of a pixel adds a row at the top or at the bottom.
            rows = min(len(before), len(seen[0]))
            differs = [
                (np.abs(now - then).sum(axis=2) > 60).sum()
                for now in (seen[0][:rows], seen[0][-rows:])
                for then in (before[:rows], before[-rows:])
            ]
            return min(differs) > 30

        self.until(redrawn, "the preview changes")
        return seen[0]

    def page_button(self, name: str) -> Any:
        return self.page.locator(".wb-pages").get_by_role("button", name=name, exact=True)


@pytest.fixture(scope="module")
def at(page: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Lab]:
    with looked_at(Lab(page), tmp_path_factory.mktemp("browser") / "last-seen.png") as at:
        yield at


def test_a_repair_from_slider_to_template_to_printed_file(at: Lab, lab: Any):
    page = at.page
    at.open(lab.notebook("divider.ipynb", DIVIDER))
    assert at.volume == pytest.approx(volume_for(46), abs=0.06)
    picture = at.until_drawn()

    # by keyboard: ten steps of 0.1 mm
    handle = page.get_by_role("slider", name="bottom in mm", exact=True)
    handle.focus()
    for _n in range(10):
        page.keyboard.press("ArrowRight")
    at.until(lambda: abs(at.volume - volume_for(47)) < 0.06, "the volume is that of 47 mm")
    picture = at.until_redrawn(picture)
    assert page.get_by_label("bottom in mm", exact=True).first.input_value() == "47"

    # by mouse: well to the right
    box = handle.bounding_box()
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + 60, y, steps=12)
    page.mouse.up()
    at.until(lambda: at.volume > volume_for(49), "the drag makes the part larger")
    typed = page.get_by_label("bottom in mm", exact=True).first
    at.until(
        lambda: abs(at.volume - volume_for(float(typed.input_value()))) < 0.06,
        "the last value of the drag is shown",
    )
    picture = at.until_redrawn(picture)

    # as read off the calipers
    typed.fill("34.85")
    typed.press("Enter")
    at.until(lambda: abs(at.volume - volume_for(34.85)) < 0.06, "the volume is that of 34.85 mm")
    picture = at.until_redrawn(picture)
    assert typed.input_value() == "34.85"

    # a slip of the keyboard: a sentence by the field, and the last good solid stays
    typed.fill("3o4")
    typed.press("Enter")
    refusal = page.locator(".wb-field", has=typed).locator(".wb-refusal")
    refusal.wait_for()
    assert "3o4" in refusal.inner_text()
    assert at.volume == pytest.approx(volume_for(34.85), abs=0.06)

    # undo and redo by the keyboard
    handle.focus()
    page.keyboard.press("Control+z")
    at.until(lambda: at.volume > volume_for(49), "undo brings the drag back")
    page.keyboard.press("Control+Shift+Z")
    at.until(lambda: abs(at.volume - volume_for(34.85)) < 0.06, "redo brings 34.85 mm back")

    # a tab on top
    at.page_button("Add a step").click()
    page.get_by_role("combobox", name="Shape", exact=True).select_option("tab")
    page.get_by_label("Name", exact=True).first.fill("grip")
    page.locator(".wb-form").get_by_label("Sits on step").locator("visible=true").select_option(
        "blade"
    )
    before = at.volume
    page.get_by_role("button", name="Add step", exact=True).click()
    at.until(lambda: at.volume > before + 10, "the tab adds to the volume")
    at.until_redrawn(picture)
    listed = page.get_by_label("Steps", exact=True).inner_text().replace("\xa0", " ")
    assert "+ grip: tab on top of blade" in listed

    # saved as a template, and on the shelf at once
    at.page_button("Files").click()
    page.get_by_label("Title", exact=True).fill("class divider")
    page.get_by_role("button", name="Save as template").click()
    page.get_by_text("it is on the shelf now").wait_for()
    saved = lab.folder / "templates" / "class-divider.ipynb"
    assert saved.is_file()
    at.page_button("Shelf").click()
    shelf = page.get_by_label("Templates", exact=True)
    at.until(
        lambda: "class divider" in shelf.inner_text().replace("\xa0", " "),
        "the template is on the shelf",
    )
    shelf.select_option("class divider")

    # opened again with other numbers
    number = page.get_by_label("blade bottom in mm", exact=True).first
    number.fill("1 1/2 in")
    number.press("Enter")
    at.until(lambda: number.input_value() == "38.1", "the reading is taken over in mm")
    page.get_by_label("Name", exact=True).locator("visible=true").last.fill("wide divider")
    page.get_by_role("button", name="Start this repair").click()
    page.get_by_text("Started as").wait_for()
    assert (lab.folder / "wide-divider.ipynb").is_file()

    # run, and its files written
    at.open(lab.url("wide-divider.ipynb"))
    at.until_drawn()
    at.page_button("Files").click()
    page.get_by_role("button", name="Write revision 1").click()
    page.get_by_role("button", name="Write revision 2").wait_for()
    written = lab.folder / "repairs" / "wide-divider" / "revision-1"
    assert str(written) in page.locator(".wb-told.wb-done", has_text="is written").inner_text()
    for suffix in ("stl", "3mf", "step"):
        assert (written / f"wide-divider.{suffix}").stat().st_size > 0
    assert _volume_of(written / "wide-divider.stl") == pytest.approx(at.volume, rel=1e-4)
    record = json.loads((written / "record.json").read_text(encoding="utf-8"))
    blade = record["repair"]["steps"][0]
    assert blade["values"]["bottom"] == pytest.approx(38.1)


def _volume_of(path: Path) -> float:
    import trimesh

    return float(trimesh.load(path).volume)


def test_the_keyboard_reaches_every_control(at: Lab, lab: Any):
    page = at.page
    at.stay(lab)
    # The sizes in the picture are controls as well, and come last.
    page.locator(".wb-picture:not([data-moving]) button.wb-size:visible").first.wait_for()
    page.get_by_label("Material", exact=True).focus()
    reached: list[str] = []
    focused = """() => {
        const e = document.activeElement;
        if (!e || !e.closest('.wb')) return null;
        const label = e.id && document.querySelector(`label[for="${e.id}"]`);
        e.dataset.reached = 'yes';
        return e.getAttribute('aria-label') || (label && label.textContent)
            || e.textContent.trim() || e.title;
    }"""
    while (name := page.evaluate(focused)) is not None:
        reached.append(name)
        assert len(reached) < 100, reached
        page.keyboard.press("Tab")
    assert all(reached), reached
    for wanted in (
        *("Material", "Printer", "Steps", "Remove", "Sizes", "Place", "Add a step"),
        *("bottom in mm", "thickness in mm", "Pieces apart", "Look from", "Findings", "Shelf"),
    ):
        assert wanted in reached, wanted
    missed = page.evaluate(
        """() => [...document.querySelectorAll('.wb button, .wb input, .wb select, .wb textarea,'
            + ' .wb [role=slider], .wb summary, .wb [tabindex="0"]')]
            .filter((e) => e.offsetParent && !e.disabled && !e.dataset.reached)
            .map((e) => e.outerHTML.slice(0, 100))"""
    )
    assert missed == []

    # keys meant for the bench do not steer the notebook
    cells = page.locator(".jp-Notebook .jp-Cell").count()
    handle = page.get_by_role("slider", name="height in mm", exact=True)
    volume = at.volume
    handle.focus()
    for key in ("ArrowDown", "a", "b", "j", "d", "d", "x", "m"):
        page.keyboard.press(key)
    at.until(lambda: 0 < at.volume < volume, "the arrow makes the part lower")
    assert page.locator(".jp-Notebook .jp-Cell").count() == cells
    assert handle.evaluate("e => e === document.activeElement")


def test_nothing_is_cut_off_at_any_width(at: Lab, lab: Any):
    page = at.page
    at.stay(lab)
    page.keyboard.press("Control+b")
    overflow = """() => [...document.querySelectorAll('.wb, .wb *')]
        .filter((e) => e.offsetParent && !e.closest('svg, .wb-picture, .wb-unseen'))
        .filter((e) => !['INPUT', 'SELECT', 'OPTION', 'TEXTAREA'].includes(e.tagName))
        .filter((e) => {
            const inside = e.closest('.wb').getBoundingClientRect();
            const own = e.getBoundingClientRect();
            const hidden = getComputedStyle(e).overflowX !== 'visible' && e.clientWidth > 2;
            return own.right > inside.right + 1 || (hidden && e.scrollWidth > e.clientWidth + 1);
        })
        .map((e) => e.className + ': ' + e.textContent.slice(0, 40))"""
    for width in (1440, 1000, 760, 520):
        page.set_viewport_size({"width": width, "height": 1000})
        at.page_button("Findings").click()
        for name in ("Sizes", "Place", "Add a step", "Measure", "Files", "Drawing", "Shelf"):
            at.page_button(name).click()
            page.evaluate("() => new Promise((r) => requestAnimationFrame(() => r()))")
            cut = settled(page, lambda: page.evaluate(overflow), lambda found: not found)
            assert cut == [], (width, name)
    # On a phone one region stands under the other.
    page.set_viewport_size({"width": 390, "height": 844})
    at.page_button("Findings").click()
    at.page_button("Sizes").click()
    over = """() => Math.max(...[...document.querySelectorAll('.wb-left *')]
        .filter((e) => e.offsetParent).map((e) => e.getBoundingClientRect().bottom))
        - document.querySelector('.wb-under').getBoundingClientRect().top"""
    assert settled(page, lambda: page.evaluate(over), lambda deep: deep <= 1) <= 1
    page.set_viewport_size({"width": 1380, "height": 1000})


def test_a_saved_notebook_shows_a_still_picture_without_a_kernel(at: Lab, lab: Any):
    page = at.page
    file = at.stay(lab)
    assert "wb-still" not in file.read_text(encoding="utf-8")

    def saved_with_picture() -> bool:
        page.keyboard.press("Control+s")
        page.wait_for_timeout(300)
        return "wb-still" in (text := file.read_text(encoding="utf-8")) and "<img" in text

    at.until(saved_with_picture, "the picture is in the file")
    assert page.locator(".wb-still img").first.is_hidden()
    page.goto("about:blank")
    copy = lab.folder / "read-later.ipynb"
    copy.write_bytes(file.read_bytes())
    page.goto(lab.url(copy.name))
    picture = page.locator(".wb-still img").first
    picture.wait_for(state="visible")
    assert picture.evaluate("e => e.complete && e.naturalWidth") == 480
