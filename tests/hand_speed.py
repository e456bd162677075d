"""How soon the picture follows the hand, in headless Chromium: ``python tests/hand_speed.py``.

For each repair on the shelf, and one of twenty steps: milliseconds from an arrow key on a slider to
the new geometry drawn, and pictures a second while the part is turned with the mouse and while a
size is dragged in the picture. Run it on a machine with nothing else to do.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path
from typing import Any

from browsed import PATIENCE, judged

from workbench.output.notebook.shelf import paths

SHELF = """\
from workbench import bench
from workbench.output.notebook.shelf import repair_at
repair = repair_at({name!r})
bench(repair)"""

STUDS = """\
from workbench import Repair, Seat, bench
repair = Repair("studs").add("box", name="base", width=120, depth=80, height=4)
for n in range(19):
    seat = Seat("top of base", along=-50 + 20 * (n % 6), across=-30 + 15 * (n // 6))
    repair.add("cylinder", name=f"peg {n}", seat=seat, diameter=7, height=9)
shown = bench(repair)
shown.choose("peg 2")
shown"""

#: Keeps, for each key, when it was pressed and when the picture was drawn with another size.
WATCH = """() => {
    const frame = document.querySelector('.wb-picture');
    const said = () => [...frame.querySelectorAll('.wb-size')].map((e) => e.textContent).join();
    window.pressed = 0; window.took = []; window.drawn = 0; window.other = 0;
    let before = said();
    new MutationObserver(() => {
        window.drawn += 1;
        const now = said();
        if (now === before) return;
        before = now;
        window.other += 1;
        if (window.pressed) window.took.push(performance.now() - window.pressed);
        window.pressed = 0;
    }).observe(frame, { attributes: true, attributeFilter: ['data-drawn'] });
    document.addEventListener('keydown', () => { window.pressed = performance.now(); }, true);
}"""

KEYS = 15


@contextmanager
def a_page() -> Iterator[tuple[Any, Any]]:
    """A page of a JupyterLab of its own, and that JupyterLab."""
    from playwright.sync_api import sync_playwright

    class Places:
        def mktemp(self, name: str) -> Path:
            return Path(tempfile.mkdtemp(prefix=name))

    sys.path.insert(0, str(Path(__file__).parent / "browser"))
    own = import_module("conftest")
    served = own._served(Places())
    lab = next(served)
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=own.chromium(), args=own.FLAGS)
            page = browser.new_page(viewport={"width": 1380, "height": 1000})
            page.set_default_timeout(PATIENCE * 1000)
            yield page, lab
            browser.close()
    finally:
        next(served, None)


def keyed(page: Any) -> float:
    """Milliseconds from an arrow key to the picture with the new size, the median."""
    page.locator(".wb-sizes-page .noUi-handle:visible").first.focus()
    for n in range(KEYS):
        page.keyboard.press("ArrowRight" if n % 2 == 0 else "ArrowLeft")
        page.wait_for_function("n => window.took.length >= n", arg=n + 1)
        page.wait_for_timeout(120)
    return statistics.median(page.evaluate("window.took")[2:])


def dragged(page: Any, x: float, y: float, what: str) -> float:
    """Pictures a second while the mouse is held and moved for two seconds."""
    page.mouse.move(x, y)
    page.mouse.down()
    before, began = page.evaluate(f"[window.{what}, performance.now()]")
    for n in range(100):
        page.mouse.move(x + 0.8 * n, y + 0.2 * n)
        page.wait_for_timeout(20)
    after, ended = page.evaluate(f"[window.{what}, performance.now()]")
    page.mouse.up()
    return 1000 * (after - before) / (ended - began)


def main() -> None:
    names = sys.argv[1:] or [*(path.stem for path in paths()), ""]
    print("repair: ms from key to picture; pictures a second: turned, size dragged")
    with a_page() as (page, lab):
        for name in names:
            code = SHELF.format(name=name) if name else STUDS
            judged(page, lab.notebook(f"{name or 'studs'}.ipynb", code))
            page.wait_for_timeout(1500)
            page.evaluate(WATCH)
            took = keyed(page)
            box = page.locator(".wb-picture").bounding_box()
            turned = dragged(page, box["x"] + 12, box["y"] + box["height"] - 40, "drawn")
            handle = page.locator(".wb-handle:visible").first
            pulled = 0.0
            if handle.count():
                box = handle.bounding_box()
                middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
                pulled = dragged(page, *middle, "other")
            print(
                f"{name or 'twenty steps'}: {took:.0f} ms; {turned:.0f}, {pulled:.0f}", flush=True
            )


if __name__ == "__main__":
    main()
