"""What a bench costs the machine when it is first opened: libraries that it loads, copies that it makes."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest

#: Libraries for paper, photos and arrays in bulk, and what of them cost a bench 0.6 s and 27 MiB.
LATER = ("matplotlib", "mpl_toolkits", "cv2", "scipy.ndimage", "scipy.sparse")

#: What only a pool of processes and a question to the server need.
NEITHER = ("concurrent.futures.process", "multiprocessing.pool", "urllib.request", "http.client")


OPENED = """
import sys
import tomllib
import ipykernel.kernelapp
jupyter_has = set(sys.modules)
tables, loads = [], tomllib.loads
def parsed(text):
    tables.append(len(text))
    return loads(text)
tomllib.loads = parsed
from workbench import fork
from workbench.jupyter.bench import Bench
from workbench.output.notebook.shelf import repair_at
from workbench.solids.geometry import bounded
copies, in_copy = [], fork.in_copy
def counted(make, limits=fork.SHAPE):
    copies.append(limits)
    return in_copy(make, limits)
fork.in_copy = counted
assert bounded.waits()
shown = Bench(repair_at("tray-divider"), inline=False)
assert shown.settle(300) and shown.shown is not None and not shown.refusal
assert "image/png" in shown.still.html and "<svg" in shown.drawing.svg
print(*(name for name in sys.modules if name not in jupyter_has))
print(len(copies))
other = Bench(repair_at("tray-divider").remove("finger notch"), inline=False)
assert other.settle(300) and not other.refusal
print(len(copies), copies[0] == bounded.TRY)
print(repr(shown))
print(max(tables))
"""


@pytest.fixture(scope="module")
def looked(tmp_path_factory) -> list[str]:
    """What a process tells that opens a bench and looks at it: its modules, copies, and the bench."""
    done = subprocess.run(
        [sys.executable, "-c", OPENED],
        check=True,
        cwd=tmp_path_factory.mktemp("bench"),
        stdout=subprocess.PIPE,
        text=True,
    )
    return done.stdout.splitlines()


def test_a_first_look_loads_no_library_that_only_paper_and_photos_need(looked) -> None:
    loaded = looked[0].split()
    assert "OCP" in loaded and "manifold3d" in loaded
    parts = [name for name in loaded if f"{name}.".startswith(tuple(f"{n}." for n in LATER))]
    assert parts == ["matplotlib.ft2font"], "what sets type comes alone"
    assert "workbench.measure.photos.trace" not in loaded
    assert set(NEITHER).isdisjoint(loaded)


def test_a_first_look_at_a_part_of_the_shelf_makes_no_copy(looked) -> None:
    """A copy does all of the work once more: 0.2 s of processor."""
    assert looked[1] == "0"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="copies the process by fork")
def test_a_first_look_at_another_part_is_rehearsed_in_one_copy(looked) -> None:
    """A copy costs 20 ms, and each kind of what the kernel makes asked for one: 12 in all."""
    assert looked[2] == "1 True"


def test_a_bench_is_told_of_in_few_words(looked) -> None:
    assert looked[3] == "Bench('tray divider')"


def test_no_large_table_is_parsed_in_python(looked) -> None:
    """That takes 0.1 ms for each of its kilobytes; the words of danger have a hundred."""
    assert 1000 < int(looked[4]) < 20_000
