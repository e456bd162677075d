"""Each reader is fed files that are nearly right: it reads them or refuses in a sentence, no more.

The files are mutated from good ones with a seed, by cutting, doubling, exchanging and by values
that tripped somebody up before. WORKBENCH_FUZZ says how many a reader gets, 40 unless given.
"""

from __future__ import annotations

import json
import os
import random
import subprocess
import time
from collections.abc import Callable
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from workbench.checks.fit import printer_profile
from workbench.data.tables import Table
from workbench.errors import RepairError
from workbench.measure import photo
from workbench.output.files import record, stl_step, threemf
from workbench.output.notebook import shelf, untrusted_template
from workbench.output.notebook.template_notebook import as_notebook, read_template
from workbench.output.roster.roster import open_roster
from workbench.output.roster.roster_row import Rows
from workbench.solids.repair import Repair

COUNT = int(os.environ.get("WORKBENCH_FUZZ", "40"))

#: What took somebody's tool down before.
DICTIONARY = [
    b"\x00", b"\xff\xfe", b"\xed\xa0\x80", b"\\ud800", b"\x1b[2K", b"\n", b"\r", b"\t", b"\xe2\x80\xae",
    b"null", b"true", b"[]", b"{}", b'""', b"-1", b"0", b"1e999", b"NaN", b"9" * 400, b"1" * 5000,
    b"../secret", b"/etc/hostname", b"/dev/zero", b"__import__('os').system('true')", b"=cmd|x",
    b"[" * 3000, b"{\"a\":" * 3000, b",", b";", b'"', b"'", b"\\", b"<!ENTITY a 'b'>", b"%!PS",
]  # fmt: skip


def mutated(good: bytes, chance: random.Random) -> bytes:
    content = bytearray(good)
    for _turn in range(chance.choice((1, 1, 2, 5))):
        at = chance.randrange(len(content) + 1)
        end = min(len(content), at + chance.choice((1, 2, 8, 60, 1000)))
        kind = chance.randrange(6)
        if kind == 0:
            del content[at:end]
        elif kind == 1:
            content[at:at] = content[at:end]
        elif kind == 2:
            content[at:at] = chance.choice(DICTIONARY)
        elif kind == 3:
            content[at:end] = chance.choice(DICTIONARY)
        elif kind == 4 and content:
            place = min(at, len(content) - 1)
            content[place] ^= 1 << chance.randrange(8)
        else:
            del content[at:]
    return bytes(content)


def mutated_json(good: bytes, chance: random.Random) -> bytes:
    """A value anywhere in it is another one; what is around it stays JSON."""
    row = json.loads(good)
    holders: list[tuple[dict | list, str | int]] = []

    def walk(each: object) -> None:
        if isinstance(each, dict | list):
            pairs = each.items() if isinstance(each, dict) else enumerate(each)
            for key, value in list(pairs):
                holders.append((each, key))
                walk(value)

    walk(row)
    odd: list[object] = [
        *(None, True, -1, 0, 1e308, 10**39, "", "a\nb", "\x1b[2K", "../x", "/dev/zero", "x" * 9000),
        *([], {}, [[]], {"a": {}}, ["a"] * 50, "box", "top of base", float("nan"), "9" * 300),
    ]
    for _turn in range(chance.choice((1, 1, 2, 4))):
        holder, key = chance.choice(holders)
        holder[key] = chance.choice(odd)  # type: ignore[index]
    return json.dumps(row).encode()


def repair() -> Repair:
    made = Repair("peg").add("peg", diameter="6.1 mm").add("box", seat="top of peg", name="cap")
    return made.fit("peg", "diameter", 6.2)


def picture() -> bytes:
    into = BytesIO()
    pixels = np.full((80, 90, 3), 200, np.uint8)
    Image.fromarray(pixels).save(into, "PNG", dpi=(300, 300))
    return into.getvalue()


def tetrahedron() -> tuple[np.ndarray, np.ndarray]:
    corners = np.array([[0, 0, 0], [9, 0, 0], [0, 9, 0], [0, 0, 9.0]])
    return corners, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [2, 0, 3]])


def a_record() -> bytes:
    return record.record(repair(), 1, {"peg.stl": b"x"}).encode()


def read_rows(path: Path) -> None:
    rows = Rows()
    for row in open_roster(path).rows():
        rows.job(row)


#: Name of the file, a good one, its mutations, and who reads it.
READERS: dict[str, tuple[str, Callable[[], bytes], Callable, Callable[[Path], object]]] = {
    "notebook, any byte": (
        "a.ipynb", lambda: as_notebook(repair(), "peg", "note", image=b"\x89PNG"), mutated,
        lambda path: (untrusted_template.described(path), read_template(path)),
    ),
    "notebook, any value": (
        "a.ipynb", lambda: as_notebook(repair(), "peg", "note", image=b"\x89PNG"), mutated_json,
        lambda path: (untrusted_template.described(path), read_template(path)),
    ),
    "shelf": (
        "a.ipynb", lambda: as_notebook(repair(), "peg", "note", image=b"\x89PNG"), mutated_json,
        lambda path: shelf.cards(path.parent),
    ),
    "record": ("record.json", a_record, mutated, record.read_record),
    "record, any value": (
        "record.json", a_record, mutated_json,
        lambda path: (record.read_record(path, changed=True), record.changed_files(path)),
    ),
    "repair": (
        "a.json", lambda: repair().to_json().encode(), mutated_json,
        lambda path: Repair.from_json(path.read_text("utf-8", "surrogateescape")),
    ),
    "roster": (
        "a.csv",
        lambda: b"template,pupil,width,height,unit\nbox,Mia,34.9 35.0,6,mm\nfin,Jonas,,\"7,5\",\n",
        mutated, read_rows,
    ),
    "table": (
        "a.toml",
        lambda: b'[clay]\ndensity = 1.2\n[clay.modulus]\nvalue = 10\nsource = "x"\n', mutated,
        lambda path: Table(path).figures({}),
    ),
    "profile": (
        "a.json",
        lambda: json.dumps({"format": 1, "observations": [{"feature": "hole", "size": 5.0,
            "measured": 4.9, "date": "x"}]}).encode(), mutated_json, printer_profile.read,
    ),
    "picture": ("a.png", picture, mutated, photo.load),
    "STL": (
        "a.stl", lambda: stl_step.stl(*tetrahedron(), "a"), mutated,
        lambda path: stl_step.read_stl(path.read_bytes()),
    ),
    "3MF": (
        "a.3mf", lambda: threemf.threemf([threemf.Body("a", *tetrahedron())], {"Title": "a"}),
        mutated, lambda path: threemf.read_threemf(path.read_bytes()),
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", READERS)
def test_a_reader_reads_or_refuses_in_a_sentence(name, tmp_path, monkeypatch) -> None:
    file, good, change, read = READERS[name]
    monkeypatch.setattr(subprocess, "Popen", lambda *_a, **_k: pytest.fail("a program was started"))
    monkeypatch.setattr(os, "system", lambda _line: pytest.fail("a program was started"))
    original, chance = good(), random.Random(name)
    path = tmp_path / file
    path.write_bytes(original)
    read_well = refused = 0
    for number in range(COUNT):
        content = change(original, chance)
        path.write_bytes(content)
        began = time.process_time()
        try:
            read(path)
            read_well += 1
        except RepairError as error:
            said = str(error)
            assert "\n" not in said and len(said) < 1500, (number, said)
            refused += 1
        # The slowest takes a hundredth of this: what is caught here grows without bound.
        assert time.process_time() - began < 20, number
    assert read_well + refused == COUNT
