"""The page of the other parts: put beside, moved, judged together, split, compared, undone."""

from __future__ import annotations

import json
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from workbench.jupyter import bench as benches
from workbench.jupyter.bench import Bench
from workbench.jupyter.pages import comparing
from workbench.jupyter.pages.findings_page import Findings
from workbench.jupyter.pages.mating_part import BODY, FILE, REPAIR
from workbench.jupyter.pages.other_parts import OtherParts
from workbench.measure.outlines.outline import Outline
from workbench.output.files.export import export
from workbench.solids.motion import Slide, Turn
from workbench.solids.recipe.repair import Repair

#: A cube of 10 by its corners, and the faces of its surface.
CORNERS = [[x, y, z] for x in (0, 10) for y in (0, 10) for z in (0, 10)]
FACES = [
    *([0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1]),
    *([2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]),
]


def stl(faces: list[list[int]] = FACES) -> bytes:
    """A binary STL file: 80 bytes, a count, and 50 bytes for each facet."""
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("more", "<u2")])
    facets = np.zeros(len(faces), kind)
    facets["corners"] = np.array(CORNERS, float)[np.array(faces)]
    return bytes(80) + np.uint32(len(faces)).tobytes() + facets.tobytes()


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(benches, "PAUSE", 0.0)
    return tmp_path


def opened(repair: Repair) -> OtherParts:
    shown = Bench(repair, inline=True)
    page = shown.panel(OtherParts)
    assert page is not None and shown.settle()
    page.choice.opened()
    return page


@pytest.fixture
def page():
    block = Repair("block").add("box", name="block", width=20, depth=20, height=10)
    found = opened(block)
    yield found
    found.bench.close()
    assert found.bench.settle()


def sent(page: OtherParts, name: str, content: bytes) -> None:
    one = {"name": name, "type": "", "size": len(content), "content": memoryview(content)}
    page.choice.file.value = ({**one, "last_modified": datetime.now(UTC)},)


def done(page: OtherParts) -> None:
    assert page.bench.settle()


def test_a_file_is_kept_beside_the_notebook_and_its_unit_is_asked(page: OtherParts):
    sent(page, "Old Cube.stl", stl())
    assert Path("parts/old-cube.stl").read_bytes() == stl()
    assert page.choice.part.value == (FILE, "parts/old-cube.stl")
    page.choice.put.click()
    assert "does not say its unit" in page.choice.note.value
    assert page.bench.repair.counterparts == ()
    page.choice.unit.value = "cm"
    page.choice.put.click()
    (other,) = page.bench.repair.counterparts
    assert (other.name, other.unit) == ("old-cube", "cm")
    sent(page, "Old Cube.stl", stl())
    assert [path.name for path in Path("parts").iterdir()] == ["old-cube.stl"]


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("cube.obj", b"", "cube.obj cannot be read as a part"),
        ("cube.stl", stl(FACES[1:]), "the surface has a gap"),
        ("cube.3mf", b"PK", "is no 3MF file"),
    ],
)
def test_a_file_that_is_no_closed_part_is_refused_in_words(
    page: OtherParts, name: str, content: bytes, said: str
):
    sent(page, name, content)
    page.choice.unit.value = "mm"
    page.choice.put.click()
    assert said in page.choice.note.value and 'role="alert"' in page.choice.note.value
    assert page.bench.repair.counterparts == ()


def test_it_stands_as_a_ghost_and_is_moved_judged_and_undone(page: OtherParts):
    sent(page, "cube.stl", stl())
    page.choice.unit.value = "mm"
    page.choice.put.click()
    done(page)
    assert page.bench.preview.scene["beside"] is not None
    assert "runs into cube" in page.standing.found.value
    page.standing.fields["z"].box.value = "10.1"
    done(page)
    assert page.bench.repair.counterparts[0].place.z == 10.1
    assert "of room as drawn" in page.standing.found.value
    page.standing.fields["z"].box.value = "10.5"
    page.standing.way.value = "up"
    done(page)
    assert page.bench.repair.counterparts[0].motion == Slide("up", 10)
    assert page.standing.found.value.count("It goes into place beside cube") == 1
    page.bench.undo()
    assert page.bench.repair.counterparts[0].motion is None and page.standing.way.value == ""
    page.standing.drop.click()
    done(page)
    assert page.bench.repair.counterparts == () and page.bench.preview.scene["beside"] is None


def test_it_sits_on_a_step_and_follows_it(page: OtherParts):
    other = Repair("lid").add("box", name="lid", width=8, depth=8, height=3)
    page.bench.repair.against(other)
    page.bench.look_again()
    page.standing.on.value = "block"
    (one,) = page.bench.repair.counterparts
    vertices, _faces = one.mesh(page.bench.shown.assembly)
    assert vertices[:, 2].min() == pytest.approx(10)
    page.bench.fields("block")["height"].box.value = "14"
    done(page)
    vertices, _faces = one.mesh(page.bench.shown.assembly)
    assert vertices[:, 2].min() == pytest.approx(14)


@pytest.mark.parametrize(
    ("control", "typed", "said"),
    [
        ("z", "block.height", "z is"),
        ("z", "3000", "z is 3000"),
        ("z", "high", "high"),
        ("gap", "wide", "wide"),
        ("gap", "-1", "-1"),
        ("far", "0", "by is 0"),
        ("far", "5000", "5000"),
        ("angle", "400", "400"),
    ],
)
def test_a_number_that_cannot_be_is_refused_in_words(
    page: OtherParts, control: str, typed: str, said: str
):
    page.bench.repair.against(Repair("lid").add("box", name="lid"))
    page.bench.look_again()
    if control in ("far", "angle"):
        page.standing.way.value = {"far": "up", "angle": "z"}[control]
    before = page.bench.repair.counterparts
    if control == "z":
        page.standing.fields["z"].box.value = typed
        told = page.standing.fields["z"].refusal
    else:
        getattr(page.standing, control).value = typed
        told = page.standing.note.value
    assert said in told and "Traceback" not in told
    assert page.bench.repair.counterparts == before


def test_a_turn_asks_for_its_angle_and_its_axis(page: OtherParts):
    page.bench.repair.against(Repair("lid").add("box", name="lid"))
    page.bench.look_again()
    page.standing.way.value = "z"
    page.standing.angle.value = "-45"
    page.standing.through["x"].value = "3"
    assert page.bench.repair.counterparts[0].motion == Turn("z", -45, 3, 0, 0)
    assert page.standing.through["z"].layout.display == "none", "it is along the axis"


def test_a_repair_of_the_shelf_stands_beside_it(page: OtherParts):
    shelf = [value for _label, value in page.choice.part.options if value[0] == REPAIR]
    page.choice.part.value = next(
        value for value in shelf if value[1].endswith("spacer-ring.ipynb")
    )
    page.choice.put.click()
    done(page)
    (other,) = page.bench.repair.counterparts
    assert other.name == "spacer ring" and other.repair().steps


def test_a_revision_that_was_written_stands_beside_it():
    peg = Repair("peg").add("cylinder", diameter=4, height=10)
    for _turn in range(2):
        export(peg, "repairs/peg")
    page = opened(Repair("block").add("box"))
    labels = [label for label, _value in page.choice.part.options]
    assert "peg, revision 1" not in labels, "the last is what is in use"
    page.choice.part.label = "peg, revision 2"
    page.choice.put.click()
    done(page)
    (other,) = page.bench.repair.counterparts
    assert other.name == "peg, revision 2" and other.repair() == peg
    page.bench.close()
    assert page.bench.settle()


def test_a_body_is_let_loose_and_joined_again():
    box = Repair("box").add("box", name="box", width=20, depth=20, height=10)
    page = opened(box.add("box", seat="top of box", name="lid", width=10, depth=10, height=3))
    page.choice.part.value = (BODY, "lid")
    assert page.choice.put.description == "Let it stand loose"
    page.choice.put.click()
    done(page)
    assert [body.step for body in box.loose] == ["lid"]
    page.standing.gap.value = "0.3"
    assert box.loose[0].gap == 0.3
    page.standing.drop.click()
    assert box.loose == ()
    page.bench.close()


def test_a_part_is_split_and_its_second_half_stands_beside_it():
    page = opened(Repair("trim").add("box", name="trim", width=60, depth=20, height=8))
    page.splitting.at.value = "200"
    page.splitting.button.click()
    assert "split is 200 mm" in page.splitting.note.value
    page.splitting.at.value = "5"
    page.splitting.joint.value = "lap"
    page.splitting.button.click()
    done(page)
    repair = page.bench.repair
    assert repair.name.endswith("part 1") and repair.counterparts[0].name.endswith("part 2")
    assert page.standing.chosen is repair.counterparts[0]
    page.standing.save.click()
    (path,) = Path("templates").glob("*.ipynb")
    kept = json.loads(path.read_text(encoding="utf-8"))
    assert kept["metadata"]["workbench"]["repair"]["name"].endswith("part 2")
    page.bench.undo()
    assert repair.name == "trim" and repair.counterparts == ()
    page.bench.close()


def test_the_finding_that_it_does_not_fit_the_bed_has_the_split_as_its_button():
    page = opened(Repair("rail").add("box", name="rail", width=300, depth=20, height=8))
    findings = page.bench.panel(Findings)
    done(page)
    buttons = [b for row in findings.list.children for b in getattr(row, "children", ())[1:]]
    (button,) = [b for b in buttons if "Split" in b.description]
    button.click()
    done(page)
    assert page.bench.repair.counterparts[0].name == "rail, part 2"
    assert not any(f.rule == "fits the bed" for f in page.bench._judged[1].findings)
    page.bench.close()


def test_the_broken_part_is_laid_over_the_new_one(page: OtherParts, monkeypatch):
    def compared(outline, was):
        return comparing_in_full(outline, Outline([(0, 0), (20, 0), (20, 16), (0, 16)]))

    comparing_in_full = comparing.compare
    monkeypatch.setattr(comparing, "compare", compared)
    page.comparing._take(object())
    assert page.comparing.settle()
    assert "only the new one 80 mm²" in page.comparing.told.value
    assert "wb-extra" in page.comparing.figure.value
    page.comparing.side.value = "front"
    assert page.comparing.settle()
    assert "Only the old part has 120 mm²" in page.comparing.told.value
