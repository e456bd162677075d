"""The command: its exit codes, its words, its files, and how quickly it answers."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import trimesh

from workbench.checks.check import check
from workbench.cli import COMMANDS, _sentence, main
from workbench.output.notebook.template_notebook import read_template, save_template
from workbench.solids.recipe.repair import Repair
from workbench.solids.recipe.revision import read_record

PARTS = '''\
from typing import Annotated

from workbench import Size


def bracket(width: Annotated[float, Size(5, 50, measure="across the bracket")] = 20.0):
    """A bracket of somebody's own."""
    from build123d import Box

    return Box(width, 4, 3)
'''


@pytest.fixture(autouse=True)
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "100")
    return tmp_path


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """What the command says when it refuses: one line, no traceback, exit code 2."""
    assert main(words) == 2
    said = capsys.readouterr()
    assert said.err.startswith("workbench: ") and said.err.count("\n") == 1
    assert "Traceback" not in said.err
    return said.err


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_has_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as done:
        main([command, "--help"])
    assert done.value.code == 0
    assert command in capsys.readouterr().out


def test_help_loads_neither_numpy_nor_the_geometry_kernel() -> None:
    code = (
        "import sys\nfrom workbench.cli import main\n"
        "for words in ([], ['--help'], ['new', '--help'], ['export', '--help']):\n"
        "    try: main(words)\n"
        "    except SystemExit: pass\n"
        "heavy = {'numpy', 'build123d', 'OCP', 'shapely', 'matplotlib'} & set(sys.modules)\n"
        "sys.exit(', '.join(heavy) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_demo_writes_real_files_and_says_what_it_found(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["demo"]) == 0
    said = capsys.readouterr().out
    folder = here / "repairs" / "tray-divider" / "revision-1"
    written = {path.suffix for path in folder.iterdir() if path.stat().st_size > 0}
    assert {".stl", ".3mf", ".step", ".json"} <= written
    volume = json.loads((folder / "record.json").read_text())["volume_mm3"]
    assert f"volume {volume:.1f} mm³" in said
    assert "tray-divider.stl" in said and "way up" in said


def test_new_starts_from_a_template_with_other_numbers(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["new", "tray-divider", "--name", "Kitchen divider", "--material", "PETG"]
    assert main([*words, "--blade-bottom", "36", "36.2", "--blade-inset", "-4,5"]) == 0
    assert "kitchen-divider.ipynb" in capsys.readouterr().out
    repair = read_template(here / "kitchen-divider.ipynb")
    assert repair.step("blade").values["bottom"] == pytest.approx(36.1)
    assert repair.readings["blade.bottom"].values == (36.0, 36.2)
    assert repair.step("blade").values["inset"] == -4.5
    assert repair.material == "PETG"


def test_new_starts_from_a_plain_template(here: Path) -> None:
    assert (
        main(["new", "plate", "--width", "2 1/2 in", "--holes", "2", "--countersink", "yes"]) == 0
    )
    values = read_template(here / "plate.ipynb").steps[0].values
    assert (values["width"], values["holes"], values["countersink"]) == (63.5, 2, True)


def test_new_starts_from_ones_own_function(here: Path) -> None:
    (here / "my_parts.py").write_text(PARTS)
    assert main(["new", "my_parts.py:bracket", "--width", "31", "--name", "bracket"]) == 0
    assert main(["check", "bracket.ipynb", "--parts", "my_parts.py"]) in (0, 1)
    assert read_template(here / "bracket.ipynb").steps[0].values == {"width": 31.0}


def test_help_on_a_template_gives_units_ranges_and_what_to_measure(
    capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(SystemExit):
        main(["new", "shelf-peg", "--help"])
    said = " ".join(capsys.readouterr().out.split())
    assert re.search(r"--peg-diameter [\d.]+ across the round; 1 to 60 mm", said)
    assert "--peg-section D looking at the peg's end; round, D" in said


def test_the_options_of_a_template_are_called_the_same_in_every_language(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    options = {}
    for language in ("en", "de"):
        monkeypatch.setenv("WORKBENCH_LANGUAGE", language)
        with pytest.raises(SystemExit):
            main(["new", "tray-divider", "--help"])
        options[language] = re.findall(r"^  (--[\w-]+)", capsys.readouterr().out, re.MULTILINE)
    assert "--foot-turn" in options["en"]
    assert options["de"] == options["en"]
    assert main(["new", "tray-divider", "--foot-turn", "5"]) == 0
    (written,) = here.glob("*.ipynb")
    assert [getattr(s.place, "turn", 0) for s in read_template(written).steps].count(5) == 1


def test_help_is_in_the_users_language(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("WORKBENCH_LANGUAGE", "de")
    with pytest.raises(SystemExit):
        main(["--help"])
    assert "show program" not in capsys.readouterr().out


def test_a_second_new_is_numbered(here: Path) -> None:
    assert main(["new", "fin"]) == main(["new", "fin"]) == 0
    assert {path.name for path in here.glob("*.ipynb")} == {"fin.ipynb", "fin-2.ipynb"}


def test_check_stops_a_part_that_is_larger_than_the_bed(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", "plate", "--width", "400", "--height", "400"]) == 0
    assert main(["check", "plate.ipynb"]) == 1
    said = capsys.readouterr().out
    assert "STOP" in said and "400" in said


def test_a_part_from_a_file_is_sought_beside_the_notebook_that_names_it(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "in").mkdir()
    trimesh.creation.box((36, 26, 18)).export(here / "block.stl")
    plug = Repair("plug").add("box", name="plug", width=35, depth=25, height=4)
    path = save_template(plug.against("block.stl", unit="mm"), here / "in")
    assert main(["check", str(path)]) == 0
    assert "block.stl" in capsys.readouterr().out  # not there: it is of the other folder
    (here / "block.stl").rename(here / "in" / "block.stl")
    assert main(["check", str(path)]) == 1
    assert "runs into" in capsys.readouterr().out


def test_a_part_from_a_file_elsewhere_is_not_read_for_a_notebook_that_names_it(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    trimesh.creation.box((36, 26, 18)).export(here / "block.stl")
    plug = Repair("plug").add("box", name="plug", width=35, depth=25, height=4)
    (here / "in").mkdir()
    for file in (str(here / "block.stl"), "../block.stl"):
        path = save_template(plug.copy().against(here / "block.stl", unit="mm"), here / "in")
        path.write_text(
            path.read_text().replace(json.dumps(str(here / "block.stl")), json.dumps(file))
        )
        assert main(["check", str(path)]) == 0
        said = " ".join(capsys.readouterr().out.split())
        assert "leads out of" in said and "put a copy of the file into that folder" in said
        assert "runs into" not in said
        path.unlink()


def test_check_takes_in_once_how_holes_come_out(
    here: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("WORKBENCH_DATA", str(here / "data"))
    ring = Repair("ring", down=(0, 0, -1)).add("spacer", name="ring", inside=5.4, outside=14)
    path = save_template(ring.fit("ring", "inside", "5.0"), here)
    texts = " ".join(found.remedy for found in check(ring).findings)
    assert "come out true" in texts and "--" not in texts  # the bench has no such option
    told = []
    for option in ([], ["--holes", "true"], []):
        main(["check", str(path), *option])
        told.append(capsys.readouterr().out)
    assert "Do holes come out true" in told[0]
    assert "Do holes come out true" not in told[1] and told[1] == told[2]
    assert "--holes true" in told[0] and "--holes" not in told[1]


def test_export_takes_a_revision_and_writes_the_next(here: Path) -> None:
    assert main(["export", "shelf-peg", "--folder", "out"]) == 0
    assert main(["export", "out/revision-1", "--folder", "out"]) == 0
    assert read_record(here / "out" / "revision-2") == read_record(here / "out" / "revision-1")


def test_a_stop_stops_until_it_is_answered_and_the_answer_is_kept(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["export", "shelf-peg", "--folder", "out", "--use", "mains"]
    assert main(words) == 1
    said = capsys.readouterr().out
    assert "STOP" in said and "no files were written" in said
    assert not (here / "out").exists()
    assert main([*words, "--state", "mains=it holds a shelf and no wire is near"]) == 0
    assert read_record(here / "out" / "revision-1").statements == {
        "mains": "it holds a shelf and no wire is near"
    }


@pytest.mark.parametrize(
    ("words", "name"),
    [
        ("tray-divider", "tray-divider-print-sheet.pdf"),
        ("tray-divider --kind measuring --paper Letter", "tray-divider-measuring-sheet.pdf"),
        ("fin --kind measuring", "fin-measuring-sheet.pdf"),
        ("fin", "fin-print-sheet.pdf"),
        ("panel --kind triangles", "panel-triangles-sheet.pdf"),
        ("peg --kind coupon --of peg.diameter", "peg-coupon-sheet.pdf"),
        ("--kind photo --paper Letter", "photo-sheet.pdf"),
        ("tray-divider --kind triangles --of blade", "tray-divider-triangles-sheet.pdf"),
        ("tray-divider --kind coupon", "tray-divider-coupon-sheet.pdf"),
    ],
)
def test_sheets_are_pdf_files_and_none_is_overwritten(
    words: str, name: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", *words.split()]) == main(["sheet", *words.split()]) == 0
    again = name.replace(".pdf", "-2.pdf")
    assert capsys.readouterr().out.split() == [name, again]
    assert (here / name).read_bytes() == (here / again).read_bytes()
    assert (here / name).read_bytes().startswith(b"%PDF-")


def test_a_coupon_is_exported_as_a_revision_of_its_own(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = ["coupon", "tray-divider", "foot.thickness", "--offsets", "-0.1", "0", "0.1"]
    assert main([*words, "--folder", "out"]) == 0
    comb = read_record(here / "out" / "revision-1")
    assert [comb.step(f"piece {n}").values["thickness"] for n in (1, 2, 3)] == [2.3, 2.4, 2.5]


def test_open_puts_copies_there_and_stops(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["open", "--only-copy"]) == 0
    assert (here / "workbench-class" / "notebooks" / "00-start.ipynb").is_file()
    assert (here / "workbench-class" / "templates" / "tray-divider.ipynb").is_file()
    assert str(here / "workbench-class") in capsys.readouterr().out


def test_a_misspelt_notebook_is_answered_with_the_nearest(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "kitchen-divider.ipynb").write_text("{}")
    assert "did you mean kitchen-divider.ipynb?" in refused(
        capsys, "check", "kitchen-devider.ipynb"
    )
    assert "did you mean" not in refused(capsys, "check", "letterbox.ipynb")


def test_the_question_of_use_is_answered_by_the_command_that_it_tells(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["check", "shelf-peg"]) == 0
    assert "say --use child, for example, or --use none" in capsys.readouterr().out
    assert main(["check", "shelf-peg", "--use", "none"]) == 0
    assert "say --use" not in capsys.readouterr().out


def test_no_line_of_the_shelf_is_wider_than_the_terminal(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for width in (80, 132):
        monkeypatch.setenv("COLUMNS", str(width))
        assert main(["shelf"]) == 0
        assert width - 12 < max(map(len, capsys.readouterr().out.splitlines())) <= width


def test_the_shelf_is_told_and_searched(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["shelf"]) == 0
    everything = capsys.readouterr().out
    for name in ("tray-divider", "knob", "strike", "workbench new tray-divider --help"):
        assert name in everything
    assert main(["shelf", "battery", "HOOK"]) == 0
    found = capsys.readouterr().out
    assert "battery-door" in found
    assert "tray-divider" not in found and "Plain shapes" not in found


REFUSED = [
    ("shelf zeppelin", "nothing on the shelf matches 'zeppelin'"),
    ("teleport", "teleport is unknown; workbench --help"),
    ("exprot", "did you mean export?"),
    ("check", "give REPAIR; workbench check --help"),
    ("check nothing", "'nothing' is no notebook, no revision and not on the shelf; it has"),
    ("check fin", "fin is a plain template; begin a repair from it with workbench new fin"),
    ("check shelf-peh", "did you mean shelf-peg?"),
    ("check /etc/passwd", "passwd is not a notebook; choose a file that ends in .ipynb"),
    ("check shelf-peg --fix fitt", "there is no rule 'fitt'; did you mean 'fit'?"),
    ("check nothing.ipynb", "no notebook at nothing.ipynb; choose"),
    ("export gone/record.json", "is not there"),
    ("new", "TEMPLATE"),
    ("new fin --bottom wide", "bottom: reading 'wide' is not a length"),
    ("new fin --bottom -3", "bottom is -3 mm; give 1 to 300 mm"),
    ("new fin --bottom nan", "bottom"),
    ("new FIN", "did you mean fin?"),
    ("new fin --botom 3", "--botom is unknown; did you mean --bottom? workbench new fin"),
    ("new fin --material cheese", "material 'cheese' is not known"),
    ("new tray-divider --blade-bottom 3000", "blade_bottom is 3000 mm"),
    ("new tray-divider --blade-bottom 36 x", "blade_bottom: reading 'x' is not a length"),
    ("new tray-divider --blade-bottom 7/8 7/8", "blade_bottom: reading '7/8' is a fraction"),
    ("new nobody.py:part", "no file of parts at nobody.py"),
    ("sheet --kind measuring", "made from a repair: name one"),
    ("sheet fin --kind coupon --of fin.inset", "no coupon can be made"),
    ("sheet shelf-peg --kind triangles", "no flat outline"),
    ("sheet shelf-peg --kind menu", "--kind is 'menu'; give one of 'print'"),
    ("coupon shelf-peg peg", "name a step and its size"),
    ("coupon shelf-peg peg.tickness", "name a step and its size, one of peg.diameter"),
    ("check shelf-peg --state mains", "write the rule, = and why"),
    ("check shelf-peg --use spaceflight", "spaceflight"),
    ("open none.ipynb --no-browser", "no notebook at none.ipynb"),
]


def test_a_file_where_a_folder_is_wanted_is_called_a_file(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "notes").write_text("mine")
    for folder in ("notes", "notes/for/me"):
        for words in ("new fin", "export spacer-ring", "sheet spacer-ring"):
            said = refused(capsys, *words.split(), "--folder", folder)
            assert said == "workbench: notes is a file, not a folder; give a folder\n"
    assert (here / "notes").read_text() == "mine"


def test_a_size_that_is_given_twice_is_read_twice(here: Path) -> None:
    assert main(["new", "fin", "--bottom", "47.0", "--bottom", "47.2", "47.4"]) == 0
    assert read_template(here / "fin.ipynb").readings["fin.bottom"].values == (47.0, 47.2, 47.4)


def test_a_notebook_named_without_its_ending_is_offered(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "base.ipynb").write_text("{}")
    assert "did you mean base.ipynb?" in refused(capsys, "check", "base")


@pytest.mark.parametrize(("words", "sentence"), REFUSED)
def test_bad_input_is_refused_in_one_sentence(
    words: str, sentence: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert sentence in refused(capsys, *words.split())


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("def bracket(:\n", "broken.py, line 1: invalid syntax"),
        ("x = 1\n1 / 0\n", "broken.py, line 2: ZeroDivisionError"),
        ("def bracket(width=3): ...\n", "says too little about width"),
        ("x = 1\n", "has no function 'bracket'"),
    ],
)
def test_a_broken_file_of_parts_is_told_with_its_line(
    text: str, sentence: str, here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (here / "broken.py").write_text(text)
    assert main(["new", "broken.py:bracket"]) == 2
    caution, said = capsys.readouterr().err.splitlines()
    assert "broken.py is a program: it runs now" in caution
    assert said.startswith("workbench: ") and sentence in said


def test_a_fault_of_the_tool_shows_no_traceback(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def fail(*_words: object) -> None:
        raise ZeroDivisionError("by nought")

    monkeypatch.setattr("workbench.output.notebook.shelf.repair_at", fail)
    assert "ZeroDivisionError: by nought" in refused(capsys, "check", "shelf-peg")
    monkeypatch.setenv("WORKBENCH_DEBUG", "1")
    with pytest.raises(ZeroDivisionError):
        main(["check", "shelf-peg"])


@pytest.mark.skipif(not hasattr(os, "geteuid"), reason="pipes of this kind are POSIX")
def test_a_reader_that_goes_away_is_no_error(here: Path) -> None:
    done = subprocess.run(
        f"{sys.executable} -m workbench.cli new tray-divider --help | head -1; "
        "exit ${PIPESTATUS[0]}",
        shell=True,
        executable="/bin/bash",
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode in (0, 120) and "Traceback" not in done.stderr


def test_a_notebook_whose_building_was_changed_is_checked_and_exported_without_running_it(
    here: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["new", "box", "--name", "lid", "--width", "31"]) == 0
    path = here / "lid.ipynb"
    row = json.loads(path.read_text())
    for cell in row["cells"]:
        if "repair.add(" in "".join(cell["source"]):
            cell["source"] = [*cell["source"], "\nopen('ran', 'w')\nrepair.round(2)\n"]
    path.write_text(json.dumps(row))
    capsys.readouterr()
    for words in (["check"], ["export", "--folder", "made"], ["sheet"]):
        assert main([words[0], "lid.ipynb", *words[1:]]) == 0
        said = capsys.readouterr().err
        assert said.count("\n") == 1 and "changed by hand and was not run" in said
    assert read_record(here / "made" / "revision-1").step("box").values["width"] == 31
    assert main(["new", "lid.ipynb", "--name", "two", "--box-width", "32"]) == 0
    assert "changed by hand and was not run" in capsys.readouterr().err
    assert read_template(here / "two.ipynb").step("box").values["width"] == 32
    assert not (here / "ran").exists()


def test_an_error_of_no_file_is_told_without_a_place() -> None:
    assert _sentence(OSError(28, "No space left on device")) == "No space left on device"
    assert _sentence(OSError(28, "No space left on device", "a.stl")).startswith("a.stl: ")
