"""Coupons: one solid, marked for eye and hand, that prints as it stands."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from workbench.checks.check import check
from workbench.checks.fit.coupon import TILE, coupon
from workbench.checks.fit.coupon_plan import coupon_note, coupon_sizes, fitting_offsets
from workbench.checks.fit.fit_report import fits
from workbench.checks.fit.printed_size import size_of
from workbench.checks.fit.printer_profile import Profile
from workbench.checks.subject import Subject
from workbench.cli import main
from workbench.errors import RepairError
from workbench.solids.building.build import build
from workbench.solids.meshes import mesh as meshes
from workbench.solids.meshes.mesh import mesh
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.seat import At
from workbench.solids.shapes.numerals import outlines, width
from workbench.solids.templates.coupon_tile import FIGURES, NOTCH, RAISED, coupon_tile

OFFSETS = (-0.2, 0.0, 0.2)


@pytest.fixture(autouse=True)
def own_data(tmp_path_factory, monkeypatch):
    """A data folder that holds nothing."""
    monkeypatch.setenv("WORKBENCH_DATA", str(tmp_path_factory.mktemp("data")))


def _divider(**more) -> Repair:
    repair = Repair("tray divider", down=(0, 0, -1), **more).add("fin", name="blade", thickness=1.6)
    return repair.add("tab", seat="bottom of blade", name="foot", width=30, thickness=2.4)


def _laid() -> Repair:
    repair = _divider()
    repair.down = (0, 1, 0)
    return repair


def _peg() -> Repair:
    return Repair("shelf peg", down=(0, 0, -1)).add(
        "peg", name="pin", diameter=5, chamfer=0.5, collar=9
    )


def _knob() -> Repair:
    return Repair("knob", down=(0, 0, -1)).add(
        "peg", name="pin", section="D", diameter=6, across_flat=4.6, slot=0.8
    )


def _plate() -> Repair:
    return Repair("screw plate", down=(0, 0, -1)).add("plate", name="plate")


def _holder() -> Repair:
    repair = Repair("holder", down=(0, 0, -1)).add(
        "box", name="block", width=30, depth=20, height=6
    )
    repair.cut("box", At(-6, 0, -1), "slot", width=2.5, depth=12, height=9)
    return repair.cut("cylinder", At(8, 0, -1), "bore", diameter=4, height=9)


CASES = [
    (_divider(), "foot", "thickness"),
    (_divider(), "foot", "width"),
    (_divider(), "blade", "thickness"),
    (_laid(), "foot", "thickness"),
    (_laid(), "blade", "thickness"),
    (_peg(), "pin", "diameter"),
    (_knob(), "pin", "diameter"),
    (_knob(), "pin", "across_flat"),
    (_plate(), "plate", "screw"),
    (_plate(), "plate", "hole"),
    (_plate(), "plate", "thickness"),
    (_holder(), "slot", "width"),
    (_holder(), "bore", "diameter"),
]


@pytest.mark.parametrize(("repair", "step", "field"), CASES)
def test_a_coupon_is_one_watertight_solid_that_needs_no_supports(repair, step, field):
    comb = coupon(repair, step, field, OFFSETS)
    solid = build(comb)
    assert solid.is_valid
    vertices, faces = mesh(solid)
    assert meshes.volume(vertices, faces) == pytest.approx(solid.volume, rel=2e-3)
    assert vertices[:, 2].min() == pytest.approx(0, abs=1e-6)
    assert _hanging(vertices, faces) == pytest.approx(0, abs=1e-6)
    # A few grams at most, so that it prints in minutes.
    assert solid.volume < 3500


@pytest.mark.parametrize(("repair", "step", "field"), CASES)
def test_a_coupon_leaves_its_repair_alone_and_survives_the_record(repair, step, field):
    before = repair.to_json()
    comb = coupon(repair, step, field, OFFSETS)
    assert repair.to_json() == before
    assert Repair.from_json(comb.to_json()) == comb
    assert (comb.material, comb.printer) == (repair.material, repair.printer)


def test_each_tile_carries_the_size_of_its_piece_and_its_number():
    comb = coupon(_divider(), "foot", "thickness", [0.15, -0.1, 0])
    tiles = [comb.step(f"tile {n}").values for n in (1, 2, 3)]
    pieces = [comb.step(f"piece {n}").values for n in (1, 2, 3)]
    assert [tile["size"] for tile in tiles] == [2.3, 2.4, 2.55]
    assert [piece["thickness"] for piece in pieces] == [2.3, 2.4, 2.55]
    assert [tile["notches"] for tile in tiles] == [1, 2, 3]
    assert {tile["places"] for tile in tiles} == {2}
    assert [tile["web"] > 0 for tile in tiles] == [True, True, False]


def test_the_tried_size_runs_through_the_layers_where_it_does_in_the_part():
    standing = build(coupon(_divider(), "blade", "thickness", [0, 0.4]))
    lying = build(coupon(_laid(), "blade", "thickness", [0, 0.4]))
    assert standing.bounding_box().size.Z > 5
    assert lying.bounding_box().size.Z == pytest.approx(max(1.6 + 0.4, TILE + RAISED))
    assert "as in the part" in coupon_note(_laid(), "blade", "thickness")


def test_holes_and_slots_have_the_sizes_on_their_figures():
    comb = coupon(_plate(), "plate", "screw", [-0.3, 0.2])
    assert [comb.step(f"piece {n}").values["diameter"] for n in (1, 2)] == [4.2, 4.7]
    assert all(comb.step(f"piece {n}").cuts for n in (1, 2))
    slots = coupon(_holder(), "slot", "width", [0, 0.2])
    assert [slots.step(f"piece {n}").values["width"] for n in (1, 2)] == [2.5, 2.7]


def test_a_tongue_whose_width_is_tried_cannot_bind_by_its_thickness():
    comb = coupon(_divider(), "foot", "width", OFFSETS)
    assert comb.step("piece 1").values["thickness"] < 2.4


@pytest.mark.parametrize(
    ("step", "field", "offsets", "words"),
    [
        ("foot", "thickness", [-2.5], ["foot", "thickness", "-2.5", "-0.1 mm", "0.4 and"]),
        ("foot", "thickness", [], ["0 offsets", "1 to 8"]),
        ("foot", "thickness", [n / 10 for n in range(9)], ["9 offsets"]),
        ("foot", "thickness", [0.1, 0.1], ["same size"]),
        ("foot", "thickness", [float("nan")], ["nan"]),
        ("foot", "thickness", [float("inf")], ["inf"]),
        ("foot", "thickness", ["bit"], ["bit"]),
        ("foot", "thickness", [None], ["None"]),
        ("foot", "thickness", [100], ["102.4", "40 mm"]),
        ("blade", "height", [0], ["blade", "height is 71 mm", "at most 40 mm", "note a trial"]),
        ("foot", "length", [0], ["foot", "length", "diameter"]),
        ("blade", "edge", [0], ["blade", "edge", "mm"]),
        ("blade", "inset", [0], ["blade", "inset"]),
        ("head", "thickness", [0], ["head", "foot"]),
        ("foot", "colour", [0], ["colour", "thickness"]),
    ],
)
def test_a_coupon_that_cannot_be_is_refused_in_a_sentence(step, field, offsets, words):
    with pytest.raises(RepairError) as refusal:
        coupon(_divider(), step, field, offsets)
    assert all(word in str(refusal.value) for word in words)


def test_the_sizes_that_can_be_tried_are_listed_those_with_a_fit_first():
    repair = _divider().fit("foot", "thickness", 2.45)
    sizes = coupon_sizes(repair)
    assert sizes[0] == ("foot", "thickness")
    assert set(sizes) == {("foot", "thickness"), ("foot", "width"), ("blade", "thickness")}
    assert ("plate", "hole") in coupon_sizes(_plate())
    for step, field in coupon_sizes(_holder()):
        assert coupon(_holder(), step, field, [0.0]).steps


@pytest.mark.parametrize(("repair", "step", "field"), CASES[::3])
def test_a_fit_is_said_for_each_piece_and_judged_as_one(repair, step, field):
    wished = repair.copy().fit(step, field, size_of(repair.step(step), field))
    comb = coupon(wished, step, field, fitting_offsets(wished, step, field, Profile()))
    assert len(comb.fits) == 5
    assert [size_of(comb.step(f.step), f.field) for f in comb.fits] == [
        comb.step(f"tile {n}").values["size"] for n in range(1, 6)
    ]
    (found,) = fits(Subject.of(comb))
    assert found.severity == "note"
    assert found.number > 0.8


@pytest.mark.parametrize(("repair", "step", "field"), [CASES[0], CASES[4], CASES[9], CASES[11]])
def test_the_checks_find_nothing_to_worry_about_in_a_coupon(repair, step, field):
    found = check(coupon(repair, step, field, OFFSETS)).findings
    assert [finding.text for finding in found if finding.severity != "note"] == []


def test_a_comb_far_off_is_warned_of_with_the_size_to_choose():
    wished = _divider().fit("foot", "thickness", 2.45)
    (found,) = fits(Subject.of(coupon(wished, "foot", "thickness", [0.6, 0.8])))
    assert found.severity == "warning"
    assert "offsets around 2.2" in found.remedy


def test_one_offset_may_stand_alone_and_be_text():
    assert coupon(_divider(), "foot", "thickness", ["0,1 mm"]).step("piece 1").values[
        "thickness"
    ] == pytest.approx(2.5)


def test_the_command_writes_the_comb_and_says_how_to_use_it(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words = ["coupon", "tray-divider", "foot.thickness", "--offsets", "-0.1", "0.1"]
    assert main([*words, "--folder", str(tmp_path / "out")]) == 0
    said = capsys.readouterr().out
    assert "Snap the pieces apart" in said
    assert list((tmp_path / "out" / "revision-1").glob("*coupon*.stl"))


def test_a_comb_that_is_not_written_is_not_told_how_to_print(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("workbench.cli._export", lambda *_given: 1)
    assert main(["coupon", "tray-divider", "foot.thickness"]) == 1
    assert "Print it as it stands" not in capsys.readouterr().out


@pytest.mark.parametrize("size", ["foot", "foot.colour", "nothing.thickness"])
def test_the_command_refuses_a_size_that_is_not_there(size, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["coupon", "tray-divider", size]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not list(tmp_path.iterdir())


# -- the tile ----------------------------------------------------------------------------------


@given(
    st.floats(0.01, 999), st.integers(0, 2), st.integers(0, 8), st.floats(0.5, 1.0), st.booleans()
)
@settings(max_examples=15, deadline=None)
def test_every_tile_is_one_watertight_solid(size, places, notches, stroke, webbed):
    across = width(f"{size:.{places}f}", FIGURES, stroke) + 20
    solid = coupon_tile(size, places, notches, across, 12.0, 1.6, stroke, 2.2 if webbed else 0.0)
    assert solid.is_valid
    vertices, faces = mesh(solid)
    assert meshes.volume(vertices, faces) == pytest.approx(solid.volume, rel=1e-6)


def test_each_notch_takes_its_square_out_of_the_edge():
    volumes = [coupon_tile(notches=count, width=20.0).volume for count in range(6)]
    assert np.diff(volumes) == pytest.approx(-NOTCH * NOTCH * 1.6)


def test_ten_figures_are_all_different_and_keep_a_strokes_distance():
    shapes = [tuple(outlines(figure, 4.6, 0.9)[0][0]) for figure in "0123456789"]
    openings = [len(outlines(figure, 4.6, 0.9)[0][1]) for figure in "0123456789"]
    assert len(set(zip(shapes, openings, strict=True))) == 10
    (left, _), (right, _) = outlines("88", 4.6, 0.9)
    assert min(x for x, _y in right) - max(x for x, _y in left) == pytest.approx(0.9)


@pytest.mark.parametrize(
    ("values", "word"),
    [
        ({"width": 5.0}, "width"),
        ({"depth": 4.0}, "depth"),
        ({"notches": 9}, "width"),
        ({"web": 0.01}, "web"),
    ],
)
def test_a_tile_too_small_for_its_marks_is_refused(values, word):
    with pytest.raises(RepairError, match=word):
        coupon_tile(**values)


def _hanging(vertices: np.ndarray, faces: np.ndarray) -> float:
    """Area in mm² that looks down more steeply than 45 degrees, clear of the bed."""
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    cross = np.cross(b - a, c - a)
    area = np.linalg.norm(cross, axis=1) / 2
    down = -cross[:, 2] / np.maximum(2 * area, 1e-12)
    lowest = np.minimum(np.minimum(a[:, 2], b[:, 2]), c[:, 2])
    return float(area[(down > np.sqrt(0.5) + 1e-6) & (lowest > 1e-6)].sum())
