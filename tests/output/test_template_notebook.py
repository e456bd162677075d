"""A repair saved as a notebook comes back whole, however it is read, and never runs code unasked."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import nbformat
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from nbclient import NotebookClient
from parts import ALONE

from workbench import (
    At,
    Load,
    Reading,
    Repair,
    RepairError,
    Same,
    Seat,
    Size,
    Sketch,
    Trial,
    build,
    solve,
)
from workbench.gate import fitted
from workbench.output.notebook import cells
from workbench.output.notebook.repair_sizes import named_sizes, set_sizes
from workbench.output.notebook.template_notebook import (
    open_template,
    read_template,
    save_template,
    start,
)
from workbench.solids import catalogue
from workbench.solids.drawn.sketched_steps import add_measured


def divider() -> Repair:
    """A repair with everything that can be known of one."""
    repair = (
        Repair("tray divider", material="PETG")
        .add(
            "fin",
            name="blade",
            bottom=Reading([45.98, 46.02, 46.03]),
            top=Reading("1 1/4 in", unit="in"),
            height=71,
        )
        .add("tab", seat=Seat("bottom of blade", sink=0.4), name="foot", width=30, thickness=2.4)
        .add("box", seat=At(x=14, z=30, turn=10), name="rib", width=3, depth=3, height=20)
        .cut("cylinder", seat=Seat("top of blade", sink=4, by="back"), name="notch", diameter=14)
        .fit("foot", "thickness", Reading([2.61, 2.6, 2.58], "dial calipers"))
    )
    repair.down = (0.0, -1.0, 0.0)
    repair.uses = ("outdoors",)
    repair.loads = (Load("blade", 4.0, (0, 1, 0), repeats=False),)
    repair.trials = (Trial(1, "foot", "thickness", "loose", 2.4, note='fell "out"'),)
    repair.statements = {"small parts": "kept in a locked cabinet"}
    return repair


@pytest.fixture
def saved(tmp_path: Path) -> Path:
    return save_template(divider(), tmp_path, note="Leans out by 5 mm.")


def edited(path: Path, old: str, new: str) -> Path:
    """The notebook with a piece of its cells changed, as a person would in an editor."""
    notebook = nbformat.read(path, as_version=4)
    assert any(old in cell.source for cell in notebook.cells)
    for cell in notebook.cells:
        cell.source = cell.source.replace(old, new)
    nbformat.write(notebook, path)
    return path


#: Cells that show something and change nothing.
SHOWN = ("bench",)


def run(path: Path, last: str) -> str:
    """Run the cells that build the repair in a fresh process and return what ``last`` prints."""
    notebook = nbformat.read(path, as_version=4)
    code = [c.source for c in notebook.cells if c.cell_type == "code" and c.id not in SHOWN]
    steps = [source.replace(", bench", "") for source in [*code, last]]
    done = subprocess.run(
        [sys.executable, "-c", f"for step in {steps!r}: exec(step, globals())"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_reading_brings_back_the_same_repair(saved: Path) -> None:
    assert read_template(saved) == divider()


def test_running_brings_back_the_same_repair_and_solid(saved: Path) -> None:
    printed = run(
        saved, "from workbench import build\nprint(repair.to_json())\nprint(build(repair).volume)"
    )
    text, _newline, volume = printed.strip().rpartition("\n")
    assert Repair.from_json(text) == divider()
    assert float(volume) == pytest.approx(build(divider()).volume, rel=1e-9)


def of_twelve() -> Repair:
    """A part with a measured outline, holes, drilling, a fit, loads, trials and a rounding."""
    drawn = Sketch({"A": (0, 0), "B": (60, 0), "C": (40, 40), "D": (0, 40)})
    drawn.read("square", "A").read("square", "D").read("side", "A B", 60.0)
    drawn.read("side", "D C", 40.0).read("side", "A D", 40.0)
    repair = add_measured(Repair("cover", material="PETG"), solve(drawn), 4.0, "lid")
    for n in range(4):
        repair.add("box", At(x=5 + 9 * n, z=39), name=f"rib {n}", width=3, depth=4, height=6 + n)
    for n in range(4):
        seat = Seat("front of lid", across=12 * n - 18, along=-8)
        repair.cut("cylinder", replace(seat, sink=3), name=f"hole {n}", diameter=3.2, height=9)
    repair.add("tab", Seat("bottom of lid", sink=0.4), name="foot", width=20, thickness=2.4)
    repair.add("wedge", At(x=-8, z=20), name="ramp", width=20, depth=4, height=9)
    repair.cut("cone", Seat("top of lid", sink=3), name="sink")
    repair.fit("foot", "thickness", Reading([2.61, 2.6, 2.58]), "clearance").round(0.4)
    repair.loads = (Load("rib 1", 4.0, (0, 1, 0)),)
    repair.trials = (
        Trial(1, "foot", "thickness", "too tight", 2.4, 2.52),
        Trial(2, "foot", "thickness", "right", 2.3),
    )
    return repair


def test_a_repair_of_twelve_steps_with_a_measured_outline_runs_as_it_was_saved(
    tmp_path: Path,
) -> None:
    repair = of_twelve()
    assert len(repair.steps) == 12
    printed = run(save_template(repair, tmp_path), "print(repair.to_json())")
    assert Repair.from_json(printed.strip()) == repair


def test_a_fresh_process_reads_every_solid_again_without_running_a_notebook(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("workbench.output.notebook.template_notebook.picture", lambda *_given: b"")
    plain = [Repair(name).add(name) for name in ALONE]
    repairs = [*plain, divider(), of_twelve()]
    paths = [save_template(repair, tmp_path) for repair in repairs]
    read = (
        "import sys\nfrom workbench import build\n"
        "from workbench.output.notebook.template_notebook import read_template\n"
        "for path in sys.argv[1:]:\n    print(repr(build(read_template(path)).volume))"
    )
    words = [sys.executable, "-c", read, *map(str, paths)]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    for repair, volume in zip(repairs, done.stdout.split(), strict=True):
        assert float(volume) == pytest.approx(build(repair).volume, rel=1e-9), repair.name


def test_a_steps_order_that_code_must_mend_is_mended(tmp_path: Path) -> None:
    repair = Repair("late").add("tab", name="foot").add("fin", name="blade")
    repair.change("foot", place="bottom of blade")
    assert (
        Repair.from_json(run(save_template(repair, tmp_path), "print(repair.to_json())")) == repair
    )


def test_a_changed_number_is_laid_over_and_leaves_its_readings_behind(saved: Path) -> None:
    edited(saved, "blade_bottom = 46.01", "blade_bottom = 36.5")
    repair = read_template(saved)
    assert repair.step("blade").values["bottom"] == 36.5
    assert set(repair.readings) == {"blade.top"}
    assert Repair.from_json(run(saved, "print(repair.to_json())")) == repair


def test_what_papermill_puts_in_counts(saved: Path) -> None:
    notebook = nbformat.read(saved, as_version=4)
    at = 1 + next(i for i, cell in enumerate(notebook.cells) if cell.id == "parameters")
    injected = nbformat.v4.new_code_cell(
        "blade_height = 80", metadata={"tags": ["injected-parameters"]}
    )
    notebook.cells.insert(at, injected)
    nbformat.write(notebook, saved)
    assert read_template(saved).step("blade").values["height"] == 80.0


def test_a_started_repair_has_its_name_and_numbers_and_forgets_the_other_parts_trials(
    saved: Path, tmp_path: Path
) -> None:
    path = start(
        saved,
        tmp_path / "mine",
        "kitchen divider",
        material="PLA",
        blade_bottom=Reading([36, 36.2]),
        foot_width="1 1/8 in",
        foot_thickness_mating=2.8,
    )
    repair = read_template(path)
    assert path == tmp_path / "mine" / "kitchen-divider.ipynb"
    assert (repair.name, repair.material) == ("kitchen divider", "PLA")
    assert repair.step("blade").values["bottom"] == pytest.approx(36.1)
    assert repair.readings["blade.bottom"] == Reading([36, 36.2])
    assert repair.step("foot").values["width"] == pytest.approx(28.575)
    assert repair.fits[0].mating.value == 2.8
    assert repair.trials == () and repair.statements == {}


def test_no_notebook_is_overwritten(saved: Path, tmp_path: Path) -> None:
    before = saved.read_bytes()
    again = save_template(divider(), tmp_path)
    assert again.name == "tray-divider-2.ipynb"
    assert saved.read_bytes() == before


def test_saving_twice_writes_the_same_bytes(tmp_path: Path) -> None:
    a, b = (save_template(divider(), tmp_path / place) for place in "ab")
    assert a.read_bytes() == b.read_bytes()


def test_the_file_is_laid_out_as_jupyters_own_library_does(saved: Path) -> None:
    content = nbformat.read(saved, as_version=4)
    nbformat.validate(content)
    assert saved.read_text(encoding="utf-8") == nbformat.writes(content) + "\n"


def test_a_repair_that_does_not_build_is_not_saved(tmp_path: Path) -> None:
    apart = divider().add("box", seat=At(z=300), name="far")
    with pytest.raises(RepairError, match="far misses"):
        save_template(apart, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_names_that_would_be_the_same_are_told_apart(tmp_path: Path) -> None:
    repair = Repair("two arms").add("clip", name="arm", root_thickness=2.5)
    repair.add("tab", seat="left of arm", name="arm root", thickness=1.5)
    names = named_sizes(repair)
    assert names["arm_root_thickness"] == ("arm", "root_thickness")
    assert names["arm_root_thickness_2"] == ("arm root", "thickness")
    assert read_template(save_template(repair, tmp_path)) == repair


def bracket(width: Annotated[float, Size(5, 50, measure="across the bracket")] = 20.0) -> object:
    """A bracket of somebody's own."""
    from build123d import Box

    return Box(width, THICK * 2, 3)


THICK = 2.0


def test_a_function_of_ones_own_travels_with_its_constants(tmp_path: Path) -> None:
    repair = Repair("bracket").add(bracket, width=24)
    path = save_template(repair, tmp_path)
    volume = run(path, "from workbench import build\nprint(build(repair).volume)")
    assert float(volume) == pytest.approx(24 * 4 * 3, rel=1e-9)
    assert read_template(path) == repair


def test_a_function_that_is_not_here_is_told_and_not_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = save_template(Repair("bracket").add(bracket), tmp_path)
    monkeypatch.setattr(catalogue, "_own", {})
    with pytest.raises(RepairError, match=r"bracket\.ipynb uses the function bracket"):
        read_template(path)


BROKEN = [
    ("blade_bottom = 46.01", "blade_bottom = 46,,0", r"cell 2 \(parameters\), line 2: .*number"),
    ("blade_bottom = 46.01", "blade_bottom = wide", r"line 2: blade_bottom is not a plain value"),
    (
        "blade_bottom = 46.01",
        "blade_bottom = 0x" + "f" * 9000,
        r"line 2: blade_bottom is 120183238\.\.\.; give",
    ),
    (
        "blade_bottom = 46.01",
        "blade_bottom = " + "-" * 9000 + "1",
        "line 1: it is nested too deeply",
    ),
    ("blade_bottom = 46.01", "blade_bottom = -3.0", r"line 2: blade_bottom is -3 mm; give 1 to"),
    (
        "blade_bottom = 46.01",
        "blade_botom = 46.0",
        r"line 2: blade_botom is not a size .* blade_bottom\?",
    ),
    ("blade_bottom = 46.01", "print()", r"line 2: only lines such as"),
    ("blade_bottom = 46.01", "# gone 46.01", r"no line for blade_bottom; .*blade_bottom = 46\.01"),
    ("blade_bottom = 46.01", "blade_bottom = 'wide'", r"line 2: .*not a length"),
    (
        'repair.add(\n    "fin"',
        'repair.add(\n    "tab"',
        r"the cell that builds .* changed by hand",
    ),
]


@pytest.mark.parametrize(("old", "new", "sentence"), BROKEN)
def test_a_broken_cell_is_told_with_its_line(
    saved: Path, old: str, new: str, sentence: str
) -> None:
    with pytest.raises(RepairError, match=sentence) as told:
        read_template(edited(saved, old, new))
    assert "\n" not in str(told.value)


def test_reading_runs_no_code(saved: Path, tmp_path: Path) -> None:
    trap = tmp_path / "trap"
    edited(saved, "blade_bottom = 46.01", f"blade_bottom = open({str(trap)!r}, 'w').write('x')")
    with pytest.raises(RepairError, match="not a plain value"):
        read_template(saved)
    assert not trap.exists()


def test_spacing_and_comments_in_the_code_may_change(saved: Path) -> None:
    edited(saved, '    name="blade",\n', '    name="blade",  # the part that broke\n\n')
    assert read_template(saved) == divider()


def damaged(saved: Path, change: str) -> Path:
    row = json.loads(saved.read_text())
    meta = row["metadata"]["workbench"]
    if change == "newer":
        meta["format"], meta["version"] = 99, "9.1"
    elif change == "no form":
        meta["format"] = "1"
    elif change == "no tag":
        for cell in row["cells"]:
            cell["metadata"].pop("tags", None)
        meta["code"] = cells.fingerprint("")
    elif change == "no repair":
        del row["metadata"]["workbench"]
    elif change == "no steps":
        del meta["repair"]["steps"]
    elif change == "odd names":
        meta["parameters"] = [["blade_bottom", "blade", "colour"]]
    elif change == "a list":
        row = [row]
    saved.write_text(json.dumps(row))
    if change == "cut short":
        saved.write_text(saved.read_text()[:900])
    elif change == "a picture":
        saved.write_bytes(b"\x89PNG\xff\xfe")
    elif change == "gone":
        saved.unlink()
    return saved


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ("newer", r"saved by workbench 9\.1 in a newer form \(99\).*update workbench"),
        ("no form", r"ipynb: record is not a repair: format is '1'; use an earlier"),
        ("no tag", "no cell tagged parameters"),
        ("no repair", "is not a template: .*Save as template"),
        ("no steps", r"record is not a repair: .*steps"),
        ("odd names", "no 'colour'"),
        ("a list", "is not a notebook"),
        ("cut short", r"damaged at line \d+"),
        ("a picture", "is not a notebook"),
        ("gone", "there is no notebook at"),
    ],
)
def test_a_damaged_template_is_told_in_one_sentence(
    saved: Path, change: str, sentence: str
) -> None:
    with pytest.raises(RepairError, match=sentence) as told:
        read_template(damaged(saved, change))
    assert "\n" not in str(told.value)


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(RepairError, match="is a file, not a folder"):
        save_template(divider(), tmp_path / "file" / "templates")


@settings(max_examples=30, deadline=None)
@given(
    bottom=st.floats(1, 300, allow_subnormal=False),
    repeats=st.lists(st.floats(1, 300), min_size=1, max_size=4),
    name=st.text(min_size=1, max_size=12).map(fitted).filter(bool),
    edge=st.sampled_from(["square", "rounded", "tapered"]),
)
def test_every_size_comes_back_from_its_own_written_line(
    bottom: float, repeats: list[float], name: str, edge: str
) -> None:
    repair = Repair(name).add("fin", bottom=bottom, top=Reading(repeats), edge=edge)
    names = named_sizes(repair)
    space: dict[str, object] = {}
    exec(cells.parameters(repair, names), space)
    laid = set_sizes(repair.copy(), names, {key: space[key] for key in names})
    assert laid == repair
    exec(cells.build(repair, names).replace(", bench", ""), space)
    built = space["repair"]
    assert isinstance(built, Repair)
    assert built.readings == repair.readings
    assert built.steps[0].values["bottom"] == pytest.approx(bottom, rel=1e-10)


def test_the_notebook_runs_headless_with_its_bench(saved: Path, tmp_path: Path) -> None:
    notebook = nbformat.read(saved, as_version=4)
    done = NotebookClient(
        notebook, timeout=120, resources={"metadata": {"path": str(tmp_path)}}
    ).execute()
    (bench,) = (cell for cell in done.cells if cell.id == "bench")
    assert bench.outputs, "the bench shows nothing"


def test_it_is_a_notebook_by_the_published_schema_with_a_picture(saved: Path) -> None:
    notebook = nbformat.read(saved, as_version=4)
    nbformat.validate(notebook)  # nbformat 4.5 JSON schema
    picture = notebook.cells[0].attachments["picture.png"]["image/png"]
    assert picture.startswith("iVBORw0KGgo")  # base64 of the PNG signature


# -- places and sizes that follow --------------------------------------------------------------


def latch() -> Repair:
    repair = Repair("door").add("plate", name="door", width=46, height=30, thickness=2, holes=0)
    seat = Seat("top of door", edge=("right", "back"), inset=(2.5, 4), sink=0.2)
    repair.add("box", seat, "hook", width=3, depth=Same("door.height / 3"), height=8)
    return repair.add("box", Seat("left of door", along=1), "toe", height=Same("hook.width"))


def test_places_are_sizes_of_a_template(tmp_path: Path) -> None:
    path = save_template(latch(), tmp_path)
    names = open_template(path).names
    assert names["hook_inset_right"] == ("hook", "place.inset_right")
    assert {"hook_inset_back", "hook_sink", "toe_along"} <= set(names)
    assert "hook_turn" not in names
    assert "door_x" not in names
    assert read_template(path).steps == latch().steps
    again = read_template(start(path, tmp_path, "mine", hook_inset_right=5, hook_turn=30))
    seat = Seat("top of door", edge=("right", "back"), inset=(5, 4), sink=0.2, turn=30)
    assert again.step("hook").place == seat


def test_code_and_record_of_a_template_that_follows_are_one_part(tmp_path: Path) -> None:
    assert rebuilt(save_template(latch(), tmp_path)).steps == latch().steps


@pytest.mark.parametrize(
    ("line", "depth"),
    [
        ("hook_depth = 7.0", 7.0),
        ('hook_depth = Same("door.height", "", 12)', 18.0),
        ("hook_depth = door_height - 2 * hook_width", 24.0),
    ],
)
def test_a_line_of_the_cell_says_what_its_size_follows(
    tmp_path: Path, line: str, depth: float
) -> None:
    path = save_template(latch(), tmp_path)
    reworded(path, r'hook_depth = Same\("door.height / 3"\)', line)
    assert read_template(path).step("hook").values["depth"] == depth
    assert rebuilt(path).step("hook").values["depth"] == depth
    reworded(path, "door_height = 30.0", "door_height = 36.0")
    follows = line != "hook_depth = 7.0"
    assert (read_template(path).step("hook").values["depth"] != depth) == follows


def test_a_circle_in_the_cell_is_named(tmp_path: Path, refused) -> None:
    path = save_template(latch(), tmp_path)
    reworded(path, "hook_width = 3.0", "hook_width = toe_height")
    with refused("hook.width → toe.height → hook.width"):
        read_template(path)


def reworded(path: Path, old: str, new: str) -> None:
    row = json.loads(path.read_text())
    cell = next(c for c in row["cells"] if "parameters" in c["metadata"].get("tags", ()))
    source, count = re.subn(old, new, "".join(cell["source"]))
    assert count == 1
    cell["source"] = source
    path.write_text(json.dumps(row))


def rebuilt(path: Path) -> Repair:
    space: dict[str, object] = {}
    for cell in json.loads(path.read_text())["cells"]:
        if {"parameters", "build"} & set(cell["metadata"].get("tags", ())):
            exec("".join(cell["source"]), space)
    repair = space["repair"]
    assert isinstance(repair, Repair)
    return repair


def test_a_changed_repair_goes_back_into_its_notebook_and_own_cells_stay(tmp_path):
    from workbench.output.notebook.rewriting import rewrite

    repair = Repair("post", down=(0, 0, -1)).add("box", name="post", height=20)
    path = save_template(repair, tmp_path, note="A note.", named={"tall": ("post", "height")})
    row = json.loads(path.read_text())
    row["cells"].insert(2, {**row["cells"][-1], "id": "mine", "source": "1 + 1"})
    row["cells"][2]["metadata"] = {}
    path.write_text(json.dumps(row))
    repair.change("post", height=25).down = None
    assert rewrite(path, repair) == path
    assert read_template(path) == repair
    after = json.loads(path.read_text())
    assert [cell["id"] for cell in after["cells"]] == [cell["id"] for cell in row["cells"]]
    assert after["cells"][2]["source"] == "1 + 1"
    assert "tall = 25.0" in "".join(after["cells"][1]["source"])


def test_what_saved_notebooks_import_stays_where_it_is():
    from workbench.output.notebook.repair_sizes import keep_readings
    from workbench.solids.measured import Measured

    assert callable(keep_readings) and callable(Measured.from_dict)
