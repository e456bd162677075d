"""A function of somebody's own is written down with all that it uses, or refused in words."""

from __future__ import annotations

import importlib.util
import py_compile
import sys
from pathlib import Path

import pytest

from workbench import RepairError
from workbench.output.notebook.own_templates import load_part, load_parts, source_of
from workbench.solids import catalogue

PARTS = '''\
import math as maths
from typing import Annotated

from workbench import Choice, Size

LEAST = 2.0
LOCK = open(__file__)
LOCK.close()


def rounded_up(x):
    return max(maths.ceil(x), LEAST)


def bracket(
    width: Annotated[float, Size(5, 50)] = 20.0,
    side: Annotated[str, Choice(("left", "right"))] = "left",
):
    """A bracket of somebody's own."""
    from build123d import Box

    return Box(rounded_up(width), 4, 3)


def stuck(width: Annotated[float, Size(5, 50)] = 20.0):
    return LOCK


def helper(width):
    return width
'''


@pytest.fixture
def parts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setattr(catalogue, "_own", {})
    monkeypatch.delitem(sys.modules, "own_parts", raising=False)
    path = tmp_path / "own_parts.py"
    path.write_text(PARTS)
    return path


def test_the_written_cell_runs_by_itself_and_makes_the_function_known(parts: Path) -> None:
    text = source_of(load_part(f"{parts}:bracket"))
    assert "import math as maths" in text and "LEAST = 2.0" in text
    assert text.index("def rounded_up") < text.index("def bracket")
    catalogue._own.clear()
    space: dict[str, object] = {}
    exec(text, space)
    assert catalogue.find("bracket").complete({})["width"] == 20.0
    assert catalogue.find("bracket").function(width=7.5).volume == pytest.approx(8 * 4 * 3)


def test_what_cannot_be_written_down_is_refused(parts: Path) -> None:
    with pytest.raises(RepairError, match="stuck uses LOCK, which cannot be saved"):
        source_of(load_part(f"{parts}:stuck"))


def test_a_file_makes_all_its_templates_known_and_nothing_else(parts: Path) -> None:
    load_parts(parts)
    assert {"bracket", "stuck"} <= set(catalogue.names())
    assert "helper" not in catalogue.names()


def test_a_function_without_a_file_is_refused() -> None:
    space: dict[str, object] = {"__name__": "nowhere"}
    exec("def bracket(width=3): return width", space)
    with pytest.raises(RepairError, match="source of bracket cannot be found"):
        source_of(space["bracket"])  # type: ignore[arg-type]


def test_what_is_read_is_run_and_not_what_lies_compiled_beside_it(tmp_path, monkeypatch) -> None:
    written, other = tmp_path / "read_parts.py", tmp_path / "other.py"
    written.write_text("WHOSE = 'read'\n", encoding="utf-8")
    other.write_text("WHOSE = 'compiled'\n", encoding="utf-8")
    compiled = importlib.util.cache_from_source(str(written))
    py_compile.compile(
        str(other), compiled, invalidation_mode=py_compile.PycInvalidationMode.UNCHECKED_HASH
    )
    monkeypatch.setattr(sys, "dont_write_bytecode", False)
    assert load_parts(written).WHOSE == "read"
    assert [path.name for path in (tmp_path / "__pycache__").iterdir()] == [Path(compiled).name]
    assert load_parts(other).WHOSE == "compiled"
    assert [path.name for path in (tmp_path / "__pycache__").iterdir()] == [Path(compiled).name]
