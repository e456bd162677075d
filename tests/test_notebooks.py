"""Every notebook runs from top to bottom in a fresh process, and is committed clean."""

from __future__ import annotations

import re
import shutil
from pathlib import Path

import nbformat
import pytest
from nbclient import NotebookClient
from turns import turn

from workbench.output.notebook.shelf import copy_to, folders
from workbench.output.notebook.template_notebook import read_template

LESSONS = sorted(folders().notebooks.glob("[0-9]*.ipynb"))
FOR_TEACHER = folders().notebooks / "for-the-teacher.ipynb"
TEMPLATES = sorted(folders().templates.glob("*.ipynb"))

#: What the lessons print, the first worked out by hand: 46 plus a lean of 7; a third of 0.6 more
#: than 46; half of 46 and 39 together times 71; and as the geometry kernel gives it.
NUMBERS = {
    "00-start": "spans 53.0 mm",
    "01-read-the-calipers": "The mean is 46.00 mm; with one slip it is 46.20 mm",
    "02-sketch-it": "has 3010 mm²",
    "03-split-into-triangles": "come to 3017.5 mm²",
    "04-build-the-divider": "has 5151.4 mm³",
    "05-make-it-fit": "its pieces: 2.2 2.3 2.4 2.5",
    "06-which-way-up": "0.0 g of support",
    "07-try-and-improve": "Revision 1: too tight, set to 2.4 mm, read 2.52 mm.",
    "08-save-and-share": "rake-hook.ipynb",
    "09-trace-a-part": "the true one has 963 mm²",
}


@pytest.fixture(scope="module")
def class_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A pupil's folder, as ``workbench open`` makes it."""
    folder = tmp_path_factory.mktemp("class")
    copy_to(folder)
    return folder


#: What pupils put in the answer cell: two numbers that are wrong, words, a decimal comma, then
#: the right one.
ANSWERS = ("987.6", "876.5", "'about so'", "(3, 5)", "task.expected")


def told_to_teacher() -> dict[str, str]:
    """The answer to each lesson's exercise, as the teacher's page gives it."""
    page = "\n".join(cell.source for cell in nbformat.read(FOR_TEACHER, as_version=4).cells)
    return dict(
        re.findall(r"^\| \[[^]]+\]\(([^)]+)\.ipynb\) \| \d+ \| [^|]+ \| ([^|]+) \|", page, re.M)
    )


def run(path: Path, answers: tuple[str, ...] = ANSWERS) -> nbformat.NotebookNode:
    notebook = nbformat.read(path, as_version=4)
    notebook.cells = [more for cell in notebook.cells for more in (cell, *_answered(cell, answers))]
    where = {"metadata": {"path": str(path.parent)}}
    return NotebookClient(notebook, timeout=180, resources=where).execute()


def _answered(cell: nbformat.NotebookNode, answers: tuple[str, ...]) -> list[nbformat.NotebookNode]:
    """An exercise's answer cell again, as pupils fill it in."""
    if "answer" not in cell.metadata.get("tags", []):
        return []
    assert cell.source.startswith("mine = None\n")
    return [
        nbformat.v4.new_code_cell(cell.source.replace("None", given, 1), metadata={"given": given})
        for given in answers
    ]


def printed(notebook: nbformat.NotebookNode) -> str:
    return "".join(
        output.get("text", "")
        for cell in notebook.cells
        if cell.cell_type == "code"
        for output in cell.outputs
    )


@pytest.mark.parametrize("path", LESSONS, ids=lambda path: path.stem)
def test_a_lesson_runs_and_asserts_its_number(path: Path, class_folder: Path) -> None:
    code = [c.source for c in nbformat.read(path, as_version=4).cells if c.cell_type == "code"]
    assert any(line.startswith("assert ") for source in code for line in source.splitlines())
    from_page = repr(told_to_teacher().get(path.stem, ""))
    done = run(class_folder / "notebooks" / path.name, (*ANSWERS, from_page))
    assert all(cell.execution_count for cell in done.cells if cell.cell_type == "code")
    assert NUMBERS[path.stem] in printed(done)
    told = {
        # A line may come in two pieces where the machine is busy.
        cell.metadata.get("given", ""): "".join(output.get("text", "") for output in cell.outputs)
        for cell in done.cells
        if cell.source.startswith("mine = ")
    }
    if path.stem != "00-start":
        unanswered, wrong, again, words, comma, right = (told[given] for given in ("", *ANSWERS))
        assert unanswered.startswith("Put your number in place of None")
        assert ": not yet. " in wrong and ": not yet. " in again
        assert wrong.partition(": ")[2] != again.partition(": ")[2]
        assert "about so" in words and "two numbers" in comma
        assert right.endswith(": right.\n")
        assert told[from_page].endswith(": right.\n"), "the teacher's page says otherwise"


def test_a_pupil_s_copy_has_no_answers_and_still_runs(tmp_path: Path) -> None:
    copy_to(tmp_path, for_pupil=True)
    lessons = sorted((tmp_path / "notebooks").glob("*.ipynb"))
    assert [path.name for path in lessons] == [path.name for path in LESSONS]
    for path in lessons:
        cells = nbformat.read(path, as_version=4).cells
        assert not any("teacher" in cell.metadata.get("tags", []) for cell in cells)
    assert ": right." in printed(run(lessons[1], ("task.expected",)))


def test_a_pupil_s_copy_has_no_outputs_of_other_people(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell("bench(repair)")])
    page.cells[0].outputs = [nbformat.v4.new_output("stream", text="Mia's own")]
    page.cells[0].execution_count = 7
    shared = tmp_path / "shared"
    shared.mkdir()
    nbformat.write(page, shared / "hook.ipynb")
    monkeypatch.setenv("WORKBENCH_SHELF", str(shared))
    copy_to(tmp_path / "pupil", for_pupil=True)
    (cell,) = nbformat.read(tmp_path / "pupil" / "templates" / "hook.ipynb", as_version=4).cells
    assert cell.source == "bench(repair)"
    assert cell.outputs == [] and cell.execution_count is None


#: Templates of several steps; those of one step run in one kernel, which is quicker.
JOINED = [path for path in TEMPLATES if len(read_template(path).steps) > 1]


@pytest.mark.parametrize("path", turn(JOINED, 0), ids=lambda path: path.stem)
def test_a_template_runs_and_shows_its_bench(path: Path, class_folder: Path) -> None:
    done = run(class_folder / "templates" / path.name)
    assert not printed(done).strip(), "what the bench finds is not printed below it, to go stale"
    (bench,) = (cell for cell in done.cells if cell.id == "bench")
    assert bench.outputs, "the bench shows nothing"


def test_templates_of_one_step_run(class_folder: Path) -> None:
    single = [path for path in TEMPLATES if path not in JOINED]
    every = nbformat.v4.new_notebook()
    for path in single:
        cells = nbformat.read(class_folder / "templates" / path.name, as_version=4).cells
        every.cells += [c for c in cells if c.cell_type == "code" and c.id != "bench"]
        every.cells.append(
            nbformat.v4.new_code_cell(
                "from workbench import build\nprint('volume', build(repair).volume)"
            )
        )
        for number, cell in enumerate(every.cells[-3:]):
            cell.id = f"{path.stem}-{number}"[-60:]
    done = NotebookClient(every, timeout=180).execute()
    assert printed(done).count("volume ") == len(single)


def test_a_template_with_a_broken_number_says_so_in_its_output(class_folder: Path) -> None:
    from nbclient.exceptions import CellExecutionError

    broken = class_folder / "templates" / "broken.ipynb"
    shutil.copy(class_folder / "templates" / "tray-divider.ipynb", broken)
    text = broken.read_text()
    assert "blade_bottom = 46.0 " in text
    broken.write_text(text.replace("blade_bottom = 46.0 ", "blade_bottom = -46.0 "))
    with pytest.raises(
        CellExecutionError, match="blade: bottom is -46 mm; give 1 to 300 mm"
    ) as caught:
        run(broken)
    assert "Traceback" not in str(caught.value) and "parameters.py" not in str(caught.value)


@pytest.mark.parametrize("path", [*LESSONS, FOR_TEACHER, *TEMPLATES], ids=lambda path: path.stem)
def test_a_notebook_is_committed_clean(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    for cell in notebook.cells:
        assert not re.fullmatch("[0-9a-f]{8}", cell.id), "give the cell an id that stays"
        if cell.cell_type == "code":
            assert cell.outputs == [] and cell.execution_count is None
    text = path.read_text(encoding="utf-8")
    assert "/home/" not in text and "/work/" not in text and "/tmp/" not in text
    assert set(notebook.metadata) <= {"kernelspec", "language_info", "workbench"}


@pytest.mark.parametrize("path", LESSONS[1:], ids=lambda path: path.stem)
def test_a_lesson_has_an_exercise_and_a_teacher_s_cell_that_stay_folded(path: Path) -> None:
    tagged = {
        tag: cell
        for cell in nbformat.read(path, as_version=4).cells
        for tag in cell.metadata.get("tags", [])
    }
    assert {"task", "answer", "teacher"} <= set(tagged)
    for tag in ("task", "teacher"):
        assert tagged[tag].metadata.jupyter.source_hidden
    # JupyterLab unfolds an output as soon as its cell runs, so there must be none.
    assert "worked = f" in tagged["teacher"].source and "\nprint(" not in tagged["teacher"].source
    assert tagged["answer"].source == "mine = None\nprint(task.tell(mine))"


def test_the_first_page_leads_to_every_lesson() -> None:
    start = nbformat.read(LESSONS[0], as_version=4)
    words = "\n".join(cell.source for cell in start.cells)
    assert all(f"({path.name})" in words for path in LESSONS[1:])
    assert len(LESSONS) >= 10


def test_the_teacher_s_page_has_each_lesson_with_its_minutes_as_the_lesson_says_them() -> None:
    page = "\n".join(cell.source for cell in nbformat.read(FOR_TEACHER, as_version=4).cells)
    start = nbformat.read(LESSONS[0], as_version=4).cells[0].source
    for path in LESSONS[1:]:
        title = nbformat.read(path, as_version=4).cells[0].source
        name, minutes = re.match(r"# (.+)\n\n\*(\d+) minutes", title).groups()
        assert f"| [{name}]({path.name}) | {minutes} |" in page
        assert re.search(rf"\[{re.escape(name)}\]\({path.name}\) \| [^|]+ \| {minutes} \|", start)
        assert "On the table: " in title and "Afterwards you can " in title


@pytest.mark.parametrize("path", [*LESSONS, FOR_TEACHER], ids=lambda path: path.stem)
def test_links_of_a_lesson_lead_somewhere(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    for cell in notebook.cells:
        for target in re.findall(r"\]\(([^)#]+)\)", cell.source):
            assert (path.parent / target).is_file(), target
