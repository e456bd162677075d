"""A class's files read by programs that are not ours, on workers that are not ours."""

from __future__ import annotations

import csv
import os
import random
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import ExitStack
from functools import partial
from io import BytesIO
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
import rosters
from parts import cube
from rosters import address_in, inline, written

from workbench import data
from workbench.checks.orientation.bed_fit import ROOM
from workbench.output.files.bed_file import SPACING, Bed, Piece, bed_file, beds
from workbench.output.files.packing import Rectangle, pack, used
from workbench.output.files.threemf import Body, threemf
from workbench.output.roster import job_pool, part_job, whole_class
from workbench.output.roster.class_summary import HEAD, Line, as_csv
from workbench.output.roster.roster_row import AGAIN, LATER, READY
from workbench.output.roster.whole_class import make_class

lib3mf = pytest.importorskip("lib3mf")
trimesh = pytest.importorskip("trimesh")

PRINTER = "generic 120"


@pytest.fixture(scope="module")
def packed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Bed, bytes]:
    """A bed of boxes, as it is written."""
    place, chance = tmp_path_factory.mktemp("parts"), random.Random(5)
    pieces = []
    for index in range(9):
        size = chance.uniform(6, 40), chance.uniform(6, 25), chance.uniform(2, 9)
        corners, faces = cube(1.0)
        vertices = (corners - [0.5, 0.5, 0]) * size
        name = f"Pupil {index}, box & lid <{index}>"
        file = place / f"{index}.3mf"
        file.write_bytes(threemf([Body(name, vertices, faces)], {}))
        pieces.append(Piece(name, "PLA", PRINTER, size[:2], index % 3 * 2.0, file))
    (bed,) = beds(pieces)
    return bed, bed_file(bed, "Mend it")


def apart(boxes: dict[str, np.ndarray], brims: dict[str, float]) -> None:
    """Parts with their brims lie inside the bed, leave its room at the rim, and are SPACING apart."""
    width, depth, _height = data.printer(PRINTER).bed
    for name, (low, high) in boxes.items():
        brim = brims[name]
        assert low[:2].min() - brim >= ROOM - 1e-3
        assert high[0] + brim <= width - ROOM + 1e-3 and high[1] + brim <= depth - ROOM + 1e-3
        assert low[2] == pytest.approx(0, abs=1e-6)
    for one, other in combinations(boxes, 2):
        gap = SPACING + brims[one] + brims[other]
        (a, b), (c, d) = boxes[one], boxes[other]
        assert max(*(c - b)[:2], *(a - d)[:2]) >= gap - 1e-3


# -- 3MF Core Specification 1.4.0, read by the 3MF Consortium's library and by trimesh ------------


def test_lib3mf_reads_names_and_places_of_a_bed(packed) -> None:
    bed, content = packed
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromBuffer(content)
    assert reader.GetWarningCount() == 0
    boxes = {}
    items = model.GetBuildItems()
    while items.MoveNext():
        item = items.GetCurrent()
        mesh = model.GetMeshObjectByID(item.GetObjectResourceID())
        move = np.array([list(row) for row in item.GetObjectTransform().Fields])
        at = np.array([list(vertex.Coordinates) for vertex in mesh.GetVertices()])
        at = at @ move[:3] + move[3]
        assert mesh.IsManifoldAndOriented()
        boxes[mesh.GetName()] = np.array([at.min(axis=0), at.max(axis=0)])
    assert sorted(boxes) == sorted(place.piece.name for place in bed.places)
    apart(boxes, {place.piece.name: place.piece.brim for place in bed.places})


def test_trimesh_reads_names_and_places_of_a_bed(packed) -> None:
    bed, content = packed
    scene = trimesh.load(BytesIO(content), file_type="3mf")
    boxes = {}
    for node in scene.graph.nodes_geometry:
        move, name = scene.graph[node]
        boxes[name] = scene.geometry[name].copy().apply_transform(move).bounds
    assert sorted(boxes) == sorted(place.piece.name for place in bed.places)
    apart(boxes, {place.piece.name: place.piece.brim for place in bed.places})


# -- RFC 4180: CRLF after each record, quotes round commas, quotes and line breaks, quotes doubled -


def test_the_summary_is_csv_by_rfc_4180() -> None:
    odd = ('say "twice"', "a, b", "one\r\ntwo", "plain", "=1+1", "@x", "-x", "+x", "")
    lines = [Line(i, text, "box", "PLA", PRINTER, READY, (text,)) for i, text in enumerate(odd, 2)]
    content = as_csv(lines).decode()
    # 2.1 and 2.2: each record ends in CRLF. 2.5 to 2.7: a field is plain, or quoted with doubled quotes.
    cell = r'(?:[^",\r\n]*|"(?:[^"]|"")*")'
    record = rf"{cell}(?:,{cell}){{{len(HEAD) - 1}}}\r\n"
    assert re.fullmatch(rf"(?:{record}){{{len(odd) + 1}}}", content)
    read = list(csv.DictReader(content.splitlines(keepends=True), strict=True))
    # What begins a formula has an apostrophe before it (OWASP, "CSV Injection", from memory).
    shown = [f"'{text}" if text[:1] in tuple("=+-@") and text else text for text in odd]
    assert [row["pupil"] for row in read] == shown
    assert [row["why"] for row in read] == shown


# -- packing, bound by area and by another packer -------------------------------------------------


def mixed(seed: int, count: int = 30) -> list[Rectangle]:
    chance = random.Random(seed)
    return [
        Rectangle(f"{i}", round(chance.uniform(8, 75)), round(chance.uniform(8, 45)))
        for i in range(count)
    ]


@pytest.mark.parametrize("seed", range(8))
def test_thirty_mixed_parts_take_little_more_than_their_area(seed: int) -> None:
    rectangles = mixed(seed)
    laid = pack(rectangles, 214, 214)
    area = sum(rectangle.area for rectangle in rectangles)
    share = sum(used(bed) for bed in laid) / area
    print(f"30 parts take {share:.3f} of the sum of their rectangles, on {len(laid)} beds")
    assert 1.0 <= share <= 1.15
    assert len(laid) <= np.ceil(1.15 * area / 214**2)


def test_no_more_beds_than_another_packer_needs() -> None:
    hyperpack = pytest.importorskip("hyperpack")
    rectangles = mixed(11, 24)
    problem = hyperpack.HyperPack(
        containers={f"bed {i}": {"W": 100, "L": 100} for i in range(8)},
        items={r.name: {"w": int(r.width), "l": int(r.depth)} for r in rectangles},
        settings={"rotation": True},
    )
    problem.local_search()
    theirs = [bed for bed in problem.solution.values() if bed]
    assert sum(len(bed) for bed in theirs) == len(rectangles)
    assert len(pack(rectangles, 100, 100)) <= len(theirs)


# -- a real Dask scheduler with two workers, one of which is ended half-way -----------------------


def started(stack: ExitStack, *words: str) -> subprocess.Popen[bytes]:
    process = subprocess.Popen(
        [sys.executable, "-m", *words],
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        env={**os.environ, "PYTHONPATH": str(Path(__file__).parents[1])},
    )
    stack.callback(process.wait, 30)
    stack.callback(process.kill)
    return process


@pytest.fixture
def dask(tmp_path: Path) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """Address of a scheduler on this machine, and its two workers."""
    pytest.importorskip("distributed")
    told = tmp_path / "scheduler.json"
    local = ("--host", "127.0.0.1")
    with ExitStack() as stack:
        started(
            stack, "distributed.cli.dask_scheduler", *local, "--port", "0", "--no-dashboard",
            "--scheduler-file", str(told),
        )  # fmt: skip
        address = address_in(told)
        place = ("--local-directory", str(tmp_path / "dask"))
        workers = [
            started(
                stack, "distributed.cli.dask_worker", address, *local, *place, "--nthreads", "1",
                "--no-nanny", "--no-dashboard", "--name", name,
            )
            for name in ("one", "two")
        ]  # fmt: skip
        yield address, workers


@pytest.mark.usefixtures("client_collected")
def test_dask_workers_load_once_and_may_end_one_or_all(tmp_path, monkeypatch, dask) -> None:
    from distributed import Client

    address, workers = dask
    with Client(address, set_as_default=False) as client:
        client.wait_for_workers(2, timeout=60)
    # The workers note what they still had to import when a part came.
    clock = tmp_path / "clock"
    monkeypatch.setattr(whole_class, "made", partial(rosters.timed, clock=clock))
    rows = [f"box,Pupil {i},{15 + i},{6 + i}" for i in range(6)]
    table = written(tmp_path, *rows, head="template,pupil,width,height")

    def half_way(done: int, total: int, _line: Line) -> None:
        if done == total // 2:
            workers[0].kill()

    session = make_class(table, tmp_path / "cluster", scheduler=address, progress=half_way)
    assert workers[0].wait(30) != 0 and workers[1].poll() is None
    assert session.ok and len(session.lines) == len(rows)
    noted = [line.split() for line in clock.read_text().splitlines()]
    assert {late for *_rest, late in noted} == {"0"} and len({pid for pid, *_rest in noted}) == 2
    # When the other one ends as well, what it did not make is told; what is made is kept.
    more = [f"box,Pupil {i},{30 + i},{6 + i}" for i in range(4)]
    more = written(tmp_path, *more, "box,Last,9999,", head="template,pupil,width,height")
    monkeypatch.setattr(job_pool, "PATIENCE", 2.0)

    def end_all(done: int, _total: int, _line: Line) -> None:
        if done == 1:
            workers[1].kill()

    rest = make_class(more, tmp_path / "more", scheduler=address, progress=end_all).lines
    assert [line.state for line in rest][-1] == AGAIN
    left = [" ".join(line.why) for line in rest if line.state == LATER]
    assert len(left) + sum(line.state == READY for line in rest) == 4 and len(left) >= 1
    assert all(why.startswith("All workers have gone") for why in left)
    # The same again on this machine: the same files, and the rest is made.
    monkeypatch.setattr(whole_class, "made", part_job.made)
    monkeypatch.setattr(whole_class, "local", inline)
    assert [line.state for line in make_class(more, tmp_path / "more").lines][:4] == [READY] * 4
    table = written(tmp_path, *rows, head="template,pupil,width,height")
    here = make_class(table, tmp_path / "here")
    assert here.lines == session.lines
    for one, other in zip(session.paths, here.paths, strict=True):
        assert one.read_bytes() == other.read_bytes()


@pytest.mark.usefixtures("client_collected")
def test_a_scheduler_without_workers_is_told(tmp_path, monkeypatch, refused) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("workbench.output.roster.cluster.ANSWERS_IN", 3)
    told = tmp_path / "scheduler.json"
    with ExitStack() as stack:
        started(
            stack, "distributed.cli.dask_scheduler", "--host", "127.0.0.1", "--port", "0",
            "--no-dashboard", "--scheduler-file", str(told),
        )  # fmt: skip
        address = address_in(told)
        table = written(tmp_path, "box,Mia,15,6", head="template,pupil,width,height")
        with refused("no workers", address, "dask worker"):
            make_class(table, tmp_path / "class", scheduler=address)
