"""The measuring panel: from typed readings to an outline, and from there to steps."""

from __future__ import annotations

import math
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from painted_scene import Scene, photo_on_sheet

from workbench.errors import RepairError
from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.jupyter.pages.measuring import FIN, KEPT, PICTURE, Measuring
from workbench.jupyter.pages.measuring_start import from_shape, shapes
from workbench.jupyter.picture.sketch_figure import stroke
from workbench.jupyter.sizes.readings_table import REPEATS, entered, line
from workbench.measure.outlines.outline import Outline, trapezoid
from workbench.measure.outlines.quadrilateral import as_trapezoid
from workbench.measure.outlines.triangles import decompose
from workbench.measure.photos.trace import trace
from workbench.measure.photos.trace_checks import Unclear
from workbench.measure.reading import Reading
from workbench.measure.sketches.sketch import Sketch
from workbench.measure.sketches.solve import solve
from workbench.measure.sketches.table_row import Row
from workbench.solids.building.build import build
from workbench.solids.drawn.traced_steps import add_traced
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.step import Step

#: The blade of the divider, and its two diagonals by Pythagoras.
BLADE = {"bottom": 46.0, "top": 37.0, "height": 71.0, "inset": -7.0}
DIAGONALS = (math.hypot(30, 71), math.hypot(53, 71))


@pytest.fixture
def repair() -> Repair:
    return Repair("tray divider").add("fin", name="blade", thickness=1.6, **BLADE)


@pytest.fixture
def panel(repair: Repair, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(benches, "PAUSE", 600.0)
    shown = Bench(repair)
    measuring = measuring_of(shown)
    assert measuring.settle()
    yield measuring
    shown.close()


def measuring_of(bench: Bench) -> Measuring:
    found = bench.panel(Measuring)
    assert found is not None
    return found


def fill(panel: Measuring, **values: Any) -> None:
    """Type values into lines by "kind place", as the table sends them."""
    lines = []
    for given in panel.table.lines:
        typed = values.get(f"{given['kind']} {given['where']}", given["values"])
        typed = [typed] if isinstance(typed, str) else list(typed)
        lines.append({**given, "values": typed + [""] * (REPEATS - len(typed))})
    panel.table.lines = lines
    assert panel.settle()


def filled(panel: Measuring, wrong: str | None = None) -> None:
    values = {
        "side A B": "46",
        "height D over A B": "71",
        "side D C": "37",
        "offset D along A B": "-7",
        "diagonal A C": f"{DIAGONALS[0]:.4g}",
        "diagonal B D": wrong or f"{DIAGONALS[1]:.4g}",
    }
    fill(panel, **values)


def test_an_empty_table_says_what_to_read_first_and_marks_those_lines(panel: Measuring):
    assert panel.outcome.solution is None and panel.outcome.nexts
    assert "read" in panel.note.value and 'role="alert"' not in panel.note.value
    marked = [
        (given["kind"], given["where"])
        for given, mark in zip(panel.table.lines, panel.table.marks, strict=True)
        if mark["flag"] == "next"
    ]
    assert ("side", "A B") in marked
    assert all(button.disabled for button in panel.buttons)


def test_what_is_read_next_can_be_added_to_the_table_and_then_suffices(panel: Measuring):
    panel.table.fill([])
    assert panel.settle()
    panel.add_next.click()
    assert panel.settle()
    lines = [dict(given) for given in panel.table.lines]
    assert len(lines) == len(panel.outcome.nexts) == 5  # 8 coordinates less 3 of the place
    known = solve(entered(from_shape("any").corners, TRUE).sketch)
    for given in lines:
        size = known.size(given["kind"], given["where"]).value
        given["values"] = [f"{size:.3f}", "", ""]
    panel.table.fill(lines)
    assert panel.settle()
    assert panel.outcome.solution is not None
    assert panel.add_next.layout.display == "none"
    assert panel.outcome.solution.outline.area == pytest.approx(known.outline.area, rel=1e-3)


#: Five readings that hold the blade's outline.
TRUE = (
    line("side", "A B", ["46"]),
    line("height", "D over A B", ["71"]),
    line("offset", "D along A B", ["-7"]),
    line("height", "C over A B", ["71"]),
    line("offset", "C along A B", ["30"]),
)


def test_readings_that_agree_become_the_outline_to_scale_with_its_sizes(panel: Measuring):
    filled(panel)
    assert panel.outcome.solution.suspect is None
    assert all(mark["flag"] == "" for mark in panel.table.marks)
    assert panel.figures.value.count("<svg") == 2  # as sketched, and to scale
    assert "wb-cross" not in panel.figures.value
    for size in ("overall width is 53.0", "overall height is ", "side B C"):
        assert size in panel.sizes.value
    assert not any(button.disabled for button in panel.buttons)


def test_another_shape_that_fits_is_taken_by_its_picture_and_kept(panel: Measuring, repair: Repair):
    # Two sides and an angle that is not between them; law of sines, any handbook.
    panel._put(from_shape("triangle"))
    lines = [
        line("side", "A B", ["48"]),
        line("side", "B C", ["31"]),
        line("angle", "A", ["33"]),
        line("overall width"),
    ]
    panel.table.fill(lines)
    assert panel.settle()
    first = panel.outcome.solution.size("side", "A C").value
    (offered,) = panel.others.children
    figure, take = offered.children
    assert "<svg" in figure.value
    take.click()
    assert panel.settle()
    turn = math.radians(33)
    half = math.sqrt(31**2 - (48 * math.sin(turn)) ** 2)
    both = {48 * math.cos(turn) - half, 48 * math.cos(turn) + half}
    second = panel.outcome.solution.size("side", "A C").value
    assert sorted((first, second)) == pytest.approx(sorted(both), abs=1e-3)
    assert len(panel.others.children) == 1  # the way back
    panel.as_panel.click()
    (name,) = repair.sketches
    again = solve(repair.sketches[name].sketch)
    assert again.size("side", "A C").value == pytest.approx(second, abs=1e-6)


def test_the_wrong_reading_is_pointed_out_in_words_beside_its_line_and_in_the_figure(
    panel: Measuring,
):
    filled(panel, wrong="8.86")
    assert "ten times too small?" in panel.note.value
    assert [mark["flag"] for mark in panel.table.marks].count("suspect") == 1
    assert panel.table.marks[-1]["flag"] == "suspect" and "again" in panel.table.marks[-1]["off"]
    assert "−79.7" in panel.table.marks[-1]["title"]
    assert panel.figures.value.count("wb-cross") == 1
    assert "diagonal B D?" in panel.figures.value


def test_repeats_in_the_table_count_as_one_reading(panel: Measuring):
    filled(panel)
    fill(panel, **{"side A B": ("45.9", "46.0", "46,1 mm")})
    row = panel.outcome.solution.sketch.row("side A B")
    assert row.values == (45.9, 46.0, 46.1)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"values": ["abc", "", ""]}, "not a length"),
        ({"where": "A X"}, "there is no corner"),
        ({"values": ["-3", "", ""]}, "more than 0"),
        ({"kind": "height"}, "needs 3 corners"),
    ],
)
def test_a_bad_line_is_told_by_its_number_and_spoils_no_other(
    panel: Measuring, change: dict, said: str
):
    filled(panel)
    lines = [dict(given) for given in panel.table.lines]
    lines[5] |= change
    panel.table.lines = lines
    assert panel.settle()
    assert "line 6" in panel.note.value and said in panel.note.value
    assert panel.table.marks[5]["flag"] == "fault"
    assert panel.outcome.solution is not None
    assert panel.table.lines[0]["kind"] == "parallel"


def test_the_outline_becomes_a_fin_a_panel_or_pieces_of_the_same_area(
    panel: Measuring, repair: Repair
):
    filled(panel)
    area = (BLADE["bottom"] + BLADE["top"]) / 2 * BLADE["height"]
    panel.thickness.take(2.0)
    panel.as_fin.click()
    fin = repair.steps[-1]
    assert fin.template == "fin"
    assert {name: fin.values[name] for name in BLADE} == pytest.approx(BLADE, abs=0.02)
    panel.as_panel.click()
    flat = Outline(repair.steps[-1].values["outline"])
    assert repair.steps[-1].template == "panel" and flat.area == pytest.approx(area, rel=1e-3)
    before = len(repair.steps)
    panel.as_pieces.click()
    assert len(repair.steps) == before + 2 and "2 pieces" in panel.done.value
    panel.bench.undo()
    assert len(repair.steps) == before


def test_a_fin_of_the_repair_can_be_measured_again_and_set(panel: Measuring, repair: Repair):
    panel.bench.edit(lambda r: r.change("blade", bottom=Reading([45.9, 46.0], "ruler")))
    panel.beginning.value = f"{FIN} blade"
    panel.begin.click()
    assert panel.settle()
    first = panel.table.lines[1]
    assert first["values"][:2] == ["45.9", "46"] and first["instrument"] == "ruler"
    assert panel.again.description == "Set blade to this"
    fill(panel, **{"side A B": ("47",)})
    panel.again.click()
    assert len(repair.steps) == 1
    assert repair.step("blade").values["bottom"] == pytest.approx(47, abs=0.01)
    assert repair.step("blade").values["thickness"] == 1.6


@pytest.mark.parametrize("add", ["as_panel", "as_pieces", "as_fin"])
def test_readings_stay_with_the_repair_and_one_is_taken_again(
    panel: Measuring, repair: Repair, add: str
):
    filled(panel)
    assert panel.again.layout.display == "none"
    panel.name.value = "lid"
    getattr(panel, add).click()
    names = [step.name for step in repair.steps]
    typed = [given for given in panel.table.lines if any(given["values"])]

    opened = Bench(Repair.from_json(repair.to_json()))
    later = measuring_of(opened)
    try:
        assert later.beginning.value == f"{KEPT} lid"
        assert [given for given in later.table.lines if any(given["values"])] == typed
        assert later.settle() and later.again.description == "Set lid to this"
        fill(later, **{"side A B": "47", "diagonal B D": f"{math.hypot(54, 71):.2f}"})
        later.again.click()
        assert [step.name for step in opened.repair.steps] == names
        assert sum(solid_area(step) for step in opened.repair.steps[1:]) == pytest.approx(
            (47 + 37) / 2 * 71, rel=2e-3
        )
        opened.undo()
        assert opened.repair.to_json() == repair.to_json()
    finally:
        opened.close()


def solid_area(step: Step) -> float:
    """Of a panel, a fin, a box or a triangle, seen from the front, in mm²."""
    values = step.values
    if step.template == "panel":
        return Outline(values["outline"]).area
    if step.template == "fin":
        return (values["bottom"] + values["top"]) / 2 * values["height"]
    if step.template == "box":
        return values["width"] * values["height"]
    return values["base"] * values["height"] / 2


def test_an_outline_that_is_no_trapezoid_is_refused_as_a_fin_in_words(panel: Measuring):
    panel.beginning.value = "any"
    panel.begin.click()
    lines = [dict(given) for given in TRUE]
    lines[3]["values"] = ["60", "", ""]
    panel.table.fill(lines)
    assert panel.settle()
    panel.as_fin.click()
    assert "parallel" in panel.done.value and "panel" in panel.done.value
    assert len(panel.bench.repair.steps) == 1


@pytest.mark.parametrize("shape", list(shapes()))
def test_every_shape_begins_with_readings_that_are_enough_for_it(shape: str):
    begun = from_shape(shape)
    drawn = solve_drawn(begun.corners)
    lines = []
    for given in begun.lines:
        size = drawn(given["kind"], given["where"])
        lines.append(given if size is None else {**given, "values": [f"{size:.3f}", "", ""]})
    found = entered(begun.corners, lines)
    assert not found.faults and len(found.sketch.rows) == len(lines)
    solution = solve(found.sketch)
    assert solution.suspect is None and solution.spare >= 1


def solve_drawn(sketch: Sketch):
    """Sizes in the drawing itself, from its coordinates alone; None for what has no length."""
    spots = {name: np.array(spot) for name, spot in sketch.corners.items()}

    def size(kind: str, where: str) -> float | None:
        names = tuple(name for name in where.split() if name in spots)
        ends = stroke(Row("", kind, names, (1.0,)), spots)
        if ends is None or kind in ("square", "parallel", "angle"):
            return None
        return math.dist(*ends)

    return size


@pytest.mark.parametrize(
    "sizes", [BLADE, {"bottom": 20.0, "top": 44.0, "height": 9.0, "inset": -12.0}]
)
def test_four_corners_are_the_trapezoid_that_they_were_made_from(sizes: dict[str, float]):
    outline = trapezoid(**sizes)
    assert as_trapezoid(outline) == pytest.approx(sizes)
    cosine, sine = math.cos(math.radians(5)), math.sin(math.radians(5))
    turned = Outline(outline.points @ np.array([[cosine, sine], [-sine, cosine]]))
    assert as_trapezoid(turned) == pytest.approx(sizes)
    with pytest.raises(RepairError, match="5 corners"):
        as_trapezoid(Outline([(0, 0), (9, 0), (9, 5), (4, 8), (0, 5)]))


def scan_of(width: float, height: float, dpi: int, path: Path) -> bytes:
    """A dark rectangle of that size in mm on white, as a scan that states its resolution."""
    from PIL import Image

    wide, tall = (round(size / 25.4 * dpi) for size in (width, height))
    pixels = np.full((tall + 120, wide + 120), 245, dtype=np.uint8)
    pixels[60 : 60 + tall, 60 : 60 + wide] = 40
    Image.fromarray(pixels).save(path, dpi=(dpi, dpi))
    return path.read_bytes()


def uploaded(panel: Measuring, content: bytes) -> None:
    panel.picture.file.value = (
        {
            "name": "part.png",
            "type": "image/png",
            "size": len(content),
            "content": content,
            "last_modified": datetime.now(UTC),
        },
    )
    panel.picture.button.click()
    assert panel.picture.settle() and panel.settle()


def test_a_traced_scan_becomes_corners_and_two_readings_pull_it_to_size(
    panel: Measuring, tmp_path: Path
):
    panel.beginning.value = PICTURE
    panel.picture.reference.value = "scan"
    uploaded(panel, scan_of(40, 25, 300, tmp_path / "part.png"))
    assert "4 straight sides" in panel.picture.note.value
    solution = panel.outcome.solution
    assert sorted(solution.outline.size) == pytest.approx([25, 40], abs=0.1)
    names = list(solution.corners)
    lengths = {
        f"side {a} {b}": math.dist(solution.corners[a], solution.corners[b])
        for a, b in zip(names, [*names[1:], names[0]], strict=True)
    }
    longest = max(lengths, key=lengths.__getitem__)
    fill(panel, **{longest: "40.4"})
    assert max(panel.outcome.solution.outline.size) == pytest.approx(40.4, abs=0.05)
    # The whole trace is pulled, not that side alone.
    assert min(panel.outcome.solution.outline.size) > min(solution.outline.size) + 0.1


def test_a_photo_of_a_thick_part_is_put_right_by_its_thickness(panel: Measuring, tmp_path: Path):
    from PIL import Image

    part = trapezoid(60, 40, 70, 0).moved(70, 110)
    pixels = photo_on_sheet(part, Scene(pixels=(900, 1200), tilt=25, azimuth=70), thickness=5.0)
    Image.fromarray(pixels).save(tmp_path / "part.png")
    content = (tmp_path / "part.png").read_bytes()
    panel.beginning.value = PICTURE
    assert panel.picture.thickness.layout.display == ""
    uploaded(panel, content)
    assert "no thickness was given" in panel.note.value
    seen = panel.outcome.solution.outline.area
    panel.picture.thickness.value = "5,0"
    uploaded(panel, content)
    assert "no thickness was given" not in panel.note.value
    assert "edges were taken to be rounded by" in panel.note.value
    panel.picture.edge.value = "0"
    uploaded(panel, content)
    assert "edges were taken" not in panel.note.value
    assert panel.outcome.solution.outline.area == pytest.approx(part.area, rel=0.004)
    assert seen > 1.01 * part.area
    panel.picture.reference.value = "scan"
    assert panel.picture.thickness.layout.display == "none"
    assert panel.picture.edge.layout.display == "none"


def test_a_refusal_shows_what_was_seen(panel: Measuring, tmp_path: Path, monkeypatch):
    def unclear(*_given):
        raise Unclear("light it evenly", b"png")

    content = scan_of(40, 25, 300, tmp_path / "part.png")
    panel.beginning.value = PICTURE
    panel.picture.reference.value = "scan"
    assert panel.picture.seen.layout.display == "none"
    with monkeypatch.context() as patch:
        patch.setattr("workbench.measure.photos.trace.trace", unclear)
        uploaded(panel, content)
    assert "light it evenly" in panel.picture.note.value
    assert panel.picture.seen.value == b"png" and panel.picture.seen.layout.display == ""
    uploaded(panel, content)
    assert panel.picture.seen.layout.display == "none"


def test_a_picture_that_cannot_be_traced_is_told_in_words(panel: Measuring, tmp_path: Path):
    before = panel.outcome
    panel.picture.button.click()
    assert "choose a picture" in panel.picture.note.value
    uploaded(panel, b"no image at all")
    assert 'role="alert"' in panel.picture.note.value
    assert "internal error" not in panel.picture.note.value
    panel.picture.reference.value = "scan"
    panel.picture.dpi.value = "fine"
    uploaded(panel, scan_of(20, 20, 200, tmp_path / "part.png"))
    assert "resolution is" in panel.picture.note.value
    assert panel.outcome is before


def test_another_beginning_takes_the_place_of_the_table(panel: Measuring):
    filled(panel)
    panel.beginning.value = "triangle"
    panel.begin.click()
    assert panel.settle()
    assert list(panel.outcome.entered.sketch.corners) == ["A", "B", "C"]
    assert panel.outcome.solution is None


def test_the_split_is_shown_with_its_arithmetic_and_follows_the_readings(panel: Measuring):
    assert panel.pieces.value == ""
    filled(panel)
    assert panel.pieces.value.count("wb-count") == 2
    assert "half of 46.0 times 71.0 is 1633" in panel.pieces.value
    panel.ways.value = "right triangles"
    assert panel.pieces.value.count("wb-count") == len(
        decompose(panel.outcome.solution.outline, "right triangles")
    )
    fill(panel, **{"side A B": ""})
    assert panel.outcome.solution is not None or panel.pieces.value == ""


def test_a_hand_quicker_than_the_solver_gets_what_was_typed_last(panel: Measuring, repair: Repair):
    filled(panel)
    lines = [dict(given) for given in panel.table.lines]
    for given in lines:
        if (given["kind"], given["where"]) == ("side", "D C"):
            given["values"] = ["28", "", ""]
        if given["kind"] == "diagonal":
            given["values"] = ["", "", ""]
    panel.table.lines = lines
    panel.as_fin.click()
    assert repair.steps[-1].values["top"] == pytest.approx(28.0, abs=0.01)


def test_a_traced_part_is_the_same_solid_on_the_bench_and_in_code(panel: Measuring, tmp_path: Path):
    from PIL import Image

    tag = Outline([(70, 110, 0, 14), (70, 138), (110, 138, 0, 40), (110, 110)])
    pixels = photo_on_sheet(tag, Scene(pixels=(900, 1200)), holes=((73, 124, 8),))
    Image.fromarray(pixels).save(tmp_path / "tag.png")
    content = (tmp_path / "tag.png").read_bytes()
    panel.beginning.value = PICTURE
    panel.picture.reference.value = "sheet"
    uploaded(panel, content)
    assert "2 arcs, 1 round hole" in panel.picture.note.value
    before = {step.name for step in panel.bench.repair.steps}
    panel.name.value = "tag"
    panel.as_panel.click()
    assert 'role="alert"' not in panel.done.value
    on_bench = Repair("tag")
    on_bench.steps = tuple(s for s in panel.bench.repair.steps if s.name not in before)
    thickness = on_bench.step("tag").values["thickness"]
    in_code = build(add_traced(Repair("tag"), trace(content), thickness, name="tag"))
    from_bench = build(on_bench)
    assert from_bench.volume == pytest.approx(in_code.volume, rel=1e-6)
    assert (from_bench & in_code).volume == pytest.approx(in_code.volume, rel=1e-6)
    true = (tag.area - math.pi * 16) * thickness
    assert in_code.volume == pytest.approx(true, rel=0.005)
