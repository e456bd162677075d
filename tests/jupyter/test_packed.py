"""What the browser is told of a mesh, read as the browser reads it."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from workbench.jupyter.picture.packed import REACH, Packed, grid_for
from workbench.solids.catalogue import find
from workbench.solids.meshes.mesh import mesh, volume


class Browser:
    """Takes messages in as ``mesh.js`` does."""

    def __init__(self) -> None:
        self.version = 0
        self.points = np.zeros((0, 3))
        self.all = np.zeros((0, 3), dtype=int)
        self.owned = np.zeros(0, dtype=int)
        self.shown = np.zeros(0, dtype=bool)

    @property
    def triangles(self) -> np.ndarray:
        return self.all[self.shown]

    @property
    def owners(self) -> np.ndarray:
        return self.owned[self.shown]

    def take(self, message: tuple[dict[str, Any], list[bytes]]) -> None:
        header, (turns, points, triangles, runs, back) = message
        assert header["base"] in (-1, self.version)
        if header["base"] < 0:
            Browser.__init__(self)
        new = np.frombuffer(triangles, "<u4" if header["wide"] else "<u2").reshape(-1, 3)
        self.points = np.concatenate(
            [self.points, np.frombuffer(points, "<i2").reshape(-1, 3) * header["grid"]]
        )
        self.all = np.concatenate([self.all, new.astype(int)])
        self.owned = np.concatenate([self.owned, repeated(runs)])
        self.shown = np.append(self.shown, np.full(len(new), header["show"]))
        for start, end in (
            np.cumsum(np.frombuffer(turns, "<u4" if header["far"] else "<u2"))
            .astype(int)
            .reshape(-1, 2)
        ):
            self.shown[start:end] ^= True
            came = start + np.flatnonzero(self.shown[start:end])
            if len(back):
                self.owned[came], back = repeated(back)[: len(came)], rest(back, len(came))
        self.version = header["version"]


def repeated(runs: bytes) -> np.ndarray:
    owner, count = np.frombuffer(runs, "<u2").reshape(-1, 2).T
    return np.repeat(owner, count)


def rest(runs: bytes, taken: int) -> bytes:
    left = repeated(runs)[taken:]
    return np.column_stack([left, np.ones_like(left)]).astype("<u2").tobytes()


def shape(name: str, **values: float):
    template = find(name)
    return mesh(template.function(**template.complete(values)))


def nobody(fresh: np.ndarray) -> np.ndarray:
    return np.zeros(len(fresh), dtype=int)


def numbered(fresh: np.ndarray) -> np.ndarray:
    return fresh % 3


def size(message: tuple[dict[str, Any], list[bytes]]) -> int:
    return sum(len(part) for part in message[1])


@given(st.lists(st.floats(5, 60).map(lambda v: round(v, 1)), min_size=1, max_size=5))
def test_after_any_changes_the_browser_has_the_last_shape(widths: list[float]):
    packed, browser = Packed(), Browser()
    for width in widths:
        vertices, faces = shape("plate", width=width, height=20, thickness=3)
        browser.take(packed.update(vertices, faces, numbered))
        assert volume(browser.points, browser.triangles) == pytest.approx(
            volume(vertices, faces), rel=1e-3
        )
        assert len(browser.owners) == len(browser.triangles) == len(faces)
    late = Browser()
    late.take(packed.whole())
    np.testing.assert_array_equal(late.points[late.triangles], browser.points[browser.triangles])
    np.testing.assert_array_equal(late.owners, browser.owners)


def test_each_triangle_keeps_its_owner_while_it_stays():
    asked: list[int] = []

    def owner(fresh: np.ndarray) -> np.ndarray:
        asked.append(len(fresh))
        return np.full(len(fresh), len(asked))

    packed = Packed()
    vertices, faces = shape("box", width=20, depth=10, height=5)
    packed.update(vertices, faces, owner)
    taller = vertices.copy()
    taller[vertices[:, 2] > 2, 2] += 1
    packed.update(taller, faces, owner)
    # The two triangles of the floor stay.
    assert asked == [12, 10]
    assert sorted(packed.owners) == [1] * 2 + [2] * 10


def test_the_same_mesh_again_costs_nothing():
    packed = Packed()
    vertices, faces = shape("sphere", diameter=20)
    assert size(packed.update(vertices, faces, nobody)) > 1000
    assert size(packed.update(vertices, faces, nobody)) == 0


def test_a_part_that_is_gone_comes_back():
    packed, browser = Packed(), Browser()
    vertices, faces = shape("box", width=20, depth=10, height=5)
    for corners, triangles in ((vertices, faces), (vertices[:0], faces[:0]), (vertices, faces)):
        browser.take(packed.update(corners, triangles, numbered))
        assert len(browser.triangles) == len(browser.owners) == len(triangles)


def test_both_tables_are_begun_anew_before_they_fill_with_what_is_gone():
    packed, browser, most = Packed(), Browser(), 0.0
    for n in range(30):
        vertices, faces = shape("cylinder", diameter=20 + n, height=5)
        browser.take(packed.update(vertices, faces, nobody))
        assert len(browser.points) <= (len(vertices) + 64) / 0.2
        assert len(browser.all) <= (len(faces) + 64) / 0.2
        most = max(most, len(browser.all) / len(faces))
    assert most > 3, "until then they are kept"


def test_what_was_shown_before_comes_back_at_little_cost_and_is_owned_anew():
    packed, browser = Packed(), Browser()
    one, other = (shape("sphere", diameter=size) for size in (20, 21))
    browser.take(packed.update(*one, nobody))
    first = packed.update(*other, numbered)
    browser.take(first)
    again = packed.update(*one, numbered)
    browser.take(again)
    assert size(again) < 20 + 4 * len(one[1]), "where its triangles stand, and their owners in turn"
    assert volume(browser.points, browser.triangles) == pytest.approx(volume(*one), rel=1e-3)
    np.testing.assert_array_equal(
        np.sort(browser.owners), np.sort(numbered(np.arange(len(one[1]))))
    )
    quiet = Packed()
    quiet.update(*one, nobody), quiet.update(*other, nobody)
    assert size(quiet.update(*one, nobody)) < 20


def test_what_is_told_beforehand_is_not_shown_and_then_costs_nothing():
    packed, browser = Packed(), Browser()
    one, other = (shape("sphere", diameter=size) for size in (20, 21))
    browser.take(packed.update(*one, nobody))
    told = packed.ahead(*other, nobody)
    assert told is not None and not told[0]["show"]
    browser.take(told)
    assert volume(browser.points, browser.triangles) == pytest.approx(volume(*one), rel=1e-3)
    assert packed.ahead(*other, nobody) is None
    late = Browser()
    late.take(packed.whole())
    for each in (browser, late):
        assert volume(each.points, each.triangles) == pytest.approx(volume(*one), rel=1e-3)
    then = packed.update(*other, nobody)
    assert size(then) < 20
    for each in (browser, late):
        each.take(then)
        assert volume(each.points, each.triangles) == pytest.approx(volume(*other), rel=1e-3)


@pytest.mark.parametrize("far", [1.0, 65.5, 65.6, 300.0, 40_000.0])
def test_no_point_lies_farther_from_its_own_place_than_half_the_grid(far: float):
    vertices = np.array([[0, 0, 0], [far, 0, 0], [0, far, 0], [0, 0, far * 0.73]])
    faces = np.array([[0, 2, 1], [0, 1, 3], [0, 3, 2], [1, 2, 3]])
    packed = Packed()
    packed.update(vertices, faces, nobody)
    points, triangles = packed.mesh
    off = np.abs(
        np.sort(points[triangles].reshape(-1, 3), axis=0)
        - np.sort(vertices[faces].reshape(-1, 3), axis=0)
    )
    assert off.max() <= grid_for(vertices) / 2 + 1e-9
    assert np.abs(points).max() <= REACH * grid_for(vertices) + 1e-9
    if far <= 65.5:
        assert off.max() <= 0.001 + 1e-9


def test_meshes_of_many_points_and_triangles_are_told_with_wide_numbers():
    side = 300
    x, y = np.meshgrid(np.arange(side) * 0.1, np.arange(side) * 0.1)
    vertices = np.column_stack([x.ravel(), y.ravel(), np.zeros(side * side)])
    first = (np.arange(side - 1)[:, None] * side + np.arange(side - 1)).ravel()
    faces = np.concatenate(
        [
            np.column_stack([first, first + 1, first + side]),
            np.column_stack([first + 1, first + side + 1, first + side]),
        ]
    )
    packed, browser = Packed(), Browser()
    browser.take(packed.update(vertices, faces, numbered))
    fewer = packed.update(vertices, faces[:-5], numbered)
    assert len(fewer[1][0]) == 8
    assert fewer[0]["wide"] and fewer[0]["far"]
    browser.take(fewer)
    assert len(browser.triangles) == len(faces) - 5
