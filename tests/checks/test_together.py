"""Parts that work together: overlaps, gaps and the way in, on shapes whose answers are plain."""

from __future__ import annotations

import math
from pathlib import Path

import pytest
import trimesh

from workbench import (
    At,
    Reading,
    Repair,
    RepairError,
    Seat,
    Slide,
    Turn,
    build,
    check,
    export,
    units,
)
from workbench.checks.fit.fits import ROOM
from workbench.checks.report import Finding

RULES = ("runs into", "least gap", "way in")


def box() -> Repair:
    """40 by 30 by 20, with a room of 36 by 26 that is open at the top and 18 deep."""
    made = Repair("box").add("box", name="body", width=40, depth=30, height=20)
    return made.cut("box", At(z=2), name="room", width=36, depth=26, height=30)


def plug(width: float = 35.0, depth: float = 25.0) -> Repair:
    return Repair("plug").add("box", name="plug", width=width, depth=depth, height=4)


def found(repair: Repair) -> dict[str, Finding]:
    return {finding.rule: finding for finding in check(repair).findings if finding.rule in RULES}


def test_a_part_with_room_goes_in_and_its_gap_is_told() -> None:
    told = found(plug().against(box(), at=At(z=-10), motion=Slide("down", 20)))
    assert set(told) == {"least gap", "way in"}
    assert all(finding.passed for finding in told.values())
    # 36 less 35, half on each side; printing takes a little of it.
    assert 0.3 < told["least gap"].number <= 0.5
    assert told["least gap"].limit == ROOM


def test_a_part_too_wide_runs_into_the_walls_by_what_it_is_too_wide() -> None:
    told = found(plug(width=37.0).against(box(), at=At(z=-10)))
    finding = told["runs into"]
    assert finding.severity == "stop" and finding.where == "plug"
    # 0.5 mm into each of two walls, over 25 by 4.
    assert finding.number == pytest.approx(2 * 0.5 * 25 * 4, rel=1e-9)
    assert "least gap" not in told


@pytest.mark.parametrize(("shift", "way", "far"), [(1.0, "left", "0.5"), (-1.2, "right", "0.7")])
def test_how_far_to_move_is_the_least_that_frees_it(shift: float, way: str, far: str) -> None:
    repair = Repair("plug").add("box", At(x=shift), name="plug", width=35, depth=25, height=4)
    finding = found(repair.against(box(), at=At(z=-10)))["runs into"]
    assert f"move it {far} mm to the {way}" in finding.remedy


def test_a_part_that_slides_in_through_a_wall_catches_where_the_wall_begins() -> None:
    told = found(plug().against(box(), at=At(z=-10), motion=Slide("right", 60)))
    assert told["way in"].severity == "warning"
    # Its right edge is at 17.5 - 60 and meets the box's left side at -20 after 22.5 mm.
    done = float(told["way in"].text.split("after ")[1].split(" ")[0])
    assert 22.5 <= done <= 22.5 + 60 / 2**5 + 0.05
    assert told["least gap"].passed


def test_a_thin_pin_on_the_way_is_not_jumped_over() -> None:
    post = Repair("post").add("cylinder", At(x=-60), name="post", diameter=0.4, height=10)
    told = found(plug().against(post, motion=Slide("right", 200)))
    assert "post" in told["way in"].text
    # 60 mm from the axis, half way round.
    half = At(x=102.4, y=-17.6)
    around = found(plug().against(post, at=half, motion=Turn("z", 90, y=-60)))
    assert not around["way in"].passed


def test_a_turn_is_followed_round_its_axis() -> None:
    arm = Repair("arm").add("box", At(x=20), name="arm", width=40, depth=4, height=4)
    block = Repair("block").add("box", name="block", width=6, depth=6, height=6)
    at_45 = At(x=30 * math.cos(math.pi / 4), y=-30 * math.sin(math.pi / 4))
    caught = found(arm.copy().against(block, at=at_45, motion=Turn("z", 90)))["way in"]
    assert not caught.passed
    outside = At(x=60 * math.cos(math.pi / 4), y=-60 * math.sin(math.pi / 4))
    assert found(arm.copy().against(block, at=outside, motion=Turn("z", 90)))["way in"].passed
    # From the other side nothing is in the way.
    assert found(arm.copy().against(block, at=at_45, motion=Turn("z", -90)))["way in"].passed


@pytest.mark.parametrize("gap", [0.2, 0.6])
def test_the_gap_that_is_asked_decides(gap: float) -> None:
    finding = found(plug().against(box(), at=At(z=-10), gap=gap))["least gap"]
    assert finding.limit == gap
    assert finding.passed is (finding.number >= gap)
    assert finding.passed is (gap < 0.5)


def test_a_counterpart_may_be_seated_and_comes_back_from_the_record() -> None:
    base = Repair("base").add("box", name="base", width=40, depth=30, height=5)
    lid = Repair("lid").add("box", name="lid", width=40, depth=30, height=2)
    base.against(lid, at=Seat("top of base", sink=0.5), motion=Slide("up", 10), gap=0.0)
    assert found(base)["runs into"].number == pytest.approx(40 * 30 * 0.5)
    again = Repair.from_json(base.to_json())
    assert again == base
    assert found(again)["runs into"].number == pytest.approx(40 * 30 * 0.5)


# -- bodies loose on purpose ---------------------------------------------------------------------


def hinge(bore: float = 5.8) -> Repair:
    made = Repair("hinge").add("cylinder", name="pin", diameter=5, height=30)
    made.add("tube", At(z=10), name="eye", outside=12, inside=bore, height=10)
    return made.add("box", At(x=10, z=10), name="leaf", width=12, depth=3, height=10)


def test_a_loose_body_is_no_fault_where_it_is_meant() -> None:
    with pytest.raises(RepairError, match="miss"):
        build(hinge())
    made = hinge().let_loose("leaf", motion=Turn("z", 90))
    assert len(build(made).solids()) == 2
    told = found(made)
    assert told["least gap"].where == "leaf" and told["least gap"].passed
    assert told["way in"].passed
    assert Repair.from_json(made.to_json()) == made


def test_a_loose_body_with_too_little_room_or_none_is_told() -> None:
    tight = found(hinge(bore=5.2).let_loose("leaf"))["least gap"]
    assert tight.severity == "warning" and tight.number < ROOM
    joined = hinge().let_loose("leaf")
    joined.change("pin", diameter=7)
    told = [f for f in check(joined).findings if f.rule == "one piece"]
    assert told and told[0].where == "leaf" and told[0].severity == "stop"


def test_what_is_loose_goes_with_its_step() -> None:
    made = hinge().let_loose("leaf")
    assert made.rename("leaf", "wing").loose[0].step == "wing"
    assert made.remove("wing").loose == ()


# -- parts from files ----------------------------------------------------------------------------


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("files")
    (first, *_rest) = export(box(), folder)
    return Path(first).parent


@pytest.mark.parametrize("kind", [".stl", ".3mf", ".step"])
def test_a_counterpart_comes_from_a_file(files: Path, kind: str) -> None:
    (path,) = files.glob(f"*{kind}")
    repair = plug(width=37.0).against(path, unit="mm" if kind == ".stl" else None, at=At(z=-10))
    # The files hold the part as it lies on the bed: it stands as it is drawn.
    shown = found(repair)
    low = repair.counterparts[0].mesh(None)[0].min(axis=0)
    high = repair.counterparts[0].mesh(None)[0].max(axis=0)
    assert sorted(high - low) == pytest.approx([20, 30, 40], abs=1e-4)
    assert shown


def test_an_stl_file_is_asked_for_its_unit(files: Path) -> None:
    (path,) = files.glob("*.stl")
    with pytest.raises(RepairError, match="does not say its unit; give unit"):
        plug().against(path)
    inches = plug().against(path, unit="in").counterparts[0]
    size = inches.mesh(None)[0].max(axis=0) - inches.mesh(None)[0].min(axis=0)
    assert max(size) == pytest.approx(40 * 25.4, rel=1e-6)


@pytest.mark.parametrize(
    ("across", "unit", "fine"),
    [
        *[(2.99, "mm", False), (3, "mm", True), (2500, "mm", True), (2501, "mm", False)],
        *[(98, "in", True), (99, "in", False)],
    ],
)
def test_a_file_in_another_unit_is_told_by_its_size(
    tmp_path: Path, across: float, unit: str, fine: bool
) -> None:
    path = tmp_path / "bar.stl"
    trimesh.creation.box((across, across / 5, across / 9)).export(path)
    if fine:
        assert plug().against(path, unit=unit).counterparts
    else:
        with pytest.raises(
            RepairError, match=f"bar.stl is .* across in {unit}; give its true unit"
        ):
            plug().against(path, unit=unit)


def test_a_surface_without_a_body_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "leaf.stl"
    trimesh.creation.box((20, 1e-6, 5)).export(path)
    with pytest.raises(RepairError, match=r"leaf\.stl holds no solid"):
        plug().against(path, unit="mm")


def test_an_open_surface_is_refused_where_it_is_open(files: Path, tmp_path: Path) -> None:
    (path,) = files.glob("*.stl")
    content = path.read_bytes()
    count = int.from_bytes(content[80:84], "little")
    cut = tmp_path / "cut.stl"
    cut.write_bytes(content[:80] + (count - 1).to_bytes(4, "little") + content[84:-50])
    with pytest.raises(RepairError, match=r"cut.stl: the surface has a gap near \(.*3 edges"):
        plug().against(cut, unit="mm")


@pytest.mark.parametrize(
    ("name", "content", "told"),
    [
        ("x.obj", b"v 0 0 0", "give an STL, 3MF or STEP file"),
        ("x.stl", b"nonsense", "is no STL file|holds no surface"),
        ("x.3mf", b"nonsense", "is no 3MF file|x.3mf"),
        ("x.step", b"nonsense", "holds no solid"),
        ("x.step", b"ISO-10303-21;\nHEADER;\n((((", "holds no solid"),
    ],
)
def test_what_is_no_part_is_told_in_words(
    tmp_path: Path, capfd: pytest.CaptureFixture[str], name: str, content: bytes, told: str
) -> None:
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(RepairError, match=told):
        plug().against(path, unit="mm")
    assert capfd.readouterr() == ("", "")  # nothing but the sentence
    with pytest.raises(RepairError, match="cannot be read"):
        plug().against(tmp_path / "gone.stl", unit="mm")


@pytest.mark.parametrize("unit", ["m", "furlong"])
def test_a_unit_that_no_part_is_drawn_in_is_told(files: Path, unit: str) -> None:
    (path,) = files.glob("*.stl")
    with pytest.raises(RepairError, match=f"unit is '{unit}'; give one of mm, cm, in"):
        plug().against(path, unit=unit)


def test_a_file_that_is_gone_later_is_a_finding(files: Path, tmp_path: Path) -> None:
    (path,) = files.glob("*.stl")
    copy = tmp_path / "copy.stl"
    copy.write_bytes(path.read_bytes())
    repair = plug().against(copy, unit="mm")
    copy.unlink()
    assert "cannot be checked against" in found(repair)["runs into"].text


@pytest.mark.parametrize(
    ("make", "told"),
    [
        (lambda: Slide("sideways", 5), "way is 'sideways'; give one of right, left"),
        (lambda: Slide("up", 0), "by is 0; give"),
        (lambda: Turn("w", 5), "about is 'w'; give one of x, y, z"),
        (lambda: Turn("z", 500), "by is 500°"),
        (lambda: plug().against(Reading(3)), "takes a repair, a revision's folder, or the path"),
        (lambda: plug().against(box(), gap=-1), "gap is -1"),
        (lambda: plug().let_loose("lid"), "no step 'lid'"),
    ],
)
def test_what_cannot_be_is_told(make, told: str) -> None:
    with pytest.raises(RepairError, match=told):
        make()


@pytest.mark.parametrize("which", ["", "record.json"], ids=["folder", "record"])
def test_a_part_that_was_exported_stands_beside_it(which: str, tmp_path) -> None:
    tray = Repair("tray").add("box", width=40, depth=30, height=8)
    written = export(tray.against(plug(), at=At(z=20)), tmp_path)[-1].parent
    (other,) = plug().against(written / which).counterparts
    assert other.name == "tray" and other.repair().steps == tray.steps
    assert other.repair().counterparts == ()
    record = written / "record.json"
    record.write_text(record.read_text().replace('"width": 40.0', '"width": 41.0'))
    with pytest.raises(RepairError, match="its checksum differs"):
        plug().against(written / which)


@pytest.mark.parametrize(("name", "text"), [("gone.json", None), ("notes.json", '{"a": 1}')])
def test_a_file_that_is_no_record_is_told(name: str, text: str | None, tmp_path) -> None:
    if text is not None:
        (tmp_path / name).write_text(text)
    with pytest.raises(RepairError, match=name):
        plug().against(tmp_path / name)


@pytest.mark.parametrize(
    ("motion", "told"),
    [
        (Slide("up", -20), "after 5 of 20 mm"),
        (Slide("down", 20), "after 5 of 20 mm"),
        (Turn("z", -90), "after 22° of 90°"),
    ],
)
def test_how_far_it_came_is_told_without_a_sign(motion: Slide | Turn, told: str) -> None:
    assert motion.told(0.75) == told


def test_how_far_it_came_is_told_in_the_unit_that_is_read() -> None:
    with units.using(units.INCH):
        assert Slide("down", 25.4).told(0.5) == "after 1/2 of 1 in"
