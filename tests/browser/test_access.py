"""Whoever hears the bench, sees little, or reads inches: names, contrast and units in a browser."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from browsed import PATIENCE, judged, note_faults, settled, until

pytestmark = pytest.mark.browser

CELL = """\
import os, tempfile
os.environ.pop("WORKBENCH_UNIT", None)
os.environ["WORKBENCH_DATA"] = tempfile.mkdtemp()
from workbench import Reading, Repair, bench
repair = Repair("blade").add("fin", name="blade", bottom=46, top=37, height=71, inset=2, thickness=1.6)
repair.fit("blade", "thickness", Reading(["1.7", "1.75"]))
bench(repair)"""

#: What a screen reader has to call by a name.
NAMED = {
    *("button", "checkbox", "combobox", "link", "listbox", "radio", "searchbox", "slider"),
    *("spinbutton", "switch", "tab", "table", "textbox", "image", "region", "progressbar"),
}


def nothing(found: list[str]) -> bool:
    return not found


def nameless(page: Any, session: Any) -> list[str]:
    """What on the bench has no name, by the browser's own accessibility tree."""
    root = session.send("DOM.getDocument")["root"]["nodeId"]
    bench = session.send("DOM.querySelector", {"nodeId": root, "selector": ".wb"})
    nodes = session.send("Accessibility.queryAXTree", {"nodeId": bench["nodeId"]})["nodes"]
    seen = [n for n in nodes if not n.get("ignored") and n["role"]["value"] in NAMED]
    assert len(seen) > 20
    return [
        session.send("DOM.getOuterHTML", {"backendNodeId": node["backendDOMNodeId"]})["outerHTML"]
        for node in seen
        if not node.get("name", {}).get("value", "").strip()
    ]


def test_every_control_has_a_name_reads_well_and_tells_inches(page: Any, lab: Any):
    contrast = (Path(__file__).parent / "contrast.js").read_text(encoding="utf-8")
    faults: list[str] = []
    note_faults(page, faults)
    page.set_default_timeout(PATIENCE * 1000)
    judged(page, lab.notebook("access.ipynb", CELL))
    session = page.context.new_cdp_session(page)
    for tabs in page.locator(".wb-pages").all():
        buttons = tabs.get_by_role("button").all()
        for button in (*buttons[1:], buttons[0]):
            button.click()
            turned = button.inner_text()
            # A page has its names and colours a moment after it was turned to.
            assert settled(page, lambda: nameless(page, session), nothing) == [], turned
            assert settled(page, lambda: page.evaluate(contrast), nothing) == [], turned

    # On paper in a dark room, too.
    page.evaluate(
        "jupyterapp.commands.execute('apputils:change-theme', {theme: 'JupyterLab Dark'})"
    )
    page.locator("body[data-jp-theme-light=false]").wait_for(state="attached")
    tabs = page.locator(".wb-page-row .wb-pages").get_by_role("button").all()
    for button in (*tabs[1:], tabs[0]):
        button.click()
        assert settled(page, lambda: page.evaluate(contrast), nothing) == [], button.inner_text()

    bottom = page.get_by_role("textbox", name="bottom in mm", exact=True)
    assert bottom.first.input_value() == "46"
    page.get_by_label("Lengths in", exact=True).select_option(label="inches")
    bottom = page.get_by_role("textbox", name="bottom, inches", exact=True).first
    # The name and the number are messages of their own.
    until(page, lambda: bottom.input_value() == "1.811", "the size in inches")
    page.get_by_text("1.811 × 0.063 × 2.7955 in").first.wait_for()
    bottom.fill("1 7/8")
    bottom.press("Tab")
    page.get_by_text("1 7/8 × 0.063 × 2.7955 in").first.wait_for()
    slider = page.get_by_role("slider", name="bottom, inches", exact=True)
    assert slider.get_attribute("aria-valuetext") == "1.875"
    assert faults == []
