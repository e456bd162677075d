"""Everything from outside comes through one gate, which lets in only what is fit to be read."""

from __future__ import annotations

import ast
import gc
import json
import os
import time
import zipfile
from functools import cache
from io import BytesIO
from pathlib import Path

import pytest

import workbench
from workbench import gate
from workbench.errors import RepairError
from workbench.output.files.threemf import read_threemf
from workbench.solids.recipe.repair import Repair

HOUSE = Path(workbench.__file__).parent

#: Calls that read a file or take its text apart.
READING = {
    *("read_text", "read_bytes", "open", "imread", "import_step", "import_stl", "load_mesh"),
    *("json.load", "json.loads", "tomllib.load", "tomllib.loads", "csv.reader", "csv.DictReader"),
    *("np.load", "np.loadtxt", "np.fromfile", "pickle.load", "pickle.loads", "ElementTree.parse", "ElementTree.fromstring"),
    *("ZipFile", "nbformat.read", "nbformat.reads", "trimesh.load", "Image.open", "spec_from_file_location"),
}  # fmt: skip

#: Where such a call is no reader of outside files, or has passed the gate just before: module,
#: call, and why. A new reader goes through workbench.gate and is not listed here.
KNOWN = {
    ("units", "open"): "below the gate: a plain file, its first 1000 bytes",
    ("units", "tomllib.loads"): "of those bytes",
    ("tables", "tomllib.loads"): "of the gate's text",
    ("roster", "csv.reader"): "over a file that the gate opened",
    ("own_templates", "spec_from_file_location"): "of a file that the gate looked at",
    ("language", "json.loads"): "a shipped lesson, read by the gate",
    ("pupil_copy", "json.loads"): "a shipped lesson, read by the gate",
    **{("bundle", call): "the tool's own build" for call in ("open", "read_text", "read_bytes")},
    ("view", "read_text"): "the tool's own script",
    ("paths", "open"): "a lock, of which who has it is read",
    ("process", "read_bytes"): "the system's own figures",
    ("process", "pickle.loads"): "the answer of a process of our own",
    ("bounded", "pickle.loads"): "the answer of a copy of this process",
    ("current_notebook", "json.load"): "the answer of the user's own server",
    ("counterpart", "json.loads"): "the tool's own text",
    ("danger_words", "json.loads"): "the words that travel with the tool",
    ("foreign_mesh", "load_mesh"): "of the gate's bytes",
    ("foreign_mesh", "import_step"): "of the gate's bytes",
    ("foreign_mesh", "np.load"): "what a copy of this process made of them",
    ("threemf", "ZipFile"): "writes one",
    ("export", "read_bytes"): "reads back what was written just now",
    ("part_job", "read_bytes"): "reads back what was written just now",
    ("roster_row", "json.loads"): "the tool's own text",
    ("whole_class", "json.loads"): "the tool's own text",
    ("whole_class", "read_bytes"): "compares two revisions",
}

#: Not files: what is called "open" there.
NO_FILES = {
    ("cli", "os.open"),
    *((name, "open") for name in ("lesson", "gallery", "starting", "keeping")),
}

#: The tool's own files, and its own JSON.
OURS = ("__file__", "HERE", "_LAB", ".to_json()")


@cache
def calls() -> list[tuple[Path, ast.Call]]:
    """Every call in the tool's own code."""
    return [
        (path, node)
        for path in sorted(HOUSE.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
    ]


@cache
def readers() -> list[tuple[str, str, int]]:
    """The calls that read from outside: module, call and line."""
    return list(found_readers())


def found_readers():
    for path, node in calls():
        module = path.stem
        if module == "gate" or path.parent.name == "locale":
            continue
        full = ast.unparse(node.func)
        name = full.rsplit(".", 1)[-1]
        found = next((known for known in (full, name) if known in READING), None)
        if found is None or any(ours in ast.unparse(node) for ours in OURS):
            continue
        if (module, full) not in NO_FILES and (module, found) not in NO_FILES:
            yield module, found, node.lineno


def test_every_reader_goes_through_the_gate() -> None:
    strangers = [(m, call, line) for m, call, line in readers() if (m, call) not in KNOWN]
    assert not strangers, f"read it with workbench.gate: {strangers}"


def test_the_list_of_exceptions_holds_no_reader_that_is_gone() -> None:
    assert set(KNOWN) <= {(module, call) for module, call, _line in readers()}


#: Refusals whose sentence says what is wanted without a semicolon.
WANTED = ("name one, such as", "corners, such as", "two numbers each", "{what}", "{error}")


def test_every_refusal_says_what_to_do() -> None:
    silent = []
    for path, node in calls():
        if ast.unparse(node.func) in ("RepairError", "gate.unknown") and node.args:
            texts = [
                call.args[0].value
                for call in ast.walk(node.args[0])
                if isinstance(call, ast.Call)
                and ast.unparse(call.func) == "_"
                and isinstance(call.args[0], ast.Constant)
            ]
            said = max(texts, key=len, default="; ")
            if "; " not in said and "? " not in said and not any(w in said for w in WANTED):
                silent.append((path.name, node.lineno, said))
    assert not silent


def refused(call, *words: str) -> str:
    with pytest.raises(RepairError) as raised:
        call()
    text = str(raised.value)
    assert all(word in text for word in words), text
    return text


# -- files ---------------------------------------------------------------------------------------


def test_a_plain_file_is_read(tmp_path) -> None:
    (tmp_path / "a").write_bytes(b"\xef\xbb\xbfsize")
    assert gate.content(tmp_path / "a", 7) == b"\xef\xbb\xbfsize"
    assert gate.text(tmp_path / "a") == "size"


def test_a_file_of_one_byte_more_than_the_limit_is_refused(tmp_path) -> None:
    (tmp_path / "a").write_bytes(b"x" * 101)
    assert len(gate.content(tmp_path / "a", 101)) == 101
    refused(lambda: gate.content(tmp_path / "a", 100), "at most")


def test_a_pipe_and_a_device_are_refused_at_once(tmp_path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "zero").symlink_to("/dev/zero")
    for path in (tmp_path / "pipe", tmp_path / "zero", Path("/dev/zero")):
        refused(lambda path=path: gate.content(path), "a device or a pipe")


def test_a_folder_and_a_missing_file_are_told_by_the_system_s_own_words(tmp_path) -> None:
    with pytest.raises(IsADirectoryError):
        gate.content(tmp_path)
    with pytest.raises(FileNotFoundError):
        gate.content(tmp_path / "none")
    refused(lambda: gate.content("a\0b"), "not a file name")


@pytest.mark.parametrize(
    "name", ["/etc/hostname", "../secret", "a/../../b", "C:\\x", "\\\\host\\x", "", None, 3, "a\nb"]
)
def test_a_name_that_leads_out_of_its_folder_is_refused(tmp_path, name) -> None:
    refused(lambda: gate.inside(tmp_path, name), "leads out of")


def test_a_link_out_of_the_folder_is_refused_and_one_inside_is_not(tmp_path) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "secret").write_text("x")
    (tmp_path / "in" / "out").symlink_to(tmp_path / "secret")
    (tmp_path / "in" / "own").write_text("y")
    (tmp_path / "in" / "link").symlink_to(tmp_path / "in" / "own")
    refused(lambda: gate.inside(tmp_path / "in", "out"), "link")
    assert gate.inside(tmp_path / "in", "link").read_text() == "y"


# -- what is in them ------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text, word",
    [
        ('{"a": "\\ud800"}', "not text"),
        ('{"\\udfff": 1}', "not text"),
        ("[" * 200 + "]" * 200, "nested"),
        ("[" * 200_000, "nested"),
        ('{"a":' * 100_000, "nested"),
        ("1" * 41, "the number"),
        ("1" * 5000, "the number"),
        ("0." + "1" * 40, "the number"),
        ("1e999", "the number"),
    ],
)
def test_json_that_no_file_of_ours_holds_is_refused(text, word) -> None:
    refused(lambda: gate.json_in(text, "it"), word)


def test_json_up_to_the_limits_is_read() -> None:
    deep = "[" * gate.DEPTH + "1" + "]" * gate.DEPTH
    assert gate.json_in(deep, "it") is not None
    refused(lambda: gate.json_in(f"[{deep}]", "it"), "nested")
    assert gate.json_in("1" * gate.NUMBER, "it") == int("1" * gate.NUMBER)
    assert gate.json_in('{"a": ["\\ud83d\\ude00", 1.5, null]}', "it") == {"a": ["😀", 1.5, None]}


def test_a_long_flat_list_is_read_in_a_time_that_grows_with_its_length() -> None:
    def once(count: int) -> float:
        text = json.dumps([[]] * count)
        began = time.process_time()
        gate.json_in(text, "it")
        return time.process_time() - began

    def seconds(count: int) -> float:
        return min(once(count) for _try in range(5))

    # Ten times the length: ten times the work when it grows with it, a hundred with its square.
    gc.disable()
    try:
        assert seconds(200_000) < 40 * seconds(20_000)
    finally:
        gc.enable()


@pytest.mark.parametrize("version", [None, 1, 2, 3, 5, "4", True, 4.5])
def test_only_notebooks_of_format_4_are_read(tmp_path, version) -> None:
    path = tmp_path / "a.ipynb"
    path.write_text(json.dumps({"nbformat": version, "cells": []}))
    refused(lambda: gate.notebook(path), "format 4")
    path.write_text(json.dumps({"nbformat": 4, "cells": []}))
    assert gate.notebook(path)["cells"] == []
    path.write_text(json.dumps({"nbformat": 4, "cells": {}}))
    refused(lambda: gate.notebook(path), "is not a notebook")


HIDING = ["\n", "\r", "\t", "\x00", "\x1b", "\x7f", "\x85", "\u2028", "\u202e", "\u2066", "\ud800", "\uffff"]  # fmt: skip


@pytest.mark.parametrize("sign", HIDING)
def test_a_name_with_a_sign_that_hides_or_breaks_a_line_is_refused(sign) -> None:
    refused(lambda: gate.name("name", f"a{sign}b"), "name", "invisible characters")
    refused(lambda: Repair(f"a{sign}b"), "name is")
    refused(lambda: Repair("a").add("box", name=f"a{sign}b"), "step name")
    assert gate.fitted(f"a{sign}b") == "a b"
    assert sign in "\n\t" or gate.shown(f"a{sign}b") == "a?b"


def test_names_of_every_script_are_let_through() -> None:
    for text in ("Türfuß, links", "Łukasz", "李小龍", "عمر", "नमस्ते", "👩‍🔧", "it's 5\" & <b>"):
        assert gate.name("name", text) == text == gate.fitted(text)


def test_a_name_of_one_sign_too_many_is_refused() -> None:
    assert gate.name("name", "x" * gate.NAME)
    refused(lambda: gate.name("name", "x" * (gate.NAME + 1)), "200")


def test_a_note_may_have_lines_and_nothing_that_hides_them() -> None:
    assert gate.note("note", "one\ntwo\tthree") == "one\ntwo\tthree"
    refused(lambda: gate.note("note", "one\x1btwo"), "plain text")
    refused(lambda: gate.note("note", 3), "plain text")


def test_an_xml_text_of_too_many_elements_is_refused_before_it_is_read(monkeypatch) -> None:
    monkeypatch.setattr(gate, "ROWS", 10)
    assert len(gate.xml(b"<a>" + b"<b/>" * 18 + b"</a>")) == 18
    with pytest.raises(ValueError, match="too many"):
        gate.xml(b"<a>" + b"<b/>" * 19 + b"</a>")


@pytest.mark.parametrize("flag", [0x01, 0x40, 0x41])
def test_a_package_that_asks_for_a_password_is_refused(flag) -> None:
    into = BytesIO()
    with zipfile.ZipFile(into, "w") as package:
        package.writestr("_rels/.rels", "<a/>")
    raw = bytearray(into.getvalue())
    raw[raw.index(b"PK\x01\x02") + 8] |= flag  # where a package's own list keeps a file's flags
    with pytest.raises(zipfile.BadZipFile):
        gate.zipped(bytes(raw))
    with pytest.raises(RepairError, match="damaged"):
        read_threemf(bytes(raw))
