"""A pupil's page: the bench without its code, rendered by voila in the class's own server."""

from __future__ import annotations

import importlib.util
import json
import os
import re
from pathlib import Path
from typing import Any

import nbformat
import pytest
from browsed import PATIENCE, note_faults, until

pytestmark = pytest.mark.browser

PAGE = """\
from workbench import Repair, bench
wedge = Repair("door wedge")
wedge.add("fin", name="blade", bottom=46, top=37, height=71, inset=-7, thickness=1.6)
bench(wedge)"""

#: A picture of one pixel, as a template notebook carries its own.
DOT = "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mNk+M9QDwADhgGAWjR9awAAAABJRU5ErkJggg=="


def volume_for(bottom: float) -> float:
    """Mean width times height times thickness, in mm³."""
    return (bottom + 37) / 2 * 71 * 1.6


@pytest.fixture
def address(pupils_lab: Any) -> str:
    """Where voila renders a notebook of the class; a missing one fails on a build machine."""
    if importlib.util.find_spec("voila") is None:
        message = "voila is not installed: pip install voila"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
    book = nbformat.v4.new_notebook(
        cells=[
            nbformat.v4.new_markdown_cell(
                "# Measure your wedge\n\n![the wedge](attachment:wedge.png)",
                attachments={"wedge.png": {"image/png": DOT}},
            ),
            nbformat.v4.new_code_cell(PAGE),
        ],
        metadata={
            "kernelspec": {"name": "python3", "display_name": "Python 3", "language": "python"}
        },
    )
    nbformat.write(book, pupils_lab.folder / "wedge.ipynb")
    return f"{pupils_lab.address}/voila/render/wedge.ipynb?token={pupils_lab.token}"


def volume(page: Any) -> float:
    found = re.match(r"([\d.]+) mm³", page.locator(".wb-line p").inner_text())
    return float(found[1]) if found else 0.0


def took(page: Any, name: str) -> bytes:
    """What the browser keeps after a press on a file's name."""
    with page.expect_download() as waiting:
        page.get_by_role("button", name=name, exact=True).click()
    assert waiting.value.suggested_filename == name
    return Path(waiting.value.path()).read_bytes()


def test_a_pupil_uses_the_bench_without_seeing_code(page: Any, pupils_lab: Any, address: str):
    faults: list[str] = []
    note_faults(page, faults)
    page.set_default_timeout(PATIENCE * 1000)
    page.goto(address, wait_until="commit")
    # what to do is on the page before the last cell has run
    page.get_by_text("Measure your wedge").wait_for()
    assert page.locator(".wb-findings .wb-told.wb-done").count() == 0
    page.locator(".wb-preview canvas").wait_for()
    page.locator(".wb-findings .wb-told.wb-done").wait_for()
    assert volume(page) == pytest.approx(volume_for(46), abs=0.06)
    seen = page.locator("body").inner_text()
    assert "Measure your wedge" in seen
    assert page.get_by_alt_text("the wedge").evaluate("picture => picture.naturalWidth") == 1
    assert "import" not in seen and "wedge.add" not in seen

    # what was read off the calipers, then a step on the slider by keyboard
    typed = page.get_by_label("bottom in mm", exact=True).first
    typed.fill("38.5")
    typed.press("Enter")
    until(page, lambda: abs(volume(page) - volume_for(38.5)) < 0.06, "the part follows the number")
    page.get_by_role("slider", name="bottom in mm", exact=True).focus()
    page.keyboard.press("ArrowRight")
    until(page, lambda: abs(volume(page) - volume_for(38.6)) < 0.06, "the part follows the slider")

    # the same width as the page, nothing pushed out to the right
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")

    page.locator(".wb-pages").get_by_role("button", name="Files", exact=True).click()
    page.get_by_role("button", name="Write revision 1").click()
    page.get_by_role("button", name="Write revision 2").wait_for()
    written = pupils_lab.folder / "repairs" / "door-wedge" / "revision-1"
    record = json.loads((written / "record.json").read_text(encoding="utf-8"))
    blade = record["repair"]["steps"][0]
    assert blade["values"]["bottom"] == pytest.approx(38.6)

    # what was written goes home with the pupil, who has no list of files on this page
    assert took(page, "door-wedge.3mf") == (written / "door-wedge.3mf").read_bytes()
    assert took(page, "door-wedge-print-sheet.pdf").startswith(b"%PDF-")
    page.get_by_role("button", name="Save as template").click()
    template = took(page, "door-wedge.ipynb")
    assert template == (pupils_lab.folder / "templates" / "door-wedge.ipynb").read_bytes()
    (written / "door-wedge.step").unlink()
    page.get_by_role("button", name="door-wedge.step", exact=True).click()
    page.get_by_text("write the files again").wait_for()
    assert faults == []
