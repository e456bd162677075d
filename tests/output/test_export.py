"""A revision is written whole or not at all, numbered, and never over another."""

from __future__ import annotations

import errno
import json
import os
import shutil
import subprocess
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from parts import cube, divider, peg

from workbench.checks.check import check
from workbench.checks.report import Report
from workbench.errors import RepairError
from workbench.output.files import export as exporting
from workbench.output.files import paths, record
from workbench.output.files.export import export, revisions
from workbench.output.files.stl_step import read_step, read_stl
from workbench.output.files.threemf import read_threemf
from workbench.solids.building.build import build
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.revision import changed_files, load, read_record

KINDS = [
    "shelf-peg.stl",
    "shelf-peg.3mf",
    "shelf-peg.step",
    "shelf-peg-drawing.pdf",
    "shelf-peg-drawing.svg",
    "shelf-peg-drawing.png",
    "shelf-peg-print-sheet.pdf",
    "record.json",
]


def quick(repair: Repair, folder: Path) -> list[Path]:
    """An export whose checks are known already."""
    return export(repair, folder, Report())


@pytest.fixture(scope="module")
def first(tmp_path_factory) -> Path:
    """A folder with one revision of the peg, made once."""
    folder = tmp_path_factory.mktemp("first")
    quick(peg(), folder)
    return folder


@pytest.fixture
def shelf(first, tmp_path) -> Path:
    """A copy of that folder to do with as a test likes."""
    return Path(shutil.copytree(first, tmp_path / "shelf"))


def _record_only(part, number) -> dict[str, bytes]:
    """The quickest revision there is."""
    return {"record.json": record.record(part.subject.repair, number, {}).encode()}


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_a_revision_holds_every_file(tmp_path):
    files = export(peg(), tmp_path)
    assert [path.name for path in files] == KINDS
    assert {path.parent for path in files} == {tmp_path / "revision-1"}
    assert names(tmp_path / "revision-1") == sorted(KINDS)
    assert names(tmp_path) == ["revision-1"]


def test_files_hold_the_part(tmp_path):
    files = {path.suffix: path for path in quick(divider(), tmp_path)}
    solid = build(divider())
    facets = read_stl(files[".stl"].read_bytes())
    (body,), metadata = read_threemf(files[".3mf"].read_bytes())
    assert len(facets) == len(body.faces)
    assert metadata["Title"] == "Tray divider" and metadata["Revision"] == "1"
    assert read_step(files[".step"].read_bytes()).volume == pytest.approx(solid.volume, rel=1e-6)
    low, high = body.placed.min(axis=0), body.placed.max(axis=0)
    assert low[2] == pytest.approx(0, abs=1e-6)
    assert (low[:2] + high[:2]) / 2 == pytest.approx([110, 110], abs=1e-4)


def test_the_side_that_was_chosen_points_down(tmp_path):
    repair = divider()
    repair.down = (0.0, 1.0, 0.0)
    facets = read_stl(next(p for p in quick(repair, tmp_path) if p.suffix == ".stl").read_bytes())
    extent = (facets.max(axis=(0, 1)) - facets.min(axis=(0, 1))).tolist()
    assert extent == pytest.approx([52.95, 75.0, 2.4], abs=1e-4)


def test_numbers_count_up_and_nothing_is_touched(shelf):
    before = {path.name: path.read_bytes() for path in (shelf / "revision-1").iterdir()}
    second = quick(peg().change("peg", diameter=4.8), shelf)
    assert second[0].parent.name == "revision-2"
    assert {p.name: p.read_bytes() for p in (shelf / "revision-1").iterdir()} == before
    shutil.rmtree(shelf / "revision-1")
    (shelf / "revision-7").mkdir()
    assert quick(peg(), shelf)[0].parent.name == "revision-8"


def test_revisions_are_listed_and_damage_is_named(shelf):
    assert revisions(shelf / "nowhere") == []
    shutil.copytree(shelf / "revision-1", shelf / "revision-2")
    (shelf / "revision-1" / "record.json").write_text("{")
    (shelf / "revision-12").mkdir()
    (shelf / "notes").mkdir()
    found = revisions(shelf)
    assert [revision.number for revision in found] == [1, 2, 12]
    assert "damaged at line 1" in found[0].damage
    assert found[1].damage == "" and found[1].date.startswith("20")
    assert "is not there" in found[2].damage


def test_two_exports_at_once_get_a_number_each(tmp_path, monkeypatch):
    monkeypatch.setattr(exporting, "_contents", lambda part, number: {"record.json": b"{}"})
    with ThreadPoolExecutor(8) as pool:
        made = list(pool.map(lambda _i: quick(peg(), tmp_path)[0].parent.name, range(24)))
    assert sorted(made, key=lambda n: int(n[9:])) == [f"revision-{n}" for n in range(1, 25)]
    assert len(names(tmp_path)) == 24


def test_a_claim_that_a_killed_run_left_is_cleared_and_numbers_do_not_jump(tmp_path, monkeypatch):
    monkeypatch.setattr(exporting, "_contents", lambda part, number: {"record.json": b"{}"})
    (tmp_path / ".revision-4.part").mkdir()
    (tmp_path / ".revision-4.part" / "half").write_text("a file")
    assert quick(peg(), tmp_path)[0].parent.name == "revision-1"
    assert [path.name for path in tmp_path.iterdir()] == ["revision-1"]


def test_a_full_disk_leaves_nothing_behind(shelf, monkeypatch):
    calls = []

    def full(fd):
        calls.append(fd)
        if len(calls) == 3:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(paths.os, "fsync", full)
    with pytest.raises(RepairError, match="No space left") as caught:
        quick(peg(), shelf)
    assert "\n" not in str(caught.value)
    assert names(shelf) == ["revision-1"]


@pytest.fixture
def small_disk(tmp_path):
    """A file system of 64 kB, where this machine lets us make one."""
    place = tmp_path / "disk"
    place.mkdir()
    made = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(place)],
        capture_output=True,
        check=False,
    )
    if made.returncode:
        pytest.skip("no right to mount a small file system here")
    yield place
    subprocess.run(["umount", str(place)], check=True)


def test_a_disk_that_is_really_full(small_disk):
    with pytest.raises(RepairError, match="No space left"):
        quick(peg(), small_disk)
    assert names(small_disk) == []


def test_a_read_only_folder_is_named(tmp_path, monkeypatch):
    def refuse(self, *args, **kwargs):
        raise PermissionError(errno.EACCES, os.strerror(errno.EACCES), str(self))

    (tmp_path / "shelf").mkdir()
    monkeypatch.setattr(Path, "mkdir", refuse)
    with pytest.raises(RepairError, match=r"shelf.* cannot be written: Permission denied"):
        quick(peg(), tmp_path / "shelf")


def test_a_file_in_place_of_the_folder_is_named(tmp_path):
    (tmp_path / "shelf").write_text("mine")
    with pytest.raises(RepairError, match="shelf"):
        quick(peg(), tmp_path / "shelf")
    assert (tmp_path / "shelf").read_text() == "mine"


def test_a_file_that_reads_back_otherwise_is_refused(tmp_path, monkeypatch):
    def careless(path, content):
        path.write_bytes(content[:-1] if path.suffix == ".stl" else content)

    monkeypatch.setattr(exporting, "write_new", careless)
    with pytest.raises(RepairError, match=r"shelf-peg\.stl does not hold"):
        quick(peg(), tmp_path)
    assert names(tmp_path) == []


def test_a_file_with_another_part_in_it_is_refused(first):
    other = exporting._Part.of(divider(), Report(), "A4")
    same = exporting._Part.of(peg(), Report(), "A4")
    for suffix in (".stl", ".3mf", ".step"):
        content = (first / "revision-1" / f"shelf-peg{suffix}").read_bytes()
        assert exporting._holds(suffix, content, same)
        assert not exporting._holds(suffix, content, other)


def test_what_does_not_build_makes_no_folder(tmp_path):
    with pytest.raises(RepairError, match="no parts yet"):
        export(Repair("empty"), tmp_path / "new")
    with pytest.raises(RepairError, match="paper is 'A7'"):
        export(peg(), tmp_path / "new", paper="A7")
    assert not (tmp_path / "new").exists()


@pytest.mark.parametrize(
    ("template", "values", "words"),
    [
        ("clip", {"length": 2.0, "hook_depth": 20.0}, "hook"),
        ("plate", {"width": 20.0, "holes": 2, "spacing": 40.0}, "spacing"),
        ("tube", {"outside": 8.0, "inside": 9.0}, "inside"),
    ],
)
def test_a_part_that_cannot_be_leaves_the_folder_as_it_was(template, values, words, shelf):
    with pytest.raises(RepairError, match=words) as caught:
        quick(Repair("bad").add(template, **values), shelf)
    assert "\n" not in str(caught.value)
    assert names(shelf) == ["revision-1"]


@pytest.mark.parametrize("size", [-3, 0, float("nan"), float("inf"), "broad", 10_000, 0.01])
def test_after_a_refused_size_the_last_good_part_is_exported(size, tmp_path, monkeypatch):
    monkeypatch.setattr(exporting, "_contents", _record_only)
    repair = peg()
    with pytest.raises(RepairError, match="diameter"):
        repair.change("peg", diameter=size)
    place = quick(repair, tmp_path)[0].parent
    assert read_record(place) == peg()


def test_names_of_any_kind_make_files(tmp_path):
    for name in ("../../escape", "полка за $5", "a" * 200):
        repair = peg()
        repair.name = name
        files = quick(repair, tmp_path)
        assert all(path.parent.parent == tmp_path for path in files)
        assert read_record(files[0].parent) == repair


def test_the_record_reads_back_as_the_repair(tmp_path):
    repair = divider()
    place = export(repair, tmp_path)[0].parent
    assert read_record(place) == repair == read_record(place / "record.json")
    row = load(place)
    assert row["revision"] == 1
    assert set(row["versions"]) == {"workbench", "build123d", "python"}
    assert set(row["files"]) == {p.name for p in place.iterdir()} - {"record.json"}
    assert {finding["severity"] for finding in row["findings"]} <= {"stop", "warning", "note"}
    assert changed_files(place) == []


def test_what_was_changed_afterwards_is_named(shelf):
    place = shelf / "revision-1"
    mesh_file = place / "shelf-peg.stl"
    mesh_file.write_bytes(mesh_file.read_bytes() + b"\0")
    with pytest.raises(RepairError, match=r"shelf-peg\.stl beside .* checksum differs"):
        read_record(place)
    assert changed_files(place) == ["shelf-peg.stl"]
    assert read_record(place, changed=True) == peg()
    mesh_file.unlink()
    assert changed_files(place) == ["shelf-peg.stl"]


def test_a_repair_that_was_changed_in_its_record_is_named(shelf):
    file = shelf / "revision-1" / "record.json"
    row = json.loads(file.read_text())
    row["repair"]["steps"][0]["values"]["diameter"] = 6.0
    file.write_text(json.dumps(row))
    with pytest.raises(RepairError, match=r"repair in .* was changed"):
        read_record(file)
    assert read_record(file, changed=True).step("peg").values["diameter"] == 6.0


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "damaged at line 1"),
        (b'{"record": 1,\n"repair": ', "damaged at line 2"),
        (b"\xff\xfe\x00", "is not text"),
        (b"[]", "holds no repair"),
        (b'{"record": 1, "repair": 5}', "holds no repair"),
        (b'{"record": 99, "repair": {}}', "newer than 1; update workbench"),
        (b'{"record": 1, "repair": {"name": "x"}}', "not a repair"),
    ],
)
def test_damaged_records_are_told_in_one_sentence(content, words, tmp_path):
    (tmp_path / "record.json").write_bytes(content)
    with pytest.raises(RepairError, match=words) as caught:
        read_record(tmp_path)
    assert "\n" not in str(caught.value)


def test_a_missing_record_is_told(tmp_path):
    with pytest.raises(RepairError, match=r"record\.json is not there"):
        read_record(tmp_path)
    with pytest.raises(RepairError, match="is not there"):
        read_record(tmp_path / "gone")


def test_the_cube_of_the_tests_is_closed():
    vertices, faces = cube()
    assert len(vertices) == 8 and len(faces) == 12


def test_a_report_from_before_a_change_is_not_taken(tmp_path: Path) -> None:
    part = peg()
    before = check(part)
    part.uses = ("mains",)
    with pytest.raises(RepairError, match="do not print"):
        export(part, tmp_path / "out", before)
    with pytest.raises(RepairError, match="do not print"):
        export(part, tmp_path / "out", check(part))


def test_a_stop_writes_nothing_until_somebody_says_why_it_does_not_apply(tmp_path: Path) -> None:
    mains = peg()
    mains.uses = ("mains",)
    with pytest.raises(RepairError, match=r"do not print .* yet: .* three words or more"):
        export(mains, tmp_path / "out")
    assert not (tmp_path / "out").exists()
    (rule,) = {f.rule for f in check(mains).findings if f.severity == "stop"}
    mains.statements[rule] = "no wire comes near it"
    assert read_record(export(mains, tmp_path / "out")[-1].parent).statements == mains.statements
