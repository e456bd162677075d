"""Nothing that a hand did is lost: seeded sessions that end at any moment, and are opened again.

``WORKBENCH_SESSIONS=100`` plays so many instead of twenty, and ``WORKBENCH_SEED`` begins elsewhere.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from sessions import play

from workbench.output.notebook import recovery
from workbench.output.notebook.document import is_document
from workbench.output.notebook.template_notebook import read_json, read_template
from workbench.solids.changes import same

FIRST = int(os.environ.get("WORKBENCH_SEED", "0"))
COUNT = int(os.environ.get("WORKBENCH_SESSIONS", "20"))


@pytest.mark.filterwarnings("ignore")
@pytest.mark.parametrize("seed", range(FIRST, FIRST + COUNT))
def test_nothing_older_than_two_seconds_is_missing(
    seed: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    desk = tmp_path / "desk"
    desk.mkdir()
    apart = {"JUPYTER_RUNTIME_DIR": str(tmp_path / "runtime")}
    session, page, kernel = play(seed, desk, {**os.environ, **apart})
    try:
        bench = json.loads(kernel.repair())
        ended = session.states[-1][0]
        told = (session.seed, session.done)
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
