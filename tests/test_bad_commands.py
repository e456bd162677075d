"""Command lines that cannot be: each is answered in one sentence on the error stream, and by exit 2.

They are an outsider's: slips of the hand, files of another kind, numbers that nothing has.
"""

from __future__ import annotations

import json
import os
import shlex
from pathlib import Path

import pytest
from PIL import Image

from workbench.cli import BAD, main
from workbench.output.files import record as records
from workbench.output.notebook.template_notebook import as_notebook
from workbench.solids.recipe.repair import Repair

#: One command line a line, without the command's own name.
LINES = (
    r"""
chek tray-divider
Check tray-divider
check
check ''
check nothing
check no.ipynb
check text.ipynb
check empty.ipynb
check half.ipynb
check list.ipynb
check old.ipynb
check deep.ipynb
check picture.png
check folder
check folder/record.json
check no/record.json
check pipe.ipynb
check zero.ipynb
check odd.ipynb
check control.ipynb
check surrogate.ipynb
check long.ipynb
check outside
check tray-divider extra
check tray-divider --use
check tray-divider --use moon
check tray-divider --state food
check tray-divider --state =why
check tray-divider --state moon=why
check tray-divider --parts
check tray-divider --parts no.py
check tray-divider --parts broken.py
check tray-divider --parts ends.py
check tray-divider --parts raises.py
check tray-divider --parts folder
check tray-divider --parts zero.ipynb
check tray-divider --nonsense
check --paper A4 tray-divider
export
export nothing
export tray-divider --folder
export tray-divider --folder text.ipynb
export tray-divider --folder /proc/none
export tray-divider --paper A3
export tray-divider --paper
export tray-divider tray-divider
export pipe.ipynb
new --material PLA
new nothing
new no.py:part
new broken.py:part
new fine.py:nothing
new fine.py:
new text.ipynb
new tray-divider --name ''
new tray-divider --name
new tray-divider --name 'a
b'
new tray-divider --material gold
new tray-divider --printer none
new tray-divider --printer ''
new tray-divider --material ''
new fine.py:helper
export tray-divider --folder ''
check tray-divider --parts ''
class good.csv --scheduler ''
shelf --folder nowhere
shelf --folder text.ipynb
new tray-divider --folder text.ipynb
new tray-divider --blade-botom 36
new tray-divider --blade-bottom
new tray-divider --blade-bottom wide
new tray-divider --blade-bottom 9999
new tray-divider --blade-bottom -5
new tray-divider --blade-bottom nan
new tray-divider --blade-bottom 1/0
new tray-divider --blade-bottom 36 furlongs
new tray-divider --blade-bottom 99999999999999999999999999999999999999999999
new box --width 3 --width
new box --wide 3
new knob --shaft square
new cylinder --diameter ''
coupon
coupon nothing
coupon tray-divider nothing
coupon tray-divider foot
coupon tray-divider foot.nothing
coupon tray-divider nothing.thickness
coupon tray-divider foot.thickness --offsets
coupon tray-divider foot.thickness --offsets x
coupon tray-divider foot.thickness --offsets 99
coupon tray-divider foot.thickness --offsets 1 2 3 4 5 6 7 8 9 10
sheet
sheet --kind
sheet --kind poster tray-divider
sheet nothing
sheet tray-divider --kind triangles --of nothing
sheet tray-divider --kind coupon --of nothing
sheet tray-divider --paper A3
sheet tray-divider --folder text.ipynb
sheet --kind print
class
class no.csv
class folder
class text.ipynb
class empty.csv
class pipe.ipynb
class zero.ipynb
class one.csv
class twice.csv
class heads.csv
class quote.csv
class good.csv --workers 0
class good.csv --workers x
class good.csv --workers -3
class good.csv --workers 99999999999999999999999
class good.csv --folder text.ipynb
class good.csv --paper A3
class good.csv --scheduler nonsense
shelf xyzzyplugh
shelf no.ipynb
shelf text.ipynb
shelf old.ipynb
shelf pipe.ipynb
shelf deep.ipynb
open no.ipynb
open --port x
open --only-copy --folder text.ipynb
demo extra
demo --folder text.ipynb
--hepl
-x
demo --paper A4
demo --folder ''
demo tray
open x.stl
open text.ipynb
open picture.png
open /dev/zero
open pipe.ipynb
open list.ipynb
open good.csv
open --port -1 no.ipynb
open --port 99999999 --no-browser
open --port 1.5
open a.ipynb b.ipynb
open --pupils
shelf --fodler x
shelf /etc/passwd.ipynb
shelf list.ipynb
shelf surrogate.ipynb
shelf --folder ''
shelf --folder
shelf zero.ipynb
new ''
new box box
new box --width
new box --width ''
new box --width 3 x
new box --width -3
new box --width 1e3
new box --width inf
new box --width 20mm30
new box --width '20 km'
new box --width=
new box --depth 1//2
new box --name '' --width 20
new box --material pla2
new box --printer 'generic 9'
new box --folder ''
new gear --teeth 3
new gear --teeth 12.5
new gear --teeth many
new peg --section oval
new letters --text ''
new letters --mirrored perhaps
new thread --size M7
new panel --outline 3
new panel --outline 0,0
new turning --outline x
new fin --bottom 46 --botom 47
new fin --bottom 46 --bottom
new x.stl
new folder
new folder/record.json
new zero.ipynb
new pipe.ipynb
new deep.ipynb
new control.ipynb
new ends.py:part
new raises.py:part
new broken.py:
new fine.py
new folder.py:part
new zero.ipynb:part
new tray-divider --help-me
new tray-divider --foot-thickness 2,4,5
new tray-divider --blade-bottom 36 37 x
new tray-divider --blade-bottom 36 37 furlong
check x.stl
check good.csv
check ..
check /
check tray-divider --use ''
check tray-divider --use child --use moon
check tray-divider --use 'heat hot'
check tray-divider --state 'mains'
check tray-divider --state 'mains='
check tray-divider --state ''
check tray-divider --fix ''
check tray-divider --fix
check tray-divider --holes big
check tray-divider --holes
check tray-divider --all yes
check tray-divider --parts fine.py:helper
check tray-divider --parts pipe.ipynb
check tray-divider --parts /dev/zero
check changed
check changed/record.json
check missing
check missing/record.json
check tray-divider --as-saved=yes
check tray-divider --units in
check tray-divider.ipynb
export x.stl
export tray-divider --paper A5
export tray-divider --paper ''
export changed
export folder
export tray-divider --format stl
coupon tray-divider foot.thickness foot.width
coupon tray-divider foot.
coupon tray-divider .thickness
coupon tray-divider foot.thickness.x
coupon tray-divider ''
coupon tray-divider foot.thickness --offsets ''
coupon tray-divider foot.thickness --offsets nan
coupon tray-divider foot.thickness --offsets 0.1 big
coupon tray-divider foot.thickness --offset 0.1
coupon tray-divider foot.thickness --offsets 1e9
coupon tray-divider foot.thickness --paper B4
coupon box
sheet tray-divider --kind
sheet tray-divider --kind ''
sheet tray-divider --kind Print
sheet tray-divider --of
sheet tray-divider --kind triangles --of ''
sheet tray-divider --kind measuring --of nothing
sheet tray-divider --kind coupon --of foot
sheet tray-divider --kind coupon --of foot.nothing
sheet x.stl
sheet --kind photo --paper A3
sheet --kind measuring
sheet --kind triangles
sheet gear --kind triangles
sheet tray-divider extra
camera
camera no.jpg
camera picture.png
camera text.ipynb
camera pipe.ipynb
camera zero.ipynb
camera picture.png picture.png picture.png picture.png picture.png
camera good.png
camera good.png good.png good.png good.png good.png
camera --lens x
class ''
class x.stl
class good.csv good.csv
class good.csv --workers
class good.csv --workers 1.5
class good.csv --workers ''
class good.csv --scheduler
class good.csv --folder text.ipynb/inner
class good.csv --paper
class good.csv --label
class good.csv --folder ''
class /dev/zero
class zero.csv
class unread.csv
class notemplate.csv
class double.csv
--versio
--help=3
check tray-divider -5
check tray-divider -h=3
check -- -x
export tray-divider --as-saved=yes
open --pupil=3
open --port
new peg 3
new peg --diameter -5 -6
check huge.ipynb
check cells.ipynb
check five.ipynb
check loop.ipynb
export loop.ipynb
new huge.ipynb
class nul.csv --scheduler nowhere
sheet huge.ipynb
class many.csv
class blank.csv
class good.csv --scheduler 10.0.0.5
new finn
""".strip()
    .replace("'a\nb'", "'a\\nb'")
    .splitlines()
)


#: How argparse says it.
OF_PYTHON = (
    "argument -",
    "invalid choice",
    "invalid int",
    "expected one",
    "expected at",
    "explicit",
    "required:",
)


@pytest.fixture(scope="module")
def place(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder of files that are not what they should be."""
    here = tmp_path_factory.mktemp("odd")
    row = json.loads(as_notebook(Repair("peg").add("peg"), "peg", image=b"\x89PNG"))

    def changed(file: str, **steps: object) -> None:
        kept = json.loads(json.dumps(row))
        kept["metadata"]["workbench"]["repair"]["steps"][0].update(steps)
        (here / file).write_text(json.dumps(kept))

    (here / "folder").mkdir()
    (here / "outside").mkdir()
    (here / "folder" / "record.json").write_text("{}")
    record = {
        "record": 1,
        "repair": row["metadata"]["workbench"]["repair"],
        "files": {"/etc/hostname": {"sha256": ""}},
    }
    (here / "outside" / "record.json").write_text(json.dumps(record))
    os.mkfifo(here / "pipe.ipynb")
    (here / "zero.ipynb").symlink_to("/dev/zero")
    (here / "text.ipynb").write_text("Dear diary\n")
    (here / "empty.ipynb").write_text("")
    (here / "half.ipynb").write_text(json.dumps(row)[:500])
    (here / "list.ipynb").write_text("[]")
    # A server shows the worksheets of format 3, and its cells lie beside them unseen.
    sheet = {"cells": [{"cell_type": "code", "input": "import os", "outputs": []}]}
    (here / "old.ipynb").write_text(json.dumps({**row, "nbformat": 3, "worksheets": [sheet]}))
    (here / "five.ipynb").write_text(json.dumps({**row, "nbformat": 5}))
    (here / "cells.ipynb").write_text(json.dumps({**row, "cells": {}}))
    (here / "loop.ipynb").symlink_to("loop.ipynb")
    (here / "nul.csv").write_bytes(b"template,pupil\nbox,M\0ia\n")
    changed("huge.ipynb", values={"diameter": 10**400})
    (here / "deep.ipynb").write_text("[" * 100_000)
    changed("odd.ipynb", values={"diameter": "wide"})
    changed("control.ipynb", name="a\nimport os\n#")
    changed("surrogate.ipynb", name="a\ud800")
    changed("long.ipynb", name="a" * 5000)
    (here / "picture.png").write_bytes(b"\x89PNG\r\n\x1a\n")
    (here / "broken.py").write_text("def part(:\n")
    (here / "raises.py").write_text("class Odd(BaseException): pass\nraise Odd('a\\nb')\n")
    (here / "ends.py").write_text("raise SystemExit(0)\n")
    (here / "fine.py").write_text("def helper():\n    return 3\n")
    (here / "empty.csv").write_text("")
    (here / "one.csv").write_text("template pupil\n")
    (here / "twice.csv").write_text("template,pupil,width,width\nbox,Mia,1,2\n")
    (here / "heads.csv").write_text("template,pupil\n")
    (here / "quote.csv").write_text('template,pupil\nbox,"Mia\n')
    (here / "x.stl").write_bytes(b"solid x\nendsolid x\n")
    (here / "unread.csv").write_bytes("template,pupil\nbox,Mia\n".encode("utf-16-le")[1:])
    (here / "double.csv").write_text("template,template,pupil\nbox,box,Mia\n")
    (here / "notemplate.csv").write_text("pupil,width\nMia,20\n")
    (here / "many.csv").write_text(",".join(f"c{i}" for i in range(3000)))
    (here / "blank.csv").write_text("\n\n")
    (here / "zero.csv").symlink_to("/dev/zero")
    Image.new("RGB", (400, 300), (200, 200, 200)).save(here / "good.png")
    for name in ("changed", "missing"):
        (here / name).mkdir()
        written = records.record(Repair("peg").add("peg"), 1, {"peg.stl": b"x"})
        changed_name = written.replace('"name": "peg"', '"name": "other"', 1)
        (here / name / "record.json").write_text(changed_name if name == "changed" else written)
    (here / "good.csv").write_text("template,pupil,width\nbox,Mia,20\n")
    return here


def test_there_are_more_than_the_ninety_four_that_were_tried() -> None:
    assert len(set(LINES)) == len(LINES) > 94


@pytest.mark.parametrize("line", LINES)
def test_a_command_line_that_cannot_be_is_answered_in_a_sentence(
    line, place, monkeypatch, capsys
) -> None:
    monkeypatch.chdir(place)
    monkeypatch.setattr("workbench.output.roster.cluster.ANSWERS_IN", 1)
    before = {path for path in place.rglob("*") if path.name != ".workbench-lock"}
    words = [word.replace("\\n", "\n") for word in shlex.split(line)]
    code = main(words)
    told = capsys.readouterr()
    assert (code, told.out) == (BAD, ""), told
    (said,) = [line for line in told.err.splitlines() if " is a program: " not in line]
    assert said.startswith("workbench: ") and 25 < len(said) < 700, said
    assert "fault of the tool" not in said and "internal error" not in said, said
    assert not any(words in said for words in OF_PYTHON), said
    assert "Traceback" not in said and "Error:" not in said, said
    assert {path for path in place.rglob("*") if path.name != ".workbench-lock"} == before
