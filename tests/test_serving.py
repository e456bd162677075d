"""The guide's JupyterHub configuration can be loaded, and what it says holds for workbench."""

from __future__ import annotations

import errno
import json
import os
import re
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from guide import configuration
from traitlets.config import Config

from workbench import Repair, cli, data
from workbench.errors import RepairError
from workbench.jupyter.bench import Bench
from workbench.jupyter.pages.files_page import Files
from workbench.jupyter.pages.gallery import Shelf
from workbench.output.notebook import current_notebook, shared_folders, shelf
from workbench.output.notebook.bundled import folders
from workbench.output.notebook.template_notebook import read_template, save_template


@pytest.fixture
def loaded(tmp_path: Path) -> Config:
    """The configuration in the guide, its shared folder put under this test's folder."""
    return configuration(tmp_path)


@pytest.fixture
def pupil(loaded: Config, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A pupil's home and environment, beside shared folders with a printer and a template."""
    home, shared = tmp_path / "home" / "mia", tmp_path / "srv" / "mend-it"
    home.mkdir(parents=True)
    (shared / "data").mkdir(parents=True)
    (shared / "data" / "printers.toml").write_text(
        '[classroom]\nlike = "generic 220"\nbed = [235, 235, 250]\n', encoding="utf-8"
    )
    save_template(Repair("broom hook").add("hook"), shared / "templates", note="For the hall.")
    monkeypatch.setenv("HOME", str(home))
    for name, value in loaded.Spawner.environment.items():
        monkeypatch.setenv(name, value)
    return home


def test_pupils_share_printers_and_templates_and_write_to_their_own(pupil: Path) -> None:
    assert data.folder() == pupil / ".local" / "share" / "workbench"
    assert data.printer("classroom").bed == (235, 235, 250)
    assert "broom-hook" in {card.path.stem for card in shelf.cards()}


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
    assert {"broom-hook", "tray-divider"} <= {p.stem for p in (top / "templates").glob("*.ipynb")}


# -- what a pupil is told of a fault in the shared folders ---------------------------------------


def shared_data(home: Path) -> Path:
    return home.parents[1] / "srv" / "mend-it" / "data"


def shared_shelf(home: Path) -> Path:
    return home.parents[1] / "srv" / "mend-it" / "templates"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ('[classroom]\nlike = "generic 220"\nbed = [235, 235\n', ["line 3", "put that line right"]),
        ('[classroom]\nlike = "generic 220"\nbed = [9, 235, 250]\n', ["line 3", "10 to 5000 mm"]),
        ('[classroom]\nlike = "workshop"\n', ["line 2", "'workshop' does not stand above it"]),
        ("[classroom]\nnozle = 0.4\n", ["line 2", "did you mean 'nozzle'"]),
    ],
)
def test_a_mistake_in_a_shared_table_is_told_once_and_shipped_figures_stay(
    pupil: Path, text: str, told: list[str]
) -> None:
    file = shared_data(pupil) / "printers.toml"
    file.write_text(text, encoding="utf-8")
    (fault,) = data.faults()
    assert all(words in fault for words in ["left out", str(file), *told, "looks after them"])
    assert "classroom" not in data.printers()
    assert data.printer("generic 220").bed == (220, 220, 250)
    with pytest.raises(RepairError) as unknown:
        Repair("broom hook", printer="classroom")
    assert fault in str(unknown.value)

    # put right, it counts at once
    file.write_text('[classroom]\nlike = "generic 220"\n', encoding="utf-8")
    assert data.faults() == () and "classroom" in data.printers()


def test_a_mistake_in_ones_own_table_still_stops(pupil: Path) -> None:
    own = data.folder()
    own.mkdir(parents=True)
    (own / "printers.toml").write_text("[mine]\nnozle = 0.4\n", encoding="utf-8")
    with pytest.raises(RepairError, match="did you mean 'nozzle'"):
        data.printers()


def test_a_table_and_a_shelf_that_may_not_be_read_are_told(
    pupil: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shut = (shared_data(pupil) / "printers.toml", shared_shelf(pupil))
    opened, listed = os.open, os.listdir

    def refusing(path: Any, *args: Any, **kwargs: Any) -> int:
        if Path(path) in shut:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return opened(path, *args, **kwargs)

    def listdir(path: Any = ".") -> list[str]:
        if path in shut:
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(path))
        return listed(path)

    monkeypatch.setattr(os, "open", refusing)
    monkeypatch.setattr(os, "listdir", listdir)
    (fault,) = data.faults()
    assert str(shut[0]) in fault and "Permission denied" in fault
    (fault,) = shared_folders.faults()
    assert str(shut[1]) in fault and "Permission denied" in fault
    assert "classroom" not in data.printers()
    assert {card.path.stem for card in shelf.cards()} >= {"tray-divider"}


def test_shared_folders_that_are_gone_are_told_and_the_lessons_still_come(
    pupil: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    shutil.rmtree(shared_data(pupil).parent)
    (fault,) = data.faults()
    assert str(shared_data(pupil)) in fault and "is not there" in fault
    (fault,) = shared_folders.faults()
    assert str(shared_shelf(pupil)) in fault
    assert data.printers() and shelf.cards()
    capsys.readouterr()
    assert cli.main(["open", "--only-copy", "--folder", str(pupil / "mend-it")]) == cli.FINE
    assert (pupil / "mend-it" / "templates" / "tray-divider.ipynb").is_file()
    assert fault in capsys.readouterr().err
    assert (
        cli.main(["shelf", "broom-hook"]) == cli.FINE
    )  # it is gone, and another hook comes nearest
    told = capsys.readouterr()
    assert fault in told.err and not re.search(r"^ *broom-hook\b", told.out, re.MULTILINE)


def test_a_shared_template_stands_in_for_the_shipped_one_of_its_name(pupil: Path) -> None:
    ours = Repair("tray divider").add("fin", name="blade", bottom=41)
    save_template(ours, shared_shelf(pupil), title="Tray divider", note="That of our own trays.")
    (card,) = [card for card in shelf.cards() if card.path.stem == "tray-divider"]
    assert card.note == "That of our own trays."
    assert shelf.repair_at("tray-divider").step("blade").values["bottom"] == 41
    shelf.copy_to(pupil / "mend-it")
    copied = pupil / "mend-it" / "templates" / "tray-divider.ipynb"
    assert read_template(copied).step("blade").values["bottom"] == 41


def test_half_a_shared_template_is_told_and_hides_no_shipped_one(pupil: Path) -> None:
    half = shared_shelf(pupil) / "tray-divider.ipynb"
    half.write_text('{"cells": [', encoding="utf-8")
    (fault,) = shared_folders.faults()
    assert str(half) in fault and "only part of one" in fault
    assert shelf.find("tray-divider") == folders().templates / "tray-divider.ipynb"
    shelf.copy_to(pupil / "mend-it")
    assert read_template(pupil / "mend-it" / "templates" / "tray-divider.ipynb").steps


def test_what_cannot_be_a_notebook_on_the_shared_shelf_stops_nobody(pupil: Path, capsys) -> None:
    place = shared_shelf(pupil)
    shelf_of_theirs = json.loads(next(place.glob("*.ipynb")).read_text("utf-8"))
    (place / "deep.ipynb").write_text("[" * 100_000)
    (place / "endless.ipynb").symlink_to("/dev/zero")
    os.mkfifo(place / "pipe.ipynb")
    shelf_of_theirs["metadata"]["workbench"]["title"] = "a\ud800"
    (place / "surrogate.ipynb").write_text(json.dumps(shelf_of_theirs))
    with (place / "large.ipynb").open("wb") as large:
        large.truncate(30_000_000)
    odd = ("deep", "endless", "large", "pipe", "surrogate")
    faults = shared_folders.faults()
    assert [Path(fault.split()[3]).stem for fault in faults] == list(odd)
    assert {card.path.stem for card in shelf.cards()} >= {"broom-hook", "tray-divider"}
    assert cli.main(["shelf", "broom"]) == cli.FINE
    told = capsys.readouterr()
    assert "broom-hook" in told.out and all(f"{name}.ipynb" in told.err for name in odd)


# -- the same on the bench -----------------------------------------------------------------------


@pytest.fixture
def on_bench(pupil: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Callable[[], Bench]]:
    """Put a plain repair on the bench of a pupil whose notebook is on the shared shelf."""
    import ipykernel.comm  # noqa: F401  before the widgets, as in a notebook

    from workbench.jupyter import bench as benches

    monkeypatch.setattr(benches, "PAUSE", 600.0)
    monkeypatch.chdir(shared_shelf(pupil))
    made: list[Bench] = []

    def put() -> Bench:
        made.append(benches.Bench(Repair("peg").add("cylinder", name="pin", diameter=5)))
        return made[-1]

    yield put
    for bench in made:
        bench.close()


def test_the_bench_tells_what_is_left_out_and_works(
    pupil: Path, on_bench: Callable[[], Bench]
) -> None:
    assert on_bench().shared.value == ""
    file = shared_data(pupil) / "printers.toml"
    file.write_text("[classroom]\nnozle = 0.4\n", encoding="utf-8")
    (shared_shelf(pupil) / "half.ipynb").write_text("{", encoding="utf-8")
    bench = on_bench()
    assert "did you mean" in bench.shared.value and "wb-warning" in bench.shared.value
    assert (
        "classroom" not in bench.bar.printer.options and "generic 220" in bench.bar.printer.options
    )
    assert bench.shown is not None
    (panel,) = [panel for panel in bench.panels if isinstance(panel, Shelf)]
    panel.opened()
    assert "half.ipynb" in panel.faults.value and panel.list.options


def test_what_a_pupil_saves_into_the_shared_shelf_is_kept_in_their_own_and_explained(
    pupil: Path, on_bench: Callable[[], Bench], monkeypatch: pytest.MonkeyPatch
) -> None:
    may_write = current_notebook._may_write  # root may write everywhere, a pupil may not
    monkeypatch.setattr(
        current_notebook,
        "_may_write",
        lambda folder: pupil in folder.absolute().parents and may_write(folder),
    )
    before = sorted(shared_shelf(pupil).iterdir())
    bench = on_bench()
    (files,) = [panel for panel in bench.panels if isinstance(panel, Files)]
    files.name.value = "our peg"
    files.save.click()
    kept = pupil / "workbench-class" / "templates" / "our-peg.ipynb"
    assert kept.is_file()
    assert str(shared_shelf(pupil)) in files.saved.value and "read-only" in files.saved.value
    assert str(kept) in files.saved.value and files.template.names == [kept.name]

    (panel,) = [panel for panel in bench.panels if isinstance(panel, Shelf)]
    panel.opened()
    assert str(kept) in [path for _title, path in panel.list.options]
    panel.list.value = str(kept)
    panel.starting.name.value = "second peg"
    panel.starting.button.click()
    assert (pupil / "workbench-class" / "notebooks" / "second-peg.ipynb").is_file()

    assert files.folder.value == str(pupil / "workbench-class" / "repairs" / "peg")
    files.write.click()
    assert (pupil / "workbench-class" / "repairs" / "peg" / "revision-1" / "peg.3mf").is_file()
    assert sorted(shared_shelf(pupil).iterdir()) == before
