"""A part from a file is put beside the repair, is seen as a ghost, and is moved to where it has room."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from browsed import Watched, judged, looked_at

pytestmark = pytest.mark.browser

TRAY = """\
from workbench import Repair, bench
repair = Repair("rail end").add("box", name="block", width=34, depth=22, height=9)
repair.cut("box", seat="top of block", name="slot", width=8.6, depth=22, height=5, )
repair.change("slot", place=repair.step("slot").place.with_numbers({"sink": 5}))
bench(repair)"""


def bar(width: float, depth: float, height: float) -> bytes:
    """A bar that stands on z = 0, about the middle of x and y, as a binary STL file."""
    sides = [[s * v for v in row] for s in (-1, 1) for row in np.eye(3)]
    facets = []
    for out in map(np.array, sides):
        along = np.roll(out, 1)
        across = np.cross(out, along)
        a, b, c, d = (out + i * along + j * across for i, j in ((1, 1), (-1, 1), (-1, -1), (1, -1)))
        facets += [[a, b, c], [a, c, d]]
    corners = np.array(facets) * [width / 2, depth / 2, height / 2] + [0, 0, height / 2]
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])
    rows = np.zeros(len(corners), kind)
    rows["corners"] = corners
    return bytes(80) + np.uint32(len(rows)).tobytes() + rows.tobytes()


def test_a_bar_from_a_file_is_laid_in_its_slot(page: Any, lab: Any, tmp_path: Path):
    file = tmp_path / "bar.stl"
    file.write_bytes(bar(8, 26, 6))
    with looked_at(Watched(page), tmp_path / "last-other-parts.png") as at:
        judged(page, lab.notebook("other-parts.ipynb", TRAY))
        page.locator(".wb-pages").get_by_role("button", name="Other parts", exact=True).click()
        form = page.locator(".wb-form").filter(has_text="What it works with").first
        with page.expect_file_chooser() as chooser:
            form.get_by_role("button", name="Choose a file").click()
        chooser.value.set_files(file)
        form.get_by_label("Its unit").select_option("mm")
        form.get_by_role("button", name="Put it beside").click()
        picture = page.locator(".wb-picture")
        at.until(lambda: picture.get_attribute("data-beside") == "true", "the ghost is there")
        form.get_by_text("runs into bar").first.wait_for()
        box = form.locator(".wb-of-z .wb-box input")
        box.fill("4.5")
        box.press("Enter")
        form.get_by_label("Goes in").select_option("slides up")
        form.get_by_text("It goes into place beside bar").wait_for()
        assert (lab.folder / "parts" / "bar.stl").read_bytes() == file.read_bytes()
