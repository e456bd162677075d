"""Whatever a stranger writes into a name or a note, what is written of it is data, never code."""

from __future__ import annotations

import ast
import builtins
import json
import os
import subprocess
from contextlib import suppress
from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from workbench.errors import RepairError
from workbench.output.notebook import cells
from workbench.output.notebook.repair_sizes import named_sizes
from workbench.output.notebook.template_notebook import as_notebook, open_template, start
from workbench.output.notebook.untrusted_template import own_code
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.service import Load, Trial

ENDS = ("\n", "\r", "\r\n", "\x0b", "\x0c", "\x1c", "\x85", "\u2028", "\u2029", "\0", "\ud800")

CODE = "getattr(__import__('os'),'system')('true')"

HOSTILE = [
    *(f"b{end}{CODE}{end}#" for end in ENDS),
    *(f"{quote}){CODE}#" for quote in ("'", '"', "'''", '"""', "\\", "\\'", '\\"', "{", "}")),
    "b\\N{LATIN SMALL LETTER A}\\u0041\\x41", "{repair}", "%s%n", "\u202e edoc", "__class__",
    "import os", "repair", "noted", "None", "class", "ﬁn", "𝐨𝐬", "<img src=http://x/y>",
    "![x](http://x/y)", "[x]: http://x/y", "a|b`c*d_e", "$(true)", "=cmd|' /C calc'!A0",
]  # fmt: skip

texts = st.text(max_size=40) | st.sampled_from(HOSTILE)


def repair_with(text: str) -> Repair:
    """A repair with the text wherever one can be; where it is refused, a plain word instead."""
    repair = Repair("part").add("box", name="base", width=20, depth=10, height=5)
    with suppress(RepairError):
        repair = Repair(text).add("box", name="base", width=20, depth=10, height=5)
    name = "knob"
    with suppress(RepairError):
        repair.add("cylinder", name=text, diameter=4, height=3)
        name = text
    if name == "knob":
        repair.add("cylinder", name=name, diameter=4, height=3)
    repair.statements = {"food": text}
    repair.loads = (Load(name, 5),)
    tried = Trial(1, name, "diameter", "right", 4.0)
    with suppress(RepairError):
        tried = replace(tried, note=text, date=text)
    repair.trials = (tried,)
    return repair


def statements(source: str) -> list[str]:
    """What a cell's lines are, in kind and in what they call."""
    kinds = []
    for line in ast.parse(source).body:
        if isinstance(line, ast.Expr) and isinstance(line.value, ast.Call):
            kinds.append(ast.unparse(line.value.func))
        elif isinstance(line, ast.Expr):
            kinds.append(ast.unparse(line))
        elif isinstance(line, ast.Assign):
            called = [ast.unparse(n.func) for n in ast.walk(line.value) if isinstance(n, ast.Call)]
            kinds.append(" ".join(["=", *sorted(set(called))]))
        else:
            kinds.append(type(line).__name__)
    return kinds


#: All that a cell of this repair may do.
EXPECTED = {"=", "= Repair", "= Load", "= Trial", "repair.add", "repair", "bench", "ImportFrom"}


@settings(max_examples=150, deadline=None)
@given(text=texts)
@example(HOSTILE[0])
def test_what_is_written_is_the_statements_expected_whatever_the_names_are(text) -> None:
    repair = repair_with(text)
    written = cells.write(repair, named_sizes(repair), repair.name, "", b"")
    for cell in written:
        if cell["cell_type"] == "code":
            cell["source"].encode()  # no lone surrogate, which no file could hold
            assert set(statements(cell["source"])) <= EXPECTED, cell["source"]


@pytest.mark.parametrize("text", HOSTILE)
def test_running_it_does_the_repair_and_nothing_else(text, monkeypatch) -> None:
    repair = repair_with(text)
    written = cells.write(repair, named_sizes(repair), repair.name, "", b"")
    sources = [cell["source"] for cell in written if cell["cell_type"] == "code"]

    def forbidden(*_given, **_named):
        raise AssertionError("it ran a program")

    for place, names in ((os, ("system", "popen", "execv")), (subprocess, ("Popen", "run"))):
        for name in names:
            monkeypatch.setattr(place, name, forbidden)
    monkeypatch.setattr(builtins, "open", forbidden)
    names: dict = {}
    for source in sources:
        if not source.startswith("bench("):
            exec(compile(source, "cell", "exec"), names)
    assert names["repair"].steps == repair.steps
    assert names["repair"].statements == repair.statements
    assert names["repair"].trials == repair.trials


@pytest.mark.parametrize("text", HOSTILE)
def test_a_stranger_s_template_is_written_anew_without_its_code(text, tmp_path) -> None:
    """The names go into the file as they are; what the tool reads of it is refused or is data."""
    row = json.loads(as_notebook(Repair("p").add("box", name="base"), "p", image=b"\x89PNG"))
    kept = row["metadata"]["workbench"]
    kept["repair"]["steps"][0]["name"] = text
    kept["title"] = kept["note"] = text
    kept["parameters"] = [[name, text, field] for name, _step, field in kept["parameters"]]
    path = tmp_path / "theirs.ipynb"
    path.write_text(json.dumps(row))
    try:
        open_template(path)
        mine = start(path, tmp_path / "mine", "mine")
    except RepairError as error:
        assert "\n" not in str(error)
        return
    assert own_code(mine) == ()
    (heading,) = (c for c in json.loads(mine.read_text())["cells"] if c["id"] == "title")
    assert "<img" not in "".join(heading["source"])
    assert "![x](http" not in "".join(heading["source"])
