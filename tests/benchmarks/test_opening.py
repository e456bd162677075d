"""From ``workbench open X.ipynb`` to its bench in view, against a bare JupyterLab and the imports.

Needs Chromium and a quiet machine: ``WORKBENCH_FULL=1 python -m pytest -s tests/benchmarks/test_opening.py``.
"""

from __future__ import annotations

import os
import re
import shutil
import statistics
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import nbformat
import pytest
from browsed import PATIENCE, serving, until
from ports import free_port

from workbench.output.notebook.template_notebook import save_template
from workbench.solids.recipe.repair import Repair

pytestmark = pytest.mark.skipif(not os.environ.get("WORKBENCH_FULL"), reason="WORKBENCH_FULL=1")

ROUNDS = 3

#: What a kernel with a bench has to load, whatever it then does.
IMPORTS = "import workbench.jupyter.bench, build123d"


def environment(home: Path) -> dict[str, str]:
    home.mkdir(exist_ok=True)
    return os.environ | {
        **{name: str(home) for name in ("HOME", "XDG_DATA_HOME", "XDG_CONFIG_HOME")},
        **{f"JUPYTER_{kind}_DIR": str(home / kind) for kind in ("CONFIG", "DATA", "RUNTIME")},
        **{"IPYTHONDIR": str(home / "ipython"), "PYTHONUNBUFFERED": "1"},
    }


def opened(page: Any, command: list[str], home: Path, folder: Path, seen: str) -> float:
    """Seconds from starting a server to what is to be seen on its page."""
    inside = environment(home)
    log = home / "server.log"
    began = time.perf_counter()
    with log.open("wb") as file, serving(command, env=inside, cwd=folder, stdout=file):
        address = re.compile(r"http://127\.0\.0\.1:\S+token=\w+")
        until(page, lambda: address.search(log.read_text(errors="replace")) is not None, "it runs")
        found = address.search(log.read_text(errors="replace"))
        assert found is not None
        page.goto(found[0])
        page.locator(seen).first.wait_for()
        taken = time.perf_counter() - began
        page.goto("about:blank")
    return taken


def test_a_notebook_arrives_on_its_bench_soon(tmp_path: Path) -> None:
    from playwright.sync_api import sync_playwright

    repair = (
        Repair("tray divider")
        .add("fin", name="blade", bottom=46, top=37, height=71, inset=-7, thickness=1.6)
        .add("tab", seat="bottom of blade", name="foot", width=30, length=4, thickness=2.4)
    )
    path = save_template(repair, tmp_path)
    plain = tmp_path / "plain.ipynb"
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    cells = [nbformat.v4.new_code_cell("1 + 1")]
    nbformat.write(nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": kernel}), plain)
    common = ["--no-browser", "--port"]
    ours = [sys.executable, "-c", "import sys; from workbench.cli import main; sys.exit(main())"]
    ours += ["open", str(path), "--folder", str(tmp_path), *common]
    bare = [sys.executable, "-m", "jupyterlab", "--allow-root", "--ServerApp.root_dir=."]
    bare += ["--LabApp.default_url=/lab/tree/plain.ipynb", "--ip=127.0.0.1", *common]
    rows = []
    with sync_playwright() as playwright:
        chromium = shutil.which("chromium") or shutil.which("chromium-browser")
        browser = playwright.chromium.launch(executable_path=chromium, args=["--no-sandbox"])
        for number in range(ROUNDS + 1):
            # Each a home of its own: what JupyterLab brings back of the last round is no part of it.
            homes = [tmp_path / f"home-{number}-{name}" for name in ("lab", "bench")]
            page = browser.new_page(viewport={"width": 1380, "height": 1000})
            page.set_default_timeout(PATIENCE * 1000)
            idle = "text='Python 3 (ipykernel) | Idle'"
            lab = opened(page, [*bare, str(free_port())], homes[0], tmp_path, idle)
            began = time.perf_counter()
            subprocess.run([sys.executable, "-c", IMPORTS], check=True)
            imports = time.perf_counter() - began
            built = ".wb-line p"
            bench = opened(page, [*ours, str(free_port())], homes[1], tmp_path, built)
            rows.append((bench, lab, imports, bench / (lab + imports)))
            page.close()
        browser.close()
    for bench, lab, imports, ratio in rows:
        print(
            f"\nbench {bench:.1f} s, JupyterLab {lab:.1f} s, imports {imports:.1f} s: {ratio:.2f}"
        )
    print(f"median {statistics.median(row[-1] for row in rows[1:]):.2f}")
