"""The paths of DEVELOPERS.md, followed in a scratch copy: what is added there is green by itself."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent

TEMPLATE = '''"""A block for the wall."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

from workbench.solids.facts import facts
from workbench.solids.parameters import Size, checked
from workbench.solids.shapes.primitives import box

if TYPE_CHECKING:
    from build123d import Solid


@facts(holds=True)
@checked
def wall_block(
    width: Annotated[float, Size(2, 80, measure="across the block")] = 22.0,
    height: Annotated[float, Size(1, 40, measure="from the wall out")] = 8.0,
) -> Solid:
    """A block that stands on its root."""
    return box(width, 12.0, height)
'''

SAVE = """
from workbench import Reading, Repair
from workbench.output.notebook.template_notebook import save_template

repair = Repair("wall block").add("wall_block", name="block", width=Reading([21.9, 22.0, 22.1]))
print(save_template(repair, "templates", note="Keeps a door off the wall."))
"""

CHECK = '''"""A name that nobody will find again."""

from __future__ import annotations

from collections.abc import Iterator

from workbench.checks.report import Finding
from workbench.checks.subject import Subject
from workbench.words import _


def short_name(subject: Subject) -> Iterator[Finding]:
    """A repair whose name is one letter."""
    letters = len(subject.repair.name)
    if letters < 2:
        yield Finding(
            severity="note",
            rule="short name",
            where=subject.repair.name,
            text=_("The name has {count} letter.").format(count=letters),
            number=letters,
            limit=2,
            unit="",
            remedy=_("Give it a longer name."),
        )
'''


PYTEST = ("-m", "pytest", "-q", "-p", "no:cacheprovider")


@pytest.fixture(scope="module")
def copy(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The project's files, to add to."""
    top = tmp_path_factory.mktemp("scratch")
    for name in ("workbench", "tests", "templates", "notebooks"):
        shutil.copytree(ROOT / name, top / name, ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copy(ROOT / "pyproject.toml", top)
    shutil.copy(ROOT / "DEVELOPERS.md", top)
    return top


def run(top: Path, *words: str, **env: str) -> str:
    """What Python prints in the copy, whose modules come first."""
    done = subprocess.run(
        [sys.executable, *words],
        cwd=top,
        capture_output=True,
        text=True,
        timeout=300,
        env={**os.environ, "PYTHONPATH": str(top), **env},
        check=False,
    )
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-3000:]
    return done.stdout


def test_a_template_is_one_file_and_one_saved_notebook(copy: Path) -> None:
    (copy / "workbench/solids/templates/wall_block.py").write_text(TEMPLATE)
    assert "wall-block.ipynb" in run(copy, "-c", SAVE)
    places = ("solids/test_templates.py", "solids/test_parameters.py", "checks/test_copies.py")
    places += ("output/test_drawing.py", "output/test_sheets.py", "output/test_shelf.py")
    places += ("output/test_untrusted_template.py", "test_notebooks_german.py")
    tests = [f"tests/{place}" for place in places]
    tried = run(copy, *PYTEST, "-k", "wall", *tests, WORKBENCH_FULL="1")
    assert " passed" in tried and "failed" not in tried
    listed = run(copy, "-m", "workbench.cli", "shelf", "wall", WORKBENCH_LANGUAGE="en")
    assert "Keeps a door off the wall." in listed
    helped = run(
        copy, "-m", "workbench.cli", "new", "wall_block", "--help", WORKBENCH_LANGUAGE="en"
    )
    assert "across the block" in helped


def test_a_check_is_one_file_its_name_and_its_line(copy: Path) -> None:
    (copy / "workbench/checks/short_name.py").write_text(CHECK)
    check = copy / "workbench/checks/check.py"
    text = check.read_text().replace(
        "RULES: tuple[Rule, ...] = (\n", "RULES: tuple[Rule, ...] = (\n    short_name,\n"
    )
    first = "from workbench.checks.report import"
    check.write_text(
        text.replace(first, f"from workbench.checks.short_name import short_name\n{first}", 1)
    )
    report = copy / "workbench/checks/report.py"
    report.write_text(
        report.read_text().replace("RULE_NAMES = (\n", 'RULE_NAMES = (\n    "short name",\n', 1)
    )
    said = run(
        copy, "-c",
        "from workbench import Repair, check\n"
        "print([f.rule for f in check(Repair('x').add('box')).findings if f.where == 'x'])",
    )  # fmt: skip
    assert "short name" in said
    run(copy, *PYTEST, "-k", "short_name", "tests/test_imports.py")


def test_a_language_is_one_command_and_falls_back_to_english(copy: Path) -> None:
    run(copy, "-m", "workbench.locale.collect", "es")
    catalogue = copy / "workbench/locale/es/LC_MESSAGES/workbench.po"
    text = catalogue.read_text(encoding="utf-8")
    assert 'msgid "Undo"\nmsgstr ""' in text
    catalogue.write_text(
        text.replace('msgid "Undo"\nmsgstr ""', 'msgid "Undo"\nmsgstr "Deshacer"'),
        encoding="utf-8",
    )
    run(copy, "-m", "workbench.locale.collect")
    said = run(
        copy, "-c", "from workbench.words import _; print(_('Undo'), _('Redo'))",
        WORKBENCH_LANGUAGE="es",
    )  # fmt: skip
    assert said.split() == ["Deshacer", "Redo"]


def test_the_guide_names_what_these_paths_do() -> None:
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for said in ("solids/templates/", "save_template", "RULES", "RULE_NAMES", "locale.collect es"):
        assert said in guide
