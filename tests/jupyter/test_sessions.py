"""Nothing that a hand did is lost: seeded sessions that end at any moment, and are opened again.

``WORKBENCH_SESSIONS=100`` plays so many instead of twenty, and ``WORKBENCH_SEED`` begins elsewhere.
"""

from __future__ import annotations

import json
import os
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

import pytest
from jupyter_core.utils import ensure_event_loop
from sessions import Kernel, Page, play

from workbench.output.notebook import recovery
from workbench.output.notebook.document import is_document
from workbench.output.notebook.template_notebook import as_notebook, read_json, read_template
from workbench.solids.changes import same
from workbench.solids.repair import FORMAT, Repair
from workbench.solids.seat import Seat

FIRST = int(os.environ.get("WORKBENCH_SEED", "0"))
COUNT = int(os.environ.get("WORKBENCH_SESSIONS", "20"))

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
        kernel.settle(1.5)
        if is_document(read_json(page.path)):
            command, _said = recovery.newest(page.path, read_template(page.path))
            assert same(json.loads(command.to_json()), bench), told
            assert "".join(page.cells[-1]["source"]) == "bench(repair)"
        page.save()
        kernel.tell({"saved": True})
        for _n in range(40):
            kernel.settle(0.25)
            if not list(desk.glob(".*.workbench*")):
                break
        assert not list(desk.glob(".*.workbench*")), told
        if is_document(read_json(page.path)):
            assert same(json.loads(read_template(page.path).to_json()), bench), told
    finally:
        kernel.close()
        ensure_event_loop().close()  # this thread's own
