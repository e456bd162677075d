"""Nothing that a hand did is lost: seeded sessions that end at any moment, and are opened again.

``WORKBENCH_SESSIONS=100`` plays so many instead of four, and ``WORKBENCH_SEED`` begins elsewhere.
"""

from __future__ import annotations

import json
import os
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from jupyter_core.utils import ensure_event_loop
from sessions import Kernel, Page, play

from workbench.output.notebook import recovery
from workbench.output.notebook.document import is_document
from workbench.output.notebook.template_notebook import as_notebook, read_json, read_template
from workbench.solids.recipe.changes import same
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import Seat
from workbench.solids.recipe.stored import FORMAT

FIRST = int(os.environ.get("WORKBENCH_SEED", "0"))
COUNT = int(os.environ.get("WORKBENCH_SESSIONS", "4"))

#: So many are played at once, since most of an evening is waiting.
TOGETHER = 4


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("first", range(FIRST, FIRST + COUNT, TOGETHER))
def test_nothing_older_than_two_seconds_is_missing(
    first: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    apart = {**os.environ, "JUPYTER_RUNTIME_DIR": str(tmp_path / "runtime")}
    seeds = range(first, min(first + TOGETHER, FIRST + COUNT))
    with ThreadPoolExecutor(TOGETHER) as pool:
        for _done in pool.map(partial(evening, tmp_path, apart), seeds):
            pass


@pytest.mark.filterwarnings("ignore")
def test_a_notebook_of_the_old_form_keeps_its_part_and_gets_its_cells_anew(tmp_path: Path) -> None:
    """There every cut took from all that adds; its build cell has one between two that add."""
    repair = Repair("cover").add("box", name="base", width=40, depth=30, height=4)
    repair.cut("cylinder", name="hole", seat=Seat("top of base", sink=4), diameter=8, height=9)
    repair.add("box", name="boss", seat="top of base", width=20, depth=20, height=3)
    path = tmp_path / "cover.ipynb"
    row = json.loads(as_notebook(repair, "cover", image=b""))
    row["metadata"]["workbench"]["repair"]["format"] = 1
    path.write_text(json.dumps(row), encoding="utf-8")
    order = ["base", "boss", "hole"]
    assert [step.name for step in read_template(path).steps] == order
    page = Page(path)
    kernel = Kernel(page, {**os.environ, "WORKBENCH_DATA": str(tmp_path / "data")})
    try:
        for run in ("as it was", "with its cells anew"):
            kernel.run_all()
            steps = [step["name"] for step in json.loads(kernel.repair())["steps"]]
            assert steps == order, run
            kernel.settle(2.0)
            code = "".join(page.cells[2]["source"])
            assert code.index('name="boss"') < code.index('name="hole"'), run
        page.save()
        saved = json.loads(path.read_text(encoding="utf-8"))["metadata"]["workbench"]["repair"]
        assert saved["format"] == FORMAT
        assert [step["name"] for step in saved["steps"]] == order
    finally:
        kernel.close()


@pytest.mark.filterwarnings("ignore")
def test_cells_written_between_two_cells_of_a_run_are_no_hand_s_change(tmp_path: Path) -> None:
    repair = Repair("cover").add("box", name="base", width=40, depth=30, height=4)
    repair.add("tab", name="foot", seat="top of base", width=20)
    path = tmp_path / "cover.ipynb"
    path.write_bytes(as_notebook(repair, "cover", image=b""))
    page = Page(path)
    kernel = Kernel(page, {**os.environ, "WORKBENCH_DATA": str(tmp_path / "data")})
    try:
        kernel.run_all()
        for size in ("width=44", "depth=33", "height=5"):  # further from what is saved
            kernel.run(f"_do(lambda: _latest.edit(lambda repair: repair.change('base', {size})))")
        *first, last = [cell for cell in page.cells if cell["cell_type"] == "code"]
        assert in_time(kernel, lambda: "base_height = 5.0" in first[0]["source"])
        for cell in first:
            kernel.run(cell["source"], cell["id"])
        kernel.run("_do(lambda: _latest.edit(lambda repair: repair.remove('foot')))")
        assert in_time(kernel, lambda: 'name="foot"' not in first[-1]["source"])
        kernel.settle(0.5)
        kernel.run(last["source"], last["id"])
        assert [step["name"] for step in json.loads(kernel.repair())["steps"]] == ["base"]
        # Put in again by a hand, it is the cell's change, and is taken.
        first[-1]["source"] += '\nrepair.add("tab", name="foot", seat="top of base", width=22)'
        kernel.run_all()
        steps = [step["name"] for step in json.loads(kernel.repair())["steps"]]
        assert steps == ["base", "foot"]
    finally:
        kernel.close()


def in_time(kernel: Kernel, true: Callable[[], bool], seconds: float = 60.0) -> bool:
    """Whether something comes true while page and kernel speak."""
    end = time.monotonic() + seconds
    while not true() and time.monotonic() < end:
        kernel.settle(0.25)
    return true()


def evening(folder: Path, environment: dict[str, str], seed: int) -> None:
    """One session, opened again, judged and saved."""
    desk = folder / f"desk-{seed}"
    desk.mkdir()
    session, page, kernel = play(seed, desk, environment)
    told = (session.seed, session.done)
    try:
        bench = json.loads(kernel.repair())
        ended = session.states[-1][0]
        assert any(same(bench, row) for row in session.may_be(ended)), told
        if is_document(read_json(page.path)):

            def command() -> dict[str, Any]:
                newest, _said = recovery.newest(page.path, read_template(page.path))
                return json.loads(newest.to_json())

            assert in_time(kernel, lambda: same(command(), bench)), told
            assert "".join(page.cells[-1]["source"]) == "bench(repair)"

        def saved() -> bool:
            page.save()
            kernel.tell({"saved": True})
            kernel.settle(0.25)
            return not list(desk.glob(".*.workbench*"))

        assert in_time(kernel, saved), told
        if is_document(read_json(page.path)):
            assert same(json.loads(read_template(page.path).to_json()), bench), told
    finally:
        kernel.close()
        ensure_event_loop().close()  # this thread's own
