"""Every number that decides is moved, one at a time, in a copy of the package: a test must fail.

WORKBENCH_FULL=1 moves all of them, which takes hours; WORKBENCH_FULL=orientation.proud only those of a
module. The test that merely repeats the values is left out.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import workbench
from tests.checks.test_numbers import NUMBERS

ASKED = os.environ.get("WORKBENCH_FULL", "")

#: Where the tests of a module are, besides test_numbers.py and test_numbers_inside.py.
TESTS = {
    "cautions": "by_use danger_words outside/test_small_parts",
    "cut_edges": "cut_edges safe_side",
    "edits": "cut_edges safe_side",
    "effects": "no_effect",
    "fit": "fits coupon trials printed_size outside/test_fit",
    "inside": "inside",
    "layers": "layers_overhang layers_slices layers_thin estimate outside/test_layers",
    "orientation": "orient way_up_known small_changes estimate printability",
    "outer_size": "outer_size",
    "printability": "printability",
    "strength": "loads strength_shelf outside/test_strength outside/test_strength_printed",
    "together": "together",
    "walls": "layers_thin printability",
}

MOVES = [
    (module, name)
    for module, numbers in NUMBERS.items()
    for name in numbers
    if ASKED in ("1", module, module.split(".")[0], f"{module}.{name}")
]


def moved(source: str, name: str) -> str:
    """A module's source with a number a quarter larger, the first of several, or one more of a few."""
    line = re.compile(rf"^((?:[\w, ]*\b)?{name}\b.*?= .*)$", re.MULTILINE).search(source)
    assert line
    names, values = line[1].split("= ", 1)
    place = [each.strip() for each in names.split(":")[0].split(",")].index(name)
    found = list(re.finditer(r"(?<![\w.])-?\d+(?:\.\d+)?(?:e-?\d+)?", values))
    number = found[place if len(found) > place else 0]
    value = float(number[0])
    more = f"{int(value) + 1}" if number[0].isdigit() and value < 20 else f"{value * 1.25 or 0.1:g}"
    if "." not in number[0] and number[0].isdigit() and value >= 20:
        more = f"{int(value * 1.25)}"
    return source[: line.start(1)] + names + "= " + values[: number.start()] + more + values[number.end() :] + source[line.end(1) :]  # fmt: skip


def test_a_number_is_moved_where_it_stands():
    assert moved("A = 2.0\nB = 3\n", "B") == "A = 2.0\nB = 4\n"
    assert moved("A, B = 2.0, 80\n", "B") == "A, B = 2.0, 100\n"
    assert moved("A: tuple = (0.2, 1)\n", "A") == "A: tuple = (0.25, 1)\n"


@pytest.mark.skipif(not MOVES, reason="takes hours: WORKBENCH_FULL=1, or a module's name")
@pytest.mark.parametrize(("module", "name"), MOVES or [("", "")])
def test_some_test_fails_when_a_number_is_moved(module, name, tmp_path):
    root = Path(workbench.__file__).parents[1]
    for part in ("workbench", "tests", "templates", "notebooks", "pyproject.toml"):
        whole = shutil.copytree if (root / part).is_dir() else shutil.copy
        whole(root / part, tmp_path / part)
    path = tmp_path / "workbench" / "checks" / (module.replace(".", "/") + ".py")
    path.write_text(moved(path.read_text(encoding="utf-8"), name), encoding="utf-8")
    named = ["numbers", "numbers_inside", *TESTS[module.split(".")[0]].split()]
    files = [
        f"tests/{each}.py" if "/" in each else f"tests/checks/test_{each}.py" for each in named
    ]
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", "-k", "not every_number", *files],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(tmp_path), "WORKBENCH_FULL": ""},
        capture_output=True,
        text=True,
        check=False,
    )  # fmt: skip
    assert done.returncode == 1, done.stdout[-2000:]
