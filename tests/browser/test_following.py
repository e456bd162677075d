"""How soon the picture follows a hand, on every repair of the shelf, in JupyterLab.

Needs Chromium and a quiet machine: ``WORKBENCH_FULL=1 python -m pytest -s tests/browser/test_following.py``.
``WORKBENCH_FULL=hook,knob`` takes the repairs that have one of these words in their names.
"""

from __future__ import annotations

import os
import shutil
import statistics
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from browsed import PATIENCE, judged, serving
from ports import free_port

#: Without it this file is not collected (``conftest.py``): no test of the browser is skipped.
CHOSEN = os.environ.get("WORKBENCH_FULL", "")

pytestmark = pytest.mark.browser

SHELF = sorted((Path(__file__).resolve().parents[2] / "templates").glob("*.ipynb"))

#: A plate with pegs in rows, so many steps in all.
STUDDED = """\
from workbench import Repair, Seat, bench
repair = Repair("studs").add("box", name="base", width=120, depth=80, height=4)
for n in range({pegs}):
    seat = Seat("top of base", along=-50 + 20 * (n % 6), across=-30 + 15 * (n // 6))
    repair.add("cylinder", name=f"peg {{n}}", seat=seat, diameter=7, height=9)
bench(repair)"""

#: Milliseconds from a key that goes down to the frame after the one that shows the new part.
#: ``readPixels`` waits until the picture is drawn.
PRESS = """async (slider) => {
    const frame = slider.closest('.wb').querySelector('.wb-picture');
    const gl = frame.querySelector('canvas').getContext('webgl2');
    const shown = (before) => new Promise((done) => {
        const end = performance.now() + 4000;
        const seen = new MutationObserver(() => {
            if (frame.dataset.part === before) return;
            seen.disconnect();
            gl.readPixels(0, 0, 1, 1, gl.RGBA, gl.UNSIGNED_BYTE, new Uint8Array(4));
            requestAnimationFrame(() => done(performance.now()));
        });
        seen.observe(frame, { attributes: true, attributeFilter: ['data-part'] });
        setTimeout(() => { seen.disconnect(); done(null); }, 4000);
    });
    const took = [];
    for (const key of Array(7).fill('ArrowRight')) {
        const wait = shown(frame.dataset.part), start = performance.now();
        slider.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true, cancelable: true }));
        const end = await wait;
        if (end) took.push(end - start);
        await new Promise((done) => setTimeout(done, 120));
    }
    return took.slice(1);
}"""

#: Pictures with a new part, and pictures in all, a second while a hand moves to and fro, where it
#: moves among values that can be: of a refused one there is no picture.
DRAG = """async ([handle, turning]) => {
    const frame = handle.closest('.wb-picture');
    const box = handle.getBoundingClientRect();
    const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
    const tell = (target, kind, dx, dy) => target.dispatchEvent(new PointerEvent(kind, {
        clientX: x + dx, clientY: y + dy, bubbles: true, cancelable: true, pointerId: 1, button: 0, buttons: 1,
    }));
    if (turning) frame.setPointerCapture = () => {};
    tell(handle, 'pointerdown', 0, 0);
    const parts = new Set(), drawn = Number(frame.dataset.drawn), start = performance.now();
    const seen = new MutationObserver(() => parts.add(frame.dataset.part));
    seen.observe(frame, { attributes: true, attributeFilter: ['data-part'] });
    const verdict = frame.closest('.wb').querySelector('.wb-verdict');
    const refused = () => verdict.querySelector('.wb-stop') && !verdict.classList.contains('wb-waiting');
    let now = start, seconds = 0;
    while (now < start + 1500) {
        const before = now;
        now = await new Promise(requestAnimationFrame);
        if (turning || !refused()) seconds += (now - before) / 1000;
        const t = (now - start) / 200;
        tell(turning ? frame : window, 'pointermove', 13 * Math.sin(t), 13 * Math.sin(0.9 * t));
    }
    tell(turning ? frame : window, 'pointermove', 0, 0);
    tell(turning ? frame : window, 'pointerup', 0, 0);
    seen.disconnect();
    return [parts.size / seconds, (Number(frame.dataset.drawn) - drawn) / seconds];
}"""


#: Begins a script a little later, and keeps what it will give.
UNSEEN = """(selector) => {
    const begin = () => {
        const seen = [...document.querySelectorAll(selector)].find((e) => e.getClientRects().length);
        return seen ? (script)(seen) : null;
    };
    window.asked = new Promise((done) => setTimeout(done, 700)).then(begin);
}"""


class Screen:
    """A page at which a hand works while nobody looks in.

    Telling a test of every message took a tenth of what the processors can do.
    """

    def __init__(self, playwright: Any, port: int) -> None:
        self._chromium, self._address = playwright.chromium, f"http://127.0.0.1:{port}"
        self._come()

    def _come(self) -> None:
        self._browser = self._chromium.connect_over_cdp(self._address)
        (self.page,) = self._browser.contexts[0].pages
        self.page.set_default_timeout(PATIENCE * 1000)

    def leave(self) -> None:
        """Look no more."""
        self._browser.close()

    def unseen(self, script: str, selector: str) -> Any:
        """What a script gives for the first element of a kind in sight, begun once nobody looks in.

        None where there is no such element.
        """
        self.page.evaluate(UNSEEN.replace("script", script), selector)
        self.leave()
        time.sleep(2.5)
        self._come()
        return self.page.evaluate("window.asked")

    def steps(self) -> Iterator[int]:
        """The first steps of the list, chosen one after the other."""
        count = self.page.get_by_label("Steps", exact=True).locator("option").count()
        for number in range(min(3, count)):
            self.page.get_by_label("Steps", exact=True).select_option(index=number)
            self.page.wait_for_timeout(700)
            yield number

    def pressed(self) -> list[float]:
        """Milliseconds of each key on the first slider of some steps, each to a new value."""
        took: list[float] = []
        for _step in self.steps():
            slider = ".wb-sizes-page .wb-field:not(.wb-idle) .wb-slider .noUi-handle"
            took += self.unseen(PRESS, slider) or []
            self.page.wait_for_timeout(900)
        return took

    def dragged(self) -> list[list[float]]:
        """Of each step, pictures with a new part and pictures in all, a second."""
        rates = []
        for _step in self.steps():
            rates.append(self.unseen(f"(e) => ({DRAG})([e, false])", ".wb-picture .wb-handle"))
            self.page.wait_for_timeout(900)
        return [rate for rate in rates if rate]

    def turned(self) -> float:
        """Pictures a second while the part is turned."""
        turn = DRAG.replace("handle.closest('.wb-picture')", "handle.parentNode")
        return self.unseen(f"(e) => ({turn})([e, true])", ".wb-picture canvas")[1]


@pytest.fixture(scope="module")
def screen(
    tmp_path_factory: pytest.TempPathFactory, chromium_command: list[str], playwright: Any
) -> Iterator[Screen]:
    """A Chromium that was begun by itself: with playwright's options it draws half as often."""
    port = free_port()
    # As where there is no graphics card: the drawing library's software draws the picture, and not
    # every frame of the page around it as well, which takes longer than all else.
    software = [flag for flag in chromium_command if "angle" not in flag] + ["--disable-gpu"]
    own = [
        f"--remote-debugging-port={port}",
        f"--user-data-dir={tmp_path_factory.mktemp('own')}",
        "--window-size=1366,911",  # 768 of them are the page
    ]
    log = tmp_path_factory.mktemp("chromium") / "log"
    with log.open("wb") as file, serving([*software, *own, "about:blank"], stdout=file):
        while b"DevTools listening" not in log.read_bytes():
            time.sleep(0.1)
        time.sleep(5)  # one that has only just begun answers nothing
        screen = Screen(playwright, port)
        yield screen
        screen.leave()


@pytest.fixture
def at_bench(screen: Screen, lab: Any):
    def at(name: str, *cells: str) -> Screen:
        page = screen.page
        if cells:
            url = lab.notebook(name, *cells)
        else:
            shutil.copy(next(f for f in SHELF if f.name == name), lab.folder / name)
            url = lab.url(name)
        page.goto("about:blank")  # no other notebook's page is measured with it
        judged(page, url)
        page.wait_for_timeout(2500)
        return screen

    yield at
    screen.page.goto("about:blank")


@pytest.mark.parametrize(
    "name",
    [f.name for f in SHELF if CHOSEN == "1" or any(w in f.name for w in CHOSEN.split(","))],
)
def test_a_repair_of_the_shelf_follows_a_hand(at_bench: Any, name: str) -> None:
    screen = at_bench(name)
    rates, took, round_ = screen.dragged(), screen.pressed(), screen.turned()
    told = [f"key to picture {statistics.median(took):.0f} ms"]
    if rates:
        parts, pictures = (statistics.median(rate[i] for rate in rates) for i in (0, 1))
        told.append(f"dragged {pictures:.0f} pictures/s, {parts:.0f} of them of a new part")
    print(f"\n{name}: {', '.join(told)}, turned {round_:.0f} pictures/s")
    assert took and round_ > 0


@pytest.mark.skipif(CHOSEN not in ("1", "studs"), reason="WORKBENCH_FULL=1 or =studs")
def test_twenty_steps_follow_little_later_than_five(at_bench: Any) -> None:
    took: dict[int, list[float]] = {}
    for steps in (5, 20, 5, 20):
        screen = at_bench(f"studs-{steps}.ipynb", STUDDED.format(pegs=steps - 1))
        took.setdefault(steps, []).extend(screen.pressed())
    few, many = (statistics.median(took[steps]) for steps in (5, 20))
    print(f"\nkey to picture: {few:.0f} ms with five steps, {many:.0f} with twenty")
    assert many <= 2 * few
