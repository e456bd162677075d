"""3MF: several named parts on one bed, and back."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from parts import cube

from workbench.errors import RepairError
from workbench.output.files.threemf import Body, read_threemf, threemf

NAMES = st.text(st.characters(exclude_categories=["Cs"]), max_size=20)


def test_bodies_keep_name_place_and_mesh():
    vertices, faces = cube()
    bodies = [
        Body("Ada's foot", vertices, faces, (30, 20, 0)),
        Body("Ben", vertices, faces, (70, 25, 0), 90),
    ]
    read, metadata = read_threemf(threemf(bodies, {"Title": "bed 1", "Revision": 3}))
    assert [body.name for body in read] == ["Ada's foot", "Ben"]
    assert metadata == {"Title": "bed 1", "Revision": "3"}
    for before, after in zip(bodies, read, strict=True):
        assert np.array_equal(after.faces, before.faces)
        assert after.placed == pytest.approx(before.placed, abs=1e-5)


@given(NAMES, NAMES, st.floats(-360, 360), st.floats(-200, 200))
def test_any_name_and_turn_survives(name, title, turn, right):
    body = Body(name, *cube(), (right, 12.5, 0), turn)
    (read,), metadata = read_threemf(threemf([body], {"Title": title}))
    assert read.placed == pytest.approx(body.placed, abs=1e-4)
    kept = "".join(c for c in name if c >= " ")
    assert all(c in read.name for c in kept if c not in "\ufffe\uffff")
    assert "Title" in metadata


def test_equal_parts_make_equal_files():
    body = Body("peg", *cube())
    assert threemf([body], {}) == threemf([body], {})


def test_open_meshes_and_empty_beds_are_refused():
    vertices, faces = cube()
    with pytest.raises(RepairError, match="no part"):
        threemf([], {})
    with pytest.raises(RepairError, match="peg: the surface does not close"):
        threemf([Body("peg", vertices, faces[1:])], {})


def test_damaged_files_are_refused_in_words():
    content = threemf([Body("peg", *cube())], {})
    for damaged in (b"", b"PK not a zip", content[: len(content) // 2]):
        with pytest.raises(RepairError, match="3MF file is damaged"):
            read_threemf(damaged)
