"""Parts built on the bench by hand, step by step: the keyboard types one size after the other."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Any

import pytest
from browsed import Watched, looked_at, open_idle, run_all

pytestmark = pytest.mark.browser

BEGIN = """\
from workbench import Repair, bench
repair = Repair("{name}")
bench(repair)"""


class Builder(Watched):
    """The form that adds a step, the boxes of its sizes and the page of its place."""

    def begin(self, lab: Any, name: str) -> None:
        """Open a notebook with an empty bench."""
        open_idle(self.page, lab.notebook(f"{name}-by-hand.ipynb", BEGIN.format(name=name)))
        run_all(self.page)
        self.form = self.page.locator(".wb-form:has(.wb-shapes)")
        self.left = self.page.locator(".wb-left")
        self.press("Add a step")

    def press(self, name: str) -> None:
        self.left.get_by_role("button", name=name, exact=True).click()

    def add(self, shape: str, name: str, sizes: Sequence[str], on: str = "", **how: Any) -> None:
        """Add a step by name and Enter, then type its sizes; an empty text leaves one as it is.

        on : such as "top of foot"; ``cuts`` and ``through`` are ticks of the form
        """
        self.press("Add a step")
        self.form.locator(f"button[data-name={shape}]").click()
        if on:
            face, _of, step = on.partition(" of ")
            self.form.get_by_label("Sits on step").select_option(step)
            self.form.get_by_label("Its face").select_option(face)
        cuts = how.get("cuts", False)
        word = "Takes away from the part" if cuts else "Adds to the part"
        pressed = self.form.get_by_role("button", name=word)

        def takes() -> bool:
            """What is said of the shape may come above the button just then, and move it."""
            if "mod-active" not in (pressed.get_attribute("class") or ""):
                pressed.click()
            return "mod-active" in (pressed.get_attribute("class") or "")

        self.until(takes, f"it {word.lower()}")
        if cuts:
            self.form.get_by_label("goes right through").set_checked(how.get("through", True))
        self.form.locator(".wb-enter input").fill(name)
        self.page.keyboard.press("Enter")
        listed = self.page.get_by_label("Steps", exact=True)
        self.until(
            lambda: f" {name}:" in listed.inner_text().replace("\xa0", " "),
            f"{name} is there",
        )
        self.page.wait_for_function(
            "document.activeElement.matches('.wb-sizes-page .wb-field:first-child .wb-box input')"
        )
        self.type(sizes)

    def type(self, sizes: Sequence[str]) -> None:
        for size in sizes:
            if size:
                self.page.keyboard.type(size)
            self.page.keyboard.press("Enter")

    def place(self, edges: str, **numbers: str) -> None:
        """Hold it by edges, as the nine places name them, and give the numbers of its place."""
        self.press("Place")
        self.left.get_by_title(edges, exact=True).click()
        for label, number in numbers.items():
            box = self.left.locator(f".wb-of-{label} .wb-box input")
            box.fill(number)
            box.press("Enter")

    def choose(self, label: str, option: str) -> None:
        self.left.get_by_label(label, exact=True).locator("visible=true").select_option(option)

    def until_volume(self, expected: float) -> None:
        """Wait until the bench shows a volume, in mm³."""
        self.until(lambda: abs(self.volume - expected) < 0.06, f"{expected} mm³ is shown")


@pytest.fixture(scope="module")
def hand(page: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Builder]:
    with looked_at(Builder(page), tmp_path_factory.mktemp("browser") / "last-built.png") as hand:
        yield hand


def test_an_angle_bracket_with_its_gusset_and_holes(hand: Builder, lab: Any):
    hand.begin(lab, "bracket")
    hand.add("box", "foot", ["38", "29", "4.2"])
    hand.add("box", "upright", ["foot.width", "foot.height", "32"], on="top of foot")
    hand.place("from the back edge of the face")
    hand.add("wedge", "rib", ["15", "4", "17"], on="top of foot")
    hand.place("from the back edge of the face", inset="foot.height", turn="-90")
    hand.add("cylinder", "foot holes", ["4.5"], on="bottom of foot", cuts=True)
    hand.place("from the corner of the left and the front edge", inset_left="7", inset_front="13")
    hand.choose("Mirrored", "left-right")
    hand.add("cylinder", "wall holes", ["foot holes.diameter"], on="back of upright", cuts=True)
    hand.place("from the corner of the left and the top edge", inset_left="7", inset_top="10")
    hand.choose("Mirrored", "left-right")
    hole = math.pi / 4 * 4.5**2 * 4.2
    blocks = 38 * 29 * 4.2 + 38 * 4.2 * 32 + 15 * 17 / 2 * 4
    hand.until_volume(blocks - 4 * hole)


def test_a_cover_that_snaps_on(hand: Builder, lab: Any):
    hand.begin(lab, "cover")
    hand.add("box", "cover", ["48.2", "34.2", "13"])
    hand.add(
        "box",
        "room",
        ["44.6", "30.6", "cover.height - 1.8"],
        on="top of cover",
        cuts=True,
        through=False,
    )
    hand.add("cylinder", "bead", ["1.6", "14"], on="front of room")
    hand.press("Place")
    hand.choose("Own face", "front")
    hand.place("from the top edge of the face", inset="2.6", sink="0.5", turn="90")
    hand.choose("Mirrored", "front-back")
    # Of a circle of 1.6 the segment 0.5 high stands out of the wall.
    turn = 2 * math.acos(0.3 / 0.8)
    bead = 0.8**2 / 2 * (turn - math.sin(turn))
    hand.until_volume(48.2 * 34.2 * 13 - 44.6 * 30.6 * 11.2 + 2 * 14 * bead)
