"""The lessons in German: the same cells and code as in English, with every text translated."""

from __future__ import annotations

import ast
import json
import os
import re
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from turns import turn

from workbench.locale import collect
from workbench.output.notebook.language import lesson, pieces
from workbench.output.notebook.shelf import copy_to, folders, paths

LESSONS = sorted(folders().notebooks.glob("*.ipynb"))

#: What two German lessons print when they run: as the English ones, in other words.
SAID = {
    "01-read-the-calipers": ("Das Mittel ist 46.00 mm", ": richtig."),
    "07-try-and-improve": ("Revision 1: ", ": richtig."),
}


@pytest.fixture
def in_german(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("WORKBENCH_LANGUAGE", "de")


@pytest.fixture(scope="module")
def class_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What ``workbench open`` puts into a German user's folder."""
    folder = tmp_path_factory.mktemp("kurs")
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("WORKBENCH_LANGUAGE", "de")
        copy_to(folder)
    return folder


def without_texts(source: str) -> str:
    """Code with an empty text in place of each text that is translated."""
    for piece in reversed(pieces("code", source)):
        source = source[: piece.start] + source[piece.end :]
    return ast.dump(ast.parse(source))


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_german_lesson_has_the_same_cells_and_code_and_no_english_left(
    path: Path, class_folder: Path
) -> None:
    english = nbformat.read(path, as_version=4)
    german = nbformat.read(class_folder / "notebooks" / path.name, as_version=4)
    nbformat.validate(german)
    assert german.metadata == english.metadata
    assert [(c.id, c.cell_type, c.metadata) for c in german.cells] == [
        (c.id, c.cell_type, c.metadata) for c in english.cells
    ]
    for before, after in zip(english.cells, german.cells, strict=True):
        texts = [piece.text for piece in pieces(before.cell_type, before.source)]
        assert not [text for text in texts if text in after.source and len(text.split()) > 3]
        if before.cell_type == "code":
            assert without_texts(after.source) == without_texts(before.source)
        links = [re.findall(r"\]\(([^)#]+)\)", cell.source) for cell in (before, after)]
        assert links[0] == links[1]


def test_a_code_span_or_a_call_that_a_text_names_is_the_same_in_german() -> None:
    """What a pupil is told to type must work: words in it may be German, calls are not."""
    german = collect.stored(collect.LOCALES / "de" / "LC_MESSAGES" / "lessons.po")
    for message in german:
        if message.id:
            typed = [re.findall(r"`(\w+)\(", text) for text in (message.id, message.string)]
            assert typed[0] == typed[1], message.id


def test_code_keeps_its_names_while_its_texts_change() -> None:
    source = (
        "# How deep\n"
        'divider.cut("box", seat="top of blade", name="blade")  # once\n'
        "print(f\"It is {width['a']:.1f} mm wide\", sep='; ')"
    )
    cell = {"cell_type": "code", "source": source, "metadata": {}}
    content = json.dumps({"cells": [cell], "metadata": {}}).encode()
    changed = json.loads(lesson(content, str.upper))["cells"][0]["source"]
    assert "".join(changed) == (
        "# HOW DEEP\n"
        'divider.cut("box", seat="TOP OF BLADE", name="BLADE")  # ONCE\n'
        "print(f\"IT IS {WIDTH['A']:.1F} MM WIDE\", sep='; ')"
    )


@pytest.mark.parametrize("name", SAID)
def test_a_german_lesson_runs(name: str, class_folder: Path, in_german: None) -> None:
    path = class_folder / "notebooks" / f"{name}.ipynb"
    notebook = nbformat.read(path, as_version=4)
    for cell in notebook.cells:
        if "answer" in cell.metadata.get("tags", []):
            cell.source = cell.source.replace("None", "task.expected", 1)
    where = {"metadata": {"path": str(path.parent)}}
    done = NotebookClient(notebook, timeout=180, resources=where).execute()
    texts = (out.get("text", "") for cell in done.cells for out in cell.get("outputs", ()))
    printed = "\n".join(texts)
    assert all(said in printed for said in SAID[name]), printed


@pytest.mark.parametrize("path", turn(paths(), 1), ids=lambda path: path.stem)
def test_a_german_template_is_the_same_part(
    path: Path, class_folder: Path, in_german: None
) -> None:
    from workbench import build
    from workbench.output.notebook.template_notebook import open_template, read_template

    copy = class_folder / "templates" / path.name
    saved = open_template(copy)
    nbformat.validate(nbformat.read(copy, as_version=4))
    assert list(saved.names) == list(open_template(path).names)
    assert read_template(copy) == read_template(path)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("WORKBENCH_LANGUAGE", "en")
        english = open_template(path)
    if os.environ.get("WORKBENCH_RELEASE"):
        assert (saved.title, saved.note) != (english.title, english.note)
    assert build(saved.repair).volume == pytest.approx(build(english.repair).volume, rel=1e-12)
