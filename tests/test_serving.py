"""The guide's JupyterHub configuration can be loaded, and what it says holds for workbench."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from traitlets.config import Config
from traitlets.config.loader import PyFileConfigLoader

from workbench import Repair, data
from workbench.output import shelf
from workbench.output.notebook import save_template

GUIDE = (Path(__file__).resolve().parents[1] / "DEVELOPERS.md").read_text(encoding="utf-8")


@pytest.fixture
def loaded(tmp_path: Path) -> Config:
    """The configuration in the guide, its shared folder put under this test's folder."""
    section = GUIDE.partition("## Serve a class\n")[2].partition("\n## ")[0]
    (written,) = re.findall(r"```python\n(.*?)```", section, flags=re.DOTALL)
    assert "/srv/mend-it" in written
    file = tmp_path / "jupyterhub_config.py"
    file.write_text(written.replace("/srv/", f"{tmp_path}/srv/"), encoding="utf-8")
    return PyFileConfigLoader(file.name, path=str(tmp_path)).load_config()


@pytest.fixture
def pupil(loaded: Config, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A pupil's home and environment, beside shared folders with a printer and a template."""
    home, shared = tmp_path / "home" / "mia", tmp_path / "srv" / "mend-it"
    home.mkdir(parents=True)
    (shared / "data").mkdir(parents=True)
    (shared / "data" / "printers.toml").write_text(
        '[classroom]\nlike = "generic 220"\nbed = [235, 235, 250]\n', encoding="utf-8"
    )
    save_template(Repair("coat hook").add("hook"), shared / "templates", note="For the hall.")
    monkeypatch.setenv("HOME", str(home))
    for name, value in loaded.Spawner.environment.items():
        monkeypatch.setenv(name, value)
    return home


def test_pupils_share_printers_and_templates_and_write_to_their_own(pupil: Path) -> None:
    assert data.folder() == pupil / ".local" / "share" / "workbench"
    assert data.printer("classroom").bed == (235, 235, 250)
    assert "coat-hook" in {card.path.stem for card in shelf.cards()}


@pytest.mark.skipif(sys.platform == "win32", reason="JupyterHub does not run on Windows")
def test_a_login_brings_the_lessons_and_the_shelf_then_starts_the_server(
    loaded: Config, pupil: Path, tmp_path: Path
) -> None:
    programs = tmp_path / "bin"
    programs.mkdir()
    (programs / "workbench").write_text(f'#!/bin/sh\nexec {sys.executable} -m workbench.cli "$@"\n')
    (programs / "jupyterhub-singleuser").write_text('#!/bin/sh\necho "started with $@"\n')
    for program in programs.iterdir():
        program.chmod(0o755)
    done = subprocess.run(
        [shutil.which("sh"), *loaded.Spawner.cmd[1:], *loaded.Spawner.args],
        cwd=pupil,
        env={**os.environ, "PATH": f"{programs}{os.pathsep}{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert done.stdout.endswith(f"started with {' '.join(loaded.Spawner.args)}\n")
    top = Path(loaded.Spawner.notebook_dir).expanduser()
    assert top == pupil / "mend-it"
    first = loaded.Spawner.default_url.removeprefix("/lab/tree/")
    assert (top / first).is_file()
    assert {"coat-hook", "tray-divider"} <= {p.stem for p in (top / "templates").glob("*.ipynb")}
