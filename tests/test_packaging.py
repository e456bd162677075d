"""The wheel carries all that a user needs, and README's lines are the ones that work."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pytest

from workbench.jupyter.picture import bundle

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def blocks(language: str) -> list[str]:
    """The code blocks of README in a language, in order."""
    return re.findall(rf"```{language}\n(.*?)```", README, flags=re.DOTALL)


def call(words: list[str], folder: Path, **environment: str) -> str:
    done = subprocess.run(
        words,
        cwd=folder,
        env={**os.environ, **environment},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from the checkout."""
    place = tmp_path_factory.mktemp("wheel")
    words = ["wheel", "-q", "--no-deps", "--no-build-isolation", "-w", str(place), str(ROOT)]
    call([sys.executable, "-m", "pip", "--disable-pip-version-check", *words], place)
    (built,) = place.glob("*.whl")
    return built


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the wheel's contents alone, to be found before the checkout."""
    place = tmp_path_factory.mktemp("installed")
    words = ["install", "-q", "--no-deps", "--target", str(place)]
    call([sys.executable, "-m", "pip", "--disable-pip-version-check", *words, str(wheel)], place)
    return place


def outside(words: list[str], installed: Path, folder: Path) -> str:
    """Run the installed command in a folder that is no checkout."""
    code = "import sys, workbench, workbench.cli; print(workbench.__file__); sys.exit(workbench.cli.main())"
    said = call([sys.executable, "-c", code, *words], folder, PYTHONPATH=str(installed))
    where, _newline, rest = said.partition("\n")
    assert Path(where).is_relative_to(installed), "the checkout was run instead"
    return rest


def test_the_wheel_carries_notebooks_templates_data_and_styles(wheel: Path) -> None:
    held = set(zipfile.ZipFile(wheel).namelist())
    shipped = [*(ROOT / "notebooks").glob("*.ipynb"), *(ROOT / "templates").glob("*.ipynb")]
    assert {f"workbench/shipped/{p.parent.name}/{p.name}" for p in shipped} <= held
    package = [
        p for p in (ROOT / "workbench").rglob("*") if p.suffix in (".py", ".toml", ".css", ".js")
    ]
    assert {p.relative_to(ROOT).as_posix() for p in package} <= held
    # JupyterLab finds the notebook's script there.
    script = ".data/data/share/jupyter/labextensions/workbench/static/notebook.js"
    assert [name for name in held if name.endswith(script)]
    assert not [name for name in held if name.startswith(("tests/", "notebooks/", "templates/"))]


def test_the_wheel_carries_the_live_picture_made_from_its_sources(wheel: Path) -> None:
    name = "workbench/jupyter/picture/bundled/picture.js"
    text = zipfile.ZipFile(wheel).read(name).decode()
    assert text.startswith(f"// {bundle.fingerprint()}\n")
    assert "OrthographicCamera" in text and len(text) < 800_000
    kept = subprocess.run(["git", "ls-files", name], cwd=ROOT, capture_output=True, check=False)
    assert not kept.stdout


def test_a_bundle_of_other_sources_is_made_anew(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    made = tmp_path / "picture.js"
    monkeypatch.setattr(bundle, "BUNDLE", made)
    assert not bundle.is_current()
    made.write_text(f"// {bundle.fingerprint()}\nexport default {{}};\n", encoding="utf-8")
    assert bundle.is_current()
    made.write_text("// of earlier sources\n", encoding="utf-8")
    assert not bundle.is_current()


def test_the_licence_is_an_spdx_expression(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as file:
        (name,) = [n for n in file.namelist() if n.endswith("dist-info/METADATA")]
        metadata = file.read(name).decode()
        text = file.read(name.replace("METADATA", "licenses/workbench/LICENSE")).decode()
    assert "License-Expression: MIT\n" in metadata  # PEP 639
    assert "License-File: workbench/LICENSE\n" in metadata
    assert text.startswith("MIT License") and "WITHOUT WARRANTY" in text


def test_the_installed_tool_copies_its_notebooks_outside_a_checkout(
    installed: Path, tmp_path: Path
) -> None:
    outside(["open", "--only-copy"], installed, tmp_path)
    mine = tmp_path / "workbench-class"
    for kind in ("notebooks", "templates"):
        assert {p.name for p in (mine / kind).iterdir()} == {
            p.name for p in (ROOT / kind).glob("*.ipynb")
        }


def test_the_installed_tool_makes_the_demo_outside_a_checkout(
    installed: Path, tmp_path: Path
) -> None:
    said = outside(["demo"], installed, tmp_path)
    assert "tray divider" in said
    assert (tmp_path / "repairs/tray-divider/revision-1/tray-divider.3mf").stat().st_size > 1000


def test_readme_has_three_lines_to_start_with() -> None:
    demo, test, lab = (block.strip() for block in blocks("sh")[:3])
    assert all("\n" not in line for line in (demo, test, lab))
    assert demo.startswith("python3 -m venv .venv && ") and demo.endswith("workbench demo")
    assert test.startswith("python3 -m venv .venv && ") and ".lock/test.txt" in test
    assert test.split("&&")[-1].strip().startswith(".venv/bin/python -m pytest")
    assert len(lab) < len(test) and lab.endswith("workbench open")


def test_the_build_machine_runs_the_lines_of_readme() -> None:
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert "README.md" in script and "pip install" not in script


def test_readmes_commands_run_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from workbench.cli import main

    monkeypatch.chdir(tmp_path)
    written = re.search(r"^ +workbench (new .*)$", README, flags=re.MULTILINE)
    assert written is not None
    assert main(shlex.split(written[1])) == 0
    book = "kitchen-divider.ipynb"
    assert f"workbench export {book}" in README and f"workbench check {book}" in README
    assert main(["check", book]) == 0
    assert main(["export", book]) == 0
    assert main(["new", "fin", "--bottom", "46"]) == 0
    for line in ("sheet tray-divider --kind measuring", f"coupon {book} foot.thickness"):
        assert f"`workbench {line}`" in README
        assert main(line.split()) == 0


def test_readmes_python_runs_as_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    (code,) = blocks("python")
    space: dict[str, object] = {}
    exec(code, space)
    paths = space["paths"]
    assert isinstance(paths, list) and all(path.is_file() for path in paths)


def test_the_top_level_is_tidy() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.split()
    if not listed:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in listed}
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml"}
    folders = {"workbench", "notebooks", "tests", "templates"}
    assert {name for name in top if not name.startswith(".")} == allowed | folders


def test_every_dependency_is_accounted_for() -> None:
    told = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = [name for group in project["optional-dependencies"].values() for name in group]
    for wanted in [*project["dependencies"], *extras]:
        name = re.split(r"[<>=\[]", wanted)[0]
        assert f"| {name} |" in told, f"DEVELOPERS.md does not say why {name}"


@pytest.mark.parametrize("lock", ["run", "test"])
def test_every_dependency_is_locked_with_its_hash(lock: str) -> None:
    text = (ROOT / ".lock" / f"{lock}.txt").read_text(encoding="utf-8")
    pins = re.findall(r"^([\w.-]+)(?:\[[\w,]+\])?==\S+.*?\\\n +--hash=sha256:", text, re.MULTILINE)
    whole = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    wanted = [*whole["project"]["dependencies"], *whole["build-system"]["requires"]]
    if lock == "test":
        wanted += whole["project"]["optional-dependencies"]["test"]
    names = {re.split(r"[<>=\[]", each)[0].lower().replace("_", "-") for each in wanted}
    assert names <= {pin.lower().replace("_", "-") for pin in pins}
