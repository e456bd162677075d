"""Each reader is fed files that are nearly right: it reads them or refuses in a sentence, no more.

The files are mutated from good ones with a seed, by cutting, doubling, exchanging and by values
that tripped somebody up before. WORKBENCH_FUZZ says how many a reader gets, 40 unless given, and WORKBENCH_SEED which.
"""

from __future__ import annotations

import json
import os
import random
import re
import struct
import subprocess
import time
import zipfile
import zlib
from collections.abc import Callable
from contextlib import suppress
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from workbench.checks.fit import printer_profile
from workbench.data.tables import Table
from workbench.errors import RepairError
from workbench.measure.photos import image_file, lens
from workbench.output.files import record, stl_step, threemf
from workbench.output.notebook import recovery, shelf, untrusted_template
from workbench.output.notebook.template_notebook import as_notebook, read_template
from workbench.output.roster.roster import open_roster
from workbench.output.roster.roster_row import Rows
from workbench.solids.meshes import foreign_mesh
from workbench.solids.recipe import revision
from workbench.solids.recipe.repair import Repair

COUNT = int(os.environ.get("WORKBENCH_FUZZ", "40"))

#: Another one mutates the files in other ways.
SEED = os.environ.get("WORKBENCH_SEED", "")

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


def odd_cells(good: bytes, chance: random.Random) -> bytes:
    """A notebook whose cells, their tags, texts or metadata are of another kind, or too many."""
    row = json.loads(good)
    cells = row["cells"]
    source: list[object] = [
        *("width = __import__('os').system('x')", "width = 9 ** 9 ** 9", "width = " + "(" * 5000),
        *(
            "peg__diameter = 1e400",
            "x = -" + "-" * 9000 + "1",
            "%%bash\ntrue",
            "\x0c\u2028x = 1\r!ls",
        ),
        *(
            ["a", 3, None],
            7,
            None,
            {"a": 1},
            "x = '" + "a" * 100_000,
            "\x00",
            "x = 0x" + "f" * 9000,
        ),
    ]
    for _turn in range(chance.choice((1, 2, 4))):
        cell = chance.choice(cells)
        kind = chance.randrange(6)
        if kind == 0:
            cells[cells.index(cell)] = chance.choice([None, 3, "x", [], {}])
            cells[:] = [one if isinstance(one, dict) else {"cell_type": one} for one in cells]
        elif kind == 1:
            cell["source"] = chance.choice(source)
        elif kind == 2:
            cell["metadata"] = chance.choice([None, [], {"tags": 3}, {"tags": ["parameters"] * 9}])
        elif kind == 3:
            cell["cell_type"] = chance.choice(["raw", "code", "heading", None, 4])
        elif kind == 4:
            cell["outputs"] = chance.choice([None, 3, [{"data": {"text/html": "<script>"}}]])
        else:
            cells.append(dict(chance.choice(cells)))
    return json.dumps(row).encode()


def odd_mesh(good: bytes, chance: random.Random) -> bytes:
    """An STL file that states too many triangles, or has corners that are no numbers."""
    content = bytearray(good)
    if chance.random() < 0.4:
        content[80:84] = chance.choice((0, 1, 5, 2**31 - 1, 2**32 - 1)).to_bytes(4, "little")
    for _turn in range(chance.choice((0, 1, 3))):
        at = 84 + 50 * chance.randrange(4) + 4 * chance.randrange(12)
        odd = np.array([chance.choice((np.nan, np.inf, -np.inf, 3e38, 1e-45, -0.0))], "<f4")
        content[at : at + 4] = odd.tobytes()
    return bytes(content)


def odd_package(good: bytes, chance: random.Random) -> bytes:
    """A 3MF package with another model: odd numbers, places that go round, entities, a bomb."""
    into = BytesIO()
    with (
        zipfile.ZipFile(BytesIO(good)) as old,
        zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as new,
    ):
        for name in old.namelist():
            text = old.read(name).decode()
            if name.endswith(".model"):
                numbers = list(re.finditer(r'"[-\d.]+"', text))
                for match in chance.sample(numbers, min(3, len(numbers))):
                    odd = chance.choice(("nan", "inf", "1e300", "-1", "9" * 400, "", "4000000000"))
                    text = text.replace(match[0], f'"{odd}"', 1)
                text = text.replace(*chance.choice((
                    ("</mesh>", '</mesh><components><component objectid="1"/></components>'),
                    ("<resources>", "<resources>" + "<object>" * 3000),
                    ("<model ", "<!DOCTYPE a [<!ENTITY b '" + "c" * 999 + "'>]><model "),
                    ("millimeter", chance.choice(("inch", "mile", ""))),
                    ("</build>", '<item objectid="1"/>' * chance.choice((1, 3000)) + "</build>"),
                    ("</build>", " " * chance.choice((1, 30_000_000)) + "</build>"),
                )))  # fmt: skip
            new.writestr(chance.choice((name, name, name, name, "../" + name)), text)
    return into.getvalue()


def odd_picture(_good: bytes, chance: random.Random) -> bytes:
    """A picture of an odd form, mode, size, resolution or turn, or one that only says it is large."""
    kind = chance.choice(("PNG", "JPEG", "TIFF", "GIF", "BMP", "WEBP"))
    mode = chance.choice(("RGB", "L", "1", "P", "RGBA", "LA", "I", "F", "CMYK", "I;16"))
    size = chance.choice(((80, 90), (1, 1), (80, 1), (3000, 40), (40, 3000)))
    exif = Image.Exif()
    exif[0x0112] = chance.choice((0, 1, 5, 6, 8, 9, 65535))
    exif[0x0110] = chance.choice(("a\x1b[2K", "x" * 5000, ""))
    exif.get_ifd(0x8769)[0xA405] = chance.choice((0, 28, 65535))
    dpi = chance.choice(((300, 300), (300, 1), (0, 0), (1e-3, 9e5), (72, 9999)))
    picture, into = Image.new(mode, size), BytesIO()
    try:
        picture.save(into, kind, dpi=dpi, exif=exif)
    except (OSError, ValueError, KeyError, struct.error):  # a form that has no such mode
        picture.convert("RGB").save(into, "PNG")
    content = bytearray(into.getvalue())
    if content[:4] == b"\x89PNG" and chance.random() < 0.4:
        content[16:24] = struct.pack(
            ">II", *chance.choice(((2**31 - 1, 2**31 - 1), (60_000, 60_000), (0, 9)))
        )
        content[29:33] = struct.pack(">I", zlib.crc32(content[12:29]))
    return bytes(content)


def odd_roster(good: bytes, chance: random.Random) -> bytes:
    """A roster in another encoding, with other separators, quotes or cells."""
    text = good.decode()
    cells = ("=1+1", "\t=cmd|x", "1/" + "9" * 5000, "3 1/0 in", "1e308", "-", "nan", "٣", "a\u2028b",
             "x" * 70_000, '"', "\x0c", "½", "1,5,7", "../a", "0x10", "1" * 41, "\u202e")  # fmt: skip
    for _turn in range(chance.choice((1, 2, 4))):
        old = chance.choice(re.findall(r"[^,\n\"]+", text) or [text])
        text = text.replace(old, chance.choice(cells), 1)
    text = text.replace(",", chance.choice((",", ",", ";", "\t", "|")))
    text = text.replace("\n", chance.choice(("\n", "\n", "\r", "\r\n", "\n\n")))
    coded = chance.choice(("utf-8", "utf-8", "utf-8-sig", "utf-16", "utf-32", "latin-1", "utf-7"))
    return text.encode(coded, "replace")


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


def kept_work() -> bytes:
    """What a bench keeps beside its notebook."""
    kept = dict.fromkeys(("repair", "cells", "saved"), json.loads(repair().to_json()))
    body = {
        **{"format": recovery.FORMAT, "version": "0", "notebook": "a.ipynb", "at": "2026-01-01"},
        "owner": {"host": "elsewhere", "process": 1, "started": 1.0},
        "benches": {"bench": {**kept, "history": {}}},
    }
    return json.dumps({**body, "sum": recovery._sum(body)}).encode()


def changed_work(good: bytes, chance: random.Random) -> bytes:
    """Another value anywhere in what is kept, with the sum that goes with it."""
    row = json.loads(mutated_json(good, chance))
    body = {key: value for key, value in row.items() if key != "sum"}
    return json.dumps({**body, "sum": recovery._sum(body)}).encode()


def take_up(path: Path) -> None:
    notebook = path.with_name("a.ipynb")
    if not notebook.exists():
        notebook.write_bytes(as_notebook(repair(), "peg", image=b"\x89PNG"))
    recovery.newest(notebook, repair())
    for kept in recovery.read(path, notebook).benches.values():
        kept.laid_over(repair())


def a_lens() -> bytes:
    return lens.Lens("x", 0.7, 1.5, np.zeros(5), np.eye(5) * 1e-4, 5, 0.3).to_json().encode()


def a_record() -> bytes:
    return record.record(repair(), 1, {"peg.stl": b"x"}).encode()


@pytest.fixture
def limit_memory():
    """Call it to hold this process to 1 GB more data than it has, until the test is over."""
    resource = pytest.importorskip("resource")
    before = resource.getrlimit(resource.RLIMIT_DATA)

    def hold() -> None:
        status = Path("/proc/self/status")
        if status.exists():
            kilobytes = int(re.search(r"VmData:\s+(\d+)", status.read_text())[1])
            resource.setrlimit(resource.RLIMIT_DATA, (kilobytes * 1024 + 10**9, before[1]))

    yield hold
    resource.setrlimit(resource.RLIMIT_DATA, before)


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
    "notebook, odd cells": (
        "a.ipynb", lambda: as_notebook(repair(), "peg", "note", image=b"\x89PNG"), odd_cells,
        lambda path: (shelf.cards(path.parent), untrusted_template.described(path), read_template(path)),
    ),
    "shelf": (
        "a.ipynb", lambda: as_notebook(repair(), "peg", "note", image=b"\x89PNG"), mutated_json,
        lambda path: shelf.cards(path.parent),
    ),
    "record": ("record.json", a_record, mutated, revision.read_record),
    "record, any value": (
        "record.json", a_record, mutated_json,
        lambda path: (revision.read_record(path, changed=True), revision.changed_files(path)),
    ),
    "repair": (
        "a.json", lambda: repair().to_json().encode(), mutated_json,
        lambda path: Repair.from_json(path.read_text("utf-8", "surrogateescape")),
    ),
    "kept work": (".a.workbench", kept_work, mutated, take_up),
    "kept work, any value": (".a.workbench", kept_work, changed_work, take_up),
    "lens": ("a.json", a_lens, mutated_json, lens.read_lens),
    "roster": (
        "a.csv",
        lambda: b"template,pupil,width,height,unit\nbox,Mia,34.9 35.0,6,mm\nfin,Jonas,,\"7,5\",\n",
        mutated, read_rows,
    ),
    "roster, odd texts": (
        "a.csv",
        lambda: b"template,pupil,width,height,unit\nbox,Mia,34.9 35.0,6,mm\nfin,Jonas,,\"7,5\",\n",
        odd_roster, read_rows,
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
    "picture": ("a.png", picture, mutated, image_file.load),
    "picture, odd ones": ("a.png", picture, odd_picture, image_file.load),
    "counterpart's STL": (
        "a.stl", lambda: stl_step.stl(*tetrahedron(), "a"), odd_mesh,
        lambda path: foreign_mesh.read(path, "mm"),
    ),
    "counterpart's 3MF": (
        "a.3mf", lambda: threemf.threemf([threemf.Body("a", *tetrahedron())], {"Title": "a"}),
        odd_package, foreign_mesh.read,
    ),
    "3MF, odd models": (
        "a.3mf", lambda: threemf.threemf([threemf.Body("a", *tetrahedron())], {"Title": "a"}),
        odd_package, lambda path: threemf.read_threemf(path.read_bytes()),
    ),
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
def test_a_reader_reads_or_refuses_in_a_sentence(name, tmp_path, monkeypatch, limit_memory) -> None:
    file, good, change, read = READERS[name]
    monkeypatch.setattr(subprocess, "Popen", lambda *_a, **_k: pytest.fail("a program was started"))
    monkeypatch.setattr(os, "system", lambda _line: pytest.fail("a program was started"))
    original, chance = good(), random.Random(name + SEED)
    path = tmp_path / file
    path.write_bytes(original)
    read_well = refused = 0
    with suppress(RepairError):
        read(path)  # what is imported for it does not count
    limit_memory()
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
