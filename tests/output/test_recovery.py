"""What the bench has and the notebook does not: kept beside it, offered, and never lost unsaid."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from dataclasses import asdict, replace
from pathlib import Path
from random import Random
from typing import Any

import pytest
from edits import edit, random_repair
from hypothesis import given
from hypothesis import strategies as st

from workbench.output.notebook import recovery
from workbench.output.notebook.recovery import Kept, Owner
from workbench.output.notebook.template_notebook import save_template
from workbench.solids.recipe.merge import row_of
from workbench.solids.recipe.repair import Repair

AT = "2026-11-28 21:04:05"


def foot(width: float) -> Repair:
    return Repair("part").add("tab", name="foot", width=width)


def kept(repair: Repair, cells: Repair, saved: Repair | None = None) -> Kept:
    return Kept(row_of(repair), row_of(cells), row_of(saved) if saved else None)


@pytest.fixture
def notebook(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path / "data"))
    (tmp_path / "desk").mkdir()
    return tmp_path / "desk" / "part.ipynb"


@pytest.fixture
def another() -> Any:
    """A process that has ended, and one that is at work."""
    done = subprocess.Popen([sys.executable, "-c", ""])
    done.wait()
    return Owner(Owner.me().host, done.pid, 1.0), replace(Owner.me(), started=Owner.me().started)


def write_as(owner: Owner, book: Path, work: Kept, number: str = "", **more: Any) -> Path:
    """A recovery file of another process."""
    path = book.with_name(f".{book.stem}.workbench{number}")
    recovery.write(path, book, {"bench": work}, AT)
    row = {k: v for k, v in json.loads(path.read_text()).items() if k != "sum"}
    row |= {"owner": asdict(owner), **more}
    path.write_text(json.dumps({**row, "sum": recovery._sum(row)}))
    return path


def test_it_is_hidden_small_and_comes_back_the_same(notebook):
    path = recovery.place_for(notebook)
    work = kept(foot(31), foot(30))
    recovery.write(path, notebook, {"bench": work}, AT)
    assert path.parent == notebook.parent and path.name == ".part.workbench"
    assert path.stat().st_size < 4000
    assert recovery.read(path, notebook).benches == {"bench": work}
    recovery.remove(path)
    assert list(notebook.parent.iterdir()) == []


def test_what_a_kernel_that_has_ended_kept_is_offered(notebook, another):
    dead, _alive = another
    write_as(dead, notebook, kept(foot(31), foot(30)))
    (one,), told = recovery.found(notebook)
    assert told == [] and one.benches["bench"].laid_over(foot(30)).repair == foot(31)
    assert recovery.place_for(notebook).name == ".part.workbench-2", "it is not written over"


def test_a_notebook_renamed_while_no_kernel_ran_finds_its_work_again(notebook, another):
    dead, alive = another
    save_template(foot(30), notebook.parent, title="part")
    path = write_as(dead, notebook, kept(foot(31), foot(30), foot(30)))
    other = save_template(foot(20), notebook.parent, title="other")
    assert recovery.found(other) == ([], []), "what is of a notebook that is there is its own"
    renamed = notebook.rename(notebook.with_name("kitchen-part.ipynb"))
    assert recovery.found(other) == ([], []), "nor is it another notebook's"
    (one,), told = recovery.found(renamed)
    assert told == [] and one.path == path
    assert one.benches["bench"].laid_over(foot(30)).repair == foot(31)
    assert recovery.newest(renamed, foot(30))[0] == foot(31)
    write_as(alive, notebook, kept(foot(31), foot(30), foot(30)))
    assert recovery.found(renamed)[0] == [], "one that is at work is left to its kernel"


def test_two_kernels_do_not_write_over_one_another(notebook):
    code = (
        "import sys, time; from pathlib import Path\n"
        "from workbench.output.notebook import recovery\n"
        "book = Path(sys.argv[1]); path = recovery.place_for(book)\n"
        f"recovery.write(path, book, {{}}, {AT!r}); print(path.name, flush=True); time.sleep(60)"
    )
    words = [sys.executable, "-c", code, str(notebook)]
    with subprocess.Popen(words, stdout=subprocess.PIPE, text=True) as other:
        assert other.stdout is not None and other.stdout.readline() == ".part.workbench\n"
        ours = recovery.place_for(notebook)
        recovery.write(ours, notebook, {"bench": kept(foot(31), foot(30))}, AT)
        assert ours.name == ".part.workbench-2"
        usable, (line,) = recovery.found(notebook)
        assert usable == [] and "Another kernel has been working on part.ipynb since 2026" in line
        other.kill()
    (one,), told = recovery.found(notebook)
    assert one.path.name == ".part.workbench" and told == []


@pytest.mark.parametrize(
    ("fault", "words"),
    [
        (lambda path, write: path.write_bytes(path.read_bytes()[:200]), "damaged"),
        (lambda path, write: path.write_bytes(b"\xff\x00"), "damaged"),
        (lambda path, write: path.write_text("[]"), "damaged"),
        (lambda path, write: path.write_text(path.read_text().replace("31", "32")), "damaged"),
        (lambda path, write: write(format=9, version="7.1"), r"newer workbench (7.1)"),
        (lambda path, write: write(notebook="other.ipynb"), "another notebook, other.ipynb"),
    ],
)
def test_one_that_cannot_be_used_is_told_and_set_aside_never_deleted(
    notebook, another, fault, words
):
    dead, _alive = another
    work = kept(foot(31), foot(30))
    path = write_as(dead, notebook, work)
    fault(path, lambda **more: write_as(dead, notebook, work, **more))
    content = path.read_bytes()
    usable, (line,) = recovery.found(notebook)
    assert usable == [] and words in line and "part-set-aside.workbench" in line
    assert notebook.with_name("part-set-aside.workbench").read_bytes() == content
    assert not path.exists()


def test_a_notebook_called_like_another_s_second_file_is_its_own(notebook, another):
    dead, _alive = another
    second = notebook.with_name("part-2.ipynb")
    write_as(dead, notebook, kept(foot(31), foot(30)))
    write_as(dead, second, kept(foot(41), foot(40)))
    (one,), told = recovery.found(notebook)
    assert told == [] and one.benches["bench"].repair == row_of(foot(31))


@pytest.mark.skipif(os.name != "posix", reason="folders are made read-only by their mode")
def test_beside_a_notebook_in_a_read_only_folder_it_is_kept_with_the_user_s_data(
    notebook, tmp_path, monkeypatch
):
    monkeypatch.setattr(os, "access", lambda path, mode: Path(path) != notebook.parent)
    path = recovery.place_for(notebook)
    assert recovery.is_elsewhere(path) and path.parent == tmp_path / "data" / "recovery"
    recovery.write(path, notebook, {"bench": kept(foot(31), foot(30))}, AT)
    repair, told = recovery.newest(notebook, foot(30))
    assert repair == foot(31) and AT in told[0]


def test_the_nearer_of_saved_and_written_cells_is_what_a_change_began_from():
    work = kept(foot(33), foot(33), saved=foot(30))
    assert work.laid_over(foot(30)).repair == foot(33), "the page was loaded anew"
    assert work.laid_over(foot(33)).repair == foot(33), "the cells had been written"
    changed = foot(33)
    changed.change("foot", thickness=2.9)
    assert work.laid_over(changed).repair == changed and not work.laid_over(changed).lines


def test_what_is_typed_back_to_the_saved_size_is_a_hand_s_change_where_the_page_stayed():
    work = kept(foot(33), foot(33), saved=foot(30))
    assert work.laid_over(foot(30), loaded=False).repair == foot(30)
    gone_on = kept(foot(35), foot(33), saved=foot(30)).laid_over(foot(30), loaded=False)
    assert gone_on.repair == foot(30) and "not 35 from the bench" in gone_on.lines[0]


@given(st.integers(0, 2**32))
def test_nothing_that_was_kept_is_missing(seed):
    rng = Random(seed)
    saved = random_repair(rng, rng.randint(1, 8))
    bench = saved.copy()
    for _n in range(rng.randint(1, 6)):
        edit(rng, bench)
    assert kept(bench, saved, saved).laid_over(saved).repair == bench
    assert kept(bench, bench, saved).laid_over(saved).repair == bench
    assert kept(bench, bench, saved).laid_over(bench).repair == bench
