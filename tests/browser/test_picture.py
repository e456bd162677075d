"""The live picture as a person uses it: looking round, picking, measuring, cutting, dragging."""

from __future__ import annotations

import io
from collections.abc import Iterator
from functools import partial
from typing import Any

import numpy as np
import pytest
from browsed import PATIENCE, judged, note_faults, settled, until

pytestmark = pytest.mark.browser

#: A cover with a hole of 8 mm and a lug, 44 x 24 x 3 mm.
COVER = """\
from workbench import Repair, Seat, bench
repair = Repair("cover").add("box", name="base", width=44, depth=24, height=3)
repair.cut("cylinder", name="hole", seat=Seat("top of base", sink=3, along=8), diameter=8, height=3)
repair.add("box", name="lug", seat=Seat("top of base", along=-12), width=6, depth=7, height=9)
repair.fit("hole", "diameter", "7.6")
bench(repair)"""

#: The screens that a class's projector and laptops have.
SCREENS = ((1440, 900), (1366, 768), (1280, 800), (1024, 768))


class Shown:
    """The picture on a page."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.frame = page.locator(".wb-picture")

    def spot(self, x: float, y: float, z: float, view: str = "top") -> tuple[float, float]:
        """Where a place of the part is on the page, seen from a side, by the picture's own scale."""
        box = self.frame.bounding_box()
        scale, *centre = (float(v) for v in self.frame.get_attribute("data-eye").split())
        right, up = {"top": ((x, y), (0, 1)), "front": ((x, z), (0, 2))}[view]
        return (
            box["x"] + box["width"] / 2 + scale * (right[0] - centre[up[0]]),
            box["y"] + box["height"] / 2 - scale * (right[1] - centre[up[1]]),
        )

    def look(self, key: str, view: str) -> None:
        """Turn to a view by its key, and wait until the picture stands still."""
        self.frame.focus()
        self.page.keyboard.press(key)
        until(self.page, lambda: self.frame.get_attribute("data-view") == view, view)
        self.calm()

    def calm(self) -> None:
        """Wait until the picture is drawn no more, for three frames of the page."""
        self.frame.evaluate(
            """async (e) => {
                let drawn, calm = 0;
                while (calm < 3) {
                    await new Promise(requestAnimationFrame);
                    const same = drawn === e.dataset.drawn && !('moving' in e.dataset);
                    calm = same ? calm + 1 : 0;
                    drawn = e.dataset.drawn;
                }
            }"""
        )

    def still(self) -> np.ndarray:
        """The picture when it does not change any more."""
        self.calm()
        return self.pixels()

    def until_other(self, before: np.ndarray, most: int, by: int = 60) -> np.ndarray:
        """The picture once more than so many of its points differ visibly from before."""
        seen: list[np.ndarray] = []

        def other() -> bool:
            seen[:] = [self.still()]
            return bool((np.abs(seen[0] - before).sum(axis=2) > by).sum() > most)

        until(self.page, other, "the picture is another")
        return seen[0]

    def pixels(self) -> np.ndarray:
        from PIL import Image

        shot = self.frame.screenshot()
        return np.asarray(Image.open(io.BytesIO(shot)).convert("RGB")).astype(int)

    def choose(self, number: int, name: str) -> None:
        """Choose a step from the list, and wait until the picture shows its sizes."""
        self.page.get_by_label("Steps", exact=True).select_option(index=number)
        size = self.page.locator(f'.wb-picture .wb-size[data-key^="{name}."]:visible')
        until(self.page, lambda: size.count() > 0, f"{name} is chosen")
        self.calm()

    def chosen(self) -> str:
        return self.page.locator(".wb-steps option:checked").inner_text().replace("\xa0", " ")

    def button(self, name: str) -> Any:
        return self.page.locator(".wb-tools").get_by_role("button", name=name, exact=True)

    @property
    def told(self) -> str:
        return self.page.locator(".wb-reading-told").inner_text()


@pytest.fixture(scope="module")
def shown(page: Any, lab: Any) -> Iterator[Shown]:
    faults: list[str] = []
    note_faults(page, faults)
    page.set_default_timeout(PATIENCE * 1000)
    # Nothing but this machine answers: the bench has to bring all that it needs.
    asked: list[str] = []
    page.route(
        lambda url: "127.0.0.1" not in url and url.startswith("http"),
        lambda route: (asked.append(route.request.url), route.abort()),
    )
    judged(page, lab.notebook("cover.ipynb", COVER))
    picture = Shown(page)
    until(page, lambda: picture.frame.get_attribute("data-drawn"), "the part is drawn")
    picture.calm()
    yield picture
    assert faults == []
    assert asked == []


def test_a_click_chooses_the_step_under_it_and_hovering_names_it(shown: Shown):
    page = shown.page
    shown.look("5", "top")
    for place, wanted in (((-12, 0, 12), "lug"), ((-20, 9, 3), "base")):
        page.mouse.move(*shown.spot(*place))
        until(page, lambda w=wanted: w in page.locator(".wb-pointed").inner_text(), "it is named")
        page.mouse.click(*shown.spot(*place))
        until(page, lambda w=wanted: w in shown.chosen(), f"{wanted} is chosen")
    page.get_by_label("height in mm", exact=True).first.wait_for()
    # The wall of the hole, seen from below on a slant, is the hole's.
    shown.look("1", "front")
    page.mouse.click(*shown.spot(-12, 0, 9, "front"))
    until(page, lambda: "lug" in shown.chosen(), "the lug is chosen from the front")


def test_every_view_keeps_every_size_in_the_picture(shown: Shown):
    page = shown.page
    shown.choose(0, "base")
    views = ("corner", "front", "right", "back", "left", "top", "bottom")
    for key, view in enumerate(views):
        shown.look(str(key), view)
        frame = shown.frame.bounding_box()
        boxes = page.locator(".wb-picture .wb-size:visible").evaluate_all(
            """all => all.map((e) => {
                const { x, y, width, height } = e.getBoundingClientRect();
                return { text: e.innerText, x, y, width, height };
            })"""
        )
        assert {"44", "24", "3"} <= {box["text"].split()[-1] for box in boxes}, view
        for box in boxes:
            assert frame["x"] - 1 <= box["x"], view
            assert box["x"] + box["width"] <= frame["x"] + frame["width"] + 1, view
            assert frame["y"] - 1 <= box["y"], view
            assert box["y"] + box["height"] <= frame["y"] + frame["height"] + 1, view
        for i, one in enumerate(boxes):
            for other in boxes[:i]:
                apart = (
                    one["x"] >= other["x"] + other["width"] - 2
                    or other["x"] >= one["x"] + one["width"] - 2
                    or one["y"] >= other["y"] + other["height"] - 2
                    or other["y"] >= one["y"] + one["height"] - 2
                )
                assert apart, (view, one, other)
        for handle in page.locator(".wb-picture .wb-handle:visible").element_handles():
            place = handle.bounding_box()
            middle = place["x"] + place["width"] / 2, place["y"] + place["height"] / 2
            assert page.evaluate(UNDER, [*middle, handle]), (view, "a handle lies under something")


def test_views_are_parallel_and_true(shown: Shown):
    """From above, the silhouette is as wide to deep as the part is."""
    shown.look("5", "top")
    sizes = shown.page.locator(".wb-picture .wb-size:visible")
    shown.button("Dimensions").click()
    until(shown.page, lambda: sizes.count() == 0, "the sizes are gone")
    seen = shown.still()
    shown.button("Dimensions").click()
    until(shown.page, lambda: sizes.count() > 0, "the sizes are back")
    # The paper and the lines of the bed are warm in colour, the part is not.
    part = seen[..., 1] - seen[..., 0] > 12
    rows, columns = np.flatnonzero(part.sum(axis=1) > 40), np.flatnonzero(part.sum(axis=0) > 40)
    wide, tall = np.ptp(columns) + 1, np.ptp(rows) + 1
    assert wide / tall == pytest.approx(44 / 24, rel=0.03)


def test_a_size_in_the_picture_leads_to_its_box(shown: Shown):
    page = shown.page
    shown.choose(0, "base")
    page.locator(".wb-pages").get_by_role("button", name="Place", exact=True).click()
    shown.look("5", "top")
    page.locator(".wb-picture .wb-size", has_text="44").click()
    until(
        page,
        lambda: page.evaluate("document.activeElement.value") == "44",
        "the cursor is in the box of the width",
    )
    page.keyboard.type("46")
    page.keyboard.press("Enter")
    page.get_by_text("46 × 24 × 12 mm").first.wait_for()
    page.get_by_role("button", name="Undo", exact=False).first.click()
    page.get_by_text("44 × 24 × 12 mm").first.wait_for()


#: Whether an element is what lies under a place of the page.
UNDER = "([x, y, element]) => document.elementFromPoint(x, y) === element"


def base_grabbed(shown: Shown) -> tuple[Any, float, float]:
    """The box of the base's width, and where the pointer has pressed on the width's handle."""
    page = shown.page
    shown.choose(0, "base")
    shown.look("5", "top")
    label = page.locator('.wb-picture .wb-size[data-key="base.width"]')
    handle = label.locator("xpath=preceding-sibling::span[1]")

    def middle() -> tuple[float, float]:
        place = handle.bounding_box()
        return place["x"] + place["width"] / 2, place["y"] + place["height"] / 2

    # What is told beside the picture may still move it.
    until(page, lambda: page.evaluate(UNDER, [*middle(), handle.element_handle()]), "it stays")
    x, y = middle()
    page.mouse.move(x, y)
    page.mouse.down()
    return page.get_by_label("width in mm", exact=True).first, x, y


def test_a_size_is_dragged_in_its_own_steps_and_the_slider_follows(shown: Shown):
    page = shown.page
    box, x, y = base_grabbed(shown)
    page.mouse.move(x + 20, y, steps=5)
    until(page, lambda: float(box.input_value()) > 44.5, "the width grows")
    page.wait_for_timeout(1500)  # the hand rests, longer than what is one edit without it
    label = page.locator('.wb-picture .wb-size[data-key="base.width"]')
    assert box.input_value() == label.inner_text(), "both show where it rests"
    before = float(box.input_value())
    page.mouse.move(x + 30, y, steps=5)
    until(page, lambda: float(box.input_value()) > before, "the width grows on")
    page.mouse.up()
    slider = page.get_by_role("slider", name="width in mm", exact=True)
    until(page, lambda: slider.get_attribute("aria-valuetext") == box.input_value(), "it follows")
    width = float(box.input_value())
    assert round(width * 10) == pytest.approx(width * 10, abs=1e-6)
    page.get_by_role("button", name="Undo", exact=False).first.click()
    until(page, lambda: box.input_value() == "44", "one drag is one edit")


def test_a_drag_that_comes_back_leaves_the_size_as_it_was(shown: Shown):
    page = shown.page
    box, x, y = base_grabbed(shown)
    before = box.input_value()
    # The slider in the browser rounds what it is told in its own way. It may not say that back,
    # when the hand is elsewhere by then.
    for _swing in range(3):
        page.mouse.move(x + 24, y, steps=12)
        page.mouse.move(x, y, steps=12)
    page.mouse.up()
    until(page, lambda: box.input_value() == before, "it comes back")
    page.wait_for_timeout(1500)
    assert box.input_value() == before


#: How often the page's icon changes while a key is pressed eight times.
ICONS = """async (slider) => {
    let icons = 0;
    const seen = new MutationObserver((changes) => (icons += changes.length / 2));
    seen.observe(document.head, { subtree: true, attributes: true, attributeFilter: ['rel'] });
    for (let press = 0; press < 8; press++) {
        const key = press % 2 ? 'ArrowLeft' : 'ArrowRight';
        slider.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
        await new Promise((done) => setTimeout(done, 150));
    }
    seen.disconnect();
    return icons;
}"""


def test_the_icon_of_the_page_stays_while_a_hand_is_at_work(shown: Shown):
    shown.choose(0, "base")
    slider = shown.page.get_by_role("slider", name="width in mm", exact=True)
    icon = shown.page.locator("link[rel=icon]")
    until(shown.page, lambda: "idle" in icon.get_attribute("class"), "the kernel rests")
    assert slider.evaluate(ICONS) == 1, "busy, once"
    until(shown.page, lambda: "idle" in icon.get_attribute("class"), "the hand rests")
    shown.calm()


def test_calipers_read_outside_inside_and_depth(shown: Shown):
    page = shown.page
    shown.look("5", "top")
    shown.button("Calipers").click()

    def read(*places: tuple[float, float, float]) -> str:
        for place in places:
            before = shown.told
            page.mouse.click(*shown.spot(*place))
            until(page, lambda was=before: shown.told != was, "something else is told")
        return shown.told

    assert "depth: 9 mm" in read((-12, 1, 12), (-20, 9, 3))
    # The two long edges of the base, seen from above.
    assert "24 mm" in read((2, -12, 3), (2, 12, 3))
    page.keyboard.press("Escape")
    assert shown.told == ""


def test_a_section_shows_the_cut_face_filled_with_hatching(shown: Shown):
    page = shown.page
    shown.look("1", "front")
    whole = shown.still()
    shown.button("Section").click()

    def hatched(seen: np.ndarray) -> int:
        return int((np.abs(seen - [243, 227, 200]).sum(axis=2) < 30).sum())

    assert hatched(whole) < 20
    until(page, lambda: hatched(shown.still()) > 300, "the cut face is hatched")
    cut = shown.still()
    place = page.get_by_label("Where the part is cut", exact=True)
    place.focus()
    page.keyboard.press("Home")
    shown.until_other(cut, 200)
    shown.button("Section").click()


def test_what_is_taken_away_is_a_ghost_and_what_it_fits_another(shown: Shown):
    page = shown.page
    shown.choose(0, "base")
    shown.look("0", "corner")
    before = shown.still()
    shown.choose(1, "hole")
    ghost = shown.until_other(before, 500, by=40)
    fit = page.get_by_label("Slot or shaft that it fits", exact=True)
    fit.select_option(label="Fit: gap ten times")
    shown.until_other(ghost, 100, by=30)
    fit.select_option(label="Fit: hidden")


#: How many shaders are made while a size is changed to and fro, each change seen.
SHADERS = """async (slider) => {
    const frame = slider.closest('.wb').querySelector('.wb-picture');
    const gl = frame.querySelector('canvas').getContext('webgl2');
    let made = 0;
    const compile = gl.compileShader;
    gl.compileShader = (shader) => (made++, compile.call(gl, shader));
    for (const key of ['ArrowRight', 'ArrowRight', 'ArrowLeft', 'ArrowLeft']) {
        const before = frame.dataset.part;
        slider.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
        while (frame.dataset.part === before) await new Promise((done) => setTimeout(done, 20));
    }
    delete gl.compileShader;
    return made;
}"""


def test_a_ghost_that_changes_needs_no_shader_anew(shown: Shown):
    shown.choose(1, "hole")
    slider = shown.page.get_by_role("slider", name="diameter in mm", exact=True)
    assert slider.evaluate(SHADERS) == 0
    shown.calm()
    shown.button("Section").click()
    shown.calm()
    assert slider.evaluate(SHADERS) == 0, "nor does a section"
    shown.button("Section").click()
    shown.calm()


def test_on_the_bed_the_part_lies_as_it_is_printed(shown: Shown):
    shown.button("On the bed").click()
    page = shown.page
    until(page, lambda: shown.told != "", "it is said how it lies")
    sizes = page.locator(".wb-picture .wb-size:visible")
    until(page, lambda: sizes.count() == 0, "a part on the bed has no sizes")
    shown.button("On the bed").click()
    until(page, lambda: sizes.count() > 0, "it stands again")


def test_the_keyboard_turns_moves_and_brings_the_part_nearer(shown: Shown):
    page = shown.page
    shown.look("0", "corner")
    for key in ("ArrowLeft", "ArrowUp", "Shift+ArrowLeft", "+", "-"):
        before = shown.still()
        page.keyboard.press(key)
        shown.until_other(before, 100)
    page.keyboard.press("f")
    shown.calm()


def test_the_focus_stays_where_it_is_put_after_a_step_was_added(shown: Shown):
    page = shown.page
    steps = page.get_by_label("Steps", exact=True).locator("option")
    before = steps.count()
    page.locator(".wb-pages").get_by_role("button", name="Add a step", exact=True).click()
    page.locator(".wb-foot button:visible").first.click()
    until(page, lambda: steps.count() == before + 1, "the step is there")
    for key, count in (("f", before + 1), ("Control+z", before)):
        shown.frame.focus()
        page.keyboard.press(key)
        until(page, lambda count=count: steps.count() == count, key)
        page.wait_for_timeout(1300)  # longer than the sizes of a new step are waited for
        assert shown.frame.evaluate("e => e === document.activeElement"), key


@pytest.mark.parametrize("screen", SCREENS, ids=lambda screen: f"{screen[0]}x{screen[1]}")
def test_the_picture_is_in_view_while_any_size_is_changed(shown: Shown, screen: tuple[int, int]):
    page = shown.page
    page.set_viewport_size({"width": screen[0], "height": screen[1]})
    page.locator(".wb").first.evaluate("e => e.scrollIntoView({block: 'nearest'})")
    page.locator(".wb-pages").get_by_role("button", name="Sizes", exact=True).click()
    shown.choose(0, "base")
    boxes = page.locator(".wb-sizes-page .wb-box input:visible")
    until(page, lambda: boxes.count() >= 3, "the sizes of the base are there")
    for box in boxes.all():
        box.focus()
        in_view = partial(
            shown.frame.evaluate,
            """(e) => {
                const inside = e.closest('.jp-WindowedPanel-outer, .jp-Notebook') || document.body;
                const a = e.getBoundingClientRect(), b = inside.getBoundingClientRect();
                const wide = Math.min(a.right, b.right) - Math.max(a.left, b.left);
                const tall = Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top);
                return Math.max(0, wide) * Math.max(0, tall) / (a.width * a.height);
            }""",
        )
        # A frame later the page has its new layout.
        share = settled(page, in_view, lambda one: one >= 0.95)
        assert share >= 0.95, (screen, share)
        for part in (".wb-verdict .wb-told", ".wb-steps select"):
            assert page.locator(part).first.is_visible()
    page.locator(".wb-pages").get_by_role("button", name="Add a step", exact=True).click()
    page.locator(".wb-form").get_by_role("button", name="Takes away from the part").click()
    for asked in (page.get_by_label("goes right through"), page.locator(".wb-foot button")):
        asked.wait_for()
        page_box, low = page.locator(".wb").first.bounding_box(), asked.bounding_box()
        assert low["y"] + low["height"] <= page_box["y"] + page_box["height"], screen
    page.locator(".wb-form").get_by_role("button", name="Adds to the part").click()


def test_a_lost_context_gives_a_still_picture_and_the_way_back(shown: Shown):
    page = shown.page
    page.set_viewport_size({"width": 1380, "height": 1000})
    page.evaluate(
        """() => document.querySelector('.wb-picture canvas').getContext('webgl2')
            .getExtension('WEBGL_lose_context').loseContext()"""
    )
    picture = page.locator(".wb-picture-still img")
    until(page, lambda: picture.evaluate("e => e.naturalWidth") > 100, "the still picture")
    page.get_by_text("has stopped drawing").wait_for()
    page.get_by_role("button", name="Show the live picture").click()
    shown.frame.wait_for(state="visible")
    until(page, lambda: np.ptp(shown.pixels()) > 100, "the part is drawn again")


def test_without_webgl_a_still_picture_and_a_sentence_stand_in(shown: Shown, lab: Any):
    page = shown.page.context.new_page()
    page.set_default_timeout(PATIENCE * 1000)
    page.add_init_script(
        """HTMLCanvasElement.prototype.getContext = new Proxy(
            HTMLCanvasElement.prototype.getContext,
            { apply: (f, e, [kind, ...more]) =>
                /webgl/.test(kind) ? null : Reflect.apply(f, e, [kind, ...more]) })"""
    )
    judged(page, lab.notebook("no-webgl.ipynb", COVER))
    picture = page.locator(".wb-picture-still img")
    until(page, lambda: picture.evaluate("e => e.naturalWidth") > 100, "the still picture")
    page.get_by_text("WebGL is switched off").wait_for()
    before = picture.get_attribute("src")
    box = page.get_by_label("width in mm", exact=True).first
    box.fill("60")
    box.press("Enter")
    until(page, lambda: picture.get_attribute("src") != before, "the still picture follows")
    page.close()
