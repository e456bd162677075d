"""Opening a notebook: in a folder of the user's, with settings that bring it onto the bench."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import nbformat
import pytest

from workbench.cli import main
from workbench.output.notebook import current_notebook, opening
from workbench.output.notebook.bundled import folders, in_checkout
from workbench.output.notebook.shelf import find

ROOT = folders().notebooks.parent


def settings(words: list[str]) -> Path:
    (folder,) = (w.partition("=")[2] for w in words if w.startswith("--LabApp.app_settings_dir="))
    return Path(folder)


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("HOME", str(tmp_path / "home"))
    (tmp_path / "desk").mkdir()
    monkeypatch.chdir(tmp_path / "desk")
    return tmp_path / "desk"


def test_it_works_in_a_folder_of_the_user_s_and_never_in_the_source(desk, monkeypatch, capsys):
    assert opening.home() == Path("workbench-class")
    (desk / "notebooks").mkdir()
    (desk / "notebooks" / "00-start.ipynb").write_text("{}")
    assert opening.home() == Path()
    assert in_checkout(ROOT) and in_checkout(ROOT / "notebooks") and not in_checkout(desk)
    monkeypatch.chdir(ROOT)
    assert opening.home() == Path.home() / "workbench-class"
    assert main(["open", "--only-copy", "--folder", "."]) == 2
    assert "--folder" in capsys.readouterr().err


def test_what_the_source_ships_is_only_read(desk, monkeypatch):
    monkeypatch.setattr(current_notebook, "_servers", lambda: [])
    for name in ("notebooks", "templates"):
        assert current_notebook.own(ROOT / name) == Path.home() / "workbench-class" / name
    assert current_notebook.own(desk / "templates") == desk / "templates"


def test_of_a_shipped_notebook_the_copy_is_opened(desk):
    given = ROOT / "templates" / "tray-divider.ipynb"
    assert opening.notebook_in(desk, str(given)) == desk / "templates" / "tray-divider.ipynb"
    own = desk / "mine.ipynb"
    assert opening.notebook_in(desk, str(own)) == own
    assert opening.notebook_in(desk, None) == desk / "notebooks" / "00-start.ipynb"


def test_a_repair_is_run_when_it_is_opened_and_a_stranger_s_code_is_not(desk):
    path = Path(shutil.copy(find("tray-divider"), desk / "mine.ipynb"))
    assert opening.may_run(path)
    words = opening.lab_command(path, desk, arrive=opening.may_run(path))
    page = json.loads((settings(words) / "page_config.json").read_text(encoding="utf-8"))
    told = json.loads(page["workbench"])
    assert told["arrive"] == "mine.ipynb" and told["words"]["go"]
    assert page["disabledExtensions"] == {"@voila-dashboards/jupyterlab-preview": True}
    book = nbformat.read(path, as_version=4)
    book.cells.append(nbformat.v4.new_code_cell("import os; os.listdir()"))
    nbformat.write(book, path)
    assert not opening.may_run(path)
    later = opening.lab_command(path, desk, arrive=False)
    page = json.loads((settings(later) / "page_config.json").read_text(encoding="utf-8"))
    assert json.loads(page["workbench"])["arrive"] == ""


def test_the_script_for_jupyterlab_is_where_the_command_says(desk):
    path = Path(shutil.copy(find("tray-divider"), desk / "mine.ipynb"))
    (folder,) = (
        word.partition("=")[2]
        for word in opening.lab_command(path, desk)
        if word.startswith("--LabApp.extra_labextensions_path=")
    )
    package = json.loads((Path(folder) / "workbench" / "package.json").read_text(encoding="utf-8"))
    script = Path(folder) / "workbench" / package["jupyterlab"]["_build"]["load"]
    assert "window._JUPYTERLAB[KEY]" in script.read_text(encoding="utf-8")


def test_jupyterlab_shows_its_address_and_logs_the_rest_into_files(tmp_path, monkeypatch) -> None:
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("JUPYTER_CONFIG_PATH", "/of/the/user")
    first, *rest = opening.quiet_environment()["JUPYTER_CONFIG_PATH"].split(os.pathsep)
    assert rest == ["/of/the/user"]
    words = "from jupyter_core.paths import jupyter_config_path as p; print(*p(), sep='\\n')"
    env = {**opening.quiet_environment(), "JUPYTER_CONFIG_DIR": str(tmp_path)}
    seen = subprocess.check_output([sys.executable, "-c", words], env=env, text=True)
    assert first in seen.splitlines()
    told = json.loads((Path(first) / "jupyter_config.json").read_text())
    handlers = told["Application"]["logging_config"]["handlers"]
    assert handlers["console"] == {"level": "CRITICAL"}
    assert Path(handlers["file"]["filename"]).parent == Path(first)


def test_where_no_file_can_be_written_the_environment_is_as_it_was(tmp_path, monkeypatch) -> None:
    (tmp_path / "data").write_text("a file where the folder would be")
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    assert opening.quiet_environment() == dict(os.environ)


def test_what_is_no_notebook_is_not_opened(tmp_path: Path, refused) -> None:
    solid = tmp_path / "part.stl"
    with refused("no notebook at", "part.stl"):
        opening.refuse_missing(solid)
    solid.write_bytes(b"solid")
    with refused("part.stl is not a notebook", ".ipynb"):
        opening.refuse_missing(solid)
