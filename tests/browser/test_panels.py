"""The measuring and the layers panel in JupyterLab, in a real browser, by keyboard."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from typing import Any

import pytest
from browsed import PATIENCE, judged, note_faults, until
from painted_scene import Scene, photo_on_sheet
from PIL import Image

from workbench.measure.outlines.outline import Outline
from workbench.measure.photos.trace import trace
from workbench.solids.building.build import build
from workbench.solids.drawn.traced_steps import add_traced
from workbench.solids.recipe.repair import Repair

pytestmark = pytest.mark.browser

BRACKET = """\
from workbench import At, Repair, bench
repair = (
    Repair("bracket", down=(0, 0, -1))
    .add("box", name="post", width=10, depth=10, height=20)
    .add("box", name="arm", seat=At(x=9, z=8), width=8, depth=4, height=4)
)
bench(repair)"""


@pytest.fixture(scope="module")
def bracket(page: Any, lab: Any) -> Iterator[Any]:
    """A page with the bracket on the bench, its first solid and its findings there."""
    faults: list[str] = []
    note_faults(page, faults)
    page.set_default_timeout(PATIENCE * 1000)
    judged(page, lab.notebook("bracket.ipynb", BRACKET))
    yield page
    assert faults == []


def turn_to(page: Any, name: str) -> None:
    page.locator(".wb-pages").get_by_role("button", name=name, exact=True).click()


def focused(page: Any) -> str:
    return page.evaluate("document.activeElement.getAttribute('aria-label')")


def test_calipers_that_type_fill_the_table_and_the_wrong_reading_is_pointed_out(bracket: Any):
    page = bracket
    turn_to(page, "Measure")
    page.get_by_label("1st, line 2", exact=True).focus()
    # Numbers followed by Enter, as calipers that are a keyboard send them; the last one slipped.
    for typed in ("35", "71", "26", "-5", "74.04", "8.15"):
        page.keyboard.type(typed)
        page.keyboard.press("Enter")
    page.get_by_text("ten times too small?").wait_for()
    assert focused(page) == "2nd, line 2"
    assert page.locator("tr.wb-is-suspect").count() == 1
    assert page.locator(".wb-figures .wb-cross").count() == 1

    wrong = page.get_by_label("1st, line 7", exact=True)
    wrong.focus()
    page.keyboard.type("81.5")  # the cell's text is selected, so that typing replaces it
    page.keyboard.press("Tab")
    assert focused(page) == "2nd, line 7"
    until(page, lambda: page.locator("tr.wb-is-suspect").count() == 0, "nothing is suspect")
    assert wrong.input_value() == "81.5"
    page.keyboard.press("Shift+Tab")
    assert focused(page) == "1st, line 7"

    page.get_by_role("button", name="Add as a fin").click()
    page.get_by_text("The fin is added to the repair").wait_for()
    steps = page.get_by_label("Steps", exact=True).locator("option")
    assert any("fin" in text for text in steps.all_inner_texts())
    page.get_by_role("button", name=re.compile("^Undo")).click()
    until(page, lambda: steps.count() == 2, "the fin is gone again")


def test_a_line_can_be_added_and_removed_by_keyboard(bracket: Any):
    page = bracket
    turn_to(page, "Measure")
    lines = page.locator(".wb-readings tbody tr")
    before = lines.count()
    page.get_by_role("button", name="Add a line").press("Enter")
    until(page, lambda: lines.count() == before + 1, "there is one line more")
    assert focused(page) == f"What, line {before + 1}"
    page.get_by_label(f"Between, line {before + 1}", exact=True).fill("A X")
    page.get_by_label(f"1st, line {before + 1}", exact=True).fill("12")
    page.keyboard.press("Enter")
    page.get_by_text("there is no corner 'X'").wait_for()
    page.get_by_label(f"Remove line {before + 1}", exact=True).press("Enter")
    until(page, lambda: lines.count() == before, "it is gone")
    until(page, lambda: page.get_by_text("no corner 'X'").count() == 0, "and so is the complaint")


def test_the_layer_slider_moves_by_keyboard_and_shows_what_hangs(bracket: Any):
    page = bracket
    turn_to(page, "Layers")
    page.locator(".wb-slice").wait_for()
    page.get_by_label("Go to", exact=True).select_option(label="layer 41: ledge, 32 mm²")
    page.get_by_text("Layer 41 of 100").first.wait_for()
    assert page.locator(".wb-hangs").count() == 1
    page.locator(".wb-layer .noUi-handle").focus()
    page.keyboard.press("ArrowRight")
    page.get_by_text("Layer 42 of 100").first.wait_for()
    assert page.locator(".wb-hangs").count() == 0
    canvas = page.locator(".wb-preview .wb-picture")
    plain = canvas.screenshot()
    page.get_by_role("button", name="Cut in the picture").click()
    until(page, lambda: canvas.screenshot() != plain, "the picture is cut")
    turn_to(page, "Findings")
    page.wait_for_timeout(300)


def test_a_load_is_noted_by_keyboard_judged_and_taken_out_again(bracket: Any):
    page = bracket
    turn_to(page, "Loads")
    page.get_by_label("On step", exact=True).select_option("arm")
    page.get_by_label("Force", exact=False).first.fill("12,5")
    page.get_by_label("Direction", exact=True).select_option("down")
    page.get_by_role("button", name="Add load").press("Enter")
    page.get_by_text("The load is saved").wait_for()
    loads = page.get_by_label("Loads", exact=True)

    def noted() -> str:
        return loads.inner_text().replace("\xa0", " ")

    until(page, lambda: "arm: 12.5 N down" in noted(), "the load is listed")
    turn_to(page, "Findings")
    page.locator(".wb-findings").get_by_text("12.5 N").first.wait_for()
    turn_to(page, "Loads")
    page.get_by_label("Force", exact=False).first.fill("a lot")
    page.wait_for_timeout(300)  # as long as a hand takes from the box to the button
    page.get_by_role("button", name="Add load").press("Enter")
    page.get_by_text("'a lot'").wait_for()
    page.get_by_role("button", name="Remove load").press("Enter")
    until(page, lambda: "none yet" in noted(), "it is taken out")


def test_findings_are_never_those_of_an_earlier_part_without_a_sign(bracket: Any):
    page = bracket
    turn_to(page, "Findings")
    page.get_by_label("Steps", exact=True).select_option(index=0)
    slider = page.get_by_role("slider", name="height in mm", exact=True)
    until(page, lambda: slider.get_attribute("aria-valuenow") == "20.0", "the post is chosen")
    slider.focus()
    for _step in range(15):
        page.keyboard.press("ArrowRight")
        page.wait_for_timeout(20)
    # 20 + 15 × 0.1 mm high: the findings that follow are those of the last step of the hand
    page.get_by_text("10 × 21.5 mm").first.wait_for()
    until(page, lambda: page.locator(".wb-findings.wb-waiting").count() == 0, "they are new")
    assert page.locator(".wb-verdict.wb-waiting").count() == 0


def test_a_picture_chosen_in_the_browser_comes_to_the_same_solid_as_in_code(bracket: Any, lab: Any):
    page = bracket
    turn_to(page, "Measure")
    tag = Outline([(70, 110, 0, 14), (70, 138), (110, 138, 0, 40), (110, 110)])
    picture = lab.folder / "tag.png"
    pixels = photo_on_sheet(tag, Scene(pixels=(900, 1200)), holes=((73, 124, 8),))
    Image.fromarray(pixels).save(picture)
    page.get_by_label("Begin with", exact=True).select_option(label="a picture, to be traced")
    with page.expect_file_chooser() as chosen:
        page.get_by_role("button", name="Choose a picture").click()
    chosen.value.set_files(picture)
    page.get_by_role("button", name="Choose a picture (1)").wait_for()  # the browser has read it
    page.get_by_role("button", name="Trace it").click()
    page.get_by_text("2 arcs, 1 round hole").first.wait_for()
    page.get_by_role("button", name="Add as a panel").click()
    steps = page.get_by_label("Steps", exact=True).locator("option")
    until(page, lambda: steps.count() == 4, "the panel and its hole are added")
    page.get_by_role("button", name="Undo: add panel, panel hole 1").wait_for()
    (kept,) = lab.folder.glob(".bracket.workbench*")
    until(page, lambda: '"panel hole 1"' in kept.read_text(encoding="utf-8"), "it is kept")
    (state,) = json.loads(kept.read_text(encoding="utf-8"))["benches"].values()
    on_bench = Repair.from_json(json.dumps(state["repair"])).remove("arm").remove("post")
    thickness = on_bench.step("panel").values["thickness"]
    in_code = add_traced(Repair("tag"), trace(picture.read_bytes()), thickness, name="panel")
    assert build(on_bench).volume == pytest.approx(build(in_code).volume, rel=1e-6)
    assert sum(len(corner) > 2 for corner in on_bench.step("panel").values["outline"]) == 2
